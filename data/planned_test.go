package data

import (
	"errors"
	"slices"
	"testing"
	"time"

	"trueplait/model"
)

// finished is a build as a maker writes it who relies on the plan.
func finished(id string) *model.Build {
	return edit(blankBuild(id), func(b *model.Build) {
		b.CoreBatch, b.StrandBatch, b.ShotBatch = "", "", ""
		b.WeightG, b.ShotUsedG, b.LengthMM = 431, 88, 1930
	})
}

// finishedBy is the file that finished a plan, which it did at noon.
func finishedBy(t *testing.T, l *Log, id string) string {
	t.Helper()
	var when time.Time
	var by string
	err := l.db.QueryRow("select p.finished_at, s.name from open_build as p join source as s on s.number = p.finished_by where p.id = $1", id).Scan(&when, &by)
	if err != nil || !when.Equal(noon) {
		t.Errorf("plan of %s finished at %v, %v; want noon", id, when, err)
	}
	return by
}

// A build takes from its plan every cell it leaves blank and none that it
// states.
func TestBuildTakesFromItsPlan(t *testing.T) {
	l := newLog(t)
	stated := edit(usualBuild(""), func(b *model.Build) {
		b.PredictedStrandMM, b.Calibration, b.ShotFactor, b.BodyFactor, b.LengthFactor, b.Started = 2500, 2, 0.9, 1.1, 1.2, day(-5)
	})
	shared := []string{
		"core_batch", "strand_batch", "shot_batch", "predicted_weight_g", "predicted_length_mm", "predicted_shot_g",
		"predicted_strand_mm", "calibration", "shot_factor", "body_factor", "length_factor", "load_length_mm", "started",
	}
	// text is a build, column by column.
	text := func(b model.Row) map[string]string {
		r := buildTable().record()
		r.load(b)
		out := map[string]string{}
		for i := range r.fields {
			out[r.fields[i].name] = r.fields[i].text()
		}
		return out
	}
	build := func(id string, states func(column string) bool) *model.Build {
		from, to := buildTable().record(), buildTable().record()
		from.load(stated)
		to.load(finished(id))
		for i := range from.fields {
			if slices.Contains(shared, from.fields[i].name) && states(from.fields[i].name) {
				v, err := from.fields[i].value()
				if err != nil {
					t.Fatal(err)
				}
				if err := to.fields[i].Scan(v); err != nil {
					t.Fatal(err)
				}
			}
		}
		return to.row().(*model.Build)
	}
	in := file{name: "b.csv"}
	want := map[string]map[string]string{}
	expect := func(id string, states func(column string) bool) {
		plan := usualPlan(id)
		save(t, l, plan)
		b := build(id, states)
		in.rows = append(in.rows, b)
		want[id] = text(b)
		for _, f := range planFields(&plan) {
			if slices.Contains(shared, f.name) && !states(f.name) {
				want[id][f.name] = f.text()
			}
		}
	}
	for _, column := range shared {
		expect("only "+column, func(c string) bool { return c == column })
		expect("all but "+column, func(c string) bool { return c != column })
	}
	outcomes, _ := add(t, l, in)
	if o := outcomes[0]; o.New != len(in.rows) {
		t.Fatalf("%+v, want %d new", o, len(in.rows))
	}
	for _, row := range all(t, l, model.Builds) {
		if d := diff(want[row.Key()], text(row)); d != "" {
			t.Errorf("%s (-want +got):\n%s", row.Key(), d)
		}
	}
	if ids := open(t, l); ids != nil {
		t.Errorf("still open: %v", ids)
	}
}

func TestPlanIsFinishedOnce(t *testing.T) {
	l := newLog(t)
	save(t, l, usualPlan("B1"), usualPlan("B2"))
	in := file{name: "b.csv", rows: []model.Row{finished("B1"), finished("B1"), usualBuild("B3")}}
	outcomes, _ := add(t, l, in)
	if o := outcomes[0]; o.New != 2 || o.Same != 1 || len(o.Repeats) != 1 || len(o.Conflicts) > 0 {
		t.Fatalf("%+v, want 2 new and a repeat", o)
	}
	if ids := open(t, l); !slices.Equal(ids, []string{"B2"}) {
		t.Errorf("open: %v, want B2", ids)
	}
	if by := finishedBy(t, l, "B1"); by != "b.csv" {
		t.Errorf("finished by %q, want b.csv", by)
	}

	before := dump(t, l)
	for _, again := range []file{in, {name: "export.csv", rows: all(t, l, model.Builds)}} {
		outcomes, _ := add(t, l, again)
		if o := outcomes[0]; o.Same != len(again.rows) {
			t.Errorf("%s again: %+v, want %d the same", again.name, o, len(again.rows))
		}
		if again.name == in.name && dump(t, l) != before {
			t.Error("the log changed")
		}
	}
	if err := l.SavePlan(t.Context(), usualPlan("B1")); !errors.Is(err, ErrBuildKnown) {
		t.Errorf("a finished plan saved again: %v, want ErrBuildKnown", err)
	}

	// Made from the export, another log learns the same.
	copied := newLog(t)
	add(t, copied, file{name: "export.csv", rows: all(t, l, model.Builds)})
	for _, q := range model.Quantities {
		if d := diff(observations(t, l, q), observations(t, copied, q)); d != "" {
			t.Errorf("%s (-log +copy):\n%s", q, d)
		}
	}
}

func TestBuildContradictsItsPlan(t *testing.T) {
	tests := []struct {
		name   string
		change func(*model.Build)
		maker  string // the plan's
		want   []Difference
	}{
		{"maker", func(b *model.Build) { b.Maker = "bob" }, "ann", []Difference{{"maker", "bob", "ann"}}},
		{"product", func(b *model.Build) { b.Product = "8 ft" }, "ann", []Difference{{"product", "8 ft", "6 ft"}}},
		{"both", func(b *model.Build) { b.Maker, b.Product = "bob", "8 ft" }, "ann", []Difference{{"product", "8 ft", "6 ft"}, {"maker", "bob", "ann"}}},
		{"product of a plan for anybody", func(b *model.Build) { b.Product = "8 ft" }, "", []Difference{{"product", "8 ft", "6 ft"}}},
		{"maker of a plan for anybody", func(b *model.Build) { b.Maker = "bob" }, "", nil},
		{"other batches", func(b *model.Build) { b.CoreBatch = "C8" }, "ann", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := newLog(t)
			plan := usualPlan("B1")
			plan.Maker = tt.maker
			save(t, l, plan)
			in := file{name: "b.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{usualBuild("B0"), edit(finished("B1"), tt.change)}}
			outcomes, _ := add(t, l, in)
			want := Outcome{New: 2}
			var still []string
			if tt.want != nil {
				want = Outcome{New: 1, Conflicts: []Conflict{{ID: "B1", Line: 3, InPlan: true, Columns: tt.want}}}
				still = []string{"B1"}
			}
			if d := diff(want, outcomes[0]); d != "" {
				t.Errorf("outcome (-want +got):\n%s", d)
			}
			if ids := open(t, l); !slices.Equal(ids, still) {
				t.Errorf("open: %v, want %v", ids, still)
			}
		})
	}
}

// Once it is finished, a plan does not stand in the way of a correction, which
// still takes from it unless it makes the build one of another product.
func TestAmendAfterPlan(t *testing.T) {
	tests := []struct {
		name   string
		change func(*model.Build)
		weight float64 // predicted; NaN: none
	}{
		{"weight", func(b *model.Build) { b.WeightG++ }, 420},
		{"maker", func(b *model.Build) { b.Maker = "bob" }, 420},
		{"prediction", func(b *model.Build) { b.PredictedWeightG = 415 }, 415},
		{"product", func(b *model.Build) { b.Product = "8 ft" }, model.Unknown},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := newLog(t)
			save(t, l, usualPlan("B1"))
			add(t, l, file{name: "a.csv", rows: []model.Row{finished("B1")}})
			amended := file{name: "b.csv", rows: []model.Row{edit(finished("B1"), tt.change)}}
			outcomes, _ := add(t, l, amended)
			if o := outcomes[0]; len(o.Conflicts) != 1 || o.Conflicts[0].InPlan {
				t.Errorf("not amending: %+v, want a conflict with the log", o)
			}
			amended.opt.Amend = true
			amended.rows = append(amended.rows, usualBuild("B2"))
			for _, want := range []Outcome{{Amended: 1, New: 1}, {Same: 2}} {
				outcomes, _ = add(t, l, amended)
				if d := diff(want, outcomes[0]); d != "" {
					t.Errorf("amending (-want +got):\n%s", d)
				}
			}
			if b := all(t, l, model.Builds)[0].(*model.Build); diff(tt.weight, b.PredictedWeightG) != "" {
				t.Errorf("predicted weight %v, want %v", b.PredictedWeightG, tt.weight)
			}
			if by := finishedBy(t, l, "B1"); by != "a.csv" {
				t.Errorf("the plan was finished by %q, want the file that brought the build", by)
			}
		})
	}
}

// Rolled back, checked or left out for want of a factor, a build leaves its
// plan open and the log as it was.
func TestPlanStaysOpen(t *testing.T) {
	nan := model.Unknown
	unresolved := usualPlan("B1") // names a calibration the log does not have, and no factor
	unresolved.ShotFactor, unresolved.BodyFactor, unresolved.LengthFactor = nan, nan, nan
	tests := []struct {
		name  string
		plan  model.OpenBuild
		begin func(*Log) (*Import, error)
		want  int // new rows
	}{
		{"rolled back", usualPlan("B1"), func(l *Log) (*Import, error) { return l.Begin(t.Context(), noon) }, 1},
		{"checked", usualPlan("B1"), func(l *Log) (*Import, error) { return l.Check(t.Context()) }, 1},
		{"unresolved", unresolved, func(l *Log) (*Import, error) { return l.Check(t.Context()) }, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := newLog(t)
			save(t, l, tt.plan)
			before := dump(t, l)
			im, err := tt.begin(l)
			if err != nil {
				t.Fatal(err)
			}
			outcomes, _ := into(t, im, file{name: "b.csv", rows: []model.Row{finished("B1")}})
			if o := outcomes[0]; o.New != tt.want || len(o.Unresolved) != 1-tt.want {
				t.Errorf("%+v, want %d new", o, tt.want)
			}
			if err := im.Rollback(); err != nil {
				t.Fatal(err)
			}
			if after := dump(t, l); after != before {
				t.Errorf("the log changed:\n%s\nwas\n%s", after, before)
			}
			if ids := open(t, l); !slices.Equal(ids, []string{"B1"}) {
				t.Errorf("open: %v, want B1", ids)
			}
		})
	}
}
