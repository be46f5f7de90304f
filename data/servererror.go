package data

import (
	"crypto/tls"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"

	"trueplait/data/postgres"
)

// What can be wrong with a log on a server.
var (
	ErrServer  = errors.New("the server does not answer")
	ErrRefused = errors.New("the server refuses")
	ErrShard   = errors.New("a server that keeps some of the builds does not answer")
)

// errCommit is what broke where it is not known whether a transaction was kept.
var errCommit = errors.New("commit")

// serverError is what a server says, or that it says nothing, about a log; nil
// where nothing is wrong.
func serverError(log string, err error) error {
	if err == nil {
		return nil
	}
	if told := inWords(log, err); told != err {
		return told
	}
	return fmt.Errorf("log %s: %w", log, err)
}

// InWords puts an error that comes from the server of a log, at whatever moment,
// into the words of someone who has never heard of it; [ErrServer], [ErrRefused]
// and [ErrShard] are what it wraps then. Any other error, and one that is in words
// already, is returned as it is. Passwords stay out of it: what is quoted is the
// server's own text.
func InWords(log string, err error) error {
	if !postgres.Is(log) {
		return err
	}
	return inWords(postgres.Name(log), err)
}

// inWords is [InWords], of a log of that name.
func inWords(log string, err error) error {
	if errors.Is(err, ErrServer) || errors.Is(err, ErrRefused) || errors.Is(err, ErrShard) {
		return err
	}
	var said *pgconn.PgError
	if errors.As(err, &said) {
		return saidInWords(log, said, err)
	}
	var connect *pgconn.ConnectError
	var untrusted *tls.CertificateVerificationError
	switch {
	case errors.As(err, &untrusted):
		return fmt.Errorf("log %s: %w to be known: its certificate is signed by nobody trusted here, or is of another name; "+
			"name the file of who signed it in the address, ?sslrootcert=FILE (%w)", log, ErrRefused, untrusted.Err)
	case errors.As(err, &connect):
		why := strings.Join(strings.Fields(connect.Error()), " ") // one line for each of its addresses
		if network := (*net.OpError)(nil); errors.As(err, &network) {
			why = network.Error()
		}
		return fmt.Errorf("log %s: %w: look at its name and port, and whether it runs and can be reached from here (%s)", log, ErrServer, why)
	case brokenOff(err) && errors.Is(err, errCommit):
		return fmt.Errorf("log %s: %w any more, in the moment of saving: it is saved whole or not at all; "+
			"do it again, which changes nothing where it is saved (%s)", log, ErrServer, firstLine(err))
	case brokenOff(err):
		return fmt.Errorf("log %s: %w any more: try again; what was saved before is safe (%s)", log, ErrServer, firstLine(err))
	}
	return err
}

// saidInWords is [InWords] of what a server says. Its codes are those of the
// manual of PostgreSQL 15, appendix A.
func saidInWords(log string, said *pgconn.PgError, err error) error {
	class := func(codes ...string) bool {
		for _, c := range codes {
			if strings.HasPrefix(said.Code, c) {
				return true
			}
		}
		return false
	}
	var remedy string
	switch {
	case said.ConstraintName == "maker_of_part":
		return fmt.Errorf("log %s: a build is of a maker of another part than the address names: leave maker= out of it", log)
	case class("28P01"):
		remedy = "the role or its password: set PGPASSWORD, or PGPASSFILE to a file that has it"
	case class("28"):
		remedy = "the role, or what it calls from: ask who keeps it"
	case class("3D000"):
		return fmt.Errorf("log %s: %w: it has no such database; look at the name, or ask who keeps it (%s)", log, ErrRefused, said.Message)
	case class("42501", "42P01", "3F000"): // no right, and therefore nothing to be seen
		return fmt.Errorf("log %s: %w: the role may not use the tables of a log; ask who keeps it to run trueplait server workshop (%s)", log, ErrRefused, said.Message)
	case class("25006"):
		return fmt.Errorf("log %s: %w to write: it follows another server, or is set to read only; ask who keeps it (%s)", log, ErrRefused, said.Message)
	case class("08"): // it is the caller of another
		return fmt.Errorf("log %s: %w just now: makers whose builds others keep can go on with ?maker=NAME at the end of the address; else try again later (%s)", log, ErrShard, saidOfShard(said))
	case class("57", "53"):
		return fmt.Errorf("log %s: %w just now: try again; what was saved before is safe (%s)", log, ErrServer, said.Message)
	default:
		return err
	}
	return fmt.Errorf("log %s: %w %s (%s)", log, ErrRefused, remedy, said.Message)
}

// saidOfShard is what a server says of another, with its address.
func saidOfShard(said *pgconn.PgError) string {
	detail, _, _ := strings.Cut(said.Detail, "\n")
	if detail == "" {
		return said.Message
	}
	return said.Message + ": " + detail
}

// firstLine is what went wrong first: what follows comes of it.
func firstLine(err error) string {
	line, _, _ := strings.Cut(err.Error(), "\n")
	return line
}

// brokenOff reports whether an error is that of a connection that is no more.
func brokenOff(err error) bool {
	var network *net.OpError // whose Op is listen or accept where the page is at fault
	if errors.As(err, &network) {
		return network.Op == "read" || network.Op == "write"
	}
	return errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, pgconn.ErrConnClosed)
}
