package bench

import (
	"bytes"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"
)

// send posts files by name and content; choices are the boxes ticked.
func (b *browser) send(files [][2]string, choices ...string) answer {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for _, f := range files {
		part, err := w.CreateFormFile("file", f[0])
		if err != nil {
			b.t.Fatal(err)
		}
		if _, err := io.WriteString(part, f[1]); err != nil {
			b.t.Fatal(err)
		}
	}
	for _, c := range choices {
		if err := w.WriteField(c, "yes"); err != nil {
			b.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		b.t.Fatal(err)
	}
	r, err := http.NewRequest(http.MethodPost, b.server.URL+"/files", &body)
	if err == nil {
		r.Header.Set("Content-Type", w.FormDataContentType())
	}
	return b.do(r, err)
}

// lookedAt is where a browser is sent after files were looked at, and the token.
func (a answer) lookedAt(t *testing.T) (path, token string) {
	t.Helper()
	path = a.header.Get("Location")
	token, ok := strings.CutPrefix(path, "/files/look?token=")
	if a.status != http.StatusSeeOther || !ok || len(token) < 20 {
		t.Fatalf("status %d, to %q: %s", a.status, path, a.body)
	}
	return path, token
}

// A file is looked at first, then imported as a whole, or its good rows alone;
// the others can be had back.
func TestFiles(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	path, token := b.send([][2]string{{`<b title="x">` + "\u202e.csv", "good\nbad\ngood"}}).lookedAt(t)
	if len(shop.files) > 0 {
		t.Fatalf("imported before anybody said so: %q", shop.files)
	}
	b.get(path).wants(t, http.StatusOK, "Nothing is imported yet", "line 2", escaped("“"+hostile+"”"), "is not a weight", "holds 3 builds: 2 new, 1 left out.", `value="`+token+`"`)

	b.get(b.post("/files/take", "token", token, "do", "import").header.Get("Location")).
		wants(t, http.StatusOK, "Nothing was imported", "Nothing of this file is in the log")
	b.get(b.post("/files/take", "token", token, "do", "look", "good", "yes").header.Get("Location")).
		wants(t, http.StatusOK, "Nothing is imported yet", `name="good" value="yes" checked`)
	page := b.get(b.post("/files/take", "token", token, "do", "import", "good", "yes").header.Get("Location"))
	page.wants(t, http.StatusOK, "<h1>Imported</h1>", "The good rows are in the log", "What it changed", "Download the rows that were left out")
	if len(shop.files) != 1 || !strings.HasSuffix(shop.files[0], "amend=false good=true") {
		t.Errorf("imported %q", shop.files)
	}

	// once more takes nothing twice
	b.post("/files/take", "token", token, "do", "import", "good", "yes")
	if len(shop.files) != 1 {
		t.Errorf("a second time: imported %q", shop.files)
	}

	rejects := b.get("/files/rejects?file=0&token=" + token)
	rejects.wants(t, http.StatusOK, "bad")
	kind, with, err := mime.ParseMediaType(rejects.header.Get("Content-Disposition"))
	if err != nil || kind != "attachment" || strings.ContainsAny(with["filename"], "/\\<>\"\u202e") || !strings.HasSuffix(with["filename"], ".rejected.csv") {
		t.Errorf("disposition %q is %q, %q, %v", rejects.header.Get("Content-Disposition"), kind, with, err)
	}
	for _, file := range []string{"1", "-1", "x", ""} {
		b.get("/files/rejects?token="+token+"&file="+file).wants(t, http.StatusNotFound)
	}
}

// Whatever the order of files, parts come before builds.
func TestSeveralFiles(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	path, token := b.send([][2]string{{"builds.csv", "good"}, {"parts.csv", "good"}, {"more builds.csv", "bad"}}, "amend").lookedAt(t)
	b.get(path).wants(t, http.StatusOK, "What is in the files", `name="amend" value="yes" checked`)
	b.get(b.post("/files/take", "token", token, "do", "import", "amend", "yes").header.Get("Location")).
		wants(t, http.StatusOK, "Some files were imported", "The rows are in the log.", "Nothing of this file is in the log")
	if want := []string{"parts.csv amend=true good=false", "builds.csv amend=true good=false"}; !slices.Equal(shop.files, want) {
		t.Errorf("imported %q, want %q", shop.files, want)
	}
}

func TestFilesRefused(t *testing.T) {
	b := newBrowser(t, newReadingShop(t))
	b.send(nil).wants(t, http.StatusUnprocessableEntity, "Choose a file first", `aria-invalid="true"`)
	b.send([][2]string{{"", ""}}).wants(t, http.StatusUnprocessableEntity, "Choose a file first")
	b.post("/files", "file", "x").wants(t, http.StatusBadRequest, "No file came")
	b.send([][2]string{{"a.csv", "fault"}}).wants(t, http.StatusInternalServerError, "on our side")
	large := strings.Repeat("x", maxFile+1)
	b.send([][2]string{{"<b>.csv", large}}).wants(t, http.StatusRequestEntityTooLarge, "more than 32 MB", "&lt;b&gt;.csv")
	just := large[:maxFile]
	b.send([][2]string{{"a", just}, {"b", just}, {"c", just}}).wants(t, http.StatusRequestEntityTooLarge, "more than 64 MB")
	b.post("/files/take", "token", "unheard").wants(t, http.StatusGone, "Choose the file again")
}

// Files wait for ten minutes, and then the page says what to do.
func TestFilesExpire(t *testing.T) {
	now := march
	server := httptest.NewServer(New(newReadingShop(t), Options{Now: func() time.Time { return now }}))
	t.Cleanup(server.Close)
	b := newBrowser(t, newReadingShop(t))
	b.server = server
	path, _ := b.send([][2]string{{"a.csv", "good"}}).lookedAt(t)
	now = now.Add(uploadsLast - time.Second)
	b.get(path).wants(t, http.StatusOK)
	now = now.Add(time.Second)
	b.get(path).wants(t, http.StatusGone, "Choose the file again", "Nothing else is lost")
}

// The oldest uploads make room for the newest.
func TestUploadsAreBounded(t *testing.T) {
	var u uploads
	size := maxUploads/2 - 10
	of := func(n int) *upload { return &upload{files: []File{{Bytes: make([]byte, n)}}} }
	a, b := u.keep("", of(size), march), u.keep("", of(size), march)
	if a == b || u.find(a, march) == nil || u.find(b, march) == nil {
		t.Fatal("two uploads that fit are not both there")
	}
	a = u.keep(a, of(size), march) // stored anew, it is the newest
	c := u.keep("", of(21), march)
	if u.find(b, march) != nil || u.find(a, march) == nil || u.find(c, march) == nil {
		t.Error("not the oldest went, or more than that")
	}
	d := u.keep("", of(maxUploads), march)
	if u.find(d, march) == nil || u.find(a, march) != nil {
		t.Error("the largest that is allowed does not take the place of all others")
	}
	if u.find(d, march.Add(uploadsLast)) != nil || len(u.byToken) != 0 || len(u.order) != 0 {
		t.Errorf("after its time something is left: %v, %q", u.byToken, u.order)
	}
}

// A log on a server is named, and not offered as a file.
func TestFiles_OnServer(t *testing.T) {
	shop := newReadingShop(t)
	shop.now.Log, shop.now.OnServer = "postgres://anna@guild.example/log", true
	b := newBrowser(t, shop)
	page := b.get("/files")
	if !strings.Contains(page.body, "postgres://anna@guild.example/log") || strings.Contains(page.body, "/files/backup") || strings.Contains(page.body, "is one file") {
		t.Error(page.body)
	}
	if got := b.get("/files/backup"); got.status != http.StatusNotFound || !strings.Contains(got.body, "who keeps that backs it up") {
		t.Errorf("status %d: %s", got.status, got.body)
	}
}
