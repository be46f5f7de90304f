package main

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

// The manual and the README name commands that exist, each with an example in
// its help.
func TestManual(t *testing.T) {
	for _, file := range []string{"doc.go", "../../README.md"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		named := map[string]bool{}
		for _, m := range regexp.MustCompile(`(?m)^(?://\t|    )trueplait ([a-z]+)`).FindAllStringSubmatch(string(text), -1) {
			named[m[1]] = true
		}
		if len(named) < 8 {
			t.Errorf("%s names %d commands", file, len(named))
		}
		for name := range named {
			if help := mustRun(t, name, "--help"); !strings.Contains(help, "Example: ") {
				t.Errorf("%s names %s, whose help has no example:\n%s", file, name, help)
			}
		}
		if file == "doc.go" {
			for _, want := range []string{"import", "check", "calibrate", "factors", "plan", "promise", "proof", "consistency", "report", "export", "build", "fill", "cord", "serve", "backup", "verify"} {
				if !named[want] {
					t.Errorf("the manual does not name %s", want)
				}
			}
		}
	}
}
