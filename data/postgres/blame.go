package postgres

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
)

//go:embed query/server_names.sql
var serverNames string

//go:embed query/server_answers.sql
var serverAnswers string

// Blame puts in front of an error which server of a divided log does not answer.
// PostgreSQL says that when it calls one, but not when it loses one that it was
// talking to. Where all answer again, the error stays as it is.
func (e Engine) Blame(ctx context.Context, err error) error {
	var said *pgconn.PgError
	const connection = "08" // class of codes, of a server that calls another
	if e.Beside == nil || !errors.As(err, &said) || !strings.HasPrefix(said.Code, connection) || said.Detail != "" {
		return err
	}
	names, failed := texts(ctx, e.Beside, serverNames)
	if failed != nil {
		return err
	}
	for _, name := range names {
		var n int
		if down := e.Beside.QueryRowContext(ctx, serverAnswers, name).Scan(&n); down != nil {
			return fmt.Errorf("%w; before: %w", down, err)
		}
	}
	return err
}
