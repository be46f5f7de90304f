package bench

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// hostile is a name that must stay text wherever it stands.
const hostile = `<script>alert("1")</script> & 'x' "y"`

// fakeShop is a workshop without a log. It understands grams and millimetres,
// and refuses what has no unit.
type fakeShop struct {
	now    Snapshot
	rows   map[string]*Record
	entry  model.Entry   // read or saved last
	saves  []model.Entry // every one
	keys   map[string]bool
	doubts []string
	fails  error // of Save
	asked  map[string]string
	opened []string
	drops  []string
	units  map[string]report.Units
}

var _ Shop = (*fakeShop)(nil)

var march = time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)

func newFakeShop() *fakeShop {
	l := model.Labels{Product: "8 ft bull, 12 plait", Maker: "dita", CoreBatch: "C14", StrandBatch: "N07", ShotBatch: "S2"}
	newest := blankBuild("W264")
	newest.Date, newest.Labels = march.AddDate(0, 0, -3), l
	newest.WeightG, newest.LengthMM, newest.ShotUsedG = 411, 1869, 83.4
	newest.PredictedWeightG, newest.PredictedLengthMM = 402.4, 1850
	s := &fakeShop{
		keys: map[string]bool{}, units: map[string]report.Units{},
		rows: map[string]*Record{"builds W264": {Stated: newest, Full: newest, When: march, By: "bench page"}},
		now: Snapshot{
			Today: march, Program: "1.0", Calibration: &calibrate.Calibration{Number: 12, Through: march, Builds: 264},
			Advice: []report.Advice{
				{Do: "Plan with the calibrated weight and length.", Why: "Shown on builds it had not seen, the average miss fell: weight from 21.4 g (3/4 oz) to 8.2 g (1/4 oz).", Record: model.Builds},
				{Do: "Correct 1 row written in a wrong unit, by the look of it.", Why: "Left out of the factors until then.", Rows: []report.AdviceRow{{Key: model.RowKey{Kind: model.Builds, ID: "W101"}, Text: "Build W101: weight 0.035 times the plan, looks like ounces entered as grams"}}},
				{Do: "Find out what changed in core batch C12 on 2026-01-14.", Why: "From build W240 on, 6 rows take 7 % more shot. A new purchase under the old label looks like this."},
				{Do: "Make a test fill or two of the batches in use.", Why: "Their load is known from few rows: C14 · dita, ± 6 % from 2 rows.", Record: model.Fills, Label: "C14"},
				{Do: "Bring a fifth thing.", Why: "It is not shown."},
			},
			Open: []model.OpenBuild{{ID: "W265", Saved: march.AddDate(0, 0, -4), Started: march.AddDate(0, 0, -4), Labels: l,
				PredictedWeightG: 415.2, PredictedLengthMM: 1872, PredictedShotG: 84, TargetWeightG: 415}},
			Products: []Product{{Name: "6 ft stock"}, {Name: l.Product, Planned: true, Builds: 120}},
			Labels: map[model.Effect][]string{model.Maker: {"dita", "ansa", hostile}, model.CoreBatch: {"C14", "C13"},
				model.StrandBatch: {"N07"}, model.ShotBatch: {"S2"}, model.Product: {l.Product, "6 ft stock"}},
			Latest: l, Newest: []*model.Build{newest},
			NextID: map[model.Kind]string{model.Builds: "W266", model.Fills: "F031", model.Checks: "K009"},
			Units:  map[string]report.Units{"ansa": report.Metric},
		},
	}
	return s
}

// blankBuild is a build of which nothing is recorded.
func blankBuild(id string) *model.Build {
	x := model.Unknown
	return &model.Build{ID: id, PredictedWeightG: x, PredictedLengthMM: x, PredictedShotG: x, PredictedStrandMM: x,
		ShotFactor: x, BodyFactor: x, LengthFactor: x, WeightG: x, LengthMM: x, ShotUsedG: x, StrandCutMM: x, StrandLeftMM: x,
		LoadLengthMM: x, Humidity: x}
}

func (s *fakeShop) Now(context.Context) (*Snapshot, error) { return &s.now, nil }

func (s *fakeShop) Understand(column, text string) (float64, model.Dimension, error) {
	var x float64
	var unit string
	of := model.MassDimension
	if strings.Contains(column, "length") || strings.HasPrefix(column, "strand") {
		of = model.LengthDimension
	}
	if _, err := fmt.Sscanf(text, "%f %s", &x, &unit); err != nil {
		return 0, of, fmt.Errorf("%q has no unit: write \"%s g\"", text, text)
	}
	return x, of, nil
}

func (s *fakeShop) read(e model.Entry) (*model.Build, error) {
	s.entry = e
	refused := &model.Refused{}
	b := blankBuild(e.Text[e.Kind.IDColumn()])
	b.Date = march
	for _, label := range model.Effects {
		b.Labels.Set(label, e.Text[string(label)])
	}
	figures := map[string]*float64{"weight": &b.WeightG, "length": &b.LengthMM, "shot_used": &b.ShotUsedG, "strand_left": &b.StrandLeftMM}
	for column, into := range figures {
		text := e.Text[column]
		if text == "" {
			continue
		}
		x, _, err := s.Understand(column, text)
		if err != nil {
			refused.Problems = append(refused.Problems, model.Problem{Column: column, Text: text, Message: "has no unit: write \"" + text + " g\""})
		}
		*into = x
	}
	if e.Kind == model.Builds && e.Text["weight"] == "" && e.Text["length"] == "" && e.Text["shot_used"] == "" {
		refused.Problems = append(refused.Problems, model.Problem{Message: "weight, length and shot_used are all blank: a build needs one of them"})
	}
	if refused.Problems != nil {
		return nil, refused
	}
	return b, nil
}

// row is what an entry of any kind says, as far as the fake reads it.
func (s *fakeShop) row(e model.Entry) (model.Row, error) {
	b, err := s.read(e)
	if err != nil {
		return nil, err
	}
	switch e.Kind {
	case model.Fills:
		return &model.Fill{ID: b.ID, Date: march, Labels: b.Labels, FilledLengthMM: 150, ShotMassG: 14.2, PredictedShotG: model.Unknown}, nil
	case model.Checks:
		return &model.Check{ID: b.ID, Date: march, Labels: b.Labels, CheckedLengthMM: 5000, CheckedMassG: 22.3, PredictedMassG: model.Unknown}, nil
	case model.Products:
		return &model.ProductLine{Product: b.ID, WeightLowG: model.Unknown, WeightHighG: model.Unknown, LengthLowMM: model.Unknown, LengthHighMM: model.Unknown}, nil
	}
	return b, nil
}

func (s *fakeShop) Read(_ context.Context, e model.Entry) (*report.Reading, error) {
	row, err := s.row(e)
	if err != nil {
		return nil, err
	}
	r := &report.Reading{Row: row, Warnings: s.doubts}
	if b, ok := row.(*model.Build); ok && model.Known(b.WeightG) {
		r.Today = []calibrate.Expected{{Quantity: model.Weight, Measured: b.WeightG, Planned: 400, Today: calibrate.Interval{Median: 416, Low: 402, High: 431}}}
	}
	return r, nil
}

func (s *fakeShop) Save(_ context.Context, e model.Entry) (*report.Saved, error) {
	if s.fails != nil {
		return nil, s.fails
	}
	row, err := s.row(e)
	if err != nil {
		return nil, err
	}
	again := s.keys[e.Key]
	s.keys[e.Key] = true
	s.saves = append(s.saves, e)
	s.rows[string(e.Kind)+" "+row.Key()] = &Record{Stated: row, Full: row, When: march, By: "bench page"}
	return &report.Saved{
		Row: row, Again: again, Amended: e.Amend, Calibration: 13, BaseLoadGMM: 0.0862,
		Changes: []calibrate.Change{{Quantity: model.Shot, Labels: model.Labels{Maker: "dita", CoreBatch: "C14"}, Rows: 3,
			Before: calibrate.Interval{Median: 1, Low: 0.94, High: 1.06}, After: calibrate.Interval{Median: 0.94, Low: 0.91, High: 0.97}}},
		Reminders: []report.Advice{{Do: "Weigh a length of strand batch N07.", Why: "It is new here.", Record: model.Checks, Label: "N07"}},
	}, nil
}

func (s *fakeShop) Plan(_ context.Context, text map[string]string) (*calibrate.Plan, error) {
	s.asked = text
	if t := text["target_weight"]; t != "" {
		if _, _, err := s.Understand("target_weight", t); err != nil {
			return nil, &model.Refused{Problems: []model.Problem{{Column: "target_weight", Text: t, Message: "has no unit: write \"" + t + " g\""}}}
		}
	}
	x := model.Unknown
	design := &model.Design{Product: text["product"], WeightG: 402, ShotG: 80, BodyG: 322, LengthMM: 1850, StrandMM: 3600, BalanceMM: 500,
		Parts: []model.DesignPart{
			{Name: "belly", Role: model.Core, MassG: 95, ShotG: 80, EndMM: 900, CutMM: 915, LoadLengthMM: 700, ShotGMM: 0.114, Packing: 0.6, StrandGMM: x},
			{Name: "overlay", Role: model.Plait, MassG: 210, EndMM: 1850, CutMM: 3800, TailMM: 200, LoadLengthMM: x, ShotGMM: x, Packing: x, Overlay: true,
				Strands: []model.Strands{{Count: 2, ToMM: 1400, CutMM: 2900}, {Count: 10, ToMM: 1850, CutMM: 3800}}},
		}}
	band := func(m float64) calibrate.Interval {
		return calibrate.Interval{Median: m, Low: 0.97 * m, High: 1.03 * m}
	}
	labels := model.Labels{}
	for _, e := range model.Effects {
		labels.Set(e, text[string(e)])
	}
	return &calibrate.Plan{
		Product: text["product"], Labels: labels, Calibration: 12, ShortRisk: 0.01, TargetG: x, Reached: true, Design: design,
		Base:       calibrate.Sizes{WeightG: 402, BodyG: 322, ShotG: 80, LengthMM: 1850, StrandMM: 3600, BalanceMM: 500},
		Calibrated: calibrate.CalibratedSizes{Weight: band(415), Body: band(331), Shot: band(84), Length: band(1872), Strand: band(3700), BalanceMM: 505},
		CutSafe:    []calibrate.PartCut{{SafeMM: x}, {SafeMM: 3950, Strands: []float64{3020, 3950}}},
	}, nil
}

func (s *fakeShop) OpenBuild(ctx context.Context, id string, text map[string]string, replace bool) (*calibrate.Plan, error) {
	if id == "W264" {
		return nil, &model.Refused{Problems: []model.Problem{{Column: "build", Text: id, Message: "is in the log already: give the plan another id"}}}
	}
	s.opened = append(s.opened, fmt.Sprint(id, " ", replace))
	if !replace {
		s.now.Open = append(s.now.Open, model.OpenBuild{ID: id, Labels: model.Labels{Product: text["product"]},
			PredictedWeightG: model.Unknown, PredictedLengthMM: model.Unknown, PredictedShotG: model.Unknown})
	}
	return s.Plan(ctx, text)
}

func (s *fakeShop) DropBuild(_ context.Context, id string) error {
	s.drops = append(s.drops, id)
	return nil
}

func (s *fakeShop) Row(_ context.Context, kind model.Kind, id string) (*Record, error) {
	return s.rows[string(kind)+" "+id], nil
}

func (s *fakeShop) SetUnits(_ context.Context, maker string, u report.Units) error {
	s.units[maker] = u
	return nil
}

var errNotFaked = errors.New("the fake shop cannot do that")

func (s *fakeShop) Promise(context.Context, map[string]string) (*calibrate.Promise, error) {
	return nil, errNotFaked
}
func (s *fakeShop) Lines(context.Context, string) ([]calibrate.Line, error) { return nil, errNotFaked }
func (s *fakeShop) Search(context.Context, model.Kind, string, int, int) ([]model.Row, int, error) {
	return nil, 0, errNotFaked
}
func (s *fakeShop) SetAside(context.Context, string, string) (*report.Saved, error) {
	return nil, errNotFaked
}
func (s *fakeShop) Check(context.Context, File) (*FileReport, error)  { return nil, errNotFaked }
func (s *fakeShop) Import(context.Context, File) (*FileReport, error) { return nil, errNotFaked }
func (s *fakeShop) Export(context.Context, io.Writer) error           { return errNotFaked }
func (s *fakeShop) Backup(context.Context, io.Writer) error           { return errNotFaked }
func (s *fakeShop) Report(context.Context, io.Writer) error           { return errNotFaked }
func (s *fakeShop) Split(context.Context, model.Split) error          { return errNotFaked }
func (s *fakeShop) Unsplit(context.Context, model.Split) error        { return errNotFaked }

// browser asks the page of a shop as a browser does, without scripts.
type browser struct {
	t      *testing.T
	server *httptest.Server
	client *http.Client
}

func newBrowser(t *testing.T, shop Shop) *browser {
	t.Helper()
	server := httptest.NewServer(New(shop, Options{}))
	t.Cleanup(server.Close)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := server.Client()
	client.Jar = jar
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &browser{t, server, client}
}

// answer is a page as it came.
type answer struct {
	status int
	header http.Header
	body   string
}

func (b *browser) do(r *http.Request, err error) answer {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	got, err := b.client.Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	defer got.Body.Close()
	body, err := io.ReadAll(got.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return answer{got.StatusCode, got.Header, string(body)}
}

func (b *browser) get(path string) answer {
	b.t.Helper()
	return b.do(http.NewRequest(http.MethodGet, b.server.URL+path, nil))
}

// post sends names and values as a form.
func (b *browser) post(path string, pairs ...string) answer {
	b.t.Helper()
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	r, err := http.NewRequest(http.MethodPost, b.server.URL+path, strings.NewReader(q.Encode()))
	if err == nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return b.do(r, err)
}

// wants checks the status, and that the page says all of it.
func (a answer) wants(t *testing.T, status int, says ...string) {
	t.Helper()
	if a.status != status {
		t.Errorf("status %d, want %d", a.status, status)
	}
	for _, s := range says {
		if !strings.Contains(a.body, s) {
			t.Errorf("the page does not say %q:\n%s", s, a.body)
		}
	}
}

func factsOf(row model.Row) []report.Fact { return report.Facts(row, report.Both) }
