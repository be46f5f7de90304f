package faults

import (
	"crypto/sha256"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What cannot be used as a log, or written to, is refused with a message that
// says what to do, and left as it is.
func TestRefused(t *testing.T) {
	importing := []string{"import", "fills.csv"}
	reading := []string{"factors"}
	for _, c := range []struct {
		name  string
		spoil func(s shop, t *testing.T)
		log   string
		args  []string
		user  bool // run by somebody else than the owner of the files
		want  string
	}{
		{"a folder as log", (shop).makeFolder, "folder", importing, false,
			"trueplait: log folder: is a folder: name the file in it, such as folder/workshop.duckdb"},
		{"a folder as log to read", (shop).makeFolder, "folder", reading, false,
			"trueplait: log folder: is a folder: name the file in it, such as folder/workshop.duckdb"},
		{"a text file as log", nil, "fills.csv", importing, false,
			"trueplait: log fills.csv: not a log: it is no DuckDB file; name another file with --log, or import a CSV with: import fills.csv"},
		{"a text file as log to read", nil, "fills.csv", reading, false,
			"trueplait: log fills.csv: not a log: it is no DuckDB file; name another file with --log, or import a CSV with: import fills.csv"},
		{"no log", nil, "other.duckdb", reading, false,
			"trueplait: no log at other.duckdb: import a file first, or name the log with --log"},
		{"no folder for the log", nil, "no/shop.duckdb", importing, false,
			"trueplait: log no/shop.duckdb: file does not exist: its folder is not there, create it first"},
		{"no folder for the page", nil, "shop.duckdb", []string{"report", "-o", "no/page.html"}, false,
			"trueplait: no/page.html: its folder is not there: create it first"},
		{"no folder for the sheet", nil, "shop.duckdb", []string{"plan", "--product", product, "--save", "P1", "-o", "no/sheet.html"}, false,
			"trueplait: no/sheet.html: its folder is not there: create it first"},
		{"a newer log", (shop).age, "shop.duckdb", importing, false,
			`trueplait: log shop.duckdb: written by a newer program (its tables are "0099_later", the newest known here is "*"): use the newer program; the file is unchanged`},
		{"a newer log to read", (shop).age, "shop.duckdb", reading, false,
			`trueplait: log shop.duckdb: written by a newer program (its tables are "0099_later", the newest known here is "*"): use the newer program; the file is unchanged`},
		{"a truncated log", (shop).truncate, "shop.duckdb", importing, false, damaged},
		{"a truncated log to read", (shop).truncate, "shop.duckdb", reading, false, damaged},
		{"a folder that may not be written", nil, "shop.duckdb", importing, true, "trueplait: log shop.duckdb: " + permissions},
		{"no log in a folder that may not be written", nil, "new.duckdb", importing, true, "trueplait: log new.duckdb: " + permissions},
		{"a log of one's own in such a folder", (shop).lend, "shop.duckdb", importing, true, "trueplait: log shop.duckdb: the file and its folder must be yours to read and write: *"},
		{"a log that may not be read", (shop).hide, "shop.duckdb", reading, true,
			"trueplait: log shop.duckdb: " + permissions},
		{"a log on a disk that may only be read", (shop).seal, "shop.duckdb", importing, false, "trueplait: log shop.duckdb: " + permissions},
		{"an export into such a folder", nil, "shop.duckdb", []string{"export", "out"}, true,
			"trueplait: out: " + unwritable},
		{"a page into such a folder", nil, "shop.duckdb", []string{"report", "-o", "page.html"}, true,
			"trueplait: page.html: " + unwritable},
		{"the bench page of such a log", nil, "shop.duckdb", []string{"serve"}, true,
			"trueplait: log shop.duckdb: " + permissions},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := newShop(t)
			s.write(t, "fills.csv", oneFill)
			if c.spoil != nil {
				c.spoil(s, t)
			}
			cmd := command(s.dir, append(c.args, "--log", c.log)...)
			if c.user {
				s.asNobody(t, cmd)
			}
			before := s.content(t)
			r := finish(t, cmd)
			if r.code != 1 || r.stdout != "" {
				t.Errorf("exit code %d, stdout %q", r.code, r.stdout)
			}
			if !matches(c.want, strings.TrimSpace(r.stderr)) {
				t.Errorf("stderr\n%s\nwant\n%s", r.stderr, c.want)
			}
			if diff := cmp.Diff(before, s.content(t)); diff != "" {
				t.Errorf("the folder changed:\n%s", diff)
			}
		})
	}
}

// What a message says after the file's name; a * stands for the system's words.
const (
	damaged     = "trueplait: log shop.duckdb: damaged or cut short: move it away and put a backup in its place: *"
	permissions = "the file and its folder must be yours to read and write: change their permissions, or copy the log to a folder of yours: *"
	unwritable  = "nothing may be written there: change the permissions of the folder, or name another"
)

const oneFill = "fill,date,core_batch,filled_length_mm,shot_mass_g\nF1,2024-05-01,HC01,200,16\n"

// While the bench page runs, every command that needs the log says so.
func TestRefused_SecondProgram(t *testing.T) {
	s := newShop(t)
	s.write(t, "fills.csv", oneFill)
	page := s.serve(t)
	before := s.content(t)
	const inUse = "trueplait: log shop.duckdb: in use by another program: close it there (an import, the bench page or a database viewer may be open) and try again"
	for _, args := range [][]string{
		{"import", "fills.csv"}, {"check", "fills.csv"}, {"calibrate"}, {"factors"}, {"proof"}, {"consistency"},
		{"plan", "--product", product}, {"promise", "--product", product}, {"report", "-o", "page.html"}, {"export", "out"},
		{"serve"},
		{"fill", "--core-batch", "HC01", "--filled-length", "200mm", "--shot-mass", "17g"},
		{"cord", "--strand-batch", "NC01", "--checked-length", "10m", "--checked-mass", "48g"},
		{"build", "--maker", "Arlo", "--product", product, "--weight", "265g"},
	} {
		r := finish(t, command(s.dir, append(args, "--log", "shop.duckdb")...))
		if r.code != 1 || r.stdout != "" || !strings.HasPrefix(r.stderr, inUse) {
			t.Errorf("%s: exit code %d, stdout %q, stderr %q", args[0], r.code, r.stdout, r.stderr)
		}
	}
	if diff := cmp.Diff(before, s.content(t)); diff != "" {
		t.Errorf("the folder changed:\n%s", diff)
	}
	if status, _, err := page.saveFill("after"); err != nil || status != 303 {
		t.Errorf("the page no longer saves: status %d, %v", status, err)
	}
}

// A clock that was set back is no reason to lose or refuse rows: dates are
// warned of, and what comes later stays later.
func TestClockBackwards(t *testing.T) {
	s := newShop(t)
	s.write(t, "fills.csv", oneFill)
	back := command(s.dir, "import", "fills.csv", "--log", "shop.duckdb")
	back.Env = append(back.Env, "SOURCE_DATE_EPOCH=946684800") // 2000-01-01; the last of two counts
	r := finish(t, back)
	want := `warning: fills.csv:2: date: "2024-05-01" is after today, 2000-01-01: check it`
	if r.code != 0 || strings.TrimSpace(r.stderr) != want {
		t.Errorf("exit code %d, stderr %q, want %q", r.code, r.stderr, want)
	}
	before, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	if before.Rows["fills F1"] != (figures{LengthMM: 200, ShotG: 16}) {
		t.Errorf("the test fill came in as %+v", before.Rows["fills F1"])
	}
	for round := 1; round <= 2; round++ {
		s.run(t, calibrating(t, s, round).args...)
	}
	after, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	before.Calibrations = 2
	if diff := cmp.Diff(before, after); diff != "" {
		t.Errorf("-want +found:\n%s", diff)
	}
}

// matches compares a text with one that may have a * for what differs from one
// machine or version to the next.
func matches(pattern, text string) bool {
	head, tail, wild := strings.Cut(pattern, "*")
	if !wild {
		return pattern == text
	}
	return len(text) >= len(head)+len(tail) && strings.HasPrefix(text, head) && strings.HasSuffix(text, tail)
}

func (s shop) makeFolder(t *testing.T) {
	if err := os.Mkdir(s.path("folder"), 0o755); err != nil {
		t.Fatal(err)
	}
}

// age makes the log one of a later program.
func (s shop) age(t *testing.T) {
	db, err := sql.Open("duckdb", s.log())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(t.Context(), "insert into schema_migration (version, name) values (99, '0099_later')"); err != nil {
		t.Fatal(err)
	}
}

// truncate cuts the log off, as a copy does that was broken off.
func (s shop) truncate(t *testing.T) {
	info, err := os.Stat(s.log())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(s.log(), info.Size()/8); err != nil {
		t.Fatal(err)
	}
}

// lend lets everybody write the log, but not its folder.
func (s shop) lend(t *testing.T) { s.chmod(t, 0o666) }

// hide lets nobody else read the log.
func (s shop) hide(t *testing.T) { s.chmod(t, 0o600) }

func (s shop) chmod(t *testing.T, mode fs.FileMode) {
	if err := os.Chmod(s.log(), mode); err != nil {
		t.Fatal(err)
	}
}

// seal makes the shop's folder a disk of its own that may only be read.
func (s shop) seal(t *testing.T) {
	t.Helper()
	needRoot(t)
	needCommand(t, "mount", "mount")
	if out, err := exec.Command("mount", "--bind", s.dir, s.dir).CombinedOutput(); err != nil {
		need(t, fmt.Sprintf("the right to mount a folder: %v %s", err, out))
	}
	s.unmountAtEnd(t)
	if out, err := exec.Command("mount", "-o", "remount,bind,ro", s.dir).CombinedOutput(); err != nil {
		t.Fatalf("remount: %v %s", err, out)
	}
}

// asNobody has a command run by a user who owns nothing here and may read the
// shop's folder.
func (s shop) asNobody(t *testing.T, cmd *exec.Cmd) {
	t.Helper()
	needRoot(t)
	needCommand(t, "setpriv", "util-linux")
	for dir := s.dir; dir != os.TempDir() && dir != "/"; dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	path, err := exec.LookPath("setpriv")
	if err != nil {
		t.Fatal(err)
	}
	const nobody = "65534"
	cmd.Path = path
	cmd.Args = append([]string{"setpriv", "--reuid", nobody, "--regid", nobody, "--clear-groups", program}, cmd.Args[1:]...)
}

// content is the shop's folder: the sum of each file.
func (s shop) content(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(s.dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			out[path] = ""
			return err
		}
		text, err := os.ReadFile(path)
		out[path] = fmt.Sprintf("%d bytes, %x", len(text), sha256.Sum256(text))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
