package report

import (
	_ "embed"
	"html/template"
	"io"
	"strconv"
	"strings"

	"trueplait/calibrate"
)

// The sheet's own files; it begins with the report's style.
var (
	//go:embed html/plan.html
	planHTML string
	//go:embed html/plan.css
	planCSS string
)

var planTemplate = template.Must(template.New("plan").Funcs(template.FuncMap{
	"whole":  whole,
	"figure": figureText,
	"px":     func(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) },
}).Parse(planHTML))

// PlanSheet writes a plan as one page for the bench: what to weigh out, what
// to cut, what to expect, the whip drawn to scale along its length, and lines
// to write down what was measured. It prints on one sheet of A4 or Letter
// paper unless the parts list is unusually long.
//
// The file needs no other: it has no script, and its content security policy
// lets nothing run and nothing be fetched. The same plan gives the same bytes.
func PlanSheet(w io.Writer, p *calibrate.Plan, s Style) error {
	css := pageCSS + planCSS
	sheet := planWords(p, s)
	sheet["Drawing"] = newDrawing(p, s.Units)
	sheet["Blanks"] = blanks(p)
	sheet["Cautions"] = Cautions
	sheet["Policy"] = "default-src 'none'; style-src " + source(css) + "; img-src data:; base-uri 'none'; form-action 'none'"
	sheet["CSS"] = template.CSS(css)
	return planTemplate.Execute(w, sheet)
}

// PlanHTML returns what the sheet says of a plan in words, to stand on another
// page: whose it is, what to weigh out, what to cut, what to expect, what to
// mind. It has no style of its own.
func PlanHTML(p *calibrate.Plan, s Style) (template.HTML, error) {
	var out strings.Builder
	err := planTemplate.ExecuteTemplate(&out, "words", planWords(p, s))
	return template.HTML(out.String()), err
}

// planWords is what there is to say of a plan.
func planWords(p *calibrate.Plan, s Style) map[string]any {
	return map[string]any{
		"Product":  label(p.Product),
		"For":      planFor(p, s.Units),
		"Shot":     newShotPlan(p, s.Units),
		"Cuts":     newCutList(p, s.Units),
		"Expect":   expectGrid(p, s.Units),
		"Warnings": labels(planWarnings(p)),
	}
}

// figureText keeps a figure on one line, and what stands in brackets behind it on
// the next where there is no room for both.
func figureText(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, " ", nbsp), nbsp+"(", " (")
}

// blanks are what to write down: with these the build goes into the log.
func blanks(p *calibrate.Plan) []string {
	out := []string{"build", "date", "weight", "length"}
	if p.Base.ShotG > 0 {
		out = append(out, "shot used")
	}
	for _, part := range p.Design.Parts {
		if part.Overlay {
			return append(out, "longest strand of "+label(part.Name)+" as cut", "left of it", "note")
		}
	}
	return append(out, "note")
}
