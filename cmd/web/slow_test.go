package web

import (
	"context"
	"io"
	"testing"
	"time"

	"trueplait/model"
)

// A browser that takes the archive slowly holds up nobody's save.
func TestSlowDownload(t *testing.T) {
	s := newStage(t.Context(), t)
	defer s.close()
	r, w := io.Pipe()
	ended := make(chan error, 1)
	go func() { ended <- s.shop.Export(t.Context(), w) }()
	if _, err := r.Read(make([]byte, 1)); err != nil { // it has begun
		t.Fatal(err)
	}
	saved := make(chan error, 1)
	go func() {
		_, err := s.shop.Save(t.Context(), model.Entry{Kind: model.Checks, Text: map[string]string{
			"check": "X1", "strand_batch": "NC01", "checked_length": "5 m", "checked_mass": "24.6 g"}})
		saved <- err
	}()
	select {
	case err := <-saved:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(30 * time.Second):
		t.Error("a save waits for a download")
	}
	go io.Copy(io.Discard, r)
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// A browser that goes away takes nothing with it: what it sent is carried
// through, and known on every page.
func TestGoneBrowser(t *testing.T) {
	s := newStage(t.Context(), t)
	defer s.close()
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	before, err := s.shop.Now(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	id := before.NextID[model.Checks]
	if _, err := s.shop.Save(gone, model.Entry{Kind: model.Checks, Text: map[string]string{
		"check": id, "strand_batch": "NC01", "checked_length": "5 m", "checked_mass": "24.6 g"}}); err != nil {
		t.Fatal(err)
	}
	after, err := s.shop.Now(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if after.Calibration.Checks != before.Calibration.Checks+1 || after.NextID[model.Checks] == id {
		t.Errorf("%d checks known after %d, the next would be %s", after.Calibration.Checks, before.Calibration.Checks, after.NextID[model.Checks])
	}
}
