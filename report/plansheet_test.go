package report

import (
	"bytes"
	"fmt"
	"html/template"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report/chromium"
)

func renderPlan(t *testing.T, p *calibrate.Plan, s Style) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := PlanSheet(&b, p, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// barePlan is a product of which only weights are stated.
func barePlan() *calibrate.Plan {
	p := newPlan()
	none := model.Unknown
	d := *p.Design
	d.Parts = []model.DesignPart{{Name: "all", Role: model.Other, MassG: 300, StartMM: none, EndMM: none, CutMM: none, LoadLengthMM: none}}
	d.LengthMM, d.StrandMM = none, none
	p.Design, p.CutSafe, p.Warnings = &d, nil, nil
	p.Base = calibrate.Sizes{WeightG: 300, BodyG: 300, LengthMM: none, StrandMM: none, BalanceMM: none}
	p.Calibrated = calibrate.CalibratedSizes{Weight: calibrate.Interval{Median: 300, Low: none, High: none},
		Length: calibrate.Interval{Median: none}, Strand: calibrate.Interval{Median: none}, BalanceMM: none}
	return p
}

// fullPlan is about as much as a sheet must hold: three plaits, eleven lengths
// of strand, five warnings.
func fullPlan() *calibrate.Plan {
	p := fakePlan()
	bolster := p.Design.Parts[3]
	bolster.Name, bolster.StartMM, bolster.EndMM = "second belly, kangaroo lace", 180, 1500
	bolster.Outline = []model.OutlinePoint{{AtMM: 180, DiameterMM: 13}, {AtMM: 1500, DiameterMM: 8.6}}
	bolster.Strands = []model.Strands{{Count: 2, ToMM: 900, CutMM: 1320}, {Count: 2, ToMM: 1100, CutMM: 1560}, {Count: 2, ToMM: 1300, CutMM: 1800}, {Count: 6, ToMM: 1500, CutMM: 2010}}
	p.Design.Parts = slices.Insert(p.Design.Parts, 4, bolster)
	p.Warnings = append(p.Warnings, "strand use not measured: record what is left", "3 builds state no planned length and were left out of its fit",
		"the braid opens past 65° at 240 mm: gaps show there", "core batch C12 is known from 2 test fills only")
	return withCuts(p, 1.055)
}

func plans() map[string]*calibrate.Plan {
	return map[string]*calibrate.Plan{"plan": fakePlan(), "new": newPlan(), "full": fullPlan(), "bare": barePlan(), "hostile": hostilePlan()}
}

func TestPlanSheetIsDeterministic(t *testing.T) {
	if !bytes.Equal(renderPlan(t, fakePlan(), Style{}), renderPlan(t, fakePlan(), Style{})) {
		t.Error("the same plan gives other bytes")
	}
}

var (
	stylePattern  = regexp.MustCompile(`(?s)<style>(.*?)</style>`)
	styledByHand  = regexp.MustCompile(`(?i)<[^>]*\sstyle\s*=`)
	drawingFigure = regexp.MustCompile(`(?s)<figure class="whip">.*</figure>`)
)

// TestPlanSheetKeepsToItself checks that the sheet has no script, fetches
// nothing, and that its policy allows just its own style.
func TestPlanSheetKeepsToItself(t *testing.T) {
	for name, p := range plans() {
		t.Run(name, func(t *testing.T) {
			sheet := string(renderPlan(t, p, Style{}))
			styles := stylePattern.FindAllStringSubmatch(sheet, -1)
			if len(styles) != 1 {
				t.Fatalf("%d styles, want 1", len(styles))
			}
			got := template.HTMLEscapeString(policy.FindStringSubmatch(sheet)[1])
			got = strings.NewReplacer("&amp;#39;", "'", "&amp;#43;", "+").Replace(got)
			if want := "default-src 'none'; style-src " + source(styles[0][1]) + "; img-src data:; base-uri 'none'; form-action 'none'"; got != want {
				t.Errorf("policy = %s\nwant     %s", got, want)
			}
			for _, pattern := range []*regexp.Regexp{scriptPattern, fetching, styledByHand} {
				if found := pattern.FindString(sheet); found != "" {
					t.Errorf("the sheet runs, fetches or is styled outside its policy: %s", found)
				}
			}
			for _, m := range linking.FindAllStringSubmatch(sheet, -1) {
				if m[1] != "data:," {
					t.Errorf("the sheet links to %s", m[1])
				}
			}
			for _, word := range []string{"://", "@import", "url(h", "url('h"} {
				if strings.Contains(sheet, word) {
					t.Errorf("the sheet holds %s", word)
				}
			}
			_, body, _ := strings.Cut(sheet, "<body") // the policy's hash may hold any letters
			if found := regexp.MustCompile(`NaN|Inf\b`).FindString(body); found != "" {
				t.Errorf("the sheet shows a figure as %s", found)
			}
		})
	}
}

func TestHostilePlanStaysText(t *testing.T) {
	sheet := string(renderPlan(t, hostilePlan(), Style{}))
	for _, h := range hostile {
		if text := strings.ReplaceAll(template.HTMLEscapeString(whole(label(h))), "+", "&#43;"); !strings.Contains(sheet, text) {
			t.Errorf("%q is not text of the sheet", h)
		}
	}
	if strings.ContainsAny(sheet, "\u202e\u2066") {
		t.Error("the sheet holds characters that turn the direction of writing")
	}
}

func TestPlanSheetSays(t *testing.T) {
	for name, c := range map[string]struct {
		plan    *calibrate.Plan
		style   Style
		want    []string
		without []string
	}{
		"calibrated": {fakePlan(), Style{}, []string{"73.6 g (2 5/8 oz)", "2.08 g per inch", "2671 mm (105 1/4 in)", "14 → 12", "1 of 100 whips", "Lead shot:", "Flame:", "Cracking:", "left of it"}, []string{"Not calibrated"}},
		"metric":     {fakePlan(), Style{Units: Metric}, []string{"8.2 g per 100 mm", "2671 mm"}, []string{" in)", " oz"}},
		"imperial":   {fakePlan(), Style{Units: Imperial}, []string{"105 1/4 in"}, []string{"1830 mm", "2671 mm"}},
		"new":        {newPlan(), Style{}, []string{"Not calibrated yet: weigh a test fill", "without allowance", "a new core batch", "No load length gives"}, []string{"1 of 100"}},
		"bare":       {barePlan(), Style{}, []string{"300 g", "Cracking:"}, []string{"<svg", "Weigh out", "<h2>Cut"}},
	} {
		sheet := strings.ReplaceAll(string(renderPlan(t, c.plan, c.style)), nbsp, " ")
		sheet = stylePattern.ReplaceAllString(sheet, "")
		for _, want := range c.want {
			if !strings.Contains(sheet, want) {
				t.Errorf("%s: the sheet does not say %q", name, want)
			}
		}
		for _, without := range c.without {
			if strings.Contains(sheet, without) {
				t.Errorf("%s: the sheet says %q", name, without)
			}
		}
	}
}

// TestDrawing keeps the drawing of the plan as text.
func TestDrawing(t *testing.T) {
	golden(t, "plan_drawing.html", drawingFigure.Find(renderPlan(t, fakePlan(), Style{})))
}

// TestDrawingOfOddLengths draws whips far from any real one: the ruler's
// figures stand apart, and end.
func TestDrawingOfOddLengths(t *testing.T) {
	for _, end := range []float64{0.5, 40, 2530, 1e5, 1e9} {
		p := fakePlan()
		p.Design.LengthMM, p.Calibrated.BalanceMM = end, end/3
		p.Design.Parts = []model.DesignPart{{Name: "all", Role: model.Plait, EndMM: end}}
		last := map[string]float64{}
		for _, tick := range newDrawing(p, Both).Ticks {
			if before, ok := last[tick.Anchor]; ok && tick.Text != "" && tick.Y-before < 14-1e-9 {
				t.Errorf("%g mm: figure %s is %g px below the one before", end, tick.Text, tick.Y-before)
			}
			if tick.Text != "" {
				last[tick.Anchor] = tick.Y
			}
		}
		if len(last) != 2 {
			t.Errorf("%g mm: %d edges of the ruler, want 2", end, len(last))
		}
	}
}

// TestInnermostIsDrawnLast checks that no part is hidden by one that lies
// around it, whatever their order in the list.
func TestInnermostIsDrawnLast(t *testing.T) {
	for _, reversed := range []bool{false, true} {
		p := fakePlan()
		if reversed {
			slices.Reverse(p.Design.Parts)
		}
		var got []string
		for _, s := range newDrawing(p, Both).Shapes {
			if i := slices.Index([]string{"overlay", "belly", "core", "handle rod"}, s.Title); i >= 0 {
				got = append(got, s.Title)
			}
		}
		if want := []string{"overlay", "belly", "core", "handle rod"}; !slices.Equal(got, want) {
			t.Errorf("list reversed = %t: drawn in the order %q, want %q", reversed, got, want)
		}
	}
}

func savedPlan(t *testing.T, p *calibrate.Plan, s Style) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "plan.html")
	if err := os.WriteFile(path, renderPlan(t, p, s), 0o600); err != nil {
		t.Fatal(err)
	}
	return (&url.URL{Scheme: "file", Path: path}).String()
}

// overlaps lists labels of the drawing that lie over each other or outside it.
const overlaps = `(() => {
	const svg = document.querySelector(".whip svg");
	if (!svg) return [];
	const frame = svg.getBoundingClientRect(), out = [];
	const boxes = [...svg.querySelectorAll("text")].map(t => ({text: t.textContent, r: t.getBoundingClientRect()}));
	boxes.forEach((a, i) => {
		if (a.r.left < frame.left - 1 || a.r.right > frame.right + 1 || a.r.top < frame.top - 1 || a.r.bottom > frame.bottom + 1) out.push(a.text + " is outside");
		for (const b of boxes.slice(i + 1)) {
			const across = Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left);
			const down = Math.min(a.r.bottom, b.r.bottom) - Math.max(a.r.top, b.r.top);
			if (across > 0.5 && down > 2.5) out.push(a.text + " / " + b.text); // boxes of neighbouring lines share a little leading
		}
	});
	return out;
})()`

// TestPlanSheetInBrowser opens the sheet at the widths of a desk and of a
// phone.
func TestPlanSheetInBrowser(t *testing.T) {
	ctx := chromium.Start(t, 2*time.Minute)
	for name, p := range plans() {
		for _, c := range []struct {
			width  int64
			scheme string
		}{{1280, "light"}, {390, "light"}, {390, "dark"}} {
			t.Run(fmt.Sprintf("%s-%d-%s", name, c.width, c.scheme), func(t *testing.T) {
				tab, cancel := chromedp.NewContext(ctx)
				defer cancel()
				seen := watch(t, tab)
				if _, err := chromedp.Call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
					Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}}}); err != nil {
					t.Fatal(err)
				}
				address := savedPlan(t, p, Style{})
				if err := chromedp.Do(tab, chromedp.EmulateViewport(c.width, 900), chromedp.Navigate(address)); err != nil {
					t.Fatal(err)
				}
				if wide := evaluate[int](t, tab, `document.documentElement.scrollWidth`); wide > int(c.width) {
					t.Errorf("the sheet is %d px wide in a window of %d", wide, c.width)
				}
				if got := evaluate[[]string](t, tab, overlaps); len(got) > 0 {
					t.Errorf("labels of the drawing lie over each other: %q", got)
				}
				if got := evaluate[string](t, tab, `String(window.stolen) + " " + document.images.length`); got != "undefined 0" {
					t.Errorf("text of the plan became script or images: %s", got)
				}
				if *screens != "" {
					shot, err := chromedp.Run(tab, chromedp.FullScreenshot(100))
					if err != nil {
						t.Fatal(err)
					}
					if err := os.WriteFile(filepath.Join(*screens, "sheet-"+name+fmt.Sprintf("-%d-%s.png", c.width, c.scheme)), shot, 0o644); err != nil {
						t.Fatal(err)
					}
				}
				seen.Lock()
				defer seen.Unlock()
				if len(seen.requests) != 1 || seen.requests[0] != address {
					t.Errorf("requests = %q, want only the sheet itself", seen.requests)
				}
				if len(seen.complaints) > 0 {
					t.Errorf("the console says %q", seen.complaints)
				}
			})
		}
	}
}

// A page of a PDF, but not the tree of its pages.
var pdfPage = regexp.MustCompile(`/Type\s*/Page[^s]`)

// TestPlanSheetOnPaper prints the sheet: one page, A4 or Letter, black on
// white also where the screen was dark.
func TestPlanSheetOnPaper(t *testing.T) {
	ctx := chromium.Start(t, 2*time.Minute)
	for name, p := range plans() {
		for paper, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
			t.Run(name+"-"+paper, func(t *testing.T) {
				tab, cancel := chromedp.NewContext(ctx)
				defer cancel()
				watch(t, tab)
				if _, err := chromedp.Call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
					Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}}); err != nil {
					t.Fatal(err)
				}
				if err := chromedp.Do(tab, chromedp.EmulateViewport(390, 900), chromedp.Navigate(savedPlan(t, p, Style{}))); err != nil {
					t.Fatal(err)
				}
				yes := true
				printed, err := chromedp.Call(tab, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: size[0], PaperHeight: size[1], PrintBackground: &yes})
				if err != nil {
					t.Fatal(err)
				}
				if n := len(pdfPage.FindAll(printed.Data, -1)); n != 1 {
					t.Errorf("the sheet takes %d pages of %s, want 1", n, paper)
				}
				if *screens != "" {
					if err := os.WriteFile(filepath.Join(*screens, "sheet-"+name+"-"+paper+".pdf"), printed.Data, 0o644); err != nil {
						t.Fatal(err)
					}
				}
			})
		}
	}
	tab, cancel := chromedp.NewContext(ctx)
	defer cancel()
	watch(t, tab)
	if _, err := chromedp.Call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print",
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(tab, chromedp.Navigate(savedPlan(t, fakePlan(), Style{}))); err != nil {
		t.Fatal(err)
	}
	colours := evaluate[string](t, tab, `(s => [s.backgroundColor, s.color, getComputedStyle(document.querySelector(".fulcrum")).fill].join(" "))(getComputedStyle(document.body))`)
	if want := "rgb(255, 255, 255) rgb(0, 0, 0) rgb(0, 0, 0)"; colours != want {
		t.Errorf("on paper: %s, want %s", colours, want)
	}
}
