package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// sideDoor is a Unix socket beside the log, through which a command of the same
// user reaches the page that has the log open. It does one thing: it has the
// log copied to a file that is not there yet.
type sideDoor struct {
	path   string
	server *http.Server
}

// sideDoorPath is where the page that has a log open can be reached.
func sideDoorPath(log string) string { return log + ".page" }

// maxSocketPath is how long the path of a socket may be, in bytes, everywhere:
// sun_path has 104 on BSD and macOS, 108 on Linux, one of them for the end.
const maxSocketPath = 103

// openSideDoor opens the side door of a log that this program has open.
// backup copies it.
func openSideDoor(ctx context.Context, log string, backup func(ctx context.Context, to string) error) (*sideDoor, error) {
	d := &sideDoor{path: sideDoorPath(log)}
	l, err := d.listen()
	if err != nil {
		return nil, err
	}
	handler := http.NewServeMux()
	handler.HandleFunc("POST /backup", func(w http.ResponseWriter, r *http.Request) { answerBackup(w, r, backup) })
	const slow = 10 * time.Second // nobody on this machine takes longer to ask
	d.server = &http.Server{
		Handler: handler, ReadTimeout: slow, IdleTimeout: slow, MaxHeaderBytes: 4 << 10,
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	go d.server.Serve(l) // ends when the door is closed
	return d, nil
}

// listen makes the socket where nobody else can reach it and moves it to its
// place when its permissions are right. There it takes the place of one that a
// killed program left; nobody else answers on that one, since the log is ours.
func (d *sideDoor) listen() (net.Listener, error) {
	if len(d.path) > maxSocketPath {
		return nil, fmt.Errorf("%s: its path is longer than %d bytes", d.path, maxSocketPath)
	}
	if info, err := os.Lstat(d.path); err == nil && info.Mode().Type() != fs.ModeSocket {
		return nil, fmt.Errorf("%s: is there already and is no socket", d.path)
	}
	room, err := os.MkdirTemp(filepath.Dir(d.path), ".page-*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(room)
	made := filepath.Join(room, "s")
	l, err := net.ListenUnix("unix", &net.UnixAddr{Name: made, Net: "unix"})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", d.path, reason(err))
	}
	l.SetUnlinkOnClose(false) // it will be elsewhere
	if err := errors.Join(os.Chmod(made, 0o600), os.Rename(made, d.path)); err != nil {
		return nil, errors.Join(err, l.Close())
	}
	return l, nil
}

// close closes the door, once a copy that was begun is made.
func (d *sideDoor) close() error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return errors.Join(d.server.Shutdown(ctx), os.Remove(d.path))
}

// backupRequest is what is asked for at the side door.
type backupRequest struct {
	To string `json:"to"` // absolute, since the page runs in a folder of its own
}

// answerBackup has the log copied.
func answerBackup(w http.ResponseWriter, r *http.Request, backup func(ctx context.Context, to string) error) {
	const most = 16 << 10 // several times the longest path
	body := json.NewDecoder(http.MaxBytesReader(w, r.Body, most))
	body.DisallowUnknownFields()
	var asked backupRequest
	if err := body.Decode(&asked); err != nil || !filepath.IsAbs(asked.To) {
		http.Error(w, "a backup is asked for by the absolute path of a file", http.StatusBadRequest)
		return
	}
	if err := refuseBackupOver(asked.To); err != nil {
		http.Error(w, err.Error(), http.StatusConflict)
		return
	}
	if err := backup(r.Context(), asked.To); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
	}
}

// errNoSideDoor is what askBackup says where no page can be reached.
var errNoSideDoor = errors.New("no bench page answers beside the log")

// askBackup asks the page that has a log open to copy it to a file.
func askBackup(ctx context.Context, log, to string) error {
	asked, err := json.Marshal(backupRequest{to})
	if err != nil {
		return err
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://page/backup", strings.NewReader(string(asked)))
	if err != nil {
		return err
	}
	var dialled error
	through := &http.Transport{DialContext: func(ctx context.Context, _, _ string) (conn net.Conn, err error) {
		conn, dialled = new(net.Dialer).DialContext(ctx, "unix", sideDoorPath(log))
		return conn, dialled
	}}
	defer through.CloseIdleConnections()
	answer, err := (&http.Client{Transport: through}).Do(request)
	switch {
	case dialled != nil:
		return errNoSideDoor
	case err != nil:
		return fmt.Errorf("the bench page broke off: %w", err)
	}
	defer answer.Body.Close()
	if answer.StatusCode == http.StatusOK {
		return nil
	}
	const most = 64 << 10
	said, err := io.ReadAll(io.LimitReader(answer.Body, most))
	if err != nil {
		return fmt.Errorf("the bench page broke off: %w", err)
	}
	return fmt.Errorf("the bench page says: %s", strings.TrimSpace(string(said)))
}
