package data

import (
	"errors"
	"fmt"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
)

// What can be wrong with a log on a server.
var (
	ErrServer  = errors.New("the server does not answer")
	ErrRefused = errors.New("the server refuses")
)

// serverError puts what a server says, or that it says nothing, into the words
// of someone who has never heard of it. Passwords stay out of it: what is quoted
// is the server's own text.
func serverError(log string, err error) error {
	if err == nil {
		return nil
	}
	var said *pgconn.PgError
	if errors.As(err, &said) {
		switch {
		case said.Code == "28P01", said.Code == "28000":
			return fmt.Errorf("log %s: %w the role or its password: set PGPASSWORD, or PGPASSFILE to a file that has it (%s)", log, ErrRefused, said.Message)
		case said.Code == "3D000":
			return fmt.Errorf("log %s: %w: it has no such database; ask who keeps it (%s)", log, ErrRefused, said.Message)
		case said.ConstraintName == "maker_of_part":
			return fmt.Errorf("log %s: a build of a maker of another part than the address names: leave maker= out of it", log)
		case said.Code == "42501":
			return fmt.Errorf("log %s: %w: the role has no right to do that; ask who keeps it to run trueplait server workshop (%s)", log, ErrRefused, said.Message)
		case strings.HasPrefix(said.Code, "57P"), strings.HasPrefix(said.Code, "53"), strings.HasPrefix(said.Code, "08"):
			return fmt.Errorf("log %s: %w just now (%s): try again; what was saved before is safe", log, ErrServer, said.Message)
		}
		return fmt.Errorf("log %s: %w", log, err)
	}
	var connect *pgconn.ConnectError
	var network net.Error
	if errors.As(err, &connect) || errors.As(err, &network) {
		return fmt.Errorf("log %s: %w: look at its name and port, and whether it runs and can be reached from here: %w", log, ErrServer, err)
	}
	return fmt.Errorf("log %s: %w", log, err)
}
