package web

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	mathrand "math/rand/v2"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/model"
)

// client is a browser at work, without its patience for redirects.
type client struct {
	http.Client
	base string

	mu   sync.Mutex
	took []time.Duration // of each request answered
}

// serveStage serves a stage on a log at path over the network of this machine.
func serveStage(t *testing.T, path string) (*stage, *client) {
	t.Helper()
	s, base := served(t, func(port int) *stage { return stageAt(t, path, port) })
	c := &client{base: base}
	c.Transport = &http.Transport{DisableKeepAlives: true} // who has been answered makes room
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return s, c
}

// answer is what came back.
type answer struct {
	status   int
	location string
	body     string
}

// post sends a body as the page's forms do.
func (c *client) post(ctx context.Context, path, contentType, body string) (answer, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, c.base+path, strings.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	r.Header.Set("Content-Type", contentType)
	r.Header.Set("Origin", c.base)
	return c.do(r)
}

func (c *client) do(r *http.Request) (answer, error) {
	begin := time.Now()
	got, err := c.Do(r)
	if err != nil {
		return answer{}, err
	}
	body, err := io.ReadAll(got.Body)
	if err := errors.Join(err, got.Body.Close()); err != nil {
		return answer{}, err
	}
	c.mu.Lock()
	c.took = append(c.took, time.Since(begin))
	c.mu.Unlock()
	return answer{got.StatusCode, got.Header.Get("Location"), string(body)}, nil
}

// share is the time within which a share of the requests were answered.
func (c *client) share(p float64) time.Duration {
	slices.Sort(c.took)
	return c.took[int(p*float64(len(c.took)-1))].Round(time.Millisecond)
}

// form is a form of columns and values, with a key of its own.
func form(pairs ...string) string {
	q := url.Values{"confirm": {"1"}, "key": {rand.Text()}}
	for i := 0; i < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	return q.Encode()
}

const formType = "application/x-www-form-urlencoded"

// ledger is what the writers were told.
type ledger struct {
	sync.Mutex
	kept  map[model.RowKey]bool // rows; false: sent, but no answer came
	notes map[string]bool       // amendments of one row, by the note they brought
	sent  int
}

func (l *ledger) keep(kind model.Kind, id string, answered bool) {
	l.Lock()
	defer l.Unlock()
	key := model.RowKey{Kind: kind, ID: id}
	l.kept[key] = l.kept[key] || answered
	l.sent++
}

func (l *ledger) amend(note string) {
	l.Lock()
	defer l.Unlock()
	l.notes[note] = true
	l.sent++
}

// Two hundred write at once, each form twice: rows, amendments of one row,
// files, and some who hang up half way. Nothing that was said to be saved is
// missing, nothing is there twice, every answer says what happened.
func TestWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.duckdb")
	told := &ledger{kept: map[model.RowKey]bool{}, notes: map[string]bool{}}
	const writers = 200
	t.Run("write", func(t *testing.T) { // the page is closed at its end
		s, c := serveStage(t, path)
		var all sync.WaitGroup
		for i := range writers {
			all.Go(func() { write(t, c, told, i) })
		}
		all.Wait()
		if said := s.lines.take(); said != "" {
			t.Errorf("the page says: %s", said)
		}
		t.Logf("%d requests answered, half of them in %v, 99 of 100 in %v", len(c.took), c.share(0.5), c.share(0.99))
	})
	verify(t, path, told)
}

// write is what one writer does.
func write(t *testing.T, c *client, told *ledger, i int) {
	id := fmt.Sprintf("X%03d", i)
	twice := func(path, kind, body string, keep func()) {
		var both sync.WaitGroup
		for range 2 {
			both.Go(func() {
				got, err := c.post(t.Context(), path, kind, body)
				switch {
				case err != nil:
					t.Errorf("%s %s: %v", path, id, err)
				case got.status != http.StatusSeeOther || !strings.HasPrefix(got.location, "/saved?"):
					t.Errorf("%s %s: status %d: %s", path, id, got.status, got.body)
				default:
					keep()
				}
			})
		}
		both.Wait()
	}
	fill := []string{"fill", id, "core_batch", "HC01", "filled_length", "6 in", "shot_mass", "12.5 g", "date", "2025-06-01"}
	switch i % 10 {
	case 0: // a build
		twice("/finish", formType, form("build", id, "product", "8 ft bull, 16 plait", "maker", "Arlo", "core_batch", "HC01", "strand_batch", "NC01",
			"weight", "634 g", "length", "2413 mm", "shot_used", "84.8 g", "date", "2025-06-01"), func() { told.keep(model.Builds, id, true) })
	case 1, 2: // a correction of the same row
		note := "corrected by " + id
		twice("/edit?kind=fills&id=F01", formType, form("core_batch", "HC01", "filled_length", "203 mm", "shot_mass", "16.3 g", "maker", "Arlo",
			"shot_batch", "L1", "date", "2023-01-09", "note", note), func() { told.amend(note) })
	case 3: // a file
		bring(t, c, told, id)
	case 4: // hangs up
		ctx, cancel := context.WithTimeout(t.Context(), time.Duration(mathrand.IntN(2000))*time.Millisecond)
		defer cancel()
		got, err := c.post(ctx, "/fill", formType, form(fill...))
		if err == nil && got.status != http.StatusSeeOther {
			t.Errorf("fill %s: status %d: %s", id, got.status, got.body)
		}
		told.keep(model.Fills, id, err == nil)
	default:
		twice("/fill", formType, form(fill...), func() { told.keep(model.Fills, id, true) })
	}
}

// bring brings a file of three cord checks, and presses Import twice.
func bring(t *testing.T, c *client, told *ledger, id string) {
	text := "Check,Date,Strand batch,Checked length,Checked mass\n"
	for n := range 3 {
		text += fmt.Sprintf("%s-%d,2025-06-01,NC01,5 m,24.6 g\n", id, n)
	}
	body, kind := multipartOf(id+".csv", []byte(text))
	got, err := c.post(t.Context(), "/files", kind, body)
	token, found := strings.CutPrefix(got.location, "/files/look?")
	if err != nil || !found {
		t.Errorf("file %s: status %d, %v: %s", id, got.status, err, got.body)
		return
	}
	var both sync.WaitGroup
	for range 2 {
		both.Go(func() {
			got, err := c.post(t.Context(), "/files/take", formType, token)
			if err != nil || got.status != http.StatusSeeOther {
				t.Errorf("import of %s: status %d, %v: %s", id, got.status, err, got.body)
				return
			}
			for n := range 3 {
				told.keep(model.Checks, fmt.Sprintf("%s-%d", id, n), true)
			}
		})
	}
	both.Wait()
}

// verify compares a log with what the writers were told.
func verify(t *testing.T, path string, told *ledger) {
	t.Helper()
	log, err := data.Open(t.Context(), path, data.ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	found := map[model.RowKey]int{}
	for _, kind := range []model.Kind{model.Builds, model.Fills, model.Checks} {
		for row, err := range log.Rows(t.Context(), kind, time.Time{}) {
			if err != nil {
				t.Fatal(err)
			}
			if strings.HasPrefix(row.Key(), "X") {
				found[model.RowKey{Kind: kind, ID: row.Key()}]++
			}
		}
	}
	kept := 0
	for key, answered := range told.kept {
		if answered {
			kept++
		}
		if n := found[key]; n > 1 || answered && n != 1 {
			t.Errorf("%v is in the log %d times; saved as far as its writer knows: %t", key, n, answered)
		}
		delete(found, key)
	}
	if len(found) > 0 {
		t.Errorf("nobody wrote %v", found)
	}
	notes := map[string]int{}
	history, err := log.History(t.Context(), model.Fills, "F01")
	if err != nil {
		t.Fatal(err)
	}
	for _, past := range history {
		notes[past.Row.(*model.Fill).Note]++
	}
	now, _, err := log.Row(t.Context(), model.Fills, "F01")
	if err != nil {
		t.Fatal(err)
	}
	notes[now.(*model.Fill).Note]++
	delete(notes, "") // before the first correction
	for note := range told.notes {
		if notes[note] != 1 {
			t.Errorf("%q is in the history %d times", note, notes[note])
		}
	}
	if len(notes) != len(told.notes) {
		t.Errorf("%d corrections in the history, %d were made", len(notes), len(told.notes))
	}
	t.Logf("%d rows and corrections sent, %d rows and %d corrections kept", told.sent, kept, len(notes))
}
