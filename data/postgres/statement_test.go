package postgres_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"trueplait/data/postgres"
)

// file reads a file of the project.
func file(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Every file of statements is embedded, once, and says what it is for, its
// parameters and its columns; a migration says what it is for.
func TestStatementFiles(t *testing.T) {
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var code strings.Builder
	for _, f := range sources {
		code.WriteString(file(t, f))
	}
	found := 0
	for _, folder := range []string{"query", "divided", "migration"} {
		files, err := filepath.Glob(folder + "/*")
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			found++
			if n := strings.Count(code.String(), "//go:embed "+f+"\n"); n != 1 {
				t.Errorf("%s is embedded %d times", f, n)
			}
			text := file(t, f)
			head, _, _ := strings.Cut(text, "\n\n")
			says := []string{"-- "}
			if folder != "migration" {
				says = append(says, "\n-- Parameters: ", "\n-- Columns: ")
			}
			for _, line := range says {
				if !strings.Contains(head, line) {
					t.Errorf("%s has no line %q on top", f, strings.TrimSpace(line))
				}
			}
			if !strings.HasPrefix(text, "-- ") || !strings.HasSuffix(text, ";\n") {
				t.Errorf("%s does not begin with a comment or end with a semicolon", f)
			}
		}
	}
	if found < 70 {
		t.Errorf("%d files: the test looks past them", found)
	}
}

// What PostgreSQL words in its own way is a statement that both engines have, with
// the same parameters; every file of divided is one of those.
func TestWordsHaveNamesakes(t *testing.T) {
	for _, divided := range []bool{false, true} {
		for name, text := range (postgres.Engine{Divided: divided}).Words() {
			shared := parameters(file(t, "../query/"+name+".sql"))
			if own := parameters(text); !slices.Equal(own, shared) {
				t.Errorf("%s, divided: %v, has the parameters %q, the shared statement %q", name, divided, own, shared)
			}
		}
	}
	words := (postgres.Engine{Divided: true}).Words()
	files, err := filepath.Glob("divided/*.sql")
	if err != nil || len(files) == 0 {
		t.Fatal(len(files), err)
	}
	for _, f := range files {
		if words[strings.TrimSuffix(filepath.Base(f), ".sql")] != file(t, f) {
			t.Errorf("%s is no word of a divided log", f)
		}
	}
}

// parameters lists the parameters of a statement, its comments aside.
func parameters(text string) []string {
	text = regexp.MustCompile(`(?m)--.*$`).ReplaceAllString(text, "")
	found := regexp.MustCompile(`\$[0-9]+`).FindAllString(text, -1)
	slices.Sort(found)
	return slices.Compact(found)
}
