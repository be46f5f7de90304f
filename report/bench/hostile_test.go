package bench

import (
	"bytes"
	"errors"
	"io"
	"log"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"

	"trueplait/report"
)

// Text that is not UTF-8 is none that a form of the page sends.
func TestNotUTF8(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	for _, path := range []string{"/builds?q=%ff", "/fill?core_batch=%c3%28"} {
		if got := b.get(path); got.status != http.StatusBadRequest {
			t.Errorf("%s: status %d, want 400", path, got.status)
		}
	}
	if got := b.post("/maker", "maker", "\xff", "units", "metric"); got.status != http.StatusBadRequest {
		t.Errorf("a form: status %d, want 400", got.status)
	}
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	r.Header.Set("Cookie", makerCookie+"=%ff")
	if got := makerFrom(r); got != "" {
		t.Errorf("the maker is %q", got)
	}
}

// A line in the terminal stays one line, and sends it no commands.
func TestLogIsOneLine(t *testing.T) {
	var out bytes.Buffer
	r := httptest.NewRequest(http.MethodGet, "/builds%0a%1b[2J", nil)
	v := &visit{bench: &bench{opt: Options{Log: log.New(&out, "", 0)}}, r: r}
	v.log(errors.New("of \x1b]0;x\a\nanother line"))
	if got := strings.TrimSuffix(out.String(), "\n"); strings.ContainsAny(got, "\n\x1b\a") {
		t.Errorf("logged %q", got)
	}
}

// More files than anybody has to look at are refused, and what came with them
// that is no file takes no room.
func TestTooManyFiles(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	files := make([][2]string, mostFiles+1)
	for i := range files {
		files[i] = [2]string{"fills.csv", "fill\n"}
	}
	if got := b.send(files); got.status != http.StatusRequestEntityTooLarge || !strings.Contains(got.body, "At most 50") {
		t.Errorf("%d files: status %d", len(files), got.status)
	}
	if got := b.send(files[:mostFiles]); got.status != http.StatusSeeOther {
		t.Errorf("%d files: status %d", mostFiles, got.status)
	}
}

// Files are read from so many requests at once as there is room for; the others
// wait their turn.
func TestArrivingWaits(t *testing.T) {
	synctest.Test(t, arrivingWaits)
}

func arrivingWaits(t *testing.T) {
	page := New(newReadingShop(t), Options{})
	send := func() (*io.PipeWriter, chan int) {
		body, out := io.Pipe()
		r := httptest.NewRequest(http.MethodPost, "/files", body)
		r.Header.Set("Content-Type", "multipart/form-data; boundary=limit")
		status := make(chan int, 1)
		go func() {
			w := httptest.NewRecorder()
			page.ServeHTTP(w, r)
			status <- w.Code
		}()
		return out, status
	}
	const whole = "--limit\r\nContent-Disposition: form-data; name=file; filename=x.csv\r\n\r\nfill\n\r\n--limit--\r\n"
	var first []*io.PipeWriter
	var answers []chan int
	for range mostArriving {
		out, status := send()
		if _, err := io.WriteString(out, whole[:10]); err != nil { // it is being read
			t.Fatal(err)
		}
		first, answers = append(first, out), append(answers, status)
	}
	last, status := send()
	read := make(chan struct{})
	go func() {
		io.WriteString(last, whole)
		last.Close()
		close(read)
	}()
	synctest.Wait()
	select {
	case <-read:
		t.Error("one more was read at once")
	default:
	}
	for _, out := range first {
		io.WriteString(out, whole[10:])
		out.Close()
	}
	for _, answer := range append(answers, status) {
		if got := <-answer; got != http.StatusSeeOther {
			t.Errorf("status %d, want 303", got)
		}
	}
}

// What saving changed is told, also where the answer to a second press came
// first.
func TestSavedKeepsWhatChanged(t *testing.T) {
	var list savedList
	again, saved := &report.Saved{Again: true}, &report.Saved{Calibration: 3}
	for _, s := range []*report.Saved{again, saved, again} {
		list.keep("key", s)
	}
	if list.get("key") != saved || len(list.keys) != 1 {
		t.Errorf("kept %+v under %d keys", list.get("key"), len(list.keys))
	}
}
