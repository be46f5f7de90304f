package data

import (
	"errors"
	"testing"

	"trueplait/model"
)

// entered asks in an import of its own what a key was saved as.
func entered(t *testing.T, l *Log, key string) (model.RowKey, bool) {
	t.Helper()
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	defer im.Rollback()
	kind, id, ok, err := im.Entered(t.Context(), key)
	if err != nil {
		t.Fatal(err)
	}
	return model.RowKey{Kind: kind, ID: id}, ok
}

func TestFormSavesOnce(t *testing.T) {
	l, path := openLog(t)
	enter := func(l *Log, key string, commit bool) error {
		t.Helper()
		im, err := l.Begin(t.Context(), noon)
		if err != nil {
			t.Fatal(err)
		}
		defer im.Rollback()
		merge(t, im, file{name: "bench", rows: []model.Row{usualFill("F1")}})
		err = im.Enter(t.Context(), key, model.Fills, "F1")
		if commit {
			err = errors.Join(err, im.Commit(t.Context()))
		}
		return err
	}
	if err := enter(l, "k1", false); err != nil {
		t.Fatal(err)
	}
	if key, ok := entered(t, l, "k1"); ok || len(all(t, l, model.Fills)) > 0 {
		t.Errorf("rolled back, the form was saved as %v", key)
	}
	for _, key := range []string{"k1", "k2"} { // two forms may say the same
		if err := enter(l, key, true); err != nil {
			t.Fatal(err)
		}
	}
	before := dump(t, l)
	if err := enter(l, "k1", true); err == nil {
		t.Error("a key was entered twice")
	}
	if err := enter(l, "", true); err != nil {
		t.Errorf("a form without a key: %v", err)
	}
	if after := dump(t, l); after != before {
		t.Errorf("the log changed:\n%s\nwas\n%s", after, before)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	for _, mode := range []Mode{ReadWrite, ReadOnly} {
		l, err := Open(t.Context(), path, mode)
		if err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{"k1", "k2"} {
			if row, ok := entered(t, l, key); !ok || row != (model.RowKey{Kind: model.Fills, ID: "F1"}) {
				t.Errorf("mode %d: %s was saved as %v, %v; want F1", mode, key, row, ok)
			}
		}
		for _, key := range []string{"", "K1", "k3"} {
			if row, ok := entered(t, l, key); ok {
				t.Errorf("mode %d: %q was saved as %v, want nothing", mode, key, row)
			}
		}
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestCheckEntersNothing(t *testing.T) {
	l := newLog(t)
	im, err := l.Check(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer im.Rollback()
	if err := im.Enter(t.Context(), "k1", model.Fills, "F1"); !errors.Is(err, ErrCheckOnly) {
		t.Errorf("Enter of a check: %v, want ErrCheckOnly", err)
	}
}
