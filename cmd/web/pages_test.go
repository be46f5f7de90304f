package web

import (
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/xuri/excelize/v2"

	"trueplait/cmd/workshop"
	"trueplait/model"
	"trueplait/report/chromium"
)

// On a phone a build is planned, opened, and finished with three numbers as
// they are spoken, in under a minute of clicks and typing; then it stands in
// the builds, the factors and the chart of its product.
func TestPages_PlanAndFinishOnAPhone(t *testing.T) {
	chrome := chromium.Start(t, 100*time.Second)
	server := serveShop(t, demoFiles(t)...)
	b := newTab(t, chrome, server, 390)
	before, err := server.shop.Now(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	id := before.NextID[model.Builds]
	start := time.Now()

	b.open("/")
	b.press("Plan a build")
	b.do(chromedp.SetValue(`[name=product]`, "6 ft bull, 12 plait"))
	b.write("target_weight", "16 oz")
	b.press("Work it out")
	b.says("Weigh out", "Cut", "454 g (16 oz)")
	b.press("Open this build")
	b.open("/")
	b.says(id, "6 ft bull, 12 plait")
	b.picture("phone-open")
	b.press("Finish")
	b.write("weight", "1 lb 1/4 oz")
	b.write("length", `5' 11 1/2"`)
	b.write("shot_used", "1 3/4 oz")
	b.press("Check it")
	b.says("Nothing is saved yet", "461 g (16 1/4 oz)", "1816 mm (71 1/2 in)", "49.6 g (1 3/4 oz)", "prediction")
	b.accessible()
	b.picture("phone-review")
	b.press("Save")
	b.says("saved", "What it changed", "calibration")
	took := time.Since(start)
	b.accessible()
	b.picture("phone-saved")

	b.open("/builds?q=" + id)
	b.says(id, "461 g")
	b.open("/builds/row?kind=builds&id=" + id)
	b.picture("phone-build")
	b.says("461 g (16 1/4 oz)", "bench page")
	b.open("/lines/product?product=" + url.QueryEscape("6 ft bull, 12 plait"))
	if !strings.Contains(b.text("main"), id) && !strings.Contains(evaluate[string](b, `document.documentElement.innerHTML`), id) {
		t.Errorf("the build %s is not in its product's chart", id)
	}
	b.open("/factors")
	b.says(fmt.Sprintf("%d builds", before.Calibration.Builds+1))
	b.quiet()
	if took > time.Minute {
		t.Errorf("it took %v, want under a minute", took)
	}
	t.Logf("planned, opened and finished in %v", took.Round(100*time.Millisecond))
}

// What was typed is there again after a refusal, in every field, with the
// message at the field that is wrong.
func TestPages_RefusedEntryKeepsEverything(t *testing.T) {
	chrome := chromium.Start(t, 100*time.Second)
	server := serveShop(t, demoFiles(t)...)
	b := newTab(t, chrome, server, 390)
	b.open("/finish?without=1")
	typed := map[string]string{"weight": "14.5", "length": `6' 1 3/4"`, "shot_used": "two handfuls", "strand_batch": `<b>S"9</b>`}
	for field, text := range typed {
		b.write(field, text)
	}
	b.press("Check it")
	b.says("has no unit", "is not a number")
	for field, text := range typed {
		if got := evaluate[string](b, fmt.Sprintf(`document.querySelector("[name=%s]").value`, field)); got != text {
			t.Errorf("%s holds %q after the refusal, %q was typed", field, got, text)
		}
	}
	if got := evaluate[int](b, `document.querySelectorAll("[aria-invalid=true]").length`); got != 2 {
		t.Errorf("%d fields are marked as wrong, want weight and shot used", got)
	}
	b.accessible()
	b.fits()
	b.picture("phone-refused")
	b.write("weight", "14.5 oz")
	b.write("shot_used", "1.5 oz")
	b.press("Check it")
	b.says("Nothing is saved yet", `<b>S"9</b>`)
	b.quiet()
}

// A row is corrected, and its history says what it was.
func TestPages_AmendAndHistory(t *testing.T) {
	chrome := chromium.Start(t, 100*time.Second)
	server := serveShop(t, demoFiles(t)...)
	b := newTab(t, chrome, server, 1280)
	b.open("/builds?q=W068")
	b.press("W068")
	b.says("Left out of the factors", "looks like inches entered as centimetres")
	b.press("Correct it")
	b.write("length", "98 in")
	b.press("Check it")
	b.press("Save")
	b.says("is corrected", "What it changed")
	b.open("/builds/row?kind=builds&id=W068")
	b.says("2489 mm (98 in)", "1017 mm became 2489.2 mm", "bench page")
	b.accessible()
	b.picture("desk-history")
	b.quiet()
}

// A workbook with errors is shown cell by cell and changes nothing; corrected
// it goes in.
func TestPages_WorkbookWithErrors(t *testing.T) {
	chrome := chromium.Start(t, 100*time.Second)
	server := serveShop(t)
	b := newTab(t, chrome, server, 390)
	dir := t.TempDir()
	bring := func(fills string) {
		t.Helper()
		book := filepath.Join(dir, "shop.xlsx")
		if err := writeBook(book, "Test fills", fills, "Notes", "colour,mood\nblack,good\n"); err != nil {
			t.Fatal(err)
		}
		b.open("/files")
		b.do(chromedp.SetUploadFiles(`input[type=file]`, []string{book}))
		b.press("Look what is in them")
	}
	fills := func(t *testing.T) int {
		s, err := server.shop.Now(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return s.Calibration.Fills
	}
	const header = "fill,date,core_batch,filled_length_in,shot_mass_g,predicted_shot_g\nF1,2025-06-01,C1,6,12.1,12\n"
	bring(header + "F2,2025-06-02,C1,six,12,12\n")
	b.says("Test fills", "D3", "filled_length", "six", "is not a number")
	b.accessible()
	b.fits()
	b.picture("phone-file-errors")
	if got := fills(t); got != 0 {
		t.Errorf("a look put %d test fills into the log", got)
	}
	bring(header + "F2,2025-06-02,C1,6,12,12\n")
	b.says("2 test fills")
	b.press("Import")
	b.picture("phone-file-imported")
	if got := fills(t); got != 2 {
		t.Errorf("%d test fills in the log after the import, want 2", got)
	}
	b.quiet()
}

// writeBook makes a workbook with a sheet of each CSV text, named before it.
func writeBook(path string, sheets ...string) error {
	book := excelize.NewFile()
	defer book.Close()
	for i := 0; i < len(sheets); i += 2 {
		if _, err := book.NewSheet(sheets[i]); err != nil {
			return err
		}
		for r, line := range strings.Split(strings.TrimSpace(sheets[i+1]), "\n") {
			cells := strings.Split(line, ",")
			if err := book.SetSheetRow(sheets[i], fmt.Sprintf("A%d", r+1), &cells); err != nil {
				return err
			}
		}
	}
	if err := book.DeleteSheet("Sheet1"); err != nil {
		return err
	}
	return book.SaveAs(path)
}

// Every page is accessible by script, as wide as its window, quiet on the
// console, and asks nobody else, at both widths, by day and by night; names
// that are hostile are shown as text.
func TestPages_EveryPage(t *testing.T) {
	chrome := chromium.Start(t, 100*time.Second)
	const evil = `<img src=x onerror="window.stolen=1">`
	text := strings.ReplaceAll("build,date,maker,product,core_batch,strand_batch,predicted_weight_g,predicted_length_mm,predicted_shot_g,weight_g,length_mm,shot_used_g,note\n"+
		`"E1",2025-06-20,"EVIL","EVIL","EVIL","EVIL",400,1800,50,410,1790,52,"EVIL"`+"\n", "EVIL", strings.ReplaceAll(evil, `"`, `""`))
	files := append(demoFiles(t), workshop.Input{Name: "evil.csv", Reader: strings.NewReader(text)})
	server := serveShop(t, files...)
	hostile := url.QueryEscape(evil)
	pages := map[string]string{
		"start": "/", "plan": "/plan", "plan-result": "/plan/result?product=6+ft+bull%2C+12+plait",
		"finish": "/finish", "finish-free": "/finish?without=1", "fill": "/fill", "cord": "/cord", "product": "/product", "maker": "/maker",
		"promise": "/promise", "promise-result": "/promise?product=6+ft+bull%2C+12+plait", "promise-hostile": "/promise?product=" + hostile,
		"lines": "/lines", "line": "/lines/product?product=6+ft+bull%2C+12+plait", "factors": "/factors", "builds": "/builds",
		"build": "/builds/row?kind=builds&id=W299", "build-hostile": "/builds/row?kind=builds&id=E1", "edit": "/edit?kind=builds&id=E1", "files": "/files", "report": "/report",
	}
	for _, look := range []struct {
		name  string
		width int64
		night bool
	}{{"phone", 390, false}, {"phone-night", 390, true}, {"desk", 1280, false}} {
		b := newTab(t, chrome, server, look.width)
		if look.night {
			b.night()
		}
		for name, path := range pages {
			b.open(path)
			b.fits()
			if look.width == 390 { // the same parts in the same colours at the desk
				b.accessible()
			}
			b.picture(look.name + "-" + name)
		}
		if got := evaluate[string](b, `String(window.stolen)`); got != "undefined" {
			t.Errorf("a name was run as script")
		}
		b.quiet()
	}
}

// Two browsers at once: what one saves the other sees, and neither loses
// anything, though both were offered the same id.
func TestPages_TwoBrowsers(t *testing.T) {
	chrome := chromium.Start(t, 100*time.Second)
	server := serveShop(t, demoFiles(t)...)
	one, two := newTab(t, chrome, server, 390), newTab(t, chrome, server, 390)
	for i, b := range []*tab{one, two} {
		b.open("/fill")
		b.write("filled_length", "6 in")
		b.write("shot_mass", fmt.Sprintf("1%d.5 g", i+2))
	}
	for _, b := range []*tab{one, two} {
		b.press("Check it")
	}
	one.press("Save")
	one.says("saved")
	two.press("Save")
	two.says("is in the log already", "12.5", "13.5")
	two.write("fill", "another-1")
	two.press("Check it")
	two.press("Save")
	two.says("saved")
	s, err := server.shop.Now(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if got := s.Calibration.Fills; got != 42 {
		t.Errorf("%d test fills in the log, want the demo's 40 and 2", got)
	}
}
