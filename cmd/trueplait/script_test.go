package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"trueplait/data"
)

var update = flag.Bool("update", false, "rewrite the expected output of scripts and golden files")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"trueplait": func() {
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
			defer stop()
			os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
		},
		"holdlog":  holdLog,
		"workbook": makeWorkbook,
	})
}

// TestScript runs each script of testdata/script as a user would type it.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("SOURCE_DATE_EPOCH", "1751328000") // 2025-07-01
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "waitfor": waitFor},
	})
}

// holdLog is another program that has the log open: holdlog LOG FILE makes FILE
// once it has, and waits to be killed.
func holdLog() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	log, err := data.Open(ctx, os.Args[1], data.ReadWrite)
	if err == nil {
		err = os.WriteFile(os.Args[2], nil, 0o666)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(exitData)
	}
	<-ctx.Done()
	log.Close()
}

// waitFor waits until a file is there: waitfor FILE.
func waitFor(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: waitfor FILE")
	}
	for range 600 { // a minute on a busy machine
		if _, err := os.Stat(ts.MkAbs(args[0])); err == nil {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	ts.Fatalf("%s did not come", args[0])
}

// exits runs a command and checks its exit code: exits CODE COMMAND…
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND [ARGS]")
	}
	err := ts.Exec(args[1], args[2:]...)
	code := "0"
	if err != nil {
		code = strings.TrimPrefix(err.Error(), "exit status ")
	}
	if code != args[0] {
		ts.Fatalf("exit code %s, want %s", code, args[0])
	}
}

// trueplait runs one command line in this process.
func trueplait(t *testing.T, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	var out, errs bytes.Buffer
	code = run(t.Context(), args, strings.NewReader(""), &out, &errs)
	return out.String(), errs.String(), code
}

// mustRun is trueplait where nothing may go wrong.
func mustRun(t *testing.T, args ...string) string {
	t.Helper()
	out, errs, code := trueplait(t, args...)
	if code != 0 {
		t.Fatalf("trueplait %s: exit code %d\n%s", strings.Join(args, " "), code, errs)
	}
	return out
}
