package report

import (
	"strings"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
)

func TestDriftNotes(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2025, 3, d, 0, 0, 0, 0, time.UTC) }
	q := &calibrate.QuantityFit{Quantity: model.Shot, Drift: []calibrate.Drift{
		{Effect: model.Maker, Level: "dita", Since: "B-2", SinceDate: day(2), Direction: "down", Grade: "watch"},                    // died away
		{Effect: model.Maker, Level: "colm", Since: "B-9", SinceDate: day(9), Direction: "up", Grade: "act"},                        // explained by C7
		{Effect: model.CoreBatch, Level: "C7", Since: "B-8", SinceDate: day(8), Direction: "up", Grade: "act"},                      // the cause
		{Effect: model.CoreBatch, Level: "C7", Since: "B-20", SinceDate: day(20), Direction: "up", Grade: "act"},                    // the same again
		{Effect: model.ShotBatch, Level: "S<3>", Since: "B-5", SinceDate: day(5), Direction: "down", Grade: "watch", Ongoing: true}, // another
	}}
	got := driftNotes(q)
	want := []string{
		`Changed, by the look of it: core batch C7: more shot since build B-8 (2025-03-08). If so: trueplait calibrate --split "core_batch=C7@2025-03-08"`,
		"Watch shot batch S<3>: less shot since build B-5 (2025-03-05). Nothing to do yet.",
	}
	if len(got) != len(want) {
		t.Fatalf("notes %q, want %q", got, want)
	}
	for i := range want {
		if strings.ReplaceAll(got[i], nbsp, " ") != want[i] {
			t.Errorf("note %q, want %q", got[i], want[i])
		}
	}
	if do := lookAtDrifts(&calibrate.Calibration{Quantities: []calibrate.QuantityFit{*q}}); len(do) != 1 || !strings.Contains(do[0].Command, "--split") {
		t.Errorf("to do %+v, want the one change", do)
	}
}
