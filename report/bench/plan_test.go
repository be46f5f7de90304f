package bench

import (
	"slices"
	"strings"
	"testing"
)

func TestPlanForm(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	got := b.get("/plan")
	got.wants(t, 200, `<option value="8 ft bull, 12 plait" selected>`, `value="dita"`, "No parts list yet, so not to be chosen: 6 ft stock", `<option value="0.01" selected>`)
	if strings.Contains(got.body, `<option value="6 ft stock">`) {
		t.Error("a product without a parts list can be chosen")
	}
	b.get("/plan?change=W265").wants(t, 200, "Plan W265 anew", `value="415 g"`, `name="change" value="W265"`)
	shop.now.Products = shop.now.Products[:1]
	b.get("/plan").wants(t, 200, "no product has one yet", `href="/files"`)
}

func TestPlanResult(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	const asked = "/plan/result?product=8+ft+bull&maker=dita&target_weight=415+g&short_risk=0.01"
	b.get(asked).wants(t, 200, "Weigh out", "84.0\u00a0g (3\u00a0oz)", "Cut", "3950\u00a0mm", "Expect", "403\u00a0to\u00a0427\u00a0g", `value="W266"`,
		`name="target_weight" value="415 g"`, "/plan/sheet?maker=dita")
	if shop.asked["product"] != "8 ft bull" || shop.asked["short_risk"] != "0.01" {
		t.Errorf("asked the shop %v", shop.asked)
	}
	b.get("/plan/result?product=8+ft+bull&target_weight=415&maker=ansa").
		wants(t, 422, `href="#f-target_weight"`, `value="415"`, `value="ansa"`)
	sheet := b.get(strings.Replace(asked, "result", "sheet", 1))
	sheet.wants(t, 200, "<h1>8 ft bull</h1>", "Measured")
	if policy := sheet.header.Get("Content-Security-Policy"); !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "script-src") {
		t.Errorf("policy of the sheet: %q", policy)
	}
}

func TestOpenBuild(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	typed := []string{"product", "8 ft bull", "maker", "dita", "target_weight", "415 g"}
	b.post("/plan", append(typed, "build", "W264")...).
		wants(t, 422, "is in the log already: give the plan another id", `value="W264"`, "Weigh out")
	b.post("/plan", typed...).wants(t, 422, "is blank: give the build a name")
	got := b.post("/plan", append(typed, "build", "W266")...)
	got.wants(t, 303)
	b.get(got.header.Get("Location")).wants(t, 200, "Build W266 is open.", `href="/finish?plan=W266"`)
	b.post("/plan", append(typed, "change", "W265")...).wants(t, 303)
	if want := []string{"W266 false", "W265 true"}; !slices.Equal(shop.opened, want) {
		t.Errorf("opened %v, want %v", shop.opened, want)
	}
	// an address alone opens nothing, and claims nothing
	if got := b.get("/plan/result?product=8+ft+bull&opened=W777"); strings.Contains(got.body, "is open") {
		t.Error("the page says that W777 is open")
	}
}

func TestDrop(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	b.get("/drop?build=W265").wants(t, 200, "Drop the plan of W265?", "Keep it")
	if len(shop.drops) > 0 {
		t.Error("asking dropped the plan")
	}
	b.post("/drop", "build", "W265").wants(t, 303)
	b.post("/drop", "build", "W999").wants(t, 303) // dropped already
	if !slices.Equal(shop.drops, []string{"W265"}) {
		t.Errorf("dropped %v", shop.drops)
	}
	b.get("/drop?build=W999").wants(t, 404)
}
