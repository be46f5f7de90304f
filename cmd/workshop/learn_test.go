package workshop

import (
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"trueplait/model"
)

// waitForWrites waits until so many writes of rows are on the disk.
func waitForWrites(t *testing.T, b *Bench, n int) {
	t.Helper()
	for range 600 { // a minute on a busy machine
		b.log.Lock()
		writes := b.writes
		b.log.Unlock()
		if writes >= n {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Fatalf("%d writes did not come", n)
}

// Rows written while another's fit is under way share the next one, and each is
// told what changed.
func TestBench_SharedFit(t *testing.T) {
	b := openBench(t, filepath.Join(t.TempDir(), "shop.duckdb"))
	const hands = 5
	before := now(t, b).Version
	b.after.Lock() // somebody is fitting
	var all sync.WaitGroup
	for h := range hands {
		all.Go(func() {
			id := fmt.Sprintf("F%d", h)
			saved, err := b.Save(t.Context(), model.Entry{Kind: model.Fills, Key: id, Text: map[string]string{
				"fill": id, "core_batch": "C1", "filled_length": "152.4 mm", "shot_mass": "12.1 g", "predicted_shot": "12 g"}})
			if err != nil || saved.Calibration == 0 || len(saved.Changes) == 0 {
				t.Errorf("fill %s: %+v, %v", id, saved, err)
			}
		})
	}
	waitForWrites(t, b, hands)
	b.after.Unlock()
	all.Wait()
	after := now(t, b)
	if fits := after.Version - before; fits != 1 {
		t.Errorf("%d fits for %d rows that waited together", fits, hands)
	}
	if got := after.Calibration.Fills; got != hands {
		t.Errorf("%d fills fitted, want %d", got, hands)
	}
}

// A build set aside while somebody corrects it keeps the correction.
func TestBench_SetAsideWhileCorrected(t *testing.T) {
	b := demoBench(t)
	text := func() map[string]string {
		b.log.Lock()
		defer b.log.Unlock()
		text, err := b.statedText(t.Context(), model.Builds, "W001")
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	corrected := text()
	corrected["weight"] = "640 g"
	b.log.Lock()
	var both sync.WaitGroup
	wait := func() { time.Sleep(50 * time.Millisecond) } // for the log, in this order
	both.Go(func() {
		if _, err := b.SetAside(t.Context(), "W001", "rewound"); err != nil {
			t.Error(err)
		}
	})
	wait()
	both.Go(func() {
		if _, err := b.Save(t.Context(), model.Entry{Kind: model.Builds, Text: corrected, Amend: true}); err != nil {
			t.Error(err)
		}
	})
	wait()
	b.log.Unlock()
	both.Wait()
	if got := text()["weight"]; got != "640 g" {
		t.Errorf("the weight is %s, and was corrected to 640 g", got)
	}
}
