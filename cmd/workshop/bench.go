package workshop

import (
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/data/postgres"
	"trueplait/data/reference"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// Bench is a workshop in daily use. Its methods may be called at once: what
// works on the log waits for its turn, what is known already does not.
type Bench struct {
	workshop *Workshop
	opt      BenchOptions
	log      sync.Mutex // held by whoever works on the log
	writes   int        // commits of rows; for whoever holds the log
	state    atomic.Pointer[state]

	// Those who wrote rows wait here for what follows from them. It is taken
	// without the log and before it.
	after  sync.Mutex
	learnt learnt
}

var _ bench.Shop = (*Bench)(nil)

// BenchOptions of a bench.
type BenchOptions struct {
	Name string // what rows are said to come from: "bench page"
	Path string // of the log, or its address without password, to be shown
	Save bool   // keep the calibration fitted after each entry
}

// state is what is known at one moment, with what only the bench needs.
type state struct {
	bench.Snapshot
	designs map[string]*model.Design // by product
	shared  data.SettleOptions
	fills   []*model.Fill
}

// plenty is the memory in bytes from which garbage is collected without delay:
// far above what fits of a shop's log need, but files that are brought in from
// several sides at once come to more.
const plenty = 384 << 20

// NewBench fits the factors for the first time.
func NewBench(ctx context.Context, w *Workshop, opt BenchOptions) (*Bench, error) {
	debug.SetMemoryLimit(plenty)
	b := &Bench{workshop: w, opt: opt}
	b.log.Lock()
	defer b.log.Unlock()
	return b, b.refit(ctx, false)
}

// Now is what is known at this moment.
func (b *Bench) Now(ctx context.Context) (*bench.Snapshot, error) {
	s := b.state.Load()
	today, err := b.workshop.opt.Clock()
	if err != nil || sameDay(today, s.Today) {
		return &s.Snapshot, err
	}
	now := s.Snapshot
	now.Today = today
	return &now, nil
}

// refit fits the factors from what the log holds now, and notes it all. The
// caller holds the log.
func (b *Bench) refit(ctx context.Context, save bool) error {
	if save && b.opt.Save {
		cal, err := b.workshop.Calibrate(ctx, nil)
		if err != nil {
			return err
		}
		return b.note(ctx, cal)
	}
	if err := b.workshop.Reread(ctx); err != nil {
		return err
	}
	cal, err := b.workshop.Fit(ctx)
	if err != nil {
		return err
	}
	return b.note(ctx, cal)
}

// note notes what is known with a calibration. The caller holds the log.
func (b *Bench) note(ctx context.Context, cal *calibrate.Calibration) error {
	s := &state{}
	if before := b.state.Load(); before != nil {
		s.Version = before.Version + 1
	}
	s.Calibration, s.Log, s.Program = cal, b.opt.Path, b.workshop.opt.Program
	s.OnServer = postgres.Is(b.opt.Path)
	for _, gather := range []func(context.Context, *state) error{
		b.today, b.splits, b.openBuilds, b.designs, b.labels, b.products, b.newest, b.nextIDs, b.units, b.fills,
	} {
		if err := gather(ctx, s); err != nil {
			return err
		}
	}
	lines := make([]*model.ProductLine, 0, len(s.Products))
	for _, p := range s.Products {
		if p.Line != nil {
			lines = append(lines, p.Line)
		}
	}
	s.Advice = report.Advise(report.Page{Calibration: cal, Products: lines, Fills: s.fills})
	b.state.Store(s)
	return nil
}

func (b *Bench) today(_ context.Context, s *state) (err error) {
	s.Today, err = b.workshop.opt.Clock()
	return err
}

func (b *Bench) openBuilds(ctx context.Context, s *state) (err error) {
	s.Open, err = b.workshop.Log.OpenBuilds(ctx)
	return err
}

func (b *Bench) designs(ctx context.Context, s *state) error {
	lists, products, err := b.workshop.partsLists(ctx)
	if err != nil {
		return err
	}
	s.designs = map[string]*model.Design{}
	var all []*model.Design
	for _, product := range products {
		if d, problems := model.NewDesign(lists[product], reference.Materials()); problems == nil {
			s.designs[product] = d
			all = append(all, d)
		}
	}
	s.shared = shared(all)
	return nil
}

// labels lists the labels that a row may have: those of the newest builds
// first, then the others, later ones first as numbers and letters go.
func (b *Bench) labels(ctx context.Context, s *state) error {
	const recent = 200 // builds whose batches are likely to be in use
	rows, _, err := b.workshop.Log.Search(ctx, model.Builds, "", recent, 0)
	if err != nil {
		return err
	}
	s.Labels = map[model.Effect][]string{}
	for _, e := range model.Effects {
		names, err := b.workshop.Log.Labels(ctx, e)
		if err != nil {
			return err
		}
		var out []string
		seen := map[string]bool{}
		add := func(label string) {
			if label != "" && !seen[label] {
				seen[label] = true
				out = append(out, label)
			}
		}
		for _, row := range rows {
			add(row.(*model.Build).Labels.Get(e))
		}
		for _, name := range slices.Backward(names) {
			if model.Unsplit(name, e, s.Splits) == name { // a split's level is no label of a row
				add(name)
			}
		}
		s.Labels[e] = out
	}
	for i, row := range rows {
		const shown = 8
		if i == shown {
			break
		}
		s.Newest = append(s.Newest, row.(*model.Build))
	}
	return nil
}

func (b *Bench) products(ctx context.Context, s *state) error {
	lines, err := b.workshop.Products(ctx)
	if err != nil {
		return err
	}
	byName := map[string]*bench.Product{}
	for _, name := range s.Labels[model.Product] {
		uses, err := b.workshop.Log.Uses(ctx, model.Product, name)
		if err != nil {
			return err
		}
		byName[name] = &bench.Product{Name: name, Builds: uses[model.Builds]}
	}
	for _, line := range lines {
		if byName[line.Product] == nil {
			byName[line.Product] = &bench.Product{Name: line.Product}
		}
		byName[line.Product].Line, byName[line.Product].Description = line, line.Description
	}
	for _, p := range byName {
		p.Planned = s.designs[p.Name] != nil
		s.Products = append(s.Products, *p)
	}
	slices.SortFunc(s.Products, func(a, b bench.Product) int { return strings.Compare(a.Name, b.Name) })
	return nil
}

func (b *Bench) newest(ctx context.Context, s *state) (err error) {
	_, s.Latest, _, err = b.workshop.Src.Latest(ctx, "")
	for _, e := range model.Effects {
		s.Latest.Set(e, model.Unsplit(s.Latest.Get(e), e, s.Splits))
	}
	return err
}

// nextIDs suggests ids for the next rows: the newest one's, counted up.
func (b *Bench) nextIDs(ctx context.Context, s *state) error {
	s.NextID = map[model.Kind]string{}
	for _, kind := range []model.Kind{model.Builds, model.Fills, model.Checks} {
		id, err := b.workshop.Log.NewestID(ctx, kind)
		if err != nil {
			return err
		}
		if id == "" {
			id = map[model.Kind]string{model.Builds: "B0", model.Fills: "F0", model.Checks: "C0"}[kind]
		}
		for taken := true; taken && id != ""; {
			id = countUp(id)
			if taken, err = b.workshop.Log.Has(ctx, kind, id); err != nil {
				return err
			}
		}
		s.NextID[kind] = id
	}
	return nil
}

// countUp counts up the number that an id ends in, keeping leading zeros; "" of
// an id that ends in none.
func countUp(id string) string {
	stem := strings.TrimRight(id, "0123456789")
	digits := id[len(stem):]
	n, err := strconv.ParseUint(digits, 10, 63)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("%s%0*d", stem, len(digits), n+1)
}

func (b *Bench) units(ctx context.Context, s *state) error {
	units, err := b.workshop.Log.Units(ctx)
	s.Units = map[string]report.Units{}
	for maker, u := range units {
		s.Units[maker] = report.Units(u)
	}
	return err
}

func (b *Bench) splits(ctx context.Context, s *state) (err error) {
	s.Splits, err = b.workshop.Log.Splits(ctx)
	return err
}

func (b *Bench) fills(ctx context.Context, s *state) error {
	for row, err := range b.workshop.Log.Rows(ctx, model.Fills, b.workshop.opt.Through) {
		if err != nil {
			return err
		}
		s.fills = append(s.fills, row.(*model.Fill))
	}
	return nil
}

// write takes the log for a write, and returns its context and what gives the
// log back. What was asked for is carried through though the browser that asked
// is gone: a phone loses its network at any moment.
func (b *Bench) write(ctx context.Context) (context.Context, func()) {
	b.log.Lock()
	return context.WithoutCancel(ctx), b.log.Unlock
}

// SetUnits remembers in which units a maker is shown figures.
func (b *Bench) SetUnits(ctx context.Context, maker string, u report.Units) error {
	ctx, done := b.write(ctx)
	defer done()
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return err
	}
	if err := b.workshop.Log.SetUnits(ctx, maker, string(u), at); err != nil {
		return err
	}
	return b.note(ctx, b.state.Load().Calibration)
}

// Split makes rows of a maker or batch a level of their own from a day on.
func (b *Bench) Split(ctx context.Context, s model.Split) error {
	return b.resplit(ctx, s, b.workshop.Log.Split)
}

// Unsplit undoes a split.
func (b *Bench) Unsplit(ctx context.Context, s model.Split) error {
	return b.resplit(ctx, s, b.workshop.Log.Unsplit)
}
