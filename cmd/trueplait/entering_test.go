package main

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
	"pgregory.net/rapid"

	"trueplait/ingest"
	"trueplait/model"
)

// Every column of a file can be given as an option, and nothing else is taken
// for a column.
func TestColumnFlags(t *testing.T) {
	for _, kind := range []model.Kind{model.Builds, model.Fills, model.Checks} {
		var want []string
		for _, c := range ingest.Columns(kind) {
			want = append(want, c.Name)
		}
		if kind == model.Builds {
			want = append(want, shotBefore, shotAfter)
		}
		args := []string{commands[kind], "--yes", "--edit", "X"}
		for _, column := range want {
			args = append(args, optionName(column)+"=1")
		}
		got := slices.Sorted(maps.Keys(givenColumns(parsed(t, args))))
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s takes the columns\n%v, want\n%v", commands[kind], got, want)
		}
	}
}

// parsed reads a command line of the commands that enter a row.
func parsed(t interface {
	Helper()
	Fatal(...any)
}, args []string) *kong.Context {
	t.Helper()
	var c struct {
		Log   string
		Build buildCmd `cmd:""`
		Fill  fillCmd  `cmd:""`
		Cord  cordCmd  `cmd:""`
	}
	parser, err := kong.New(&c)
	if err != nil {
		t.Fatal(err)
	}
	k, err := parser.Parse(commandFirst(parser.Model, args))
	if err != nil {
		t.Fatal(args, err)
	}
	return k
}

// The command that goes on, run by a shell, gives the answers that it was made
// from.
func TestCommandGoesOn(t *testing.T) {
	shell, err := exec.LookPath("sh")
	if err != nil {
		if os.Getenv("TRUEPLAIT_NEED") == "all" {
			t.Fatal(err)
		}
		t.Skip("needs a POSIX shell to run the command: ", err)
	}
	text := rapid.OneOf(
		rapid.SampledFrom([]string{"", "-", "--", "--yes", "-x", "=", "'", `6' 1 3/4"`, "14 1/2 oz", `a\b`, "$(exit)", "`exit`", "!!", "~", "#1", "*", "ü \n\t x", "a'b''c"}),
		rapid.StringMatching(`[ -~½ü\n]{0,12}`))
	rapid.Check(t, func(t *rapid.T) {
		a := &answers{kind: rapid.SampledFrom([]model.Kind{model.Builds, model.Fills, model.Checks}).Draw(t, "kind"), given: map[string]string{}}
		for _, q := range questions(a.kind) {
			if rapid.Bool().Draw(t, "given") {
				a.given[q.column] = strings.TrimSpace(text.Draw(t, q.column))
			}
		}
		if rapid.Bool().Draw(t, "edit") {
			a.stated = map[string]string{idQuestion(a.kind).column: "W 9's"}
		}
		command := a.command(rapid.SampledFrom([]string{"", "my shop.duckdb"}).Draw(t, "log"))
		out, err := exec.Command(shell, "-c", `trueplait() { printf '%s\0' "$@"; }; `+command).Output()
		if err != nil {
			t.Fatalf("%s: %v", command, err)
		}
		args := strings.Split(strings.TrimSuffix(string(out), "\x00"), "\x00")
		if got := givenColumns(parsed(t, args)); !maps.Equal(got, a.given) {
			t.Fatalf("%s\ngives %q, want %q", command, got, a.given)
		}
		if a.stated != nil && !slices.Contains(args, "W 9's") {
			t.Fatalf("%s does not name the row to correct", command)
		}
	})
}

// Options alone, where nobody can be asked.
func TestEnteringByOptions(t *testing.T) {
	for _, tt := range []struct {
		name  string
		kind  model.Kind
		given map[string]string
		edit  string
		yes   bool
		want  map[string]string // saved; nil: nothing
		usage bool              // what is refused is wrong usage
		says  []string          // on stderr or in the error
	}{
		{
			name: "what need not be said", kind: model.Checks,
			given: map[string]string{"strand_batch": "NC3", "checked_length": "30 ft", "checked_mass": "42.4 g"},
			want:  map[string]string{"check": "K2", "date": "2025-07-01", "strand_batch": "NC3", "checked_length": "30 ft", "checked_mass": "42.4 g"},
			says:  []string{"9144 mm"},
		},
		{
			name: "an open plan gives the labels", kind: model.Builds,
			given: map[string]string{"build": "W8", "weight": "390 g"},
			want:  map[string]string{"build": "W8", "date": "2025-07-01", "maker": "Arlo", "product": "bull", "core_batch": "HC11", "weight": "390 g"},
		},
		{
			name: "but for those given", kind: model.Builds,
			given: map[string]string{"build": "W8", "core_batch": "HC12", "weight": "390 g"},
			want:  map[string]string{"build": "W8", "date": "2025-07-01", "maker": "Arlo", "product": "bull", "core_batch": "HC12", "weight": "390 g"},
		},
		{
			name: "missing", kind: model.Builds, given: map[string]string{"core_batch": "HC12"}, usage: true,
			says: []string{"build needs --maker, --product, one of --weight, --length and --shot-used"},
		},
		{
			name: "half a tub", kind: model.Builds, usage: true,
			given: map[string]string{"maker": "Arlo", "product": "bull", "shot_before": "2412 g"},
			says:  []string{"build needs --shot-after"},
		},
		{
			name: "no unit", kind: model.Builds, usage: true,
			given: map[string]string{"maker": "Arlo", "product": "bull", "weight": "14.5", "date": "1.7.2025"},
			says:  []string{`--date: "1.7.2025" is not a date`, `--weight: "14.5" has no unit: write "14.5 g" or "14.5 oz"`},
		},
		{
			name: "an id that is taken", kind: model.Builds,
			given: map[string]string{"build": "W9", "maker": "Arlo", "product": "bull", "weight": "400 g"},
			says:  []string{`--build: "W9" is in the log already`},
		},
		{
			name: "a slip", kind: model.Builds,
			given: map[string]string{"maker": "Arlo", "product": "bull", "weight": "30 1/2 oz"},
			says:  []string{"1 pound too many", "add --yes if it is right"},
		},
		{
			name: "a slip that is none", kind: model.Builds, yes: true,
			given: map[string]string{"maker": "Arlo", "product": "bull", "weight": "30 1/2 oz"},
			want:  map[string]string{"build": "W10", "date": "2025-07-01", "maker": "Arlo", "product": "bull", "weight": "30 1/2 oz"},
			says:  []string{"1 pound too many"},
		},
		{
			name: "ounces entered as grams", kind: model.Builds,
			given: map[string]string{"maker": "Arlo", "product": "bull", "weight": "14.5 g"},
			says:  []string{"add --yes if it is right"},
		},
		{
			name: "a batch that is new", kind: model.Fills,
			given: map[string]string{"core_batch": "HC13", "filled_length": "8 in", "shot_mass": "16.8 g"},
			want:  map[string]string{"fill": "F3", "date": "2025-07-01", "core_batch": "HC13", "filled_length": "8 in", "shot_mass": "16.8 g"},
			says:  []string{`warning: core batch "HC13" is new here; the nearest known is "HC12"`},
		},
		{
			name: "a correction", kind: model.Checks, edit: "K1", given: map[string]string{"checked_mass": "43 g", "note": ""},
			want: map[string]string{"check": "K1", "date": "2025-06-01", "strand_batch": "NC3", "checked_length": "9144 mm", "checked_mass": "43 g", "note": ""},
		},
		{
			name: "a correction from mass to tub", kind: model.Builds, edit: "W9", given: map[string]string{"shot_before": "100 g", "shot_after": "20 g"},
			want: map[string]string{"build": "W9", "date": "2025-06-01", "maker": "Arlo", "product": "bull", "weight": "400 g", "shot_before": "100 g", "shot_after": "20 g"},
		},
		{name: "a correction of nothing", kind: model.Checks, edit: "K1", usage: true, says: []string{"--edit K1 changes nothing"}},
		{name: "a correction of the id", kind: model.Checks, edit: "K1", given: map[string]string{"check": "K7"}, usage: true, says: []string{"a row keeps its id"}},
		{name: "a correction of no row", kind: model.Fills, edit: "K1", given: map[string]string{"note": "x"}, says: []string{`test fill "K1" is not in the log`}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newFakeShop()
			s.now.Open = []model.OpenBuild{{ID: "W8", Labels: model.Labels{Product: "bull", Maker: "Arlo", CoreBatch: "HC11"}}}
			for kind, text := range map[model.Kind]map[string]string{
				model.Builds: {"build": "W9", "date": "2025-06-01", "maker": "Arlo", "product": "bull", "weight": "400 g", "shot_used": "80 g"},
				model.Checks: {"check": "K1", "date": "2025-06-01", "strand_batch": "NC3", "checked_length": "30 ft", "checked_mass": "42.4 g", "note": "old scale"},
			} {
				if _, err := s.Save(t.Context(), model.Entry{Kind: kind, Text: text}); err != nil {
					t.Fatal(err)
				}
			}
			s.saved = nil
			given := maps.Clone(tt.given)
			if given == nil {
				given = map[string]string{}
			}
			var stdout, stderr bytes.Buffer
			e := &entering{program: &program{ctx: t.Context(), stdin: strings.NewReader("y\n"), stdout: &stdout, stderr: &stderr},
				answers: &answers{kind: tt.kind, given: given}, shop: s, edit: tt.edit, yes: tt.yes}
			err := e.run()
			var usage usageError
			if (err == nil) != (tt.want != nil) || errors.As(err, &usage) != tt.usage {
				t.Errorf("error %v", err)
			}
			if err != nil {
				stderr.WriteString(err.Error())
				if stdout.Len() > 0 || s.saved != nil {
					t.Errorf("stdout %q, saved %v", stdout.String(), s.saved)
				}
			} else if len(s.saved) != 1 || !maps.Equal(s.saved[0].Text, tt.want) {
				t.Errorf("saved %v, want %v", s.saved, tt.want)
			}
			for _, want := range tt.says {
				if !strings.Contains(stderr.String(), want) {
					t.Errorf("stderr does not say %q:\n%s", want, stderr.String())
				}
			}
		})
	}
}

// deaf is a standard output that nobody reads.
type deaf struct{}

func (deaf) Write([]byte) (int, error) { return 0, errors.New("nobody reads it") }

// A log that was made for a row stays, though nobody can be told of it.
func TestEnteringUnheard(t *testing.T) {
	log := filepath.Join(t.TempDir(), "shop.duckdb")
	args := []string{"cord", "--strand-batch", "N1", "--checked-length", "30ft", "--checked-mass", "42.4g", "--log", log}
	var errs bytes.Buffer
	if code := run(t.Context(), args, strings.NewReader(""), deaf{}, &errs); code != exitData {
		t.Errorf("exit code %d: %s", code, errs.String())
	}
	if _, err := os.Stat(log); err != nil {
		t.Error(err)
	}
}
