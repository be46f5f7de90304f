package data

import (
	"context"
	"crypto/sha256"
	"database/sql"
	_ "embed"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"trueplait/model"
)

//go:embed query/row_counts.sql
var rowCounts string

//go:embed query/text_list.sql
var textList string

//go:embed query/broken_origin.sql
var brokenOrigin string

//go:embed query/broken_source.sql
var brokenSource string

//go:embed query/broken_id.sql
var brokenID string

//go:embed query/broken_replaced.sql
var brokenReplaced string

//go:embed query/broken_figure_build.sql
var brokenFigureBuild string

//go:embed query/broken_figure_fill.sql
var brokenFigureFill string

//go:embed query/broken_figure_cord_check.sql
var brokenFigureCheck string

//go:embed query/broken_figure_product.sql
var brokenFigureProduct string

//go:embed query/broken_figure_part.sql
var brokenFigurePart string

//go:embed query/broken_computed.sql
var brokenComputed string

//go:embed query/broken_date.sql
var brokenDate string

//go:embed query/broken_plan.sql
var brokenPlan string

//go:embed query/broken_calibration.sql
var brokenCalibration string

//go:embed query/broken_factor.sql
var brokenFactor string

//go:embed query/broken_split.sql
var brokenSplit string

//go:embed query/broken_form.sql
var brokenForm string

// Invariant is something that holds in every sound log, whatever was imported,
// and what breaks it in this one.
type Invariant struct {
	Holds   string // in words: "every row has its file"
	Checked int
	Of      string // what was checked, in the plural: "rows"
	Broken  []Violation
}

// Violation is something in a log that no import, plan or calibration makes:
// another program changed the file, or the disk did.
type Violation struct {
	What   string // in the singular: build, test fill, file, calibration, plan, …
	ID     string // its id, number or label
	Detail string // what is wrong with it: "has the weight_g -3"
}

// String is the violation as a sentence.
func (v Violation) String() string { return fmt.Sprintf("%s %q %s", v.What, v.ID, v.Detail) }

// invariant is an invariant as it is checked.
type invariant struct {
	holds string
	query string // lists what breaks it
	of    string // what is checked, in the plural
	in    []string
}

// invariants lists those that SQL checks. All rows, replaced ones too, are of
// the tables everyRow.
func invariants() []invariant {
	builds := []string{"build", "build_history"}
	fills := []string{"fill", "fill_history"}
	checks := []string{"cord_check", "cord_check_history"}
	products := []string{"product", "product_history"}
	parts := []string{"part", "part_history"}
	var everyRow []string
	for _, tables := range [][]string{builds, fills, checks, products, parts} {
		everyRow = append(everyRow, tables...)
	}
	return []invariant{
		{"every row came from a kept file of its kind", brokenOrigin, "rows", everyRow},
		{"files are numbered 1, 2, 3, … and all bytes are a file's", brokenSource, "files", []string{"source"}},
		{"an id is one row's, a product has one parts list", brokenID, "rows", []string{"build", "fill", "cord_check", "product", "part"}},
		{"what was replaced was replaced by a row of a later file", brokenReplaced, "replaced rows",
			[]string{"build_history", "fill_history", "cord_check_history", "product_history", "part_history"}},
		{"figures of builds are possible", brokenFigureBuild, "builds", builds},
		{"figures of test fills are possible", brokenFigureFill, "test fills", fills},
		{"figures of cord checks are possible", brokenFigureCheck, "cord checks", checks},
		{"figures of products are possible", brokenFigureProduct, "products", products},
		{"figures of parts are possible", brokenFigurePart, "parts", parts},
		{"what was stated was not worked out, and the rest from a list the product had", brokenComputed, "rows",
			[]string{"build", "fill", "cord_check"}},
		{"dates are in the calendar", brokenDate, "rows",
			append(append(append([]string{"open_build", "split", "source", "calibration"}, builds...), fills...), checks...)},
		{"a plan is finished by its build", brokenPlan, "plans", []string{"open_build"}},
		{"calibrations are numbered 1, 2, 3, … and came after their rows", brokenCalibration, "calibrations", []string{"calibration"}},
		{"every factor is above zero and of a calibration", brokenFactor, "factors", []string{"calibration_factor"}},
		{"splits in force are there once", brokenSplit, "splits", []string{"split"}},
		{"what the page saved is there", brokenForm, "forms", []string{"form_entry"}},
	}
}

// Invariants checks everything that the tables promise each other and lists it,
// what holds too, with how much was looked at. What breaks is listed by kind,
// then id. An error is a log that cannot be read, [ErrDamaged] where the file is;
// broken invariants are none.
func (l *Log) Invariants(ctx context.Context) ([]Invariant, error) {
	rows, err := countRows(ctx, l.db)
	if err != nil {
		return nil, openError(l.path, err)
	}
	var out []Invariant
	for _, i := range invariants() {
		checked := Invariant{Holds: i.holds, Of: i.of}
		for _, table := range i.in {
			checked.Checked += rows[table]
		}
		if checked.Broken, err = l.violations(ctx, i.query); err != nil {
			return nil, openError(l.path, fmt.Errorf("%s: %w", i.holds, err))
		}
		out = append(out, checked)
	}
	for _, check := range []func(context.Context) (Invariant, error){l.keptBytes, l.soundText} {
		checked, err := check(ctx)
		if err != nil {
			return nil, openError(l.path, err)
		}
		out = append(out, checked)
	}
	return out, nil
}

// countRows returns how many rows each table has, and reads them all.
func countRows(ctx context.Context, q queryer) (map[string]int, error) {
	var table string
	var n int
	var longest sql.NullInt64 // only read
	out := map[string]int{}
	err := each(ctx, q, rowCounts, []any{&table, &n, &longest}, func() error {
		out[table] = n
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: count rows: %w", err)
	}
	return out, nil
}

// violations runs a query of what breaks an invariant.
func (l *Log) violations(ctx context.Context, query string) ([]Violation, error) {
	var v Violation
	var out []Violation
	err := each(ctx, l.db, query, []any{&v.What, &v.ID, &v.Detail}, func() error {
		next := v
		if t, err := tableOf(model.Kind(v.What)); err == nil {
			next.What = t.kind.Noun(1)
		}
		out = append(out, next)
		return nil
	})
	return out, err
}

// keptBytes reads every kept file and compares its size and digest with what
// was noted when it was imported.
func (l *Log) keptBytes(ctx context.Context) (Invariant, error) {
	out := Invariant{Holds: "every file has the bytes it was imported with", Of: "files"}
	sources, err := l.Sources(ctx)
	if err != nil {
		return out, err
	}
	out.Checked = len(sources)
	for _, s := range sources {
		detail, err := l.badBytes(ctx, s)
		if err != nil {
			return out, err
		}
		if detail != "" {
			out.Broken = append(out.Broken, Violation{What: "file", ID: s.Name, Detail: detail})
		}
	}
	return out, nil
}

// badBytes says what is wrong with the bytes of a kept file, "": nothing.
func (l *Log) badBytes(ctx context.Context, s SourceFile) (string, error) {
	sum := sha256.New()
	size := &counter{}
	if err := l.WriteSource(ctx, s.Number, io.MultiWriter(sum, size)); err != nil {
		if ctx.Err() != nil {
			return "", err
		}
		return fmt.Sprintf("cannot be read back: %v", err), nil
	}
	switch {
	case size.n != s.SizeBytes:
		return fmt.Sprintf("has %d bytes, not the %d it was imported with (file number %d)", size.n, s.SizeBytes, s.Number), nil
	case hex.EncodeToString(sum.Sum(nil)) != s.SHA256:
		return fmt.Sprintf("has other bytes than it was imported with (file number %d)", s.Number), nil
	}
	return "", nil
}

// counter counts what is written to it.
type counter struct{ n int64 }

func (c *counter) Write(p []byte) (int, error) {
	c.n += int64(len(p))
	return len(p), nil
}

// soundText looks at every name: two that look alike must be the same.
func (l *Log) soundText(ctx context.Context) (Invariant, error) {
	out := Invariant{Holds: "names can be read and told apart", Of: "names"}
	var kind, text string
	err := each(ctx, l.db, textList, []any{&kind, &text}, func() error {
		out.Checked++
		if detail := badText(text); detail != "" {
			what := model.Effect(kind).Word()
			if t, err := tableOf(model.Kind(kind)); err == nil {
				what = t.kind.Noun(1)
			}
			out.Broken = append(out.Broken, Violation{What: what, ID: text, Detail: detail})
		}
		return nil
	})
	if err != nil {
		return out, fmt.Errorf("data: names: %w", err)
	}
	return out, nil
}

// badText says why a text is no name, "": it is one. Readers of files see to
// all of this.
func badText(text string) string {
	const zeroWidthNonJoiner, zeroWidthJoiner = '\u200c', '\u200d' // part of words in several scripts
	switch {
	case text == "" || strings.TrimSpace(text) != text:
		return "is blank or has spaces around it"
	case !norm.NFC.IsNormalString(text):
		return "is not in Unicode NFC"
	}
	for _, r := range text {
		if !unicode.IsGraphic(r) && r != zeroWidthNonJoiner && r != zeroWidthJoiner {
			return fmt.Sprintf("holds the invisible character %U", r)
		}
	}
	return ""
}
