package bench

import (
	"reflect"
	"testing"
	"time"

	"trueplait/model"
)

// The newest amendment comes first; each says what its own row became.
func TestAmendments(t *testing.T) {
	row := func(weight, humidity float64, note string) *Record {
		b := blankBuild("W1")
		b.WeightG, b.Humidity, b.Note = weight, humidity, note
		return &Record{Stated: b, Full: b}
	}
	unknown := blankBuild("").Humidity
	r := row(411.25, 45, "")
	full := *r.Stated.(*model.Build)
	full.PredictedStrandMM = 4258.26
	r.Full = &full // its strand was worked out when it was amended
	r.Past = []Past{
		{row(14.5, unknown, "wet").Full, march, "may.csv"},
		{row(411.2, unknown, "wet").Full, march.Add(90 * time.Minute), "bench page"},
	}
	want := []amendment{
		{"2026-03-04 10:30", "bench page", []difference{
			{"weight", "weight", "411.2 g", "411.25 g"}, {"note", "note", "wet", "blank"}, {"humidity", "humidity", "blank", "45 %"}}},
		{"2026-03-04 09:00", "may.csv", []difference{{"weight", "weight", "14.5 g", "411.2 g"}}},
	}
	if got := amendments(r); !reflect.DeepEqual(got, want) {
		t.Errorf("amendments %+v, want %+v", got, want)
	}
	if got := amendments(row(1, 1, "")); got != nil {
		t.Errorf("a row that was never amended: %+v", got)
	}
}
