// Package node starts PostgreSQL servers for the tests of a log on a server.
package node

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// ErrNone is what Start says where the machine has no server to start.
var ErrNone = errors.New("needs PostgreSQL 15 or newer (Debian: apt-get install postgresql)")

// Node is a server of its own on this machine, without any data but a test's.
type Node struct {
	Port     int
	Password string // of the superuser postgres, and of the roles that Role makes

	bin, folder string
	as          *syscall.SysProcAttr
	server      *exec.Cmd
}

// Need starts a server that stops with the test. Without PostgreSQL on the
// machine the test is skipped, or fails where TRUEPLAIT_NEED=all asks for every
// test to run.
func Need(t testing.TB) *Node {
	t.Helper()
	n, err := Start()
	if errors.Is(err, ErrNone) && os.Getenv("TRUEPLAIT_NEED") != "all" {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := n.Remove(); err != nil {
			t.Error(err)
		}
	})
	return n
}

// Start makes a server in a temporary folder and starts it.
func Start() (*Node, error) {
	bin, err := binaries()
	if err != nil {
		return nil, err
	}
	n := &Node{bin: bin, Password: rand.Text()}
	if n.folder, err = os.MkdirTemp("", "trueplait-node-*"); err != nil {
		return nil, err
	}
	if err := n.make(); err != nil {
		return nil, errors.Join(err, os.RemoveAll(n.folder))
	}
	if err := n.Resume(); err != nil {
		return nil, errors.Join(err, os.RemoveAll(n.folder))
	}
	return n, nil
}

// binaries finds the folder of the server's programs.
func binaries() (string, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil {
		return "", err
	}
	best := 0
	for _, path := range found {
		folder := filepath.Dir(path)
		if version, err := strconv.Atoi(filepath.Base(filepath.Dir(folder))); err == nil {
			best = max(best, version)
		}
	}
	if best >= 15 {
		return fmt.Sprintf("/usr/lib/postgresql/%d/bin", best), nil
	}
	if path, err := exec.LookPath("initdb"); err == nil && len(found) == 0 {
		return filepath.Dir(path), nil
	}
	return "", ErrNone
}

// make makes the data folder. A server does not run as root: then it is the user
// postgres, whom Debian's package makes.
func (n *Node) make() error {
	if os.Getuid() == 0 {
		u, err := user.Lookup("postgres")
		if err != nil {
			return err
		}
		uid, err := strconv.Atoi(u.Uid)
		if err != nil {
			return err
		}
		gid, err := strconv.Atoi(u.Gid)
		if err != nil {
			return err
		}
		if err := os.Chown(n.folder, uid, gid); err != nil {
			return err
		}
		n.as = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	}
	secret := filepath.Join(n.folder, "password")
	if err := os.WriteFile(secret, []byte(n.Password), 0o644); err != nil {
		return err
	}
	// The order of a language, so that a test notices where it is relied on.
	return n.run("initdb", "--pgdata", n.data(), "--username", "postgres", "--pwfile", secret, "--auth", "scram-sha-256",
		"--encoding", "UTF8", "--locale-provider", "icu", "--icu-locale", "en-US", "--no-sync", "--no-instructions")
}

// data is the folder of the server's data.
func (n *Node) data() string { return filepath.Join(n.folder, "data") }

// command prepares a program of the server.
func (n *Node) command(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(n.bin, name), args...)
	cmd.Dir = n.folder
	cmd.SysProcAttr = n.as
	return cmd
}

// run runs a program of the server to its end.
func (n *Node) run(name string, args ...string) error {
	if out, err := n.command(name, args...).CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w\n%s", name, err, out)
	}
	return nil
}

// Resume starts the server, again after [Node.Kill], on the port that it had.
func (n *Node) Resume() error {
	if n.Port == 0 {
		free, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return err
		}
		n.Port = free.Addr().(*net.TCPAddr).Port
		if err := free.Close(); err != nil {
			return err
		}
	}
	log, err := os.Create(filepath.Join(n.folder, "log"))
	if err != nil {
		return err
	}
	defer log.Close()
	args := []string{"-D", n.data(), "-p", strconv.Itoa(n.Port), "-k", n.folder}
	for _, setting := range []string{
		"listen_addresses=127.0.0.1", "fsync=off", "shared_buffers=64MB", "max_connections=100", "autovacuum=off",
	} {
		args = append(args, "-c", setting)
	}
	n.server = n.command("postgres", args...)
	n.server.Stdout, n.server.Stderr = log, log
	if err := n.server.Start(); err != nil {
		return err
	}
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		err := n.Do("postgres", "select 1")
		if err == nil {
			return nil
		}
		if time.Now().After(end) {
			said, _ := os.ReadFile(log.Name())
			return errors.Join(fmt.Errorf("the server does not start: %w\n%s", err, said), n.Kill())
		}
	}
}

// Kill ends the server at once, as a power cut would.
func (n *Node) Kill() error { return n.stop(syscall.SIGQUIT) }

// stop ends the server with a signal.
func (n *Node) stop(s syscall.Signal) error {
	if n.server == nil {
		return nil
	}
	server := n.server
	n.server = nil
	if err := server.Process.Signal(s); err != nil && !errors.Is(err, os.ErrProcessDone) {
		return err
	}
	var exit *exec.ExitError
	if err := server.Wait(); err != nil && !errors.As(err, &exit) {
		return err
	}
	return nil
}

// Remove stops the server and removes its folder.
func (n *Node) Remove() error {
	return errors.Join(n.stop(syscall.SIGINT), os.RemoveAll(n.folder))
}

// Address is the address of a database as a role, with the password in it.
func (n *Node) Address(role, database string) string {
	u := url.URL{
		Scheme: "postgres", User: url.UserPassword(role, n.Password),
		Host: net.JoinHostPort("127.0.0.1", strconv.Itoa(n.Port)), Path: "/" + database,
	}
	return u.String()
}

// Do runs statements in a database as the superuser.
func (n *Node) Do(database string, statements ...string) error {
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, n.Address("postgres", database))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	for _, s := range statements {
		if _, err := conn.Exec(ctx, s); err != nil {
			return fmt.Errorf("%s: %w", s, err)
		}
	}
	return nil
}

// Role makes roles that may log in, and nothing else.
func (n *Node) Role(names ...string) error {
	for _, name := range names {
		role := pgx.Identifier{name}.Sanitize()
		if err := n.Do("postgres", "create role "+role+" login password '"+n.Password+"'"); err != nil {
			return err
		}
	}
	return nil
}

// Database makes a database that a role owns, as a copy of another, or empty.
func (n *Node) Database(name, owner, like string) error {
	return n.Do("postgres", "create database "+pgx.Identifier{name}.Sanitize()+
		" owner "+pgx.Identifier{owner}.Sanitize()+" template "+pgx.Identifier{cmp.Or(like, "template0")}.Sanitize())
}
