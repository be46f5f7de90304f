package duckdb

import _ "embed" // migrations

//go:embed migration/0001_log.sql
var migration0001 string

//go:embed migration/0002_observation.sql
var migration0002 string

//go:embed migration/0003_plan.sql
var migration0003 string

//go:embed migration/0004_split.sql
var migration0004 string

//go:embed migration/0005_bench.sql
var migration0005 string

//go:embed migration/0006_verify.sql
var migration0006 string

//go:embed migration/0007_many.sql
var migration0007 string

//go:embed migration/0008_result.sql
var migration0008 string

// Migration is a change of the tables. Once released it is never edited: a
// later one changes what it did.
type Migration = struct{ Name, SQL string }

// Migrations lists all of them, in order.
func (Engine) Migrations() []Migration {
	return []Migration{
		{"0001_log", migration0001},
		{"0002_observation", migration0002},
		{"0003_plan", migration0003},
		{"0004_split", migration0004},
		{"0005_bench", migration0005},
		{"0006_verify", migration0006},
		{"0007_many", migration0007},
		{"0008_result", migration0008},
	}
}
