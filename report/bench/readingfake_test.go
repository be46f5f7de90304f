package bench

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// readingShop is a fake shop with rows to look up and factors fitted from
// them. Two of its names are hostile.
type readingShop struct {
	*fakeShop
	mu     sync.Mutex
	made   *made
	aside  []string // "BUILD: reason" of SetAside
	splits []string // what was split and unsplit
	files  []string // what was imported
	lines  int      // how often Lines was called
	broken error    // of Export, after some bytes; of Report
	hold   chan struct{}
}

// made is what a fitted shop has, made once for all tests.
type made struct {
	builds, fills []model.Row // newest first
	src           *calibrate.Rows
	cal           *calibrate.Calibration
	products      []*model.ProductLine
}

var makeOnce = sync.OnceValues(makeShop)

// makeShop draws sixty builds of two products by three makers from five core
// batches, of which one build is far out.
func makeShop() (*made, error) {
	r := rand.New(rand.NewPCG(3, 2026))
	m := &made{}
	of := map[model.Quantity][]model.Observation{}
	makers, products := []string{"dita", "ansa", hostile}, []string{"8 ft bull, 12 plait", hostile}
	for i := range 60 {
		b := blankBuild(fmt.Sprintf("W%03d", i+1))
		if i == 40 {
			b.ID = "W041 " + hostile
		}
		b.Date = march.AddDate(0, 0, 3*(i-60))
		b.Labels = model.Labels{Maker: makers[i%3], Product: products[i%7/5], CoreBatch: fmt.Sprintf("C%02d", 1+i/12), StrandBatch: "N07", ShotBatch: "S2"}
		hand, batch := 0.03*float64(i%3-1), 0.05*math.Sin(float64(i/12))
		b.PredictedShotG, b.PredictedWeightG, b.PredictedLengthMM = 80, 400, 1850
		b.ShotUsedG = 80 * math.Exp(hand+batch+0.02*r.NormFloat64())
		if i == 30 {
			b.ShotUsedG *= 2
		}
		b.WeightG = b.ShotUsedG + 320*math.Exp(0.02+0.01*r.NormFloat64())
		b.LengthMM = 1850 * math.Exp(-0.01+0.008*r.NormFloat64())
		m.builds = append(m.builds, b)
		key := model.RowKey{Kind: model.Builds, ID: b.ID}
		for q, figure := range map[model.Quantity][2]float64{
			model.Shot: {b.ShotUsedG, 80}, model.Body: {b.WeightG - b.ShotUsedG, 320}, model.Weight: {b.WeightG, 400}, model.Length: {b.LengthMM, 1850},
		} {
			l := b.Labels
			of[q] = append(of[q], model.Observation{Key: key, Date: b.Date, Labels: l, Measured: figure[0], Base: figure[1], Planned: figure[1],
				ShotBase: 80, Y: math.Log(figure[0] / figure[1])})
		}
	}
	for i := range 3 {
		m.fills = append(m.fills, &model.Fill{ID: fmt.Sprintf("F%d", i+1), Date: march.AddDate(0, 0, -i), Labels: model.Labels{CoreBatch: "C05", Maker: hostile},
			FilledLengthMM: 152.4, ShotMassG: 14, PredictedShotG: 13.8, Note: hostile})
	}
	slices.Reverse(m.builds)
	m.src = calibrate.NewRows(of)
	m.products = []*model.ProductLine{{Product: "8 ft bull, 12 plait", Description: hostile, WeightLowG: 380, WeightHighG: 440, LengthLowMM: model.Unknown, LengthHighMM: model.Unknown}}
	var err error
	if m.cal, err = calibrate.Fit(context.Background(), m.src, calibrate.Options{}); err != nil {
		return nil, err
	}
	m.cal.Number = 12
	shot := m.cal.Quantity(model.Shot)
	shot.Drift = []calibrate.Drift{
		{Effect: model.Maker, Level: hostile, AtBuild: "W058", Since: "W055", SinceDate: march.AddDate(0, 0, -15), Direction: "down", Grade: "watch", Ongoing: true},
		{Effect: model.CoreBatch, Level: "C04 from 2026-01-23", AtBuild: "W047", Since: "W045", SinceDate: march.AddDate(0, 0, -30), Direction: "up", Grade: "act"},
	}
	shot.Unlinked = []calibrate.Unlinked{{Makers: []string{hostile}}}
	return m, nil
}

func newReadingShop(t *testing.T) *readingShop {
	t.Helper()
	m, err := makeOnce()
	if err != nil {
		t.Fatal(err)
	}
	s := &readingShop{fakeShop: newFakeShop(), made: m}
	s.now.Version, s.now.Calibration, s.now.Log = 7, m.cal, "workshop.duckdb"
	s.now.Labels = map[model.Effect][]string{model.Maker: {"dita", "ansa", hostile}, model.CoreBatch: {"C05", "C04", "C03", "C02", "C01"},
		model.StrandBatch: {"N07"}, model.ShotBatch: {"S2"}, model.Product: {"8 ft bull, 12 plait", hostile}}
	s.now.Products = []Product{{Name: "6 ft stock"}, {Name: "8 ft bull, 12 plait", Description: hostile, Line: m.products[0], Planned: true, Builds: 40}, {Name: hostile, Builds: 20}}
	s.now.Splits = []model.Split{{Effect: model.CoreBatch, Label: "C04", Since: march.AddDate(0, 0, -40)}}
	return s
}

func (s *readingShop) Promise(ctx context.Context, text map[string]string) (*calibrate.Promise, error) {
	s.asked = text
	if text["maker"] == "nobody" {
		return nil, &model.Refused{Problems: []model.Problem{{Column: "maker", Text: "nobody", Message: "is not in the log"}}}
	}
	opt := calibrate.PromiseOptions{Coverage: 0.95, Of: 1, WithinG: model.Unknown, AroundG: model.Unknown}
	for _, e := range model.Effects {
		opt.Labels.Set(e, text[string(e)])
	}
	if text["within"] != "" {
		opt.WithinG = 10
	}
	return s.made.cal.Promise(ctx, s.made.src, calibrate.Planned{WeightG: 400, BodyG: 320, ShotG: 80, LengthMM: 1850, From: "parts list"}, opt)
}

func (s *readingShop) Lines(ctx context.Context, product string) ([]calibrate.Line, error) {
	s.mu.Lock()
	s.lines++
	s.mu.Unlock()
	return calibrate.Consistency(ctx, s.made.src, s.made.products, calibrate.ConsistencyOptions{Product: product})
}

func (s *readingShop) Search(_ context.Context, kind model.Kind, text string, limit, offset int) ([]model.Row, int, error) {
	rows := map[model.Kind][]model.Row{model.Builds: s.made.builds, model.Fills: s.made.fills}[kind]
	var found []model.Row
	for _, r := range rows {
		said := strings.ToLower(fmt.Sprint(report.Facts(r, report.Both)))
		if !slices.ContainsFunc(strings.Fields(strings.ToLower(text)), func(w string) bool { return !strings.Contains(said, w) }) {
			found = append(found, r)
		}
	}
	from := min(offset, len(found))
	return found[from:min(len(found), from+limit)], len(found), nil
}

// Row says of W002 that it was corrected twice, and of W003 that it is set
// aside.
func (s *readingShop) Row(_ context.Context, kind model.Kind, id string) (*Record, error) {
	rows, _, _ := s.Search(context.Background(), kind, "", len(s.made.builds), 0)
	i := slices.IndexFunc(rows, func(r model.Row) bool { return r.Key() == id })
	if i < 0 {
		return nil, nil
	}
	out := &Record{Stated: rows[i], Full: rows[i], When: march, By: hostile + ".csv"}
	b, ok := rows[i].(*model.Build)
	if !ok {
		return out, nil
	}
	stated, full := *b, *b
	stated.PredictedWeightG = model.Unknown
	full.Origin = model.Origin{File: hostile, Line: 17}
	if id == "W003" {
		full.SetAside = hostile
	}
	out.Stated, out.Full = &stated, &full
	out.Today = s.made.cal.Expect(b.Labels, map[model.Quantity]float64{model.Weight: 400}, map[model.Quantity]float64{model.Weight: b.WeightG})
	if id == "W002" {
		first, second := full, full
		first.WeightG, first.Note = 14.5, hostile
		second.WeightG += 0.001
		out.Past = []Past{{&first, march.Add(time.Hour), "may.csv"}, {&second, march.Add(2 * time.Hour), "bench page"}}
	}
	return out, nil
}

func (s *readingShop) SetAside(_ context.Context, build, reason string) (*report.Saved, error) {
	s.aside = append(s.aside, build+": "+reason)
	row, err := s.Row(context.Background(), model.Builds, build)
	if err != nil {
		return nil, err
	}
	return &report.Saved{Row: row.Full, Amended: true, Calibration: 13}, nil
}

// Check finds a row in every line; a line with "bad" is at fault, and the file
// refuses to be checked where it is all "fault".
func (s *readingShop) Check(_ context.Context, f File) (*FileReport, error) {
	if string(f.Bytes) == "fault" {
		return nil, errors.New("disk on fire")
	}
	out := &FileReport{}
	in := model.Imported{File: f.Name, Kind: model.Builds, Warnings: []string{hostile}}
	if strings.HasPrefix(f.Name, "parts") {
		in.Kind = model.Parts
	}
	for i, line := range bytes.Split(f.Bytes, []byte("\n")) {
		in.Rows++
		if !bytes.Contains(line, []byte("bad")) {
			in.New++
			continue
		}
		in.Rejected++
		out.Problems = append(out.Problems, FileProblem{Line: i + 1, Column: "weight", Text: hostile, Message: "is not a weight: " + hostile})
		if f.Good {
			out.Rejects = append(out.Rejects, line...)
		}
	}
	out.Files = []model.Imported{in}
	return out, nil
}

func (s *readingShop) Import(ctx context.Context, f File) (*FileReport, error) {
	out, err := s.Check(ctx, f)
	if err != nil || len(out.Problems) > 0 && !f.Good {
		return out, err
	}
	s.files = append(s.files, fmt.Sprintf("%s amend=%v good=%v", f.Name, f.Amend, f.Good))
	out.Taken = true
	out.Saved = &report.Saved{Row: s.made.builds[0], Changes: []calibrate.Change{{Quantity: model.Length, Labels: model.Labels{StrandBatch: hostile}, Rows: 3,
		Before: calibrate.Interval{Median: 1, Low: 0.94, High: 1.06}, After: calibrate.Interval{Median: 0.94, Low: 0.91, High: 0.97}}}}
	return out, nil
}

// Backup writes as Export does.
func (s *readingShop) Backup(ctx context.Context, w io.Writer) error { return s.Export(ctx, w) }

func (s *readingShop) Export(_ context.Context, w io.Writer) error {
	if s.broken != nil && s.hold == nil {
		return s.broken
	}
	if _, err := io.WriteString(w, "PK and so on"); err != nil {
		return err
	}
	if f, ok := w.(http.Flusher); ok {
		f.Flush()
	}
	return s.broken
}

// Report waits for hold, if there is one.
func (s *readingShop) Report(ctx context.Context, w io.Writer) error {
	if s.hold != nil {
		select {
		case <-s.hold:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	if s.broken != nil {
		return s.broken
	}
	return report.HTML(w, report.Page{Calibration: s.made.cal})
}

func (s *readingShop) Split(_ context.Context, split model.Split) error {
	s.splits = append(s.splits, "split "+splitWords(split))
	return nil
}

func (s *readingShop) Unsplit(_ context.Context, split model.Split) error {
	s.splits = append(s.splits, "unsplit "+splitWords(split))
	return nil
}
