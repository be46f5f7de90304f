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
		weightG := l.bodyG + l.loadIn*gramsPerInch
		low, high := ounces(weightG*0.88), ounces(weightG*1.12)
		short, long := inches(l.lengthMM*0.93), inches(l.lengthMM*1.04)
		rows = append(rows, []string{l.name, l.description, low.text, high.text, short.text, long.text})
		s.Products = append(s.Products, model.ProductLine{Product: l.name, Description: l.description,
			WeightLowG: low.value, WeightHighG: high.value, LengthLowMM: short.value, LengthHighMM: long.value})
	}
	s.files["products.csv"] = table([]string{"Product", "Description", "Weight low", "Weight high", "Length low", "Length high"}, rows)
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

// table is a CSV file of a header and rows.
func table(header []string, rows [][]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(append([][]string{header}, rows...)); err != nil {
		panic(fmt.Sprintf("demo: a write to memory failed: %v", err))
	}
	return b.Bytes()
}
