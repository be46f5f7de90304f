// Package postgres is the engine of a log on a PostgreSQL server, version 15 or
// newer, which many workshops share: how it is connected to, how rows are loaded
// into it, and the tables of a log in its words.
package postgres

import (
	"context"
	"database/sql"
	_ "embed" // statements
	"errors"
	"fmt"
	"maps"
	"net/url"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

//go:embed query/digests.sql
var digests string

//go:embed query/lock.sql
var lock string

//go:embed query/maker_units_set.sql
var makerUnitsSet string

//go:embed query/migration_exists.sql
var migrationExists string

//go:embed query/source_add.sql
var sourceAdd string

//go:embed query/table_count.sql
var tableCount string

//go:embed query/scan_all.sql
var scanAll string

//go:embed query/scan_few.sql
var scanFew string

//go:embed query/residual_scan.sql
var residualScan string

//go:embed query/role.sql
var role string

// Engine is PostgreSQL, of a log whose builds are divided among servers or not.
type Engine struct {
	Divided bool
	Beside  *sql.DB // a second connection, of a divided log; see Note
}

// Words returns the statements that PostgreSQL words differently, by the name of
// the shared one's file.
func (e Engine) Words() map[string]string {
	words := map[string]string{
		"digests":          digests,
		"maker_units_set":  makerUnitsSet,
		"migration_exists": migrationExists,
		"residual_scan":    residualScan,
		"source_add":       sourceAdd,
		"table_count":      tableCount,
	}
	if e.Divided {
		maps.Copy(words, dividedWords())
	}
	return words
}

// Shadows reports whether a temporary table stands in front of a table of its
// name, views of it included. Views keep to the table that they were made of.
func (Engine) Shadows() bool { return false }

// Lock waits until no other transaction writes to the workshop's log, and keeps
// others out until this one ends.
func (e Engine) Lock(ctx context.Context, tx *sql.Tx) error {
	if _, err := tx.ExecContext(ctx, lock); err != nil || e.Beside == nil {
		return err
	}
	_, err := tx.ExecContext(ctx, importBegin)
	return err
}

// Scan has joins of many rows hashed: nothing is known of temporary tables that
// were filled a moment ago, and guesses from nothing end in nested loops.
func (Engine) Scan(ctx context.Context, conn *sql.Conn, all bool) error {
	query := scanFew
	if all {
		query = scanAll
	}
	_, err := conn.ExecContext(ctx, query)
	return err
}

// Is reports whether the name of a log is a server's address.
func Is(log string) bool {
	return strings.HasPrefix(log, "postgres://") || strings.HasPrefix(log, "postgresql://")
}

// Name is an address as people may see it: without password and settings.
func Name(address string) string {
	u, err := url.Parse(address)
	if err != nil { // its text would show the password
		return "postgres://?"
	}
	u.RawQuery, u.Fragment = "", ""
	if u.User != nil {
		u.User = url.User(u.User.Username())
	}
	return u.String()
}

// patience is how long a server may take to answer a call.
const patience = 10 * time.Second

// schema is where the tables of a log are.
const schema = "trueplait"

// ErrAddress is what Connect says of an address that is none.
var ErrAddress = errors.New("not an address: write postgres://ROLE@HOST:PORT/DATABASE")

// OfMaker takes the setting maker off an address: whose builds are to be read and
// written, in a divided log, without asking the servers of others.
func OfMaker(address string) (rest, maker string) {
	u, err := url.Parse(address)
	if err != nil {
		return address, "" // which Connect refuses
	}
	q := u.Query()
	maker = q.Get("maker")
	q.Del("maker")
	u.RawQuery = q.Encode()
	return u.String(), maker
}

// Connect prepares a connection, one and no more, to the server at an address as
// libpq understands it: passwords from PGPASSWORD or the file PGPASSFILE, TLS by
// sslmode, sslrootcert and so on. Tables are looked for in the schemas of parts
// first. connected is called before each new connection is used.
func Connect(address string, connected func(), parts ...Part) (*sql.DB, error) {
	config, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", Name(address), ErrAddress) // the parser's words may quote the password
	}
	config.RuntimeParams["search_path"] = strings.Join(append(schemas(parts), schema, "pg_catalog"), ", ")
	config.RuntimeParams["timezone"] = "UTC"
	config.RuntimeParams["enable_partitionwise_aggregate"] = "on" // or the servers of a divided log send rows
	config.RuntimeParams["application_name"] = "trueplait"
	config.RuntimeParams["jit"] = "off" // it takes seconds to compile what runs for tenths of one
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = patience
	}
	db := stdlib.OpenDB(*config, stdlib.OptionAfterConnect(func(context.Context, *pgx.Conn) error {
		connected()
		return nil
	}))
	// Temporary tables belong to a connection. With a single one they are always
	// there, and whoever holds it has them to itself.
	db.SetMaxOpenConns(1)
	return db, nil
}

// schemas are those of parts.
func schemas(parts []Part) []string {
	var out []string
	for _, p := range parts {
		out = append(out, p.Schema)
	}
	return out
}

// Role is who asks.
type Role struct {
	Name  string
	Above bool // row-level security does not hold for it
	Makes bool // it may make the tables of a log in the database
	Roles bool // and roles
}

// Whoami reads the role of a connection.
func Whoami(ctx context.Context, db *sql.DB) (Role, error) {
	var r Role
	err := db.QueryRowContext(ctx, role).Scan(&r.Name, &r.Above, &r.Makes, &r.Roles)
	return r, err
}
