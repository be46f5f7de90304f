package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"maps"
	"strings"
	"testing"
	"time"

	"trueplait/model"
)

// typing is an entry on a terminal: the options given, and what is typed.
type typing struct {
	kind  model.Kind
	given map[string]string
	edit  string
	typed io.Reader
}

// enter has the conversation and returns what is on the screen.
func (in typing) enter(ctx context.Context, s shop) (screen string, err error) {
	var out bytes.Buffer
	e := &entering{
		program: &program{ctx: ctx, stdout: &out, stderr: &out, log: "my shop.duckdb", named: true},
		answers: &answers{kind: in.kind, given: maps.Clone(in.given)},
		shop:    s, edit: in.edit,
	}
	if e.given == nil {
		e.given = map[string]string{}
	}
	if e.now, err = s.Now(ctx); err != nil {
		return "", err
	}
	if err := e.correct(); err != nil {
		return "", err
	}
	err = e.talk(newPrompt(in.typed, &out))
	return out.String(), err
}

func TestConversation(t *testing.T) {
	finished := &model.Build{ID: "W9", Date: time.Date(2025, 6, 1, 0, 0, 0, 0, time.UTC), Labels: model.Labels{Maker: "Arlo", Product: "bull"},
		WeightG: 405.25, LengthMM: 1860, ShotUsedG: 80, Humidity: model.Unknown, StrandCutMM: model.Unknown, StrandLeftMM: model.Unknown,
		LoadLengthMM: model.Unknown, PredictedWeightG: model.Unknown, PredictedLengthMM: model.Unknown, PredictedShotG: model.Unknown,
		PredictedStrandMM: model.Unknown, ShotFactor: model.Unknown, BodyFactor: model.Unknown, LengthFactor: model.Unknown, Note: "first"}
	plans := []model.OpenBuild{
		{ID: "W7", Labels: model.Labels{Product: "snake", Maker: "Tamsin"}, PredictedWeightG: 300, PredictedLengthMM: model.Unknown},
		{ID: "W8", Labels: model.Labels{Product: "bull", Maker: "Arlo", CoreBatch: "HC11"}, PredictedWeightG: 400, PredictedLengthMM: 1850},
	}
	usual := map[string]string{"build": "W10", "date": "2025-07-01", "maker": "Arlo", "product": "bull",
		"core_batch": "HC12", "strand_batch": "NC3", "shot_batch": "L2", "strand_cut": ""}
	with := func(base map[string]string, pairs ...string) map[string]string {
		out := maps.Clone(base)
		for i := 0; i < len(pairs); i += 2 {
			out[pairs[i]] = pairs[i+1]
		}
		return out
	}
	for _, tt := range []struct {
		name  string
		kind  model.Kind
		given map[string]string
		edit  string
		plans []model.OpenBuild
		typed string
		want  map[string]string // what is saved; nil: nothing
		says  []string          // on the screen, in this order
		err   error             // where nothing is saved
	}{
		{
			name: "everything as offered", kind: model.Builds,
			typed: "\n\n\n\n\n\n\n14 1/2 oz\n6' 1 3/4\"\n83.5 g\n\n\n",
			want:  with(usual, "weight", "14 1/2 oz", "length", `6' 1 3/4"`, "shot_used", "83.5 g"),
			says: []string{"Build [W10]: ", "Date [2025-07-01]: ", "Maker [Arlo]: ", "Core batch [HC12]: ",
				"= 411 g (14 1/2 oz)", "= 1873 mm (73 3/4 in)", "= 83.5 g", "inside today's 95 % band", "Save? [Y/n/number", "Build W10 is saved."},
		},
		{
			name: "a bad unit, then a good one", kind: model.Builds,
			typed: "\n\n\n\n\n\n\n14.5\n14.5 gr\n14.5 oz\n-\n-\n-\ny\n",
			want:  with(usual, "weight", "14.5 oz", "length", "", "shot_used", ""),
			says:  []string{"\"14.5\" has no unit: write \"14.5 g\" or \"14.5 oz\"\n", "Weight", "which may be grams or grains", "= 411 g (14 1/2 oz)"},
		},
		{
			name: "a date that is none", kind: model.Fills,
			typed: "\n1.7.2025\n2025-06-30\n\n\n\n8 in\n16.8 g\n\n",
			want: map[string]string{"fill": "F3", "date": "2025-06-30", "maker": "Arlo", "core_batch": "HC12", "shot_batch": "L2",
				"filled_length": "8 in", "shot_mass": "16.8 g"},
			says: []string{`"1.7.2025" is not a date`, "Date [2025-07-01]: ", "Test fill F3 is saved."},
		},
		{
			name: "a new batch typed wrong, then right", kind: model.Checks,
			typed: "\n\nNC4\nn\nNC4\nNC3\n30 ft\n42.4 g\n\n",
			want:  map[string]string{"check": "K2", "date": "2025-07-01", "strand_batch": "NC3", "checked_length": "30 ft", "checked_mass": "42.4 g"},
			says:  []string{`strand batch "NC4" is new here; the nearest known is "NC3". Add it?`, "Strand batch [NC3]: ", "Add it?", "Checked length: "},
		},
		{
			name: "a new batch that is meant", kind: model.Checks,
			typed: "\n\nNC4\ny\n30 ft\n42.4 g\n\n",
			want:  map[string]string{"check": "K2", "date": "2025-07-01", "strand_batch": "NC4", "checked_length": "30 ft", "checked_mass": "42.4 g"},
		},
		{
			name: "what is needed cannot be left blank", kind: model.Checks,
			typed: "\n\n-\n\n\n30 ft\n42.4 g\n\n",
			want:  map[string]string{"check": "K2", "date": "2025-07-01", "strand_batch": "NC3", "checked_length": "30 ft", "checked_mass": "42.4 g"},
			says:  []string{"is needed", "Strand batch", "is needed", "Checked length"},
		},
		{
			name: "an open plan, by number", kind: model.Builds, plans: plans,
			typed: "9\n2\n\n\n\n390 g\n\n\n\n\n",
			want: map[string]string{"build": "W8", "date": "2025-07-01", "maker": "Arlo", "product": "bull", "core_batch": "HC11",
				"strand_batch": "NC3", "shot_batch": "L2", "weight": "390 g", "length": "", "shot_used": "", "strand_cut": ""},
			says: []string{"1  W7, snake, Tamsin, 300 g", "2  W8, bull, Arlo, HC11, 400 g (14 1/8 oz), 1850 mm", `"9" is none of them`,
				"Date [", "Strand batch [NC3]"},
		},
		{
			name: "an open plan, by its id as an option", kind: model.Builds, plans: plans,
			given: map[string]string{"build": "W8", "weight": "390 g", "length": "", "shot_used": "", "strand_cut": "", "core_batch": "HC12"},
			typed: "\n\n\n\n",
			want: map[string]string{"build": "W8", "date": "2025-07-01", "maker": "Arlo", "product": "bull", "core_batch": "HC12",
				"strand_batch": "NC3", "shot_batch": "L2", "weight": "390 g", "length": "", "shot_used": "", "strand_cut": ""},
		},
		{
			name: "no plan", kind: model.Builds, plans: plans,
			typed: "\n\n\n\n\n\n\n\n390 g\n\n\n\n\n",
			want:  with(usual, "weight", "390 g", "length", "", "shot_used", ""),
			says:  []string{"Open plans:", "Build [W10]: "},
		},
		{
			name: "shot from the tub, read the wrong way round first", kind: model.Builds,
			typed: "\n\n\n\n\n\n\n400 g\n\ntub\n2228.5 g\n2412 g\ntub\n2412\n2412 g\n2228.5 g\n9 ft\n0 mm\n\n",
			want: map[string]string{"build": "W10", "date": "2025-07-01", "maker": "Arlo", "product": "bull", "core_batch": "HC12",
				"strand_batch": "NC3", "shot_batch": "L2", "weight": "400 g", "length": "", "shot_before": "2412 g", "shot_after": "2228.5 g",
				"strand_cut": "9 ft", "strand_left": "0 mm"},
			says: []string{"no lighter after", "Shot used", `"2412" has no unit`, "= 184 g (6 1/2 oz) of shot used", "from the tub, 2412 g before and 2228.5 g after"},
		},
		{
			name: "the tub by options", kind: model.Builds,
			given: with(usual, "weight", "400 g", "length", "", "shot_before", "2412 g", "shot_after", "2228.5 g"),
			typed: "\n",
			want:  with(usual, "weight", "400 g", "length", "", "shot_before", "2412 g", "shot_after", "2228.5 g"),
		},
		{
			name: "half a tub by options", kind: model.Builds,
			given: with(usual, "weight", "400 g", "length", "", "shot_before", "2412 g"),
			typed: "2228.5 g\n\n",
			want:  with(usual, "weight", "400 g", "length", "", "shot_before", "2412 g", "shot_after", "2228.5 g"),
			says:  []string{"Shot after (the same tub): "},
		},
		{
			name: "the tub put in place of a mass", kind: model.Builds,
			given: with(usual, "weight", "400 g", "length", "", "shot_used", "80 g"),
			typed: "10\ntub\n2412 g\n2228.5 g\n\n",
			want:  with(usual, "weight", "400 g", "length", "", "shot_before", "2412 g", "shot_after", "2228.5 g"),
			says:  []string{"from the tub", "11  shot before"},
		},
		{
			name: "a mass put in place of the tub", kind: model.Builds,
			given: with(usual, "weight", "400 g", "length", "", "shot_before", "2412 g", "shot_after", "2228.5 g"),
			typed: "10\n83 g\n\n",
			want:  with(usual, "weight", "400 g", "length", "", "shot_used", "83 g"),
		},
		{
			name: "Enter does not save a slip", kind: model.Builds,
			given: with(usual, "weight", "30 1/2 oz", "length", "", "shot_used", ""),
			typed: "\n", err: errRefused,
			says: []string{"Look again before saving:", "1 pound too many", "Save it all the same? [y/N/number"},
		},
		{
			name: "a slip that is none", kind: model.Builds,
			given: with(usual, "weight", "30 1/2 oz", "length", "", "shot_used", ""),
			typed: "y\n", want: with(usual, "weight", "30 1/2 oz", "length", "", "shot_used", ""),
		},
		{
			name: "a line changed, a column added by its number", kind: model.Builds,
			given: with(usual, "weight", "30 1/2 oz", "length", "", "shot_used", ""),
			typed: "x\n99\n8\n14 1/2 oz\n13\nwith the new needle\n\n",
			want:  with(usual, "weight", "14 1/2 oz", "length", "", "shot_used", "", "note", "with the new needle"),
			says:  []string{`"x" is none of the answers`, `"99" is none`, "Weight [30 1/2 oz]: ", "Note [-]: ", "Save? [Y/n"},
		},
		{
			name: "nothing measured", kind: model.Builds,
			given: with(usual, "weight", "", "length", "", "shot_used", ""),
			typed: "\n8\n400 g\n\n",
			want:  with(usual, "weight", "400 g", "length", "", "shot_used", ""),
			says:  []string{"It cannot be saved like this:", "weight, length and shot_used are all blank", "Which line to change?", "is none of the answers"},
		},
		{
			name: "an id that is taken", kind: model.Builds,
			given: with(usual, "build", "W9", "weight", "400 g", "length", "", "shot_used", ""),
			typed: "W11\n\n",
			want:  with(usual, "build", "W11", "weight", "400 g", "length", "", "shot_used", ""),
			says:  []string{`"W9" is in the log already`, "Build [W9]: "},
		},
		{
			name: "a bad option is asked for again", kind: model.Builds,
			given: with(usual, "weight", "400", "length", "", "shot_used", ""),
			typed: "400 g\n\n",
			want:  with(usual, "weight", "400 g", "length", "", "shot_used", ""),
			says:  []string{`"400" has no unit`, "Weight"},
		},
		{
			name: "a correction", kind: model.Builds, edit: "W9",
			typed: "7\n14 3/8 oz\n\n",
			want: map[string]string{"build": "W9", "date": "2025-06-01", "maker": "Arlo", "product": "bull", "weight": "14 3/8 oz",
				"length": "1860 mm", "shot_used": "80 g", "note": "first"},
			says: []string{"build          W9", "7  weight", "Which line to change? [number; Enter: none]", "Weight [405.25 g]: ", "Build W9 is corrected."},
		},
		{
			name: "a correction by option", kind: model.Builds, edit: "W9", given: map[string]string{"note": ""},
			typed: "y\n",
			want: map[string]string{"build": "W9", "date": "2025-06-01", "maker": "Arlo", "product": "bull", "weight": "405.25 g",
				"length": "1860 mm", "shot_used": "80 g", "note": ""},
		},
		{
			name: "a correction of nothing", kind: model.Builds, edit: "W9",
			typed: "\n", err: errRefused,
		},
		{
			name: "refused", kind: model.Builds, given: with(usual, "weight", "400 g", "length", "", "shot_used", ""),
			typed: "n\n", err: errRefused,
			says: []string{"to go on: trueplait build --build W10 --date 2025-07-01 --maker Arlo --product bull --core-batch HC12 " +
				"--strand-batch NC3 --shot-batch L2 --weight '400 g' --length= --shot-used= --strand-cut= --log 'my shop.duckdb'"},
		},
		{
			name: "the input ends half way", kind: model.Builds,
			typed: "\n\n\n\n", err: errInputEnded,
			says: []string{"Core batch", "to go on: trueplait build --build W10 --date 2025-07-01 --maker Arlo --product bull --log"},
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newFakeShop()
			s.now.Open = tt.plans
			s.rows["W9"] = finished
			typed := strings.NewReader(tt.typed)
			screen, err := typing{tt.kind, tt.given, tt.edit, typed}.enter(t.Context(), s)
			if !errors.Is(err, tt.err) || (err == nil) != (tt.err == nil) {
				t.Errorf("error %v, want %v", err, tt.err)
			}
			switch {
			case tt.want == nil && s.saved != nil:
				t.Errorf("saved %v", s.saved)
			case tt.want != nil && len(s.saved) != 1:
				t.Errorf("saved %d times", len(s.saved))
			case tt.want != nil && !maps.Equal(s.saved[0].Text, tt.want):
				t.Errorf("saved %v\nwant  %v", s.saved[0].Text, tt.want)
			case tt.want != nil && s.saved[0].Amend != (tt.edit != ""):
				t.Errorf("saved with Amend %v", s.saved[0].Amend)
			case tt.want != nil && typed.Len() > 0:
				t.Errorf("%d bytes were not read", typed.Len())
			}
			rest := screen
			for _, want := range tt.says {
				_, after, ok := strings.Cut(rest, want)
				if !ok {
					t.Errorf("the screen does not say %q after what came before it:\n%s", want, screen)
					break
				}
				rest = after
			}
			if t.Failed() {
				t.Log(screen)
			}
		})
	}
}

// leaving types what there is, and then Ctrl-C: the read never ends.
type leaving struct {
	io.Reader
	ctrlC func()
}

func (l leaving) Read(p []byte) (int, error) {
	n, err := l.Reader.Read(p)
	if err == io.EOF {
		l.ctrlC()
		select {}
	}
	return n, err
}

// Ctrl-C ends the read of a terminal where nobody types, and says how to go on.
func TestConversationInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	s := newFakeShop()
	screen, err := typing{kind: model.Fills, typed: leaving{strings.NewReader("\n\n"), cancel}}.enter(ctx, s)
	if !errors.Is(err, context.Canceled) || s.saved != nil || !strings.Contains(screen, "to go on: trueplait fill --fill F3") {
		t.Errorf("error %v, saved %v, on the screen\n%s", err, s.saved, screen)
	}
}

// What cannot be saved is not lost.
func TestConversationNotSaved(t *testing.T) {
	s := newFakeShop()
	s.broken = errBroken
	screen, err := typing{kind: model.Checks, typed: strings.NewReader("\n\n\n30 ft\n42.4 g\n\n")}.enter(t.Context(), s)
	if !errors.Is(err, errBroken) || !strings.Contains(screen, "to go on: trueplait cord --check K2 --date 2025-07-01 --strand-batch NC3 --checked-length '30 ft' --checked-mass '42.4 g'") {
		t.Errorf("error %v, on the screen\n%s", err, screen)
	}
}

// Ctrl-C while the row is being saved comes too late.
func TestConversationInterruptedLate(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	s := newFakeShop()
	s.saving = cancel
	screen, err := typing{kind: model.Checks, typed: strings.NewReader("\n\n\n30 ft\n42.4 g\n\n")}.enter(ctx, s)
	if err != nil || len(s.saved) != 1 || !strings.Contains(screen, "Cord check K2 is saved.") {
		t.Errorf("error %v, saved %v, on the screen\n%s", err, s.saved, screen)
	}
}
