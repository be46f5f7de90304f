package server

import (
	"bufio"
	"bytes"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"
)

// page is the bench page of a workshop in a process of its own.
type page struct {
	url  string
	said *window
}

// window is what the page's program prints beside its address.
type window struct {
	lock sync.Mutex
	text bytes.Buffer
}

func (w *window) Write(p []byte) (int, error) {
	w.lock.Lock()
	defer w.lock.Unlock()
	return w.text.Write(p)
}

func (w *window) String() string {
	w.lock.Lock()
	defer w.lock.Unlock()
	return w.text.String()
}

// serve starts the bench page of a workshop, with options.
func (g guild) serve(t *testing.T, role string, options ...string) page {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	p := page{"http://" + address, &window{}}
	cmd := g.command(role, append([]string{"serve", "--listen", address}, options...)...)
	cmd.Stderr = p.said
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "bench page: http") {
		t.Fatalf("the page says %q, %v\n%s", line, err, p.said)
	}
	return p
}

// save saves a test fill as the page's form does, and returns the answer's status
// and where it leads.
func (p page) save(t *testing.T, id string) (status int, location string) {
	t.Helper()
	form := url.Values{"fill": {id}, "key": {id}, "core_batch": {"HC01"}, "filled_length": {"200 mm"}, "shot_mass": {"17 g"}, "confirm": {"1"}}
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, p.url+"/fill", strings.NewReader(form.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Origin", p.url)
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	return answer.StatusCode, answer.Header.Get("Location")
}

// The page goes on when the server comes back, whenever that was killed.
func TestServe_Restart(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "anna")
	p := g.serve(t, "anna")
	save := func(id string) {
		t.Helper()
		if status, location := p.save(t, id); status != http.StatusSeeOther || !strings.HasPrefix(location, "/saved") {
			t.Fatalf("%s: status %d, %q\n%s", id, status, location, p.said)
		}
	}
	save("F1")
	g.restart(t)
	save("F2") // nobody asked while it was away
	if err := g.Kill(); err != nil {
		t.Fatal(err)
	}
	for range 2 { // with a connection that broke, and without any
		if status, _ := p.save(t, "F3"); status != http.StatusInternalServerError {
			t.Errorf("without a server: status %d", status)
		}
	}
	if err := g.Resume(); err != nil {
		t.Fatal(err)
	}
	save("F3")
	save("F4")
	g.holds(t, "anna", "fills", []string{"F1", "F2", "F3", "F4"})
	said := p.said.String()
	if want := "log " + g.address("anna") + ": the server does not answer"; strings.Count(said, want) != 2 || strings.Contains(said, g.Password) {
		t.Errorf("the page's window does not say %q twice:\n%s", want, said)
	}
}

// restart kills the server and starts it again.
func (g guild) restart(t *testing.T) {
	t.Helper()
	if err := g.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := g.Resume(); err != nil {
		t.Fatal(err)
	}
}

// A command whose server is killed under it says so, with exit code 1, and is
// kept whole or not at all; done again it changes nothing more.
func TestKilled_Import(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "anna")
	var b strings.Builder
	var want []string
	b.WriteString("build,date,maker,product,core_batch,predicted_weight_g,weight_g\n")
	for i := range 20_000 {
		want = append(want, fmt.Sprint("B", i))
		fmt.Fprintf(&b, "B%d,2025-05-%02d,Arlo,bull,HC01,400,%d\n", i, 1+i%28, 400+i%17)
	}
	g.write(t, "builds.csv", b.String())
	hits := 0
	for _, after := range []time.Duration{50, 150, 300, 600} {
		cmd := g.command("anna", "import", "builds.csv")
		ended := start(t, cmd)
		time.Sleep(after * time.Millisecond)
		g.restart(t)
		r := <-ended
		if r.code == 0 { // it was faster
			continue
		}
		hits++
		said := "trueplait: log " + g.address("anna") + ": the server does not answer"
		if r.code != 1 || !strings.HasPrefix(r.stderr, said) || strings.Count(r.stderr, "\n") != 1 || r.stdout != "" {
			t.Errorf("killed after %d ms: exit code %d\n%s%s", after, r.code, r.stdout, r.stderr)
		}
		out := g.run(t, "anna", "verify", "--json")
		if !strings.Contains(out, `"sound": true`) {
			t.Errorf("killed after %d ms:\n%s", after, out)
		}
	}
	if hits == 0 {
		t.Error("no kill came in time")
	}
	g.run(t, "anna", "import", "builds.csv")
	g.holds(t, "anna", "builds", want)
}

// start starts a command and gives its result when it has ended.
func start(t *testing.T, cmd *exec.Cmd) <-chan result {
	t.Helper()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan result, 1)
	go func() {
		cmd.Wait()
		ended <- result{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
	}()
	return ended
}
