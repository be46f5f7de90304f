package main

import (
	"bufio"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"testing"
)

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
