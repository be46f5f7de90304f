package faults

import (
	"bytes"
	"compress/gzip"
	"database/sql"
	"io"
	"strings"
	"testing"
)

// One byte of a kept file that is another than it was is found by verify, which
// says in which file, also where the rows read from it would be the same.
func TestKeptByteChanged(t *testing.T) {
	const text = "fill,date,core_batch,filled_length_mm,shot_mass_g\nF1,2024-05-01, HC01,200,16\n"
	for _, c := range []struct {
		name   string
		change func(t *testing.T, kept []byte) []byte
		want   string
	}{
		{"a space is a tab", func(t *testing.T, kept []byte) []byte {
			return pack(t, bytes.Replace(unpack(t, kept), []byte(" "), []byte("\t"), 1))
		}, `file "fills.csv": has other bytes than it was imported with (file number 3): another program or the disk changed the log: go on with a sound backup`},
		{"of what was packed", func(_ *testing.T, kept []byte) []byte {
			kept[len(kept)/2] ^= 1
			return kept
		}, `file "fills.csv": cannot be read back: *`},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := newShop(t)
			s.write(t, "fills.csv", text)
			s.run(t, "import", "fills.csv")
			if r := s.run(t, "verify"); r.stderr != "" {
				t.Fatalf("before: %s", r.stderr)
			}
			s.changeKept(t, "fills.csv", c.change)
			r := finish(t, command(s.dir, "verify", "--log", "shop.duckdb"))
			if r.code != 1 || !matches(c.want, strings.TrimSpace(r.stderr)) {
				t.Errorf("exit code %d, stderr\n%s\nwant\n%s", r.code, r.stderr, c.want)
			}
		})
	}
}

// changeKept changes the packed bytes that the log keeps of a file.
func (s shop) changeKept(t *testing.T, name string, change func(*testing.T, []byte) []byte) {
	t.Helper()
	db, err := sql.Open("duckdb", s.log())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var source int
	var kept []byte
	err = db.QueryRowContext(t.Context(), "select p.source, p.content_gzip from source_piece as p join source as s on s.number = p.source where s.name = ?", name).
		Scan(&source, &kept)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.ExecContext(t.Context(), "update source_piece set content_gzip = ? where source = ?", change(t, kept), source); err != nil {
		t.Fatal(err)
	}
}

func pack(t *testing.T, text []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	if _, err := w.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func unpack(t *testing.T, packed []byte) []byte {
	t.Helper()
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return text
}
