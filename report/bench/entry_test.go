package bench

import (
	"errors"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"trueplait/model"
)

var hiddenField = regexp.MustCompile(`<input type="hidden" name="([^"]+)" value="([^"]*)">`)

// hiddenIn is the value of a hidden field of a page.
func hiddenIn(a answer, name string) string {
	for _, m := range hiddenField.FindAllStringSubmatch(a.body, -1) {
		if m[1] == name {
			return m[2]
		}
	}
	return ""
}

func TestFinishInThreeSteps(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)

	form := b.get("/finish?plan=W265")
	form.wants(t, 200, "Finish W265", "8 ft bull, 12 plait", `name="weight"`, `name="shot_before"`, `name="strand_left"`, `value="2026-03-04"`, `action="/finish?plan=W265"`)
	key := hiddenIn(form, "key")
	if len(key) < 20 || hiddenIn(form, "build") != "W265" {
		t.Fatalf("key %q, build %q", key, hiddenIn(form, "build"))
	}

	typed := []string{"key", key, "build", "W265", "weight", "390 g", "length", "1869 mm", "core_batch", "C15", "note", "cold shop"}
	review := b.post("/finish?plan=W265", typed...)
	review.wants(t, 200, "Nothing is saved yet", "390\u00a0g (13\u00a03/4\u00a0oz)", "1869\u00a0mm (73\u00a05/8\u00a0in)",
		"lighter than today&#39;s 95\u00a0% band, 402 to 431\u00a0g", "The core batch C15 is new: it will be added.", `name="confirm"`, `name="change"`)
	if hiddenIn(review, "key") != key || hiddenIn(review, "note") != "cold shop" {
		t.Errorf("the review lost the key or the note:\n%s", review.body)
	}
	if len(shop.saves) > 0 {
		t.Fatal("the review saved")
	}

	b.post("/finish?plan=W265", append(typed, "change", "1")...).
		wants(t, 200, "Check it", `value="390 g"`, `value="1869 mm"`, ">cold shop</textarea>", `value="`+key+`"`)

	saved := b.post("/finish?plan=W265", append(typed, "confirm", "1")...)
	saved.wants(t, 303)
	want := model.Entry{Kind: model.Builds, Key: key, Text: map[string]string{"build": "W265", "product": "8 ft bull, 12 plait",
		"weight": "390 g", "length": "1869 mm", "core_batch": "C15", "note": "cold shop"}}
	if len(shop.saves) != 1 || !sameEntry(shop.saves[0], want) {
		t.Fatalf("saved %+v, want %+v", shop.saves, want)
	}
	page := b.get(saved.header.Get("Location"))
	page.wants(t, 200, "Build W265 is saved.", "calibration 13", "Core batch C14: 2.19 to 2.06\u00a0g per inch", "Weigh a length of strand batch N07.", "/cord?strand_batch=N07")
}

func sameEntry(a, b model.Entry) bool {
	if a.Kind != b.Kind || a.Key != b.Key || a.Amend != b.Amend || len(a.Text) != len(b.Text) {
		return false
	}
	for column, text := range b.Text {
		if a.Text[column] != text {
			return false
		}
	}
	return true
}

// TestSentTwice: the second of two equal sendings comes to the same page, with
// what the first one changed.
func TestSentTwice(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	typed := []string{"key", strings.Repeat("K", 26), "build", "W265", "weight", "390 g", "confirm", "1"}
	first, second := b.post("/finish?plan=W265", typed...), b.post("/finish?plan=W265", typed...)
	if first.header.Get("Location") != second.header.Get("Location") {
		t.Errorf("sent on to %q, then to %q", first.header.Get("Location"), second.header.Get("Location"))
	}
	b.get(second.header.Get("Location")).wants(t, 200, "Build W265 is saved.", "2.19 to 2.06\u00a0g per inch")
}

func TestSavedLongAgoShowsTheRow(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	b.get("/saved?kind=builds&id=W264&entry=forgotten").wants(t, 200, "This is in the log.", "411\u00a0g (14\u00a01/2\u00a0oz)")
	b.get("/saved?kind=builds&id=W999").wants(t, 404, "There is no build W999 in the log.")
	b.get("/saved?kind=parts&id=x").wants(t, 404)
}

// TestSavedIsBounded: the oldest results go, the newest stay.
func TestSavedIsBounded(t *testing.T) {
	var list savedList
	saved, err := newFakeShop().Save(t.Context(), model.Entry{Kind: model.Builds, Text: map[string]string{"build": "B", "weight": "1 g"}})
	if err != nil {
		t.Fatal(err)
	}
	keys := make([]string, mostSaved+10)
	for i := range keys {
		keys[i] = strings.Repeat("k", i+1)
		list.keep(keys[i], saved)
	}
	if list.get(keys[9]) != nil || list.get(keys[10]) == nil || list.get(keys[len(keys)-1]) == nil || len(list.of) != mostSaved {
		t.Errorf("of %d results %d are kept, want the newest %d", len(keys), len(list.of), mostSaved)
	}
}

func TestRefusedKeepsWhatWasTyped(t *testing.T) {
	long := strings.Repeat("ä", maxTyped+1)
	for _, c := range []struct {
		name  string
		typed []string
		says  []string
	}{
		{"no unit", []string{"weight", "411", "length", "1869 mm", "note", "x < y"},
			[]string{"One thing to put right", `href="#f-weight"`, `id="p-weight"`, `aria-invalid="true"`, `aria-describedby="p-weight e-weight h-weight"`,
				`value="411"`, `value="1869 mm"`, "= 1869\u00a0mm", "x &lt; y", "<title>To put right: "}},
		{"nothing measured", []string{"note", "cold"}, []string{"weight, length and shot_used are all blank", ">cold</textarea>"}},
		{"too long", []string{"weight", "390 g", "note", long}, []string{"has 2001 characters: shorten it to 2000", long, `value="390 g"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := newFakeShop()
			b := newBrowser(t, shop)
			for _, step := range [][]string{nil, {"confirm", "1"}} {
				got := b.post("/finish?plan=W265", append(append([]string{"build", "W265"}, c.typed...), step...)...)
				got.wants(t, 422, c.says...)
			}
			if len(shop.saves) > 0 {
				t.Errorf("saved %v", shop.saves)
			}
		})
	}
}

// TestFailedSaveKeepsWhatWasTyped: where the fault is ours, the text and the key
// come back, and the error's own words stay inside.
func TestFailedSaveKeepsWhatWasTyped(t *testing.T) {
	shop := newFakeShop()
	shop.fails = errors.New("disk full at /some/where")
	key := strings.Repeat("K", 26)
	got := newBrowser(t, shop).post("/finish?plan=W265", "key", key, "weight", "390 g", "note", "cold", "confirm", "1")
	got.wants(t, 500, "What you typed is still here", `value="390 g"`, ">cold</textarea>", `value="`+key+`"`)
	if strings.Contains(got.body, "/some/where") {
		t.Error("the page shows the error's own words")
	}
}

func TestDoubtsAreAskedAbout(t *testing.T) {
	shop := newFakeShop()
	shop.doubts = []string{`weight looks like pounds entered as ounces`}
	newBrowser(t, shop).post("/finish?plan=W265", "weight", "390 g").
		wants(t, 200, "Look again before saving", "Weight looks like pounds entered as ounces", "Save it all the same")
}

func TestFinishChoosesAmongPlans(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	b.get("/finish").wants(t, 200, "Which one is finished?", `href="/finish?plan=W265"`, `href="/finish?without=1"`, "open for 4 days")
	b.get("/finish?without=1").wants(t, 200, `name="product"`, `name="predicted_weight"`, `value="W266"`, `value="C14"`)
	b.get("/finish?plan=W999").wants(t, 404, "There is no open plan W999.")
	shop.now.Open = nil
	b.get("/finish").wants(t, 200, "Finish a build without a plan")
}

func TestDaysOpen(t *testing.T) {
	day := func(d, hour int) time.Time { return time.Date(2026, 3, d, hour, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		since, today time.Time
		want         string
	}{
		{time.Time{}, day(4, 9), "open"},
		{day(4, 8), day(4, 9), "since today"},
		{day(3, 23), day(4, 1), "since yesterday"},
		{day(1, 23), day(4, 1), "open for 3 days"},
		{day(5, 0), day(4, 1), "since today"}, // a clock that was put back
	} {
		if got := daysOpen(c.since, c.today); got != c.want {
			t.Errorf("daysOpen(%v, %v) = %q, want %q", c.since, c.today, got, c.want)
		}
	}
}

func TestOtherKinds(t *testing.T) {
	for _, c := range []struct {
		path  string
		form  []string // what the form says
		typed []string
		kind  model.Kind
		saved string
	}{
		{"/fill?core_batch=C13", []string{`value="C13"`, `value="F031"`, `value="S2"`}, []string{"fill", "F031", "core_batch", "C13", "filled_length", "150 mm", "shot_mass", "14.2 g"}, model.Fills, "Test fill F031 is saved."},
		{"/cord?strand_batch=N08", []string{`value="N08"`, `value="K009"`}, []string{"check", "K009", "strand_batch", "N08", "checked_length", "5000 mm", "checked_mass", "22 g"}, model.Checks, "Cord check K009 is saved."},
		{"/product?product=9 ft", []string{`name="weight_low"`}, []string{"product", "9 ft", "description", "long"}, model.Products, "Product 9 ft is saved."},
	} {
		t.Run(string(c.kind), func(t *testing.T) {
			shop := newFakeShop()
			b := newBrowser(t, shop)
			b.get(strings.ReplaceAll(c.path, " ", "%20")).wants(t, 200, c.form...)
			path, _, _ := strings.Cut(c.path, "?")
			b.post(path, c.typed...).wants(t, 200, "Nothing is saved yet")
			got := b.post(path, append(c.typed, "confirm", "1")...)
			got.wants(t, 303)
			if len(shop.saves) != 1 || shop.saves[0].Kind != c.kind || shop.saves[0].Amend {
				t.Fatalf("saved %+v", shop.saves)
			}
			b.get(got.header.Get("Location")).wants(t, 200, c.saved)
		})
	}
}

func TestEdit(t *testing.T) {
	shop := newFakeShop()
	row := blankBuild("W264")
	row.Date, row.WeightG, row.Note, row.Labels = march, 411.0681, "two\nlines", shop.now.Latest
	shop.rows["builds W264"].Stated = row
	b := newBrowser(t, shop)
	b.get("/edit?kind=builds&id=W264").wants(t, 200, "Correct build W264", `value="411.0681 g"`, "two\nlines</textarea>", `name="set_aside"`, `name="predicted_strand"`)
	typed := []string{"weight", "402 g", "date", "2026-03-01"}
	b.post("/edit?kind=builds&id=W264", typed...).wants(t, 200, "Nothing is saved yet")
	got := b.post("/edit?kind=builds&id=W264", append(typed, "confirm", "1")...)
	got.wants(t, 303)
	if e := shop.saves[0]; !e.Amend || e.Text["build"] != "W264" || e.Text["note"] != "" {
		t.Errorf("saved %+v, want an amendment that blanks the note", e)
	}
	b.get(got.header.Get("Location")).wants(t, 200, "Build W264 is corrected.")
	b.get("/edit?kind=builds&id=W999").wants(t, 404)
	b.get("/edit?kind=parts&id=x").wants(t, 404)
}

// TestEditAsksEveryColumn: a correction must not blank what it did not ask.
func TestEditAsksEveryColumn(t *testing.T) {
	full := blankBuild("B1")
	full.Date, full.Started, full.Labels = march, march, model.Labels{Maker: "m", CoreBatch: "c", StrandBatch: "s", ShotBatch: "h", Product: "p"}
	for _, x := range []*float64{&full.PredictedWeightG, &full.PredictedLengthMM, &full.PredictedShotG, &full.PredictedStrandMM, &full.ShotFactor,
		&full.BodyFactor, &full.LengthFactor, &full.WeightG, &full.LengthMM, &full.ShotUsedG, &full.StrandCutMM, &full.StrandLeftMM, &full.LoadLengthMM, &full.Humidity} {
		*x = 1
	}
	full.Calibration, full.SetAside, full.Note = 3, "why", "note"
	rows := []model.Row{full,
		&model.Fill{ID: "F1", Date: march, Labels: full.Labels, FilledLengthMM: 1, ShotMassG: 1, PredictedShotG: 1, Note: "n"},
		&model.Check{ID: "K1", Date: march, Labels: full.Labels, CheckedLengthMM: 1, CheckedMassG: 1, PredictedMassG: 1, Note: "n"},
		&model.ProductLine{Product: "p", Description: "d", WeightLowG: 1, WeightHighG: 2, LengthLowMM: 1, LengthHighMM: 2}}
	for _, row := range rows {
		shop := newFakeShop()
		shop.rows[string(row.Kind())+" "+row.Key()] = &Record{Stated: row, Full: row}
		address := "/edit?" + url.Values{"kind": {string(row.Kind())}, "id": {row.Key()}}.Encode()
		form := newBrowser(t, shop).get(address)
		for _, f := range factsOf(row) {
			if !strings.Contains(form.body, `name="`+f.Column+`"`) {
				t.Errorf("the form of %s does not ask for %s", row.Kind(), f.Column)
			}
		}
	}
}
