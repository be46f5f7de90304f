package main

import (
	"bytes"
	"strings"
	"testing"

	"trueplait/model"
	"trueplait/report/bench"
)

func TestWithoutPassword(t *testing.T) {
	for _, tt := range []struct {
		log, want string
		had       bool
	}{
		{"shop.duckdb", "shop.duckdb", false},
		{"postgres://anna@h/db?sslmode=require", "postgres://anna@h/db?sslmode=require", false},
		{"postgres://anna:s3cret@h:5433/db?sslmode=require", "postgres://anna@h:5433/db?sslmode=require", true},
		{"postgres://anna:@h/db", "postgres://anna@h/db", true},
		{"postgres://h/db?password=s3cret&sslpassword=s3cret&sslmode=require", "postgres://h/db?sslmode=require", true},
		{"postgresql://h/db?sslpassword=s3cret", "postgresql://h/db", true},
		{"postgres://anna:s3%zzcret@h/db", "postgres://?", false},
	} {
		if got, had := withoutPassword(tt.log); got != tt.want || had != tt.had {
			t.Errorf("%s: %s, %v; want %s, %v", tt.log, got, had, tt.want, tt.had)
		}
	}
	if got, want := asRole("postgres://keeper:s3cret@h/db?sslmode=require", "Brid's shop"), "postgres://Brid%27s%20shop@h/db?sslmode=require"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A password on the command line is warned of once, and one that others cannot
// see is not.
func TestWarnOfPasswords(t *testing.T) {
	for _, tt := range []struct {
		args  []string
		warns int
	}{
		{[]string{"factors", "--log", "postgres://anna:s3cret@h/db"}, 1},
		{[]string{"factors", "--log=postgres://anna:s3cret@h/db"}, 1},
		{[]string{"server", "setup", "--log", "postgres://k:s3cret@h/db", "--shard", "postgres://k:s3cret@a/db"}, 1},
		{[]string{"server", "move", "3", "postgres://k:s3cret@a/db"}, 1},
		{[]string{"factors", "--log", "postgres://anna@h/db"}, 0},
		{[]string{"factors", "--log", "postgres.duckdb"}, 0},
	} {
		var errs bytes.Buffer
		(&program{stderr: &errs}).warnOfPasswords(tt.args)
		if n := strings.Count(errs.String(), "warning: "); n != tt.warns || strings.Contains(errs.String(), "s3cret") {
			t.Errorf("%q: %q", tt.args, errs.String())
		}
	}
}

// What would go on with a row that was not saved names the log, not its
// password.
func TestGoOn_Server(t *testing.T) {
	var errs bytes.Buffer
	e := &entering{
		program: &program{ctx: t.Context(), stderr: &errs, log: "postgres://anna:s3cret@h/db?sslmode=require", named: true},
		answers: &answers{kind: model.Fills, given: map[string]string{}},
		now:     &bench.Snapshot{},
	}
	if err := e.talk(newPrompt(strings.NewReader(""), &errs)); err == nil {
		t.Fatal("an empty input is a row")
	}
	if want := "to go on: trueplait fill --log 'postgres://anna@h/db?sslmode=require'\n"; !strings.HasSuffix(errs.String(), want) {
		t.Errorf("%q, want %q", errs.String(), want)
	}
}
