package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestReadme runs the README's first command and holds its output against what
// the README shows. -update writes it there.
func TestReadme(t *testing.T) {
	path, err := filepath.Abs(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	want := mustRun(t, "demo")
	page, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const begin, end = "```console\n$ trueplait demo\n", "```\n"
	before, rest, ok := strings.Cut(string(page), begin)
	shown, after, closed := strings.Cut(rest, end)
	if !ok || !closed {
		t.Fatalf("README.md has no block that begins %q", begin)
	}
	if *update {
		if err := os.WriteFile(path, []byte(before+begin+want+end+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if shown != want {
		t.Errorf("README.md shows\n%s\nbut demo prints\n%s", shown, want)
	}
	// Run again it replaces what it made, and refuses a folder of someone else's.
	if again := mustRun(t, "demo"); again != want {
		t.Errorf("the second time demo prints\n%s", again)
	}
	if err := os.WriteFile("demo-shop/mine.txt", []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, errs, code := trueplait(t, "demo"); code != exitData || out != "" || !strings.Contains(errs, "mine.txt") {
		t.Errorf("demo over someone's file: exit code %d, stdout %q, stderr %q", code, out, errs)
	}
}
