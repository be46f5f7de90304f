package report

import (
	"strings"
	"testing"
)

// exampleVerification is of a log in which two rows and a calibration are wrong.
func exampleVerification() *Verification {
	return &Verification{
		Log: "shop.duckdb",
		Checks: []Checked{
			{Holds: "every file has the bytes it was imported with", Of: "files", Count: 3},
			{Holds: "every row is what its line of the kept file states", Of: "rows", Count: 120, Wrong: 2, More: 1, Faults: []Fault{
				{`build "W1" (builds.csv:2)`, `weight is "1 g" in the log and "411 g" in the kept file`, "take the row from a sound backup"}}},
		},
		Notes: []string{"calibration 2 was saved by another version of the program: \x1b[2J"},
	}
}

func TestVerification(t *testing.T) {
	v := exampleVerification()
	var table, json strings.Builder
	if err := VerificationTable(&table, v, Style{}); err != nil {
		t.Fatal(err)
	}
	if err := VerificationJSON(&json, v); err != nil {
		t.Fatal(err)
	}
	golden(t, "verification.txt", []byte(table.String()))
	golden(t, "verification.json", []byte(json.String()))
	if v.Sound() {
		t.Error("two rows are wrong, and the log is sound")
	}
	v.Checks[1].Wrong = 1
	table.Reset()
	if err := VerificationTable(&table, v, Style{}); err != nil || !strings.Contains(table.String(), "1 of these is wrong") {
		t.Errorf("%v:\n%s", err, table.String())
	}
	v.Checks[1].Wrong = 0
	table.Reset()
	if err := VerificationTable(&table, v, Style{}); err != nil || !strings.Contains(table.String(), "The log is sound") || !v.Sound() {
		t.Errorf("%v:\n%s", err, table.String())
	}
}
