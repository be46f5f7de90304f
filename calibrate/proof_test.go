package calibrate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"trueplait/model"
)

// workshopRows simulates a whole log: shot, body, weight and length of the
// same builds. Strand cord is bought together with core cord.
func workshopRows(seed uint64, builds int) *Rows {
	r := rand.New(rand.NewPCG(seed, 11))
	s := shop{builds: builds, makers: 3, cores: max(1, builds/20), products: 3, scatter: 0.02,
		spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.06}}
	shot, _ := s.simulate(r)
	labels := make([]model.Labels, builds)
	for i := range shot {
		labels[i] = shot[i].Labels
	}
	s.spread[model.Product] = 0.01
	body, _ := s.draw(r, labels)
	length, _ := s.draw(r, labels)
	for i := range labels {
		labels[i].StrandBatch = "n" + labels[i].CoreBatch
		shot[i].Labels, body[i].Labels, length[i].Labels = labels[i], labels[i], labels[i]
		shot[i].Base, body[i].Base, length[i].Base = 60+float64(i%40), 300+float64(i%200), 1500+float64(i%900)
		for _, o := range []*model.Observation{&shot[i], &body[i], &length[i]} {
			o.Planned = o.Base * 1.01
			o.Measured = o.Base * math.Exp(o.Y)
		}
	}
	weight := make([]model.Observation, builds)
	for i := range shot {
		weight[i] = shot[i]
		weight[i].ShotBase = shot[i].Base
		weight[i].Base = shot[i].Base + body[i].Base
		weight[i].Planned = weight[i].Base * 1.01
		weight[i].Measured = shot[i].Measured + body[i].Measured
		weight[i].Y = math.Log(weight[i].Measured / weight[i].Base)
	}
	return NewRows(map[model.Quantity][]model.Observation{model.Shot: shot, model.Body: body, model.Weight: weight, model.Length: length})
}

func prove(t *testing.T, rows *Rows) *Proof {
	t.Helper()
	p, err := Prove(context.Background(), rows, ProofOptions{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestProve(t *testing.T) {
	p := prove(t, workshopRows(1, 120))
	if len(p.Cutoffs) != 60 {
		t.Errorf("%d cut-offs, want 60 over 115 days", len(p.Cutoffs))
	}
	for _, q := range p.Quantities {
		if q.Builds != 115 || q.LeftOut != 5 {
			t.Errorf("%s: %d scored, %d left out, want 115 and 5", q.Quantity, q.Builds, q.LeftOut)
		}
		if !(q.Figures.MAERatio.Value < 1) {
			t.Errorf("%s: calibrated is no better than the plan: %+v", q.Quantity, q.Figures.MAERatio)
		}
		if c := q.Figures.Coverage.Achieved; c < 0.88 {
			t.Errorf("%s: the band holds %.3f", q.Quantity, c)
		}
		for _, b := range q.Scored {
			if !(b.Low < b.Predicted[Calibrated] && b.Predicted[Calibrated] < b.High) {
				t.Fatalf("%s %s: median %g outside its band %g to %g", q.Quantity, b.Build, b.Predicted[Calibrated], b.Low, b.High)
			}
			checkNear(t, "as planned", b.Predicted[AsPlanned], 1.01*b.Predicted[Planner], 1e-9)
		}
	}
	if !p.Quantities[2].Better {
		t.Errorf("shot, with batches 6 %% apart, is not better: %+v", p.Quantities[2].Figures)
	}
}

// Nothing of a build's own day or later may reach its prediction.
func TestProve_NoLeak(t *testing.T) {
	before := prove(t, workshopRows(1, 60))
	spoiled := workshopRows(1, 60)
	const from = 40
	for q, obs := range spoiled.of {
		for i := from; i < len(obs); i++ {
			obs[i].Measured *= 1.1
			obs[i].Y += math.Log(1.1)
		}
		spoiled.of[q] = obs
	}
	after := prove(t, spoiled)
	for i, q := range before.Quantities {
		for j, b := range q.Scored {
			a := after.Quantities[i].Scored[j]
			if b.Date.After(day(from)) {
				break
			}
			if !reflect.DeepEqual(a.Predicted, b.Predicted) || a.Low != b.Low || a.High != b.High {
				t.Fatalf("%s %s: predicted %v, but %v when later builds differ", q.Quantity, b.Build, b.Predicted, a.Predicted)
			}
		}
	}
}

// A build that was started earlier is predicted from what was known then.
func TestProve_Started(t *testing.T) {
	rows := workshopRows(1, 60)
	moved := workshopRows(1, 60)
	const build, back = 50, 12
	for _, obs := range moved.of {
		obs[build].Started = obs[build-back].Date
	}
	a, b := prove(t, rows), prove(t, moved)
	for i, q := range a.Quantities {
		id := fmt.Sprintf("B%05d", build)
		find := func(list []Scored) Scored {
			for _, s := range list {
				if s.Build == id {
					return s
				}
			}
			t.Fatalf("%s: no %s", q.Quantity, id)
			return Scored{}
		}
		now, then := find(q.Scored), find(b.Quantities[i].Scored)
		if now.Predicted[RunningMean] == then.Predicted[RunningMean] || now.Predicted[Calibrated] == then.Predicted[Calibrated] {
			t.Errorf("%s: the day it was started makes no difference", q.Quantity)
		}
		running, _ := newNaive(rows.of[q.Quantity]).before(day(build-back), "")
		checkNear(t, "running mean", then.Predicted[RunningMean], running*then.Predicted[Planner], 1e-9)
	}
}

// Slips and rows set aside by hand are neither scored nor learnt from; a
// typing error is scored, but robust leaves it out.
func TestProve_SetAside(t *testing.T) {
	rows := workshopRows(1, 60)
	for _, obs := range rows.of {
		obs[30].Excluded = model.UnitSlip
		obs[30].Y += 3
	}
	shot := rows.of[model.Shot]
	shot[45].Y += 0.6
	shot[45].Measured = shot[45].Base * math.Exp(shot[45].Y)
	p := prove(t, rows)
	q := p.Quantities[2]
	if q.Builds != 54 || q.LeftOut != 6 {
		t.Errorf("%d scored, %d left out, want 54 and 6", q.Builds, q.LeftOut)
	}
	if q.Robust.N != 53 || !(q.Robust.Scores[Calibrated].RMSE < q.Figures.Scores[Calibrated].RMSE) {
		t.Errorf("robust: %d builds, rmse %g; all: rmse %g", q.Robust.N, q.Robust.Scores[Calibrated].RMSE, q.Figures.Scores[Calibrated].RMSE)
	}
	for _, b := range q.Scored {
		if b.SetAside != (b.Build == "B00045") {
			t.Errorf("%s set aside: %v", b.Build, b.SetAside)
		}
	}
}

// A proof of the newest builds predicts each as a proof of all does.
func TestProve_Newest(t *testing.T) {
	rows := workshopRows(1, 120)
	all := prove(t, rows)
	for _, c := range []struct{ newest, scored, cutoffs int }{
		{40, 40, 21},
		{39, 38, 20}, // from the cut-off before it would be 40
		{1, 1, 1},
		{115, 115, 60},
		{1000, 115, 60},
	} {
		p, err := Prove(context.Background(), rows, ProofOptions{Seed: 1, Newest: c.newest})
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Cutoffs) != c.cutoffs || !reflect.DeepEqual(p.Cutoffs, all.Cutoffs[60-c.cutoffs:]) {
			t.Errorf("newest %d: %d cut-offs, want the last %d", c.newest, len(p.Cutoffs), c.cutoffs)
		}
		for i, q := range p.Quantities {
			if q.Builds != c.scored || q.LeftOut != 120-c.scored {
				t.Fatalf("newest %d: %s: %d scored, %d left out, want %d and %d", c.newest, q.Quantity, q.Builds, q.LeftOut, c.scored, 120-c.scored)
			}
			if want := all.Quantities[i].Scored[115-c.scored:]; !reflect.DeepEqual(q.Scored, want) {
				t.Errorf("newest %d: %s: other predictions than where all are predicted", c.newest, q.Quantity)
			}
		}
	}
}

// A calibration of the same rows says what is set aside as a fit of its own
// would. A build without a body is none of that: its weight is good.
func TestProve_Calibration(t *testing.T) {
	rows := workshopRows(1, 60)
	shot, body := rows.of[model.Shot], rows.of[model.Body]
	shot[45].Y += 0.6
	shot[45].Measured = shot[45].Base * math.Exp(shot[45].Y)
	body[50].Excluded = model.NoBody
	c, err := Fit(context.Background(), rows, Options{})
	if err != nil {
		t.Fatal(err)
	}
	lent, err := Prove(context.Background(), rows, ProofOptions{Seed: 1, Calibration: func() (*Calibration, error) { return c, nil }})
	if err != nil {
		t.Fatal(err)
	}
	for i, own := range prove(t, rows).Quantities {
		q := lent.Quantities[i]
		if !reflect.DeepEqual(q.Scored, own.Scored) || q.Robust.N != own.Robust.N {
			t.Errorf("%s: %d kept of %d, want %d of %d and the same ones", q.Quantity, q.Robust.N, q.N, own.Robust.N, own.N)
		}
	}
	if q := lent.Quantities[0]; q.Robust.N != q.N-1 {
		t.Errorf("weight: %d kept of %d, want all but one", q.Robust.N, q.N)
	}
	wrong := errors.New("no fit")
	_, err = Prove(context.Background(), rows, ProofOptions{Calibration: func() (*Calibration, error) { return nil, wrong }})
	if !errors.Is(err, wrong) {
		t.Errorf("without the fit: %v, want %v", err, wrong)
	}
}

func TestProve_Empty(t *testing.T) {
	p := prove(t, NewRows(map[model.Quantity][]model.Observation{}))
	if len(p.Cutoffs) != 0 || len(p.Quantities) != 3 || p.Quantities[0].Builds != 0 || p.Quantities[0].Better {
		t.Errorf("proof of nothing: %+v", p)
	}
}

// Running the same proof twice, on any number of processors, gives the same.
func TestProve_Deterministic(t *testing.T) {
	a, b := prove(t, workshopRows(3, 40)), prove(t, workshopRows(3, 40))
	for i := range a.Quantities {
		for j := range a.Quantities[i].Scored {
			x, y := a.Quantities[i].Scored[j], b.Quantities[i].Scored[j]
			for _, p := range Predictors {
				if math.Abs(x.Predicted[p]-y.Predicted[p]) > 1e-9 {
					t.Fatalf("%s: %s %v, then %v", x.Build, p, x.Predicted[p], y.Predicted[p])
				}
			}
		}
		if a.Quantities[i].Figures.MAERatio != b.Quantities[i].Figures.MAERatio {
			t.Errorf("ratio %v, then %v", a.Quantities[i].Figures.MAERatio, b.Quantities[i].Figures.MAERatio)
		}
	}
}

func BenchmarkProve(b *testing.B) {
	rows := workshopRows(1, 300)
	b.ReportAllocs()
	var p *Proof
	for b.Loop() {
		var err error
		if p, err = Prove(context.Background(), rows, ProofOptions{Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
	if p.Quantities[0].Builds != 295 {
		b.Fatalf("%d builds scored", p.Quantities[0].Builds)
	}
}

// Over several simulated shops the bands, weight as the sum of its parts
// included, hold what they promise.
func TestProve_Coverage(t *testing.T) {
	const shops = 8
	held := map[model.Quantity]float64{}
	for seed := range uint64(shops) {
		for _, q := range prove(t, workshopRows(seed+1, 80)).Quantities {
			held[q.Quantity] += q.Figures.Coverage.Achieved / shops
		}
	}
	for q, share := range held {
		if share < 0.93 || share > 0.985 {
			t.Errorf("%s: the 95 %% bands held %.3f", q, share)
		}
	}
	t.Log(held)
}
