package faults

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// server is the bench page in a process of its own.
type server struct {
	cmd *exec.Cmd
	url string
}

// serve starts the bench page of a shop.
func (s shop) serve(t *testing.T) server {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	cmd := command(s.dir, "serve", "--log", "shop.duckdb", "--listen", address)
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
		t.Fatalf("the page says %q, %v", line, err)
	}
	return server{cmd, "http://" + address}
}

// kill ends the page as it is.
func (p server) kill() {
	p.cmd.Process.Kill()
	p.cmd.Wait()
}

// saveFill saves a test fill as the page's form does. It returns the answer's
// status and where it leads.
func (p server) saveFill(id string) (status int, location string, err error) {
	form := url.Values{"fill": {id}, "key": {id}, "core_batch": {"HC01"}, "filled_length": {"200 mm"}, "shot_mass": {"17 g"}, "confirm": {"1"}}
	request, err := http.NewRequest(http.MethodPost, p.url+"/fill", strings.NewReader(form.Encode()))
	if err != nil {
		return 0, "", err
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Origin", p.url)
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(request)
	if err != nil {
		return 0, "", err
	}
	defer answer.Body.Close()
	return answer.StatusCode, answer.Header.Get("Location"), nil
}

// killServers kills the page again and again while two hands save test fills.
func killServers(t *testing.T, r *rand.Rand, kills int) (k score) {
	s := newShop(t)
	known, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	saves := 0
	for round := range kills {
		sent, saved := s.saveUntilKilled(t, round, time.Duration(r.IntN(250))*time.Millisecond)
		k.kills++
		if len(sent) > len(saved) {
			k.hits++
		}
		saves += len(saved)
		found, err := read(t, s.log())
		if err != nil {
			t.Fatalf("kill %d: the log does not open any more: %v", round, err)
		}
		// What was sent and not answered may be there or not.
		for id := range sent {
			if _, there := found.Rows["fills "+id]; there || saved[id] {
				known.Rows["fills "+id] = figures{LengthMM: 200, ShotG: 17}
			}
		}
		known.Calibrations = found.Calibrations // each save makes one, after the answer at the latest
		if diff := cmp.Diff(known, found); diff != "" {
			t.Fatalf("kill %d: -acknowledged +found:\n%s", round, short(diff))
		}
		known = found
	}
	t.Logf("%d kills, %d with a save under way; %d saves acknowledged", k.kills, k.hits, saves)
	if saves < kills {
		t.Errorf("only %d saves were acknowledged: too few to show anything", saves)
	}
	return k
}

// saveUntilKilled starts the page, lets two hands save test fills, and kills it
// some time after the first that was acknowledged.
func (s shop) saveUntilKilled(t *testing.T, round int, after time.Duration) (sent, saved map[string]bool) {
	t.Helper()
	page := s.serve(t)
	var lock sync.Mutex
	var first sync.Once
	begun := make(chan struct{})
	sent, saved = map[string]bool{}, map[string]bool{}
	var hands sync.WaitGroup
	for hand := range 2 {
		hands.Go(func() {
			for i := 0; ; i++ {
				id := fmt.Sprintf("S%d-%d-%d", round, hand, i)
				lock.Lock()
				sent[id] = true
				lock.Unlock()
				status, location, err := page.saveFill(id)
				if err != nil { // killed
					return
				}
				if status != http.StatusSeeOther || !strings.HasPrefix(location, "/saved") {
					t.Errorf("%s: status %d, %q", id, status, location)
					return
				}
				lock.Lock()
				saved[id] = true
				lock.Unlock()
				first.Do(func() { close(begun) })
			}
		})
	}
	select {
	case <-begun:
	case <-time.After(time.Minute):
		t.Error("nothing was saved in a minute")
	}
	time.Sleep(after)
	page.kill()
	hands.Wait()
	return sent, saved
}
