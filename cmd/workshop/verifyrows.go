package workshop

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
)

// rows reads every kept file again and compares it with the rows that came
// from it: the row on that line must state what the log holds. A cell may
// differ in these ways, and no other:
//
//   - blank in the file, and in the log what the build's finished plan states;
//   - blank in the file, and in the log the factor of the calibration that the
//     build's plan was made with;
//   - stated in the file and blank in the log, where it is what the log had
//     worked out itself: an export states such figures.
//
// Amendments carry nothing over but figures that were worked out, which are not
// stated. The other way round, a row of the file must be in the log in some
// version, unless it was left out with --keep-good.
func (v *verifier) rows(ctx context.Context) error {
	c := newChecking("every row is what its line of the kept file states", "rows")
	defer v.done(c)
	given, err := v.given(ctx)
	if err != nil {
		return err
	}
	held := map[int][]data.Version{}
	for _, kind := range model.Kinds {
		for _, version := range v.versions[kind] {
			held[version.Source] = append(held[version.Source], version)
			given.ids[model.RowKey{Kind: kind, ID: version.Row.Key()}] = true
		}
	}
	for _, s := range v.sources {
		if err := ctx.Err(); err != nil {
			return err
		}
		var file bytes.Buffer
		if err := v.log.WriteSource(ctx, s.Number, &file); err != nil {
			c.Count += len(held[s.Number])
			c.wrong(report.Fault{Where: s.Name, What: fmt.Sprintf("its kept bytes cannot be read (%v)", err), Remedy: restoreSource})
			continue
		}
		reread := rereadSource(s, file.Bytes(), held[s.Number], given)
		c.Count += reread.Count
		for _, f := range reread.Faults {
			c.wrong(f)
		}
		c.Wrong, c.More = c.Wrong+reread.More, c.More+reread.More
	}
	return nil
}

// restoreSource is the remedy where a kept file is damaged.
const restoreSource = "its rows cannot be checked: take the log from a sound backup, or keep that file beside it"

// given is what rows may hold beside what their files state.
type given struct {
	ids     map[model.RowKey]bool // every row there is or was
	plans   map[string]model.OpenBuild
	factors map[factorKey]float64
}

type factorKey struct {
	calibration int
	quantity    model.Quantity
	labels      model.Labels
}

// given reads the finished plans and the factors of the calibrations.
func (v *verifier) given(ctx context.Context) (*given, error) {
	g := &given{map[model.RowKey]bool{}, map[string]model.OpenBuild{}, map[factorKey]float64{}}
	plans, err := v.log.FinishedPlans(ctx)
	if err != nil {
		return nil, err
	}
	open, err := v.log.OpenBuilds(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range slices.Concat(plans, open) {
		g.plans[p.ID] = p
	}
	for number, factors := range v.factors {
		for _, f := range factors {
			g.factors[factorKey{number, f.Quantity, f.Labels}] = f.Factor
		}
	}
	return g, nil
}

// rereadSource compares the rows that came from a file, by line, with the file.
// With which decimal mark it was read is not known: the one counts with which
// the fewest rows are wrong, and of several the one that finds the most.
func rereadSource(s data.SourceFile, file []byte, held []data.Version, given *given) *reread {
	var best *reread
	for _, decimal := range []ingest.Decimal{ingest.DecimalAuto, ingest.DecimalPoint, ingest.DecimalComma} {
		c := &reread{name: s.Name}
		c.Count = len(held)
		r, err := reopen(s, file, decimal)
		if err == nil {
			err = given.compare(c, r, held)
		}
		if err != nil {
			c.wrong(report.Fault{Where: s.Name, What: fmt.Sprintf("the kept file cannot be read any more (%v)", err), Remedy: restoreSource})
		}
		if best == nil || c.Wrong < best.Wrong || c.Wrong == best.Wrong && c.found > best.found {
			best = c
		}
		if best.Wrong == 0 {
			break
		}
	}
	return best
}

// reread is what came of reading a file again.
type reread struct {
	checking
	name  string // of the file
	found int    // rows that stand on their lines, right or wrong
}

// reopen reads the header of a kept file, or of the sheet of a kept workbook.
func reopen(s data.SourceFile, file []byte, decimal ingest.Decimal) (*ingest.Reader, error) {
	const name = "kept file" // with no ending that says what it is: the bytes do
	readers, err := ingest.Open(bytes.NewReader(file), name, ingest.Options{IgnoreUnknown: true, Decimal: decimal})
	if err != nil {
		return nil, err
	}
	for _, r := range readers {
		if strings.HasSuffix(s.Name, strings.TrimPrefix(r.Name(), name)) && r.Kind() == s.Kind {
			return r, nil
		}
	}
	return nil, fmt.Errorf("no sheet of it holds %s", s.Kind)
}

// compare sets the rows of a file beside those that the log holds of it, both
// by line.
func (g *given) compare(c *reread, r *ingest.Reader, held []data.Version) error {
	pair, err := newPair(r.Kind())
	if err != nil {
		return err
	}
	products := map[string]bool{} // whose parts lists the log took from this file
	for _, h := range held {
		products[h.Row.Key()] = true
	}
	for {
		row, _, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if row == nil { // left out with --keep-good
			continue
		}
		line := row.From().Line
		for len(held) > 0 && held[0].Row.From().Line < line {
			c.wrong(astray(held[0]))
			held = held[1:]
		}
		if len(held) == 0 || held[0].Row.From().Line > line {
			if g.lost(row) || row.Kind() == model.Parts && products[row.Key()] {
				c.wrong(report.Fault{
					Where:  fmt.Sprintf("%s (%s:%d)", rowLabel(row), c.name, line),
					What:   "is in the kept file and not in the log",
					Remedy: "import it again from the file, or take the log from a sound backup",
				})
			}
			continue
		}
		for len(held) > 0 && held[0].Row.From().Line == line { // two, if one is in the wrong place
			c.found++
			what, err := pair.differ(g, held[0], row)
			if err != nil {
				return err
			}
			if what != "" {
				c.wrong(report.Fault{Where: rowName(held[0].Row), What: what, Remedy: restore})
			}
			held = held[1:]
		}
	}
	for _, h := range held {
		c.wrong(astray(h))
	}
	return nil
}

// astray is a row whose line of the file holds none.
func astray(h data.Version) report.Fault {
	return report.Fault{Where: rowName(h.Row), What: "that line of the kept file holds no row", Remedy: restore}
}

// lost reports whether a row of a file should be in the log and is not. A build
// that was at odds with its plan, or whose calibration was not known, may have
// been left out, and a parts list as a whole.
func (g *given) lost(row model.Row) bool {
	if row.Kind() == model.Parts || g.ids[model.RowKey{Kind: row.Kind(), ID: row.Key()}] {
		return false
	}
	b, ok := row.(*model.Build)
	if !ok {
		return true
	}
	_, planned := g.plans[b.ID]
	return !planned && b.Calibration == 0
}

// pair compares two rows of a kind as a file would state them.
type pair struct {
	text    bytes.Buffer
	write   *ingest.Writer
	columns []ingest.Column
}

func newPair(kind model.Kind) (*pair, error) {
	p := &pair{columns: ingest.Columns(kind)}
	var err error
	p.write, err = ingest.NewWriter(&p.text, kind)
	return p, err
}

// differ says in which columns the log holds something else than the file
// states, "" where it holds what it should.
func (p *pair) differ(g *given, held data.Version, file model.Row) (string, error) {
	if held.Row.Key() != file.Key() {
		return fmt.Sprintf("the kept file has %s on that line", rowLabel(file)), nil
	}
	if same, err := p.same(held.Row, file); same || err != nil {
		return "", err
	}
	inLog, err := Text(held.Row)
	if err != nil {
		return "", err
	}
	inFile, err := Text(file)
	if err != nil {
		return "", err
	}
	var out []string
	for _, c := range p.columns {
		here, there := inLog[c.Name], inFile[c.Name]
		if here == there || there == "" && g.fills(held.Row, c.Name, here) || here == "" && workedOut(held, c.Name, file) {
			continue
		}
		out = append(out, fmt.Sprintf("%s is %s in the log and %s in the kept file", c.Name, blankable(here), blankable(there)))
	}
	return strings.Join(out, "; "), nil
}

// same reports whether two rows state the same in every column.
func (p *pair) same(a, b model.Row) (bool, error) {
	if err := p.write.Flush(); err != nil {
		return false, err
	}
	p.text.Reset() // of the header, or of the pair before
	if err := errors.Join(p.write.Write(a), p.write.Flush()); err != nil {
		return false, err
	}
	first := p.text.Len()
	if err := errors.Join(p.write.Write(b), p.write.Flush()); err != nil {
		return false, err
	}
	return bytes.Equal(p.text.Bytes()[:first], p.text.Bytes()[first:]), nil
}

// fills reports whether a build may hold a value that its file leaves blank:
// that of its plan, or the factor of its calibration.
func (g *given) fills(row model.Row, column, value string) bool {
	b, ok := row.(*model.Build)
	if !ok {
		return false
	}
	if plan, ok := g.plans[b.ID]; ok && plan.Product == b.Product {
		stated, err := Text(planAsBuild(plan))
		if err == nil && stated[column] == value {
			return true
		}
	}
	factors := map[string]struct {
		of    model.Quantity
		value float64
	}{"shot_factor": {model.Shot, b.ShotFactor}, "body_factor": {model.Body, b.BodyFactor}, "length_factor": {model.Length, b.LengthFactor}}
	f, ok := factors[column]
	if !ok {
		return false
	}
	key := factorKey{calibration: b.Calibration, quantity: f.of}
	for _, e := range f.of.Effects() {
		key.labels.Set(e, b.Labels.Get(e))
	}
	saved, ok := g.factors[key]
	return ok && saved == f.value
}

// planAsBuild is what a plan gives its build.
func planAsBuild(p model.OpenBuild) *model.Build {
	nan := model.Unknown
	return &model.Build{
		ID: p.ID, Labels: p.Labels, Started: p.Started, Calibration: p.Calibration, LoadLengthMM: p.LoadLengthMM,
		PredictedWeightG: p.PredictedWeightG, PredictedLengthMM: p.PredictedLengthMM,
		PredictedShotG: p.PredictedShotG, PredictedStrandMM: p.PredictedStrandMM,
		ShotFactor: p.ShotFactor, BodyFactor: p.BodyFactor, LengthFactor: p.LengthFactor,
		WeightG: nan, LengthMM: nan, ShotUsedG: nan, StrandCutMM: nan, StrandLeftMM: nan, Humidity: nan,
	}
}

// workedOut reports whether what a file states is what the log had worked out
// for the row.
func workedOut(held data.Version, column string, file model.Row) bool {
	switch r := file.(type) {
	case *model.Build:
		shot, body, length := orOne(r.ShotFactor), orOne(r.BodyFactor), orOne(r.LengthFactor)
		switch column {
		case "predicted_weight":
			b := held.Base
			return alike(r.PredictedWeightG, b.ShotG*shot+(b.WeightG-b.ShotG)*body) ||
				shot == body && alike(r.PredictedWeightG, b.WeightG*body)
		case "predicted_length":
			return alike(r.PredictedLengthMM, held.Base.LengthMM*length)
		case "predicted_shot":
			return alike(r.PredictedShotG, held.Base.ShotG*shot)
		case "predicted_strand":
			return alike(r.PredictedStrandMM, held.Base.StrandMM)
		}
	case *model.Fill:
		return column == "predicted_shot" && alike(r.PredictedShotG, held.Base.ShotG)
	case *model.Check:
		return column == "predicted_mass" && alike(r.PredictedMassG, held.Base.WeightG)
	}
	return false
}

// rowLabel names a row without its place.
func rowLabel(row model.Row) string {
	if p, ok := row.(*model.Part); ok {
		return fmt.Sprintf("part %q of product %q", p.Name, p.Product)
	}
	return fmt.Sprintf("%s %q", row.Kind().Noun(1), row.Key())
}
