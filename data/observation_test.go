package data

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"trueplait/calibrate"
	"trueplait/model"
)

func reader(t testing.TB, l *Log) *Observations {
	t.Helper()
	o, err := l.Observations(t.Context(), time.Time{}, false)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func observations(t testing.TB, l *Log, q model.Quantity) []model.Observation {
	t.Helper()
	obs, err := reader(t, l).Observations(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return obs
}

func summary(t testing.TB, l *Log) model.Summary {
	t.Helper()
	s, err := reader(t, l).Summary(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func near(x, y, tol float64) bool {
	return math.Abs(x-y) <= tol*math.Abs(y) || math.IsNaN(x) && math.IsNaN(y)
}

// The bases and reasons of hand-computed rows.
func TestObservation(t *testing.T) {
	nan := model.Unknown
	type want struct {
		q                                 model.Quantity
		measured, base, planned, shotBase float64
		reason                            model.Reason
	}
	tests := []struct {
		name string
		row  model.Row
		want []want
	}{
		{"all figures, no factors", usualBuild("x"), []want{
			{model.Shot, 76, 80, 80, nan, ""},
			{model.Body, 334, 320, 320, nan, ""},
			{model.Weight, 410, 400, 400, 80, ""},
			{model.Length, 1830, 1800, 1800, nan, ""},
		}},
		// shot 80/0.8 = 100, body (400-80)/1.25 = 256, weight 356, length 1800/0.9 = 2000
		{"factors inside", edit(usualBuild("x"), func(b *model.Build) { b.ShotFactor, b.BodyFactor, b.LengthFactor = 0.8, 1.25, 0.9 }), []want{
			{model.Shot, 76, 100, 80, nan, ""},
			{model.Body, 334, 256, 320, nan, ""},
			{model.Weight, 410, 356, 400, 100, ""},
			{model.Length, 1830, 2000, 1800, nan, ""},
		}},
		{"no shot planned, equal factors", edit(usualBuild("x"), func(b *model.Build) {
			b.PredictedShotG, b.ShotFactor, b.BodyFactor = nan, 1.25, 1.25
		}), []want{{model.Weight, 410, 320, 400, nan, ""}, {model.Length, 1830, 1800, 1800, nan, ""}}},
		{"no shot planned, no factors", edit(usualBuild("x"), func(b *model.Build) { b.PredictedShotG = nan }), []want{
			{model.Weight, 410, 400, 400, nan, ""}, {model.Length, 1830, 1800, 1800, nan, ""}}},
		{"no shot planned, factors apart", edit(usualBuild("x"), func(b *model.Build) { b.PredictedShotG, b.ShotFactor = nan, 0.9 }), []want{
			{model.Length, 1830, 1800, 1800, nan, ""}}},
		{"no shot weighed", edit(usualBuild("x"), func(b *model.Build) { b.ShotUsedG = nan }), []want{
			{model.Weight, 410, 400, 400, 80, ""}, {model.Length, 1830, 1800, 1800, nan, ""}}},
		{"strand", edit(blankBuild("x"), func(b *model.Build) { b.StrandCutMM, b.StrandLeftMM, b.PredictedStrandMM = 5000, 600, 4000 }), []want{
			{model.Strand, 4400, 4000, 4000, nan, ""}}},
		{"set aside by hand", edit(usualBuild("x"), func(b *model.Build) { b.SetAside = "dropped"; b.PredictedShotG = nan }), []want{
			{model.Weight, 410, 400, 400, nan, model.ByHand}, {model.Length, 1830, 1800, 1800, nan, model.ByHand}}},
		{"weight in ounces", edit(usualBuild("x"), func(b *model.Build) { b.WeightG = 14.5 }), []want{
			{model.Shot, 76, 80, 80, nan, ""},
			{model.Body, 14.5 - 76, 320, 320, nan, model.SlipInPart},
			{model.Weight, 14.5, 400, 400, 80, model.UnitSlip},
			{model.Length, 1830, 1800, 1800, nan, ""},
		}},
		{"shot in ounces", edit(usualBuild("x"), func(b *model.Build) { b.ShotUsedG = 2.7 }), []want{
			{model.Shot, 2.7, 80, 80, nan, model.UnitSlip},
			{model.Body, 410 - 2.7, 320, 320, nan, model.SlipInPart},
			{model.Weight, 410, 400, 400, 80, ""},
			{model.Length, 1830, 1800, 1800, nan, ""},
		}},
		{"lighter than its shot", edit(usualBuild("x"), func(b *model.Build) { b.WeightG, b.ShotUsedG = 300, 310; b.PredictedShotG = 250 }), []want{
			{model.Shot, 310, 250, 250, nan, ""},
			{model.Body, -10, 150, 150, nan, model.NoBody},
			{model.Weight, 300, 400, 400, 250, ""},
			{model.Length, 1830, 1800, 1800, nan, ""},
		}},
		{"length in inches", edit(usualBuild("x"), func(b *model.Build) { b.WeightG, b.ShotUsedG, b.LengthMM = nan, nan, 72 }), []want{
			{model.Length, 72, 1800, 1800, nan, model.UnitSlip}}},
		{"test fill", usualFill("x"), []want{{model.Shot, 38, 40, 40, nan, ""}}},
		{"test fill in ounces", edit(usualFill("x"), func(f *model.Fill) { f.ShotMassG /= 28.35 }), []want{
			{model.Shot, 38 / 28.35, 40, 40, nan, model.UnitSlip}}},
		{"cord check", usualCheck("x"), []want{{model.Body, 21, 20, 20, nan, ""}}},
		{"cord check without prediction", edit(usualCheck("x"), func(c *model.Check) { c.PredictedMassG = nan }), nil},
	}
	l := newLog(t)
	files := map[model.Kind]*file{}
	for _, kind := range model.Kinds {
		files[kind] = &file{name: string(kind)}
	}
	for _, tt := range tests {
		f := files[tt.row.Kind()]
		f.rows = append(f.rows, named(tt.row, tt.name))
	}
	add(t, l, *files[model.Fills], *files[model.Checks], *files[model.Builds])
	got := map[string][]want{}
	for _, q := range model.Quantities {
		for _, o := range observations(t, l, q) {
			id := o.Key.ID
			got[id] = append(got[id], want{q, o.Measured, o.Base, o.Planned, o.ShotBase, o.Excluded})
			y := model.Unknown
			if o.Measured > 0 {
				y = math.Log(o.Measured / o.Base)
			}
			if math.Abs(o.Y-y) > 1e-12 || math.IsNaN(o.Y) != math.IsNaN(y) {
				t.Errorf("%s, %s: y = %v, want %v", id, q, o.Y, y)
			}
			if !o.Date.Equal(day(0)) {
				t.Errorf("%s, %s: date %v", id, q, o.Date)
			}
		}
	}
	opts := cmp.Options{same, cmp.AllowUnexported(want{}), cmpopts.EquateApprox(1e-12, 0)}
	for _, tt := range tests {
		if d := cmp.Diff(tt.want, got[tt.name], opts); d != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, d)
		}
	}
}

// named is the row under another id.
func named(row model.Row, id string) model.Row {
	switch r := row.(type) {
	case *model.Build:
		return edit(r, func(r *model.Build) { r.ID = id })
	case *model.Fill:
		return edit(r, func(r *model.Fill) { r.ID = id })
	case *model.Check:
		return edit(r, func(r *model.Check) { r.ID = id })
	}
	return row
}

func TestCheckLevel(t *testing.T) {
	l := newLog(t)
	add(t, l, file{name: "a.csv", rows: []model.Row{usualCheck("x")}})
	want := model.Labels{Maker: model.CheckLevel, Product: model.CheckLevel, StrandBatch: "N1"}
	if got := observations(t, l, model.Body)[0].Labels; got != want {
		t.Errorf("labels %+v, want %+v", got, want)
	}
}

// The view must take for slips exactly what model does.
func TestSlipSweep(t *testing.T) {
	l := newLog(t)
	var builds []model.Row
	ratio := map[string]float64{}
	for i := -750; i <= 750; i++ { // 1/1800 to 1800 in steps of 1 %
		r := math.Exp(float64(i) / 100)
		id := strconv.Itoa(i)
		ratio[id] = r
		builds = append(builds, edit(usualBuild(id), func(b *model.Build) {
			b.WeightG, b.LengthMM, b.ShotUsedG = 400*r, 1800*r, 80*r
			b.StrandCutMM, b.StrandLeftMM, b.PredictedStrandMM = 4000*r, 0, 4000
		}))
	}
	var fills, checks []model.Row
	for id, r := range ratio {
		fills = append(fills, edit(usualFill(id), func(f *model.Fill) { f.ShotMassG = f.PredictedShotG * r }))
		checks = append(checks, edit(usualCheck(id), func(c *model.Check) { c.CheckedMassG = c.PredictedMassG * r }))
	}
	add(t, l, file{name: "f.csv", rows: fills}, file{name: "c.csv", rows: checks}, file{name: "b.csv", rows: builds})
	slips := 0
	for _, q := range model.Quantities {
		for _, o := range observations(t, l, q) {
			if q == model.Body && o.Key.Kind == model.Builds {
				continue
			}
			want := model.Reason("")
			if model.IsSlip(q.Dimension(), ratio[o.Key.ID]) {
				want = model.UnitSlip
				slips++
			}
			if o.Excluded != want {
				t.Errorf("%s of %s, ratio %.4g: %q, want %q", q, o.Key.Kind, ratio[o.Key.ID], o.Excluded, want)
			}
		}
	}
	if slips < 1000 {
		t.Errorf("only %d slips in the sweep", slips)
	}
}

func TestSummary(t *testing.T) {
	l := newLog(t)
	if s := summary(t, l); !cmp.Equal(s, model.Summary{BaseLoadGMM: model.Unknown}, same) {
		t.Errorf("empty log: %+v", s)
	}
	nan := model.Unknown
	add(t, l,
		file{name: "f.csv", rows: []model.Row{usualFill("F1"), edit(usualFill("F2"), func(f *model.Fill) { f.Date = day(40); f.PredictedShotG = 60 })}}, // 0.2, 0.3 g/mm
		file{name: "c.csv", rows: []model.Row{usualCheck("K1"), edit(usualCheck("K2"), func(c *model.Check) { c.PredictedMassG = nan })}},
		file{name: "b.csv", rows: []model.Row{
			usualBuild("B1"),
			edit(usualBuild("B2"), func(b *model.Build) { b.ShotUsedG = nan; b.LoadLengthMM = 320; b.Date = day(7) }), // 0.25 g/mm
			edit(usualBuild("B3"), func(b *model.Build) { b.WeightG, b.PredictedShotG = nan, nan }),
			edit(blankBuild("B4"), func(b *model.Build) { b.WeightG = 400 }),
		}})
	want := model.Summary{Builds: 4, Fills: 2, Checks: 2, Through: day(40), Weighed: 2, Split: 1,
		UnpredictedBuilds: 1, UnpredictedChecks: 1, BaseLoadGMM: (0.2 + 0.25) / 2}
	if d := cmp.Diff(want, summary(t, l), same, cmpopts.EquateApprox(1e-12, 0)); d != "" {
		t.Errorf("summary (-want +got):\n%s", d)
	}
	o, err := l.Observations(t.Context(), day(6), false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := o.Summary(t.Context())
	if err != nil || s.Builds != 3 || s.Fills != 1 || !s.Through.Equal(day(0)) {
		t.Errorf("through day 6: %+v, %v", s, err)
	}
}

// Mean and sum of squares of the cells, on the sets of NIST's Statistical
// Reference Datasets that defeat a difference of large sums. The data stand in
// for y: a temporary table in front of the view.
func TestCellsOnNIST(t *testing.T) {
	if divided() {
		t.Skip("puts a table in the place of a view, which other servers do not see")
	}
	tests := []struct {
		name           string
		relMean, relSD float64
	}{
		{"numacc1", 1e-15, 1e-15},
		{"numacc3", 1e-15, 1e-9},
		{"michelso", 1e-15, 1e-12},
		{"lew", 1e-13, 1e-13},
		{"pidigits", 1e-13, 1e-13},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := "../testdata/nist/" + tt.name
			certified := map[string]float64{}
			for _, row := range readCSV(t, dir+"/expected.csv") {
				certified[row[0]] = number(t, row[1])
			}
			l := newLog(t)
			o := reader(t, l)
			var id string
			var y float64
			rows := readCSV(t, dir+"/data.csv")
			n := len(rows)
			conn, err := l.db.session(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if err := execAll(t.Context(), conn, "create temporary table build_ratio as select * from build_ratio"); err != nil {
				t.Fatal(err)
			}
			const query = `insert into build_ratio (source, line, id, date, length_y)
				select 1, cast(id as integer), id, date '2025-01-01', y from appended`
			err = bulk(t.Context(), conn, query, []field{{"id", &id}, {"y", &y}}, func(add func() error) error {
				for i, row := range rows {
					id, y = strconv.Itoa(i), number(t, row[0])
					if err := add(); err != nil {
						return err
					}
				}
				return nil
			})
			conn.Close()
			if err != nil {
				t.Fatal(err)
			}
			cells, err := o.Cells(t.Context(), model.Length, nil)
			if err != nil || len(cells) != 1 || cells[0].N != n {
				t.Fatalf("cells %v, %v; want one of %d", cells, err, n)
			}
			c := cells[0]
			sd := math.Sqrt(c.SS / float64(c.N-1))
			if want := certified["mean"]; !near(c.Mean, want, tt.relMean) {
				t.Errorf("mean = %.17g, certified %.17g", c.Mean, want)
			}
			if want := certified["sd_n_minus_1"]; !near(sd, want, tt.relSD) {
				t.Errorf("sd = %.17g, certified %.17g", sd, want)
			}
		})
	}
}

// readCSV returns the rows below the header.
func readCSV(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", path, len(rows), err)
	}
	return rows[1:]
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestCombinations(t *testing.T) {
	l := newLog(t)
	add(t, l,
		file{name: "f.csv", rows: []model.Row{edit(usualFill("F1"), func(f *model.Fill) { f.CoreBatch = "C2" })}},
		file{name: "c.csv", rows: []model.Row{usualCheck("K1")}},
		file{name: "b.csv", rows: []model.Row{
			edit(blankBuild("B1"), func(b *model.Build) { b.Note = "nothing measured yet" }),
			edit(usualBuild("B2"), func(b *model.Build) { b.ShotBatch = "" }),
			edit(usualBuild("B3"), func(b *model.Build) { b.Date, b.Maker = day(20), "bob" }),
		}})
	o, err := l.Observations(t.Context(), day(10), false)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		q       model.Quantity
		effects []model.Effect
		want    []model.Labels
	}{
		{model.Shot, model.Shot.Effects(), []model.Labels{
			{Maker: "ann", CoreBatch: "C1", ShotBatch: "S1"}, {Maker: "ann", CoreBatch: "C2", ShotBatch: "S1"}}},
		{model.Shot, []model.Effect{model.CoreBatch}, []model.Labels{{CoreBatch: "C1"}, {CoreBatch: "C2"}}},
		{model.Weight, []model.Effect{model.Maker, model.CoreBatch}, []model.Labels{{Maker: "ann", CoreBatch: "C1"}}},
		{model.Body, model.Body.Effects(), []model.Labels{{Maker: "ann", StrandBatch: "N1", Product: "6 ft"}}},
	}
	for _, tt := range tests {
		got, err := o.Combinations(t.Context(), tt.q, tt.effects)
		if err != nil {
			t.Fatal(err)
		}
		if d := diff(tt.want, got); d != "" {
			t.Errorf("%s by %v (-want +got):\n%s", tt.q, tt.effects, d)
		}
	}
}

// Of many rows only those near the middle are read: the answers are those of
// all.
func TestManyRows(t *testing.T) {
	l := newLog(t)
	rows := 5 * fewRows
	if _, ok := served(); ok { // which takes its time
		rows = fewRows + fewRows/5
	}
	importMany(t, l, rows)
	o := reader(t, l)
	aside := []model.RowKey{{Kind: model.Builds, ID: "B0000007"}}
	of := map[model.Quantity][]model.Observation{}
	for _, q := range []model.Quantity{model.Shot, model.Weight, model.Body, model.Shot} {
		cells, err := o.Cells(t.Context(), q, aside)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, c := range cells {
			n += c.N
		}
		if n != rows-1 {
			t.Errorf("cells of %s sum up %d rows, want %d", q, n, rows-1)
		}
		if of[q], err = o.Observations(t.Context(), q); err != nil {
			t.Fatal(err)
		}
	}
	memory := calibrate.NewRows(of)
	fitted := model.Fitted{Mean: 0.001, Theta2: map[model.Effect]float64{model.Maker: 1},
		Levels: []model.LevelEffect{{Effect: model.Maker, Level: "maker 1", Value: 0.002, Rows: 9}}}
	far := fitted
	far.Mean = 0.03 // nothing is where the scan before found it
	for q := range of {
		for _, f := range []model.Fitted{fitted, far, fitted} {
			want, err := memory.Screen(t.Context(), q, f, aside)
			if err != nil {
				t.Fatal(err)
			}
			for _, f.Sigma = range []float64{0, 1e-9, 0.02, 5, math.Inf(1), model.Unknown} {
				got, err := o.Screen(t.Context(), q, f, aside)
				if err != nil {
					t.Fatal(err)
				}
				if got.N != want.N || math.Abs(got.Scale-want.Scale) > 1e-13 || len(got.Flagged) != len(want.Flagged) {
					t.Errorf("%s, mean %g, sigma %g: %d rows, scale %.15g, %d flagged; want %d, %.15g, %d",
						q, f.Mean, f.Sigma, got.N, got.Scale, len(got.Flagged), want.N, want.Scale, len(want.Flagged))
				}
				// The next begins without what this one found.
				if f.Mean == fitted.Mean {
					delete(l.compared.spread, q)
				}
			}
		}
	}
	shot, body := model.Residuals{Quantity: model.Shot, Aside: aside, Fitted: fitted}, model.Residuals{Quantity: model.Body, Fitted: fitted}
	r, n, err := o.Correlation(t.Context(), shot, body)
	if err != nil {
		t.Fatal(err)
	}
	wantR, wantN, err := memory.Correlation(t.Context(), shot, body)
	if err != nil || n != wantN || n != rows-1 || math.Abs(r-wantR) > 1e-12 {
		t.Errorf("correlation %.15g of %d, %v; want %.15g of %d", r, n, err, wantR, wantN)
	}
}

// Half of the builds deviate no more than the one in the middle, on whatever
// database: a share is no whole number.
func TestDeviation_Half(t *testing.T) {
	l := newLog(t)
	var rows []model.Row
	for i := range 19 {
		rows = append(rows, edit(usualBuild("B"+strconv.Itoa(i)), func(b *model.Build) { b.WeightG = b.PredictedWeightG + float64(i) }))
	}
	add(t, l, file{name: "builds.csv", rows: rows})
	want := math.Log(409.0 / 400) // the tenth
	if got, err := reader(t, l).Deviation(t.Context(), model.Weight, nil, 0.5); err != nil || math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
}
