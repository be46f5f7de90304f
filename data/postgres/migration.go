package postgres

import _ "embed" // migrations

//go:embed migration/0001_log.sql
var migration0001 string

//go:embed migration/0002_view.sql
var migration0002 string

//go:embed migration/0003_fit.sql
var migration0003 string

//go:embed migration/0004_pool.sql
var migration0004 string

//go:embed migration/0005_workshop.sql
var migration0005 string

// Migration is a change of the tables. Once released it is never edited: a
// later one changes what it did.
type Migration = struct{ Name, SQL string }

// Migrations lists all of them, in order.
func (Engine) Migrations() []Migration {
	return []Migration{
		{"0001_log", migration0001},
		{"0002_view", migration0002},
		{"0003_fit", migration0003},
		{"0004_pool", migration0004},
		{"0005_workshop", migration0005},
	}
}
