package data

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Every .sql file must be valid against the tables of the migrations, be
// embedded by a Go file, and say what it is for.
func TestEveryStatementPrepares(t *testing.T) {
	l := newLog(t)
	comment := regexp.MustCompile(`(?m)^ *--.*$`)
	files, err := filepath.Glob("query/*.sql")
	if err != nil || len(files) == 0 {
		t.Fatalf("query/*.sql: %d files, %v", len(files), err)
	}
	text := map[string]string{}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		text[strings.TrimSuffix(filepath.Base(f), ".sql")] = string(b)
	}
	exec := func(query string) {
		t.Helper()
		if _, err := l.db.Exec(query); err != nil {
			t.Fatalf("%s: %v", query, err)
		}
	}
	// Temporary tables come first: other statements read them. repeated has one
	// form for all kinds.
	for name, query := range text {
		if strings.HasSuffix(name, "_stage") && name != "factor_given_stage" {
			exec(query)
		}
	}
	exec(text["factor_given_stage"])
	exec(text["observed_body"]) // a view of several of them
	exec(text["build_repeated"])
	for name, query := range text {
		if strings.HasSuffix(name, "_append") {
			from := "* from " + regexp.MustCompile(`insert into (\w+)`).FindStringSubmatch(query)[1]
			exec("drop table if exists appended")
			exec("create temporary table appended as select " + from)
		}
		stmt, err := l.db.Prepare(l.db.word(query))
		if err != nil {
			if strings.Contains(err.Error(), "already exists") { // a temporary table from above
				continue
			}
			t.Errorf("query/%s.sql: %v", name, err)
			continue
		}
		stmt.Close()
		for _, part := range []string{"-- Parameters: ", "-- Columns: "} {
			if !strings.Contains(query, part) {
				t.Errorf("query/%s.sql: no line %q", name, part)
			}
		}
		if n := strings.Count(comment.ReplaceAllString(query, ""), ";"); n != 1 {
			t.Errorf("query/%s.sql: %d semicolons, want one statement", name, n)
		}
	}
}

func TestEveryStatementIsUsed(t *testing.T) {
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var code strings.Builder
	for _, f := range sources {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		code.Write(b)
	}
	for _, pattern := range []string{"query/*.sql", "migration/*.sql"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if !strings.Contains(code.String(), "//go:embed "+f+"\n") {
				t.Errorf("%s is embedded by no Go file", f)
			}
		}
	}
}
