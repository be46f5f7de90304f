package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sideDoorOf opens a side door whose backups are files with a word in them.
func sideDoorOf(t *testing.T, log string) *sideDoor {
	t.Helper()
	d, err := openSideDoor(t.Context(), log, func(_ context.Context, to string) error {
		return os.WriteFile(to, []byte("copy"), 0o666)
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestSideDoor(t *testing.T) {
	folder := t.TempDir()
	log, to := filepath.Join(folder, "shop.duckdb"), filepath.Join(folder, "copy.duckdb")
	if err := askBackup(t.Context(), log, to); !errors.Is(err, errNoSideDoor) {
		t.Errorf("without a door: %v", err)
	}
	d := sideDoorOf(t, log)
	if info, err := os.Stat(sideDoorPath(log)); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the door is %v, %v; want it open to its owner only", info.Mode(), err)
	}
	if err := askBackup(t.Context(), log, to); err != nil {
		t.Error(err)
	}
	if text, err := os.ReadFile(to); string(text) != "copy" || err != nil {
		t.Errorf("copied %q, %v", text, err)
	}
	if err := os.WriteFile(to, []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := askBackup(t.Context(), log, to); err == nil || !strings.Contains(err.Error(), "the bench page says: "+to+": is there already") {
		t.Errorf("a backup over a file: %v", err)
	}
	if text, err := os.ReadFile(to); string(text) != "mine" || err != nil {
		t.Errorf("a backup overwrote a file: %q, %v", text, err)
	}
	if err := d.close(); err != nil {
		t.Error(err)
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// The door does one thing, whoever asks and however.
func TestSideDoor_OnlyBackups(t *testing.T) {
	folder := t.TempDir()
	log := filepath.Join(folder, "shop.duckdb")
	d := sideDoorOf(t, log)
	defer d.close()
	client := http.Client{Transport: &http.Transport{DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
		return new(net.Dialer).DialContext(ctx, "unix", sideDoorPath(log))
	}}}
	defer client.CloseIdleConnections()
	to := filepath.Join(folder, "copy")
	for _, c := range []struct {
		method, path, body string
		want               int
	}{
		{"GET", "/backup", "", http.StatusMethodNotAllowed},
		{"GET", "/", "", http.StatusNotFound},
		{"POST", "/", fmt.Sprintf(`{"to":%q}`, to), http.StatusNotFound},
		{"POST", "/fill", "fill=F1&confirm=1", http.StatusNotFound},
		{"POST", "/files/export", "", http.StatusNotFound},
		{"POST", "/backup", "", http.StatusBadRequest},
		{"POST", "/backup", `{"to":""}`, http.StatusBadRequest},
		{"POST", "/backup", `{"to":"copy"}`, http.StatusBadRequest},
		{"POST", "/backup", fmt.Sprintf(`{"to":%q,"over":true}`, to), http.StatusBadRequest},
		{"POST", "/backup", fmt.Sprintf(`{"to":%q}`, "/"+strings.Repeat("x", 1<<20)), http.StatusBadRequest},
		{"POST", "/backup", fmt.Sprintf(`{"to":%q}`, folder), http.StatusConflict},
	} {
		request, err := http.NewRequest(c.method, "http://page"+c.path, strings.NewReader(c.body))
		if err != nil {
			t.Fatal(err)
		}
		answer, err := client.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(io.Discard, answer.Body)
		answer.Body.Close()
		if answer.StatusCode != c.want {
			t.Errorf("%s %s %.40s: %d, want %d", c.method, c.path, c.body, answer.StatusCode, c.want)
		}
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) != 1 {
		t.Errorf("in the folder: %v, %v; want the door only", left, err)
	}
}

// A door that a killed program left is replaced, and nothing else is.
func TestSideDoor_InTheWay(t *testing.T) {
	log := filepath.Join(t.TempDir(), "shop.duckdb")
	stale, err := net.ListenUnix("unix", &net.UnixAddr{Name: sideDoorPath(log), Net: "unix"})
	if err != nil {
		t.Fatal(err)
	}
	stale.SetUnlinkOnClose(false)
	stale.Close()
	d := sideDoorOf(t, log)
	if err := errors.Join(askBackup(t.Context(), log, log+".copy"), d.close()); err != nil {
		t.Error(err)
	}
	if err := os.WriteFile(sideDoorPath(log), []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := openSideDoor(t.Context(), log, nil); err == nil || !strings.Contains(err.Error(), "is there already and is no socket") {
		t.Errorf("over a file: %v", err)
	}
	if text, err := os.ReadFile(sideDoorPath(log)); string(text) != "mine" || err != nil {
		t.Errorf("the file is %q, %v", text, err)
	}
	if _, err := openSideDoor(t.Context(), filepath.Join(t.TempDir(), strings.Repeat("x", 120)), nil); err == nil || !strings.Contains(err.Error(), "longer than 103 bytes") {
		t.Errorf("under a long name: %v", err)
	}
}

// The page that has a log open makes a backup of it while rows are saved; a door
// that a killed one left is no hindrance.
func TestServe_Backup(t *testing.T) {
	folder := t.TempDir()
	log := filepath.Join(folder, "shop.duckdb")
	server := startServer(t, log)
	if err := server.process.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	server.process.Wait()
	server = startServer(t, log)
	var saved []string
	for i := range 4 {
		id := fmt.Sprint("F", i)
		if ok, err := saveFill(server.url, id); err != nil || !ok {
			t.Fatalf("%s was not saved: %v", id, err)
		}
		saved = append(saved, id)
		if i%2 == 0 {
			continue
		}
		to := filepath.Join(folder, fmt.Sprint("copy-", i, ".duckdb"))
		out, errs, code := trueplait(t, "backup", to, "--log", log)
		if code != 0 || !strings.HasPrefix(out, "wrote "+to) || !strings.Contains(errs, "open in the bench page, which made the copy") {
			t.Fatalf("backup exits with %d: %q, %q", code, out, errs)
		}
		mustRun(t, "verify", "--log", to)
		exported := filepath.Join(folder, fmt.Sprint("export-", i))
		mustRun(t, "export", exported, "--log", to)
		rows, err := os.ReadFile(filepath.Join(exported, "fills.csv"))
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range saved {
			if !strings.Contains(string(rows), "\n"+id+",") {
				t.Errorf("%s lacks %s", to, id)
			}
		}
	}
	if err := server.process.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := server.process.Wait(); err != nil {
		t.Errorf("the server, stopped: %v", err)
	}
	if _, err := os.Lstat(sideDoorPath(log)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the door is still there: %v", err)
	}
}
