package data

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"trueplait/model"
)

// fitted is what fits read: rows with what was worked out, and splits.
func fitted(t *testing.T, l *Log) string {
	t.Helper()
	splits, err := l.Splits(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return dump(t, l, "build", "fill", "cord_check", "product", "part") + fmt.Sprint(splits)
}

// However a log grew, and whatever the clock said, each calibration finds the
// rows it was made from.
func TestAsOf(t *testing.T) {
	for seed := range uint64(3) {
		random := rand.New(rand.NewPCG(seed, 6))
		l := newLog(t)
		var then []string // by calibration
		for step := range 6 {
			for range 4 {
				// Files may be dated before older ones: a clock was set back.
				grow(t, l, random, noon.Add(time.Duration(random.IntN(100))*time.Hour))
			}
			var err error
			splits := noon.AddDate(1, 0, step)
			switch random.IntN(3) {
			case 0:
				err = l.Split(t.Context(), model.Split{Effect: model.Maker, Label: "ann", Since: day(2)}, splits)
			case 1:
				if err = l.Split(t.Context(), model.Split{Effect: model.Maker, Label: "bob", Since: day(2)}, splits); err == nil {
					err = l.Unsplit(t.Context(), model.Split{Effect: model.Maker, Label: "bob", Since: day(2)}, splits.Add(time.Second))
				}
			}
			if err != nil {
				t.Fatal(err)
			}
			fingerprint, err := l.Fingerprint(t.Context(), time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			c := Calibration{Fingerprint: fingerprint, NewestSource: newestOf(t, l), Options: fmt.Sprint(step), Made: splits.Add(time.Hour)}
			if _, err := l.SaveCalibration(t.Context(), c, found("{}")); err != nil {
				t.Fatal(err)
			}
			then = append(then, fitted(t, l))
		}
		if found := broken(t, l); found != nil {
			t.Errorf("seed %d: %q", seed, found)
		}
		comparePast(t, fmt.Sprintf("seed %d", seed), l, then)
	}
}

// comparePast compares the log as of each of its calibrations with what fits
// read then.
func comparePast(t *testing.T, name string, l *Log, then []string) {
	t.Helper()
	calibrations, err := l.Calibrations(t.Context())
	if err != nil || len(calibrations) != len(then) {
		t.Fatalf("%d calibrations, %v; want %d", len(calibrations), err, len(then))
	}
	for i, c := range calibrations {
		past, err := l.AsOf(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		if d := diff(then[i], fitted(t, past)); d != "" {
			t.Errorf("%s, calibration %d (-then +as of):\n%s", name, c.Number, d)
		}
		if f, err := past.Fingerprint(t.Context(), time.Time{}); err != nil || f != c.Fingerprint {
			t.Errorf("%s, calibration %d: fingerprint %s, %v; want %s", name, c.Number, f, err, c.Fingerprint)
		}
		if err := past.Close(); err != nil {
			t.Error(err)
		}
	}
}

// The figure that was worked out for a test fill is there from when there was a
// build with a load, and stays when that build has none any more.
func TestAsOfFigureOfFill(t *testing.T) {
	l := newLog(t)
	fill := edit(usualFill("F1"), func(f *model.Fill) { f.PredictedShotG = model.Unknown })
	loaded := usualBuild("B1")
	var then []string
	for _, row := range []model.Row{
		fill,
		loaded, // F1 gets its figure
		edit(loaded, func(b *model.Build) { b.LoadLengthMM = model.Unknown }),
		edit(fill, func(f *model.Fill) { f.Note = "the same length" }), // carried over
		edit(fill, func(f *model.Fill) { f.ID = "F2" }),                // has none
		edit(loaded, func(b *model.Build) { b.ID = "B2" }),             // F2 gets one
		edit(fill, func(f *model.Fill) { f.FilledLengthMM++ }),         // worked out anew
	} {
		add(t, l, file{name: "grow.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{row}})
		fingerprint := fingerprintOf(t, l)
		c := Calibration{Fingerprint: fingerprint, NewestSource: newestOf(t, l), Options: fmt.Sprint(len(then)), Made: noon}
		if _, err := l.SaveCalibration(t.Context(), c, found("{}")); err != nil {
			t.Fatal(err)
		}
		then = append(then, fitted(t, l))
	}
	comparePast(t, "a figure worked out", l, then)
}

// grow imports a file, new rows or other figures for old ones.
func grow(t *testing.T, l *Log, random *rand.Rand, now time.Time) {
	t.Helper()
	id := fmt.Sprintf("R%d", random.IntN(3))
	figure := func() float64 { return 80 + float64(random.IntN(40)) }
	unknownOr := func() float64 {
		if random.IntN(2) == 0 {
			return model.Unknown
		}
		return figure()
	}
	var settle SettleOptions
	if len(all(t, l, model.Parts)) > 0 {
		settle = SettleOptions{ShotGMM: 0.2, StrandGMM: 0.007}
	}
	var row model.Row
	switch random.IntN(6) {
	case 0, 5:
		row = edit(usualBuild(id), func(b *model.Build) {
			b.WeightG, b.PredictedShotG, b.LoadLengthMM = 400+figure(), unknownOr(), unknownOr()
		})
	case 1:
		row = edit(usualFill(id), func(f *model.Fill) { f.ShotMassG, f.PredictedShotG = figure(), unknownOr() })
	case 2:
		row = edit(usualCheck(id), func(c *model.Check) { c.CheckedMassG, c.PredictedMassG = figure(), unknownOr() })
	case 3:
		row = edit(usualRows()[0].rows[0].(*model.Part), func(p *model.Part) { p.MassG = figure() })
		settle = SettleOptions{ShotGMM: 0.2, StrandGMM: 0.007}
	default:
		row = edit(usualRows()[1].rows[0].(*model.ProductLine), func(p *model.ProductLine) { p.WeightLowG = figure() })
	}
	err := l.within(t.Context(), now, func(im *Import) error {
		merge(t, im, file{name: "grow.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{row}})
		_, err := im.Settle(t.Context(), settle)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// A calibration of a program that did not note its newest file is placed by the
// time.
func TestAsOfByTime(t *testing.T) {
	l := newLog(t)
	for i, at := range []time.Time{noon, noon.Add(time.Hour)} {
		err := l.within(t.Context(), at, func(im *Import) error {
			merge(t, im, file{name: "a.csv", rows: []model.Row{usualBuild(fmt.Sprintf("B%d", i))}})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, err := l.SaveCalibration(t.Context(), Calibration{Fingerprint: "f", NewestSource: 2, Made: noon.Add(time.Minute)}, found("{}")); err != nil {
		t.Fatal(err)
	}
	if _, err := l.db.Exec("update calibration set newest_source = null"); err != nil {
		t.Fatal(err)
	}
	calibrations, err := l.Calibrations(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	past, err := l.AsOf(t.Context(), calibrations[0])
	if err != nil {
		t.Fatal(err)
	}
	defer past.Close()
	if got := keys(all(t, past, model.Builds)); len(got) != 1 || got[0] != "B0" {
		t.Errorf("builds %v, want the one of before", got)
	}
}
