package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// An interrupted command exits 130, leaves stdout empty and nothing half done.
func TestInterrupted(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "builds.csv")
	text := "build,date,maker,product,predicted_weight_g,weight\nB-1,2024-01-05,arlo,bull,400,411 g\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	log := filepath.Join(dir, "shop.duckdb")
	mustRun(t, "import", path, "--log", log)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, args := range [][]string{
		{"import", path, "--log", log}, {"calibrate", "--log", log}, {"proof", "--log", log},
		{"report", "--log", log, "-o", filepath.Join(dir, "page.html")},
	} {
		var out, errs bytes.Buffer
		code := run(ctx, args, strings.NewReader(""), &out, &errs)
		if code != exitInterrupted || out.Len() > 0 || !strings.Contains(errs.String(), "interrupted") {
			t.Errorf("%v: exit code %d, stdout %q, stderr %q", args, code, out.String(), errs.String())
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "page.html")); err == nil {
		t.Error("the report was written")
	}
}
