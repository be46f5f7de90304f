package bench

import (
	"bytes"
	"errors"
	"html/template"
	"net/http"
	"net/url"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// planColumns is what a plan is worked out from.
var planColumns = []string{"product", "maker", "core_batch", "strand_batch", "shot_batch", "target_weight", "short_risk"}

// planPage asks what to plan.
type planPage struct {
	form
	Change    string   // the open plan that is planned anew; "": none
	Unplanned []string // products that lack a parts list
	Any       bool     // there is a product that can be planned
}

// plan asks what to plan: from scratch, or with the answers of before.
func (v *visit) plan() error {
	p := v.planForm()
	if v.value("product") != "" { // back from the result
		p.read(v.r)
	}
	return v.showPlanForm(http.StatusOK, p)
}

func (v *visit) showPlanForm(status int, p *planPage) error {
	title := "Plan a build"
	if p.Change != "" {
		title = "Plan " + report.Label(p.Change) + " anew"
	}
	v.echoes(&p.form)
	return v.show(status, "plan", title, p)
}

// planForm is the form of a plan, which offers the labels of the plan to be
// changed, else those used last.
func (v *visit) planForm() *planPage {
	p := &planPage{}
	p.form = form{
		Action: "/plan/result", Method: "get", Submit: "Work it out",
		Groups: []group{
			{Fields: v.ask("product", "maker", "core_batch", "strand_batch", "shot_batch", "target_weight")},
			{Name: "More: how safely to cut", Fields: v.ask("short_risk")},
		},
	}
	product := p.fields()[0]
	product.Type = choiceField
	for _, known := range v.now.Products {
		if known.Planned {
			product.Choices = append(product.Choices, choice{known.Name, known.Name})
		} else {
			p.Unplanned = append(p.Unplanned, known.Name)
		}
	}
	p.Any = len(product.Choices) > 0
	risk := p.fields()[len(planColumns)-1]
	risk.Choices = []choice{{"0.05", "1 of 20 whips"}, {"0.01", "1 of 100 whips"}, {"0.001", "1 of 1000 whips"}}

	labels, target := v.now.Latest, ""
	if v.maker != "" {
		labels.Maker = v.maker
	}
	if open := v.openBuild(v.value("change")); open != nil {
		p.Change = open.ID
		p.hide("change", open.ID)
		labels = open.Labels
		if model.Known(open.TargetWeightG) {
			target = report.Exact(open.TargetWeightG) + " g"
		}
	}
	offer := labelText(labels)
	offer["target_weight"], offer["short_risk"] = target, "0.01"
	p.offer(offer)
	return p
}

// planResult is a plan that was worked out.
type planResult struct {
	Words  template.HTML
	Asked  []hidden // what it was worked out from
	Query  template.URL
	Change string // the open plan that it would replace
	ID     field  // of the build to open
	Opened bool   // it is open
}

// planResult works a plan out and shows it, with the way to open the build.
func (v *visit) planResult() error {
	p := v.planForm()
	p.read(v.r)
	plan, err := v.workOut(p)
	if plan == nil || err != nil {
		return err
	}
	id := v.idField(v.now.NextID[model.Builds])
	opened := v.openBuild(v.value("opened"))
	if opened != nil {
		id.Value = opened.ID
	}
	return v.showPlan(http.StatusOK, p, plan, id, opened != nil)
}

// workOut works a plan out. Where it cannot be, the form has been shown with
// what is wrong, and there is neither a plan nor an error.
func (v *visit) workOut(p *planPage) (*calibrate.Plan, error) {
	if p.Wrong() > 0 {
		return nil, v.showPlanForm(http.StatusUnprocessableEntity, p)
	}
	plan, err := v.shop.Plan(v.r.Context(), p.planText())
	var refused *model.Refused
	if errors.As(err, &refused) {
		p.refuse(refused.Problems)
		return nil, v.showPlanForm(http.StatusUnprocessableEntity, p)
	}
	return plan, err
}

// planText is what a plan is worked out from, by column.
func (p *planPage) planText() map[string]string {
	out := p.text()
	delete(out, "change")
	return out
}

func (v *visit) idField(value string) field {
	f := v.ask("build")[0]
	f.Label, f.Value, f.Usual = "Name of the build", value, value
	return f
}

func (v *visit) showPlan(status int, p *planPage, plan *calibrate.Plan, id field, opened bool) error {
	words, err := report.PlanHTML(plan, report.Style{Units: v.units})
	if err != nil {
		return err
	}
	page := planResult{Words: words, Query: template.URL(p.query().Encode()), Change: p.Change, ID: id, Opened: opened}
	for _, column := range planColumns {
		if value := p.planText()[column]; value != "" {
			page.Asked = append(page.Asked, hidden{column, value})
		}
	}
	return v.show(status, "planresult", "Plan: "+report.Label(plan.Product), page)
}

// query is what was asked, for a link that asks it again.
func (p *planPage) query() url.Values {
	q := url.Values{}
	for name, value := range p.text() {
		q.Set(name, value)
	}
	return q
}

// openPlan opens a build with a plan's figures, or changes an open one.
func (v *visit) openPlan() error {
	p := v.planForm()
	p.read(v.r)
	id := v.idField(v.value("build"))
	if p.Change != "" {
		id.Value = p.Change
	}
	plan, err := v.workOut(p)
	if plan == nil || err != nil {
		return err
	}
	if id.Value == "" {
		id.Problem = "is blank: give the build a name"
	} else {
		_, err = v.shop.OpenBuild(v.r.Context(), id.Value, p.planText(), p.Change != "")
	}
	var refused *model.Refused
	switch {
	case errors.As(err, &refused):
		id.Problem = refused.About("build")
		if id.Problem == "" {
			id.Problem = refused.Error()
		}
	case err != nil:
		return err
	}
	if id.Problem != "" {
		return v.showPlan(http.StatusUnprocessableEntity, p, plan, id, false)
	}
	q := p.query()
	q.Del("change")
	q.Set("opened", id.Value)
	return v.redirect("/plan/result?" + q.Encode())
}

// planSheet shows the plan as a page to print. It stands alone: its style and
// what it may do are its own.
func (v *visit) planSheet() error {
	p := v.planForm()
	p.read(v.r)
	plan, err := v.workOut(p)
	if plan == nil || err != nil {
		return err
	}
	var sheet bytes.Buffer
	if err := report.PlanSheet(&sheet, plan, report.Style{Units: v.units}); err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.Header().Set("Content-Security-Policy", sheetPolicy)
	_, err = sheet.WriteTo(v.w)
	return err
}

// sheetPolicy leaves what a sheet may do to its own policy, which allows its
// style alone; framing is for headers only.
const sheetPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// drop asks whether an open plan is to be dropped.
func (v *visit) drop() error {
	open := v.openBuild(v.value("build"))
	if open == nil {
		return notFound("There is no open plan " + report.Label(v.value("build")) + ".")
	}
	return v.show(http.StatusOK, "drop", "Drop the plan of "+report.Label(open.ID)+"?",
		openPlan{open.ID, open.Product, open.Maker, daysOpen(open.Started, v.now.Today), plannedWords(open, v.units)})
}

// dropNow drops an open plan. A plan that is gone already is as good as
// dropped.
func (v *visit) dropNow() error {
	if open := v.openBuild(v.value("build")); open != nil {
		if err := v.shop.DropBuild(v.r.Context(), open.ID); err != nil {
			return err
		}
	}
	return v.redirect("/")
}
