package demo

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"time"

	"trueplait/model"
)

// write turns the rows into CSV, and keeps what the CSV says.
func (s *Shop) write(builds []*build, fills []*fill, checks []*check, lines []line) {
	var rows [][]string
	for _, b := range builds {
		b.WeightG, b.LengthMM, b.ShotUsedG = b.weight.value, b.length.value, b.shot.value
		b.StrandCutMM, b.StrandLeftMM = b.cut.value, b.left.value
		row := []string{
			b.ID, date(b.Date), b.Maker, b.Labels.Product, b.CoreBatch, b.StrandBatch, b.ShotBatch,
			number(b.PredictedWeightG), number(b.PredictedLengthMM), number(b.PredictedShotG), number(round(b.LoadLengthMM/model.MMPerInch, 2)),
			number(b.ShotFactor), number(b.BodyFactor), number(b.LengthFactor),
			b.weight.text, b.length.text, b.shot.text, b.cut.text, b.left.text, number(b.PredictedStrandMM),
			date(b.Started), number(b.Humidity), b.SetAside, b.Note,
		}
		rows = append(rows, row)
		s.Builds = append(s.Builds, b.Build)
	}
	s.files["builds.csv"] = table([]string{
		"Build", "Date", "Maker", "Product", "Core batch", "Strand batch", "Shot batch",
		"Predicted weight (g)", "Predicted length (mm)", "Predicted shot (g)", "Load length (in)",
		"Shot factor", "Body factor", "Length factor",
		"Weight", "Length", "Shot used", "Strand cut", "Strand left", "Predicted strand (mm)",
		"Started", "Humidity", "Set aside", "Note",
	}, rows)

	rows = nil
	for _, f := range fills {
		rows = append(rows, []string{f.ID, date(f.Date), f.Maker, f.CoreBatch, f.ShotBatch,
			f.length.text, number(f.PredictedShotG), f.mass.text})
		s.Fills = append(s.Fills, f.Fill)
	}
	s.files["fills.csv"] = table([]string{"Fill", "Date", "Maker", "Core batch", "Shot batch",
		"Filled length", "Predicted shot (g)", "Shot mass"}, rows)

	rows = nil
	for _, c := range checks {
		rows = append(rows, []string{c.ID, date(c.Date), c.StrandBatch,
			c.length.text, number(c.PredictedMassG), c.mass.text})
		s.Checks = append(s.Checks, c.Check)
	}
	s.files["checks.csv"] = table([]string{"Check", "Date", "Strand batch", "Checked length", "Predicted mass (g)", "Checked mass"}, rows)

	rows = nil
	for _, l := range lines {
		if l.name == custom {
			continue // made once, not in the range
		}
		low, high := ounces(l.plan.WeightG*0.88), ounces(l.plan.WeightG*1.12)
		short, long := inches(l.plan.LengthMM*0.93), inches(l.plan.LengthMM*1.04)
		rows = append(rows, []string{l.name, l.description, low.text, high.text, short.text, long.text})
		s.Products = append(s.Products, model.ProductLine{Product: l.name, Description: l.description,
			WeightLowG: low.value, WeightHighG: high.value, LengthLowMM: short.value, LengthHighMM: long.value})
	}
	s.files["products.csv"] = table([]string{"Product", "Description", "Weight low", "Weight high", "Length low", "Length high"}, rows)

	rows = nil
	for _, l := range lines {
		for _, p := range l.parts {
			rows = append(rows, []string{p.Product, p.Name, string(p.Role), p.Material, count(p.Count),
				number(p.StartMM), number(p.LengthMM), number(p.DiameterMM), number(p.TipDiameterMM),
				number(round(p.LoadLengthMM/model.MMPerInch, 2)), number(p.BoreMM), p.Shot,
				number(p.UnloadedDiameterMM), number(p.SheathAngleDeg), number(p.SheathThicknessMM),
				count(p.Strands), number(p.StrandWidthMM), number(p.StrandThicknessMM), number(p.TailMM),
				number(p.MassPerLengthGM), number(p.MassG), number(p.Fraction)})
		}
		s.Parts = append(s.Parts, l.parts...)
	}
	s.files["parts.csv"] = table([]string{"Product", "Part", "Role", "Material", "Count",
		"Start (mm)", "Length (mm)", "Diameter (mm)", "Tip diameter (mm)",
		"Load length (in)", "Bore (mm)", "Shot",
		"Unloaded diameter (mm)", "Sheath angle (deg)", "Sheath thickness (mm)",
		"Strands", "Strand width (mm)", "Strand thickness (mm)", "Tail (mm)",
		"Mass per length (g/m)", "Mass (g)", "Fraction"}, rows)
}

// date is blank for the zero time.
func date(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// number is the shortest decimal of x, blank for NaN.
func number(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// count is blank for 0.
func count(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// table is a CSV file of a header and rows.
func table(header []string, rows [][]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(append([][]string{header}, rows...)); err != nil {
		panic(fmt.Sprintf("demo: a write to memory failed: %v", err))
	}
	return b.Bytes()
}
