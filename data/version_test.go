package data

import (
	"testing"

	"trueplait/model"
)

func TestVersions(t *testing.T) {
	l := newLog(t)
	fillLog(t, l)
	type version struct {
		key        string
		source, by int
		base       Base
		version    int
	}
	nan := model.Unknown
	none := Base{nan, nan, nan, nan}
	want := map[model.Kind][]version{
		// The load of the builds is 80 g over 400 mm.
		model.Fills: {
			{"F1", 3, 0, none, 0},
			{"F2", 3, 8, Base{nan, nan, 40, nan}, 0},
			{"F2", 8, 0, Base{nan, nan, 40, nan}, 0},
		},
		model.Builds:   {{"B1", 5, 0, none, 0}, {"B2", 5, 7, none, 0}, {"B9", 6, 0, none, 0}, {"B2", 7, 0, none, 0}},
		model.Checks:   {{"K1", 4, 9, none, 0}, {"K1", 9, 0, none, 0}},
		model.Parts:    {{"6 ft", 1, 10, none, 1}, {"6 ft", 1, 10, none, 1}, {"6 ft", 10, 0, none, 2}},
		model.Products: {{"6 ft", 2, 11, none, 0}, {"6 ft", 11, 0, none, 0}},
	}
	for kind, want := range want {
		var got []version
		for v, err := range l.Versions(t.Context(), kind) {
			if err != nil {
				t.Fatal(err)
			}
			key := v.Row.Key()
			if p, ok := v.Row.(*model.Part); ok {
				key = p.Product
			}
			got = append(got, version{key, v.Source, v.ReplacedBy, v.Base, v.PartsVersion})
			if v.Row.From().File == "" || v.Row.From().Line < 2 {
				t.Errorf("%s %s is from %s", kind, key, v.Row.From())
			}
			if f, ok := v.Row.(*model.Fill); ok && f.ID == "F2" && model.Known(f.PredictedShotG) {
				t.Errorf("F2 states %v", f.PredictedShotG)
			}
		}
		if len(got) != len(want) {
			t.Errorf("%s: %+v, want %+v", kind, got, want)
			continue
		}
		for i := range want {
			if d := diff([]any{want[i].key, want[i].source, want[i].by, want[i].base, want[i].version},
				[]any{got[i].key, got[i].source, got[i].by, got[i].base, got[i].version}); d != "" {
				t.Errorf("%s, version %d (-want +got):\n%s", kind, i, d)
			}
		}
	}
	for range l.Versions(t.Context(), model.Builds) {
		break // the log is free again
	}
	plans, err := l.FinishedPlans(t.Context())
	if err != nil || len(plans) != 1 || plans[0].ID != "B9" {
		t.Errorf("finished plans %v, %v; want B9", plans, err)
	}
	for _, err := range l.Versions(t.Context(), "whips") {
		if err == nil {
			t.Error("versions of whips: no error")
		}
	}
}
