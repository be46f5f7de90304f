package data

import (
	"context"
	"database/sql"
	"errors"
)

// database is where a log lives. Statements are put to it in its engine's words.
type database struct {
	*sql.DB
	engine engine
	reads  bool              // and nothing else
	words  map[string]string // of the engine, by the shared statement
}

// newDatabase makes a database of an open one.
func newDatabase(db *sql.DB, e engine) *database {
	d := &database{DB: db, engine: e, words: map[string]string{}}
	shared := worded()
	for name, text := range e.Words() {
		d.words[shared[name]] = text
	}
	return d
}

// worded lists the statements that an engine words in its own way, by the name
// of their file.
func worded() map[string]string {
	return map[string]string{
		"cells":                cellsQuery,
		"combinations":         combinationsQuery,
		"compared_count":       comparedCount,
		"compared_load":        comparedLoad,
		"compared_stage":       comparedStage,
		"compared_unstage":     comparedUnstage,
		"digests":              digestsQuery,
		"fitted_level_append":  fittedLevelAppend,
		"fitted_level_clear":   fittedLevelClear,
		"level_fill":           levelFill,
		"maker_units_set":      makerUnitsSet,
		"migration_exists":     migrationExists,
		"newest":               newestQuery,
		"observed_body":        observedBody,
		"observed_length":      observedLength,
		"observed_shot":        observedShot,
		"observed_strand":      observedStrand,
		"observed_weight":      observedWeight,
		"ratios":               ratiosQuery,
		"residual_correlation": residualCorrelation,
		"residual_scan":        residualScan,
		"source_remove":        sourceRemove,
		"source_add":           sourceAdd,
		"summary":              summaryQuery,
		"unpredicted":          unpredictedQuery,
		"table_count":          tableCount,
		"wanted_numbers":       wantedNumbers,
		"wanted_places":        wantedPlaces,
		"wanted_rows":          wantedRows,
	}
}

// word is a statement in the engine's words.
func (d *database) word(query string) string {
	if own, ok := d.words[query]; ok {
		return own
	}
	return query
}

// ErrReads is what a statement that writes gets from a log opened ReadOnly.
var ErrReads = errors.New("the log is open to read only")

// ExecContext is [sql.DB.ExecContext], of a statement that writes.
func (d *database) ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error) {
	if d.reads {
		return nil, ErrReads
	}
	return d.DB.ExecContext(ctx, d.word(query), args...)
}

// QueryContext is [sql.DB.QueryContext].
func (d *database) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	return d.DB.QueryContext(ctx, d.word(query), args...)
}

// QueryRowContext is [sql.DB.QueryRowContext].
func (d *database) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	return d.DB.QueryRowContext(ctx, d.word(query), args...)
}

// session takes the connection, which nobody else has until it is closed.
func (d *database) session(ctx context.Context) (*session, error) {
	conn, err := d.Conn(ctx)
	if err == nil && conn.PingContext(ctx) != nil { // it broke since it was last used: a server was started anew
		conn.Close()
		conn, err = d.Conn(ctx)
	}
	if err != nil {
		return nil, err
	}
	return &session{conn, d}, nil
}

// session is the connection to a log's database.
type session struct {
	*sql.Conn
	of *database
}

// ExecContext is [sql.Conn.ExecContext].
func (s *session) ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error) {
	return s.Conn.ExecContext(ctx, s.of.word(query), args...)
}

// QueryContext is [sql.Conn.QueryContext].
func (s *session) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	return s.Conn.QueryContext(ctx, s.of.word(query), args...)
}

// QueryRowContext is [sql.Conn.QueryRowContext].
func (s *session) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	return s.Conn.QueryRowContext(ctx, s.of.word(query), args...)
}
