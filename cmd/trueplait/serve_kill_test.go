package main

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/model"
)

// A server that is killed at any moment loses nothing that it said was saved,
// and keeps nothing twice or by halves.
func TestServe_Killed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.duckdb")
	r := rand.New(rand.NewPCG(5, 11))
	acknowledged := map[string]bool{}
	const kills = 8
	for round := range kills {
		server := startServer(t, path)
		var hands sync.WaitGroup
		var lock sync.Mutex
		for hand := range 3 {
			hands.Go(func() {
				for i := 0; ; i++ {
					id := fmt.Sprintf("F%d-%d-%d", round, hand, i)
					saved, err := saveFill(server.url, id)
					if err != nil { // killed
						return
					}
					if saved {
						lock.Lock()
						acknowledged[id] = true
						lock.Unlock()
					}
				}
			})
		}
		time.Sleep(time.Duration(100+r.IntN(700)) * time.Millisecond)
		if err := server.process.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		server.process.Wait()
		hands.Wait()
	}
	log, err := data.Open(t.Context(), path, data.ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	found := map[string]int{}
	for row, err := range log.Rows(t.Context(), model.Fills, time.Time{}) {
		if err != nil {
			t.Fatal(err)
		}
		fill := row.(*model.Fill)
		found[fill.ID]++
		if fill.ShotMassG != 12.5 || fill.FilledLengthMM != 152.4 || fill.CoreBatch != "C1" {
			t.Errorf("test fill %s came back as %+v", fill.ID, fill)
		}
	}
	for id := range acknowledged {
		if found[id] != 1 {
			t.Errorf("test fill %s was said to be saved, and is there %d times", id, found[id])
		}
	}
	if len(acknowledged) < kills {
		t.Errorf("only %d saves were acknowledged in %d rounds: too few to show anything", len(acknowledged), kills)
	}
	t.Logf("%d kills, %d saves acknowledged, %d found", kills, len(acknowledged), len(found))
}

// runningServer is the program in a process of its own.
type runningServer struct {
	process *exec.Cmd
	url     string
}

func startServer(t *testing.T, log string) runningServer {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	cmd := &exec.Cmd{Path: os.Args[0], Args: []string{"trueplait", "serve", "--log", log, "--listen", address}}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "bench page: http") {
		t.Fatalf("the server says %q, %v", line, err)
	}
	return runningServer{cmd, "http://" + address}
}

// saveFill saves a test fill as the page's form does, and reports whether the
// server said that it is saved. An error: no answer came.
func saveFill(server, id string) (bool, error) {
	form := url.Values{"fill": {id}, "key": {id}, "core_batch": {"C1"}, "filled_length": {"6 in"}, "shot_mass": {"12.5 g"}, "confirm": {"1"}}
	request, err := http.NewRequest(http.MethodPost, server+"/fill", strings.NewReader(form.Encode()))
	if err != nil {
		return false, err
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Origin", server)
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(request)
	if err != nil {
		return false, err
	}
	defer answer.Body.Close()
	return answer.StatusCode == http.StatusSeeOther && strings.HasPrefix(answer.Header.Get("Location"), "/saved"), nil
}
