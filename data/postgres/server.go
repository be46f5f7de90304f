package postgres

import (
	"context"
	"crypto/rand"
	"database/sql"
	_ "embed"
	"fmt"
	"maps"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
)

//go:embed query/server_list.sql
var serverList string

//go:embed query/server_options.sql
var serverOptions string

//go:embed query/server_make.sql
var serverMake string

//go:embed query/fit_attach.sql
var fitAttach string

//go:embed query/mapping_make.sql
var mappingMake string

//go:embed query/workshop_names.sql
var workshopNames string

// Server is a server that keeps a share of the builds, as the keeper of the log
// reaches it.
type Server struct {
	Name           string // trueplait_1, trueplait_2…
	Host           string
	Port           string
	Database       string
	role, password string
	options        map[string]string // sslmode and the like
}

// Place is where a server is, as people may see it.
func (s Server) Place() string { return net.JoinHostPort(s.Host, s.Port) + "/" + s.Database }

// Address is the server's address, with the password in it.
func (s Server) Address() string {
	q := url.Values{}
	for name, value := range s.options {
		q.Set(name, value)
	}
	u := url.URL{
		Scheme: "postgres", User: url.UserPassword(s.role, s.password),
		Host: net.JoinHostPort(s.Host, s.Port), Path: "/" + s.Database, RawQuery: q.Encode(),
	}
	return u.String()
}

// prefix is what names of servers begin with.
const prefix = "trueplait_"

// NewServer reads the address of a server that is to be number n.
func NewServer(address string, n int) (Server, error) {
	config, err := pgx.ParseConfig(address)
	if err != nil {
		return Server{}, fmt.Errorf("%s: %w", Name(address), ErrAddress)
	}
	u, err := url.Parse(address)
	if err != nil {
		return Server{}, fmt.Errorf("%s: %w", Name(address), ErrAddress)
	}
	s := Server{
		Name: prefix + strconv.Itoa(n), Host: config.Host, Port: strconv.Itoa(int(config.Port)), Database: config.Database,
		role: config.User, password: config.Password, options: map[string]string{},
	}
	for name := range u.Query() {
		if strings.HasPrefix(name, "ssl") {
			s.options[name] = u.Query().Get(name)
		}
	}
	return s, nil
}

// Servers lists the servers of a log, by name. It takes the log's keeper.
func Servers(ctx context.Context, db *sql.DB) ([]Server, error) {
	out, err := collect(ctx, db, serverList, func(s *Server) []any {
		return []any{&s.Name, &s.Host, &s.Port, &s.Database, &s.role, &s.password}
	})
	for i := range out {
		if err == nil {
			err = out[i].readOptions(ctx, db)
		}
	}
	return out, err
}

// readOptions reads the options of the server.
func (s *Server) readOptions(ctx context.Context, db *sql.DB) error {
	type option struct{ name, value string }
	options, err := collect(ctx, db, serverOptions, func(o *option) []any { return []any{&o.name, &o.value} }, s.Name)
	s.options = map[string]string{}
	for _, o := range options {
		s.options[o.name] = o.value
	}
	return err
}

// connect prepares a connection to the server.
func (s Server) connect() (*sql.DB, error) { return Connect(s.Address(), func() {}) }

// introduce names the server to the coordinator, and every workshop to the
// server.
func (s Server) introduce(ctx context.Context, coordinator execer, keeper string) error {
	var options []string
	for _, name := range slices.Sorted(maps.Keys(s.options)) {
		options = append(options, name, s.options[name])
	}
	if err := worded(ctx, coordinator, coordinator, serverMake, s.Name, s.Host, s.Port, s.Database, options); err != nil {
		return err
	}
	if err := worded(ctx, coordinator, coordinator, mappingMake, keeper, s.Name, s.role, s.password); err != nil {
		return err
	}
	if err := worded(ctx, coordinator, coordinator, fitAttach, s.Name); err != nil {
		return err
	}
	names, err := Workshops(ctx, coordinator)
	if err != nil {
		return err
	}
	for _, name := range names {
		if err := s.admit(ctx, coordinator, name); err != nil {
			return err
		}
	}
	return nil
}

// admit makes a workshop a role of the server. Its password there is known to
// the coordinator alone.
func (s Server) admit(ctx context.Context, coordinator execer, name string) error {
	there, err := s.connect()
	if err != nil {
		return err
	}
	defer there.Close()
	password := rand.Text()
	known, err := Workshops(ctx, there)
	if err != nil {
		return err
	}
	if slices.Contains(known, name) { // of an attempt before
		err = worded(ctx, there, there, workshopPassword, name, password)
	} else {
		err = transact(ctx, there, func(tx *sql.Tx) error { return AddWorkshop(ctx, tx, name, password) })
	}
	if err != nil {
		return fmt.Errorf("%s: %w", s.Place(), err)
	}
	return worded(ctx, coordinator, coordinator, mappingMake, name, s.Name, name, password)
}

// Workshops lists the workshops, by name.
func Workshops(ctx context.Context, db queryer) ([]string, error) {
	return texts(ctx, db, workshopNames)
}

// texts reads a column of text.
func texts(ctx context.Context, db queryer, query string) ([]string, error) {
	return collect(ctx, db, query, func(text *string) []any { return []any{text} })
}

// collect reads the rows of a query, each scanned into the targets of a value.
func collect[T any](ctx context.Context, db queryer, query string, targets func(*T) []any, args ...any) ([]T, error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		var row T
		if err := rows.Scan(targets(&row)...); err != nil {
			return nil, err
		}
		out = append(out, row)
	}
	return out, rows.Err()
}

// queryer is a database or a transaction.
type queryer interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// execer is one, too.
type execer interface {
	queryer
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
}

// execAll runs statements without parameters.
func execAll(ctx context.Context, db execer, statements ...string) error {
	for _, s := range statements {
		if _, err := db.ExecContext(ctx, s); err != nil {
			return err
		}
	}
	return nil
}

// worded runs the statements that a query words, on another connection or the
// same: names and passwords cannot be parameters of statements that make things,
// so that the server quotes them.
func worded(ctx context.Context, words queryer, run execer, query string, args ...any) error {
	var statements string
	if err := words.QueryRowContext(ctx, query, args...).Scan(&statements); err != nil {
		return err
	}
	_, err := run.ExecContext(ctx, statements)
	return err
}
