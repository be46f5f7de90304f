package main

import (
	"database/sql"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A damaged log is told so, with what to do, and exits 1; what was looked at is
// printed all the same.
func TestVerify_Damaged(t *testing.T) {
	folder := t.TempDir()
	log, file := filepath.Join(folder, "shop.duckdb"), filepath.Join(folder, "builds.csv")
	if err := os.WriteFile(file, []byte("build,date,maker,product,weight_g,predicted_weight_g\nB-1,2024-01-05,arlo,bull,411,400\nB-2,2024-01-06,arlo,bull,412,400\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	mustRun(t, "import", file, "--log", log)
	db, err := sql.Open("duckdb", log)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.ExecContext(t.Context(), "update build set weight_g = 421 where id = 'B-1'"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	out, errs, code := trueplait(t, "verify", "--log", log)
	want := `build "B-1" (` + file + `:2): weight is "421 g" in the log and "411 g" in the kept file: take the row from a sound backup`
	if code != exitData || !strings.HasPrefix(errs, want) || !strings.Contains(out, "The log is damaged: 1 of these is wrong.") {
		t.Errorf("exit code %d\n%s\n%s", code, errs, out)
	}
	out, _, code = trueplait(t, "verify", "--json", "--log", log)
	var found struct {
		Sound  bool
		Checks []struct {
			Check        string
			Count, Wrong int
		}
		Problems []struct{ Check, Where, Problem, Remedy string }
		Notes    []string
	}
	if err := json.Unmarshal([]byte(out), &found); err != nil {
		t.Fatalf("%v:\n%s", err, out)
	}
	wrong := 0
	for _, c := range found.Checks {
		wrong += c.Wrong
	}
	if code != exitData || found.Sound || wrong != 1 || len(found.Problems) != 1 || found.Problems[0].Where != `build "B-1" (`+file+`:2)` || found.Notes == nil {
		t.Errorf("exit code %d, %+v", code, found)
	}
}
