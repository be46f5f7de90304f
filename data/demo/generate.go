package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"trueplait/model"
)

// How much the shop recorded.
const (
	buildCount = 300
	checkCount = 15
)

// Shop is the invented log.
type Shop struct {
	Builds   []model.Build // what builds.csv says, wrong figures too
	Fills    []model.Fill
	Checks   []model.Check
	Products []model.ProductLine
	Parts    []*model.Part // by product, in order of its list
	Truth    Truth

	files map[string][]byte
}

// File is the CSV of one kind of row, by name: "builds.csv". It is nil for a
// name that is not among [Files].
func (s *Shop) File(name string) []byte { return s.files[name] }

// Generate invents the shop's log. The same seed gives the same bytes.
func Generate(seed uint64) *Shop {
	g := &generator{
		rng:    rand.New(rand.NewPCG(seed, 0)),
		makers: makers(),
		lines:  lines(),
		saved:  map[string]float64{},
	}
	g.shop, g.apart = purchases()
	g.truth.Apart = g.makers[len(g.makers)-1].name
	g.drawLaws()

	builds := g.plan()
	for _, b := range builds {
		g.plait(b)
		g.note(b)
	}
	g.forget(builds)
	g.spoil(builds)
	g.noteChange(builds)
	fills := g.fill()
	checks := g.check()

	s := &Shop{Truth: g.truth, files: map[string][]byte{}}
	s.write(builds, fills, checks, g.lines)
	return s
}

// generator draws everything from one stream, in a fixed order.
type generator struct {
	rng         *rand.Rand
	makers      []maker
	lines       []line
	shop, apart supplies
	saved       map[string]float64 // factors of earlier plans
	truth       Truth
}

// build is a whip on its way from the plan to the log.
type build struct {
	model.Build // what the log will say
	maker       maker
	line        line
	base        map[model.Quantity]float64 // the planner's figures without factors, g or mm
	measured    map[model.Quantity]float64 // what scale and tape show, g or mm

	weight, length, shot, cut, left cell
}

// drawLaws draws the effect of every maker, batch and product.
func (g *generator) drawLaws() {
	var names, products []string
	for _, m := range g.makers {
		names = append(names, m.name)
	}
	for _, l := range g.lines {
		products = append(products, l.name)
	}
	levels := map[model.Effect][]string{
		model.Maker:       names,
		model.CoreBatch:   slices.Concat(g.shop.core.labels, []string{offcut}, g.apart.core.labels),
		model.StrandBatch: slices.Concat(g.shop.strand.labels, g.apart.strand.labels),
		model.ShotBatch:   slices.Concat(g.shop.shot.labels, g.apart.shot.labels),
		model.Product:     products,
	}
	g.truth.Laws = laws()
	for _, q := range model.Quantities {
		law, ok := g.truth.Laws[q]
		if !ok {
			continue
		}
		for _, e := range q.Effects() {
			for i, u := range g.spread(len(levels[e]), law.SD[e]) {
				law.Effects = append(law.Effects, model.LevelEffect{Effect: e, Level: levels[e][i], Value: u})
			}
		}
		g.truth.Laws[q] = law
	}
}

// spread draws n normal deviates and scales them to mean 0 and standard
// deviation sd exactly, so that every seed gives a shop of the same character.
func (g *generator) spread(n int, sd float64) []float64 {
	u := make([]float64, n)
	var sum, squares float64
	for i := range u {
		u[i] = g.rng.NormFloat64()
		sum += u[i]
	}
	for i := range u {
		u[i] -= sum / float64(n)
		squares += u[i] * u[i]
	}
	for i := range u {
		u[i] *= sd / math.Sqrt(squares/float64(n-1))
	}
	return u
}

// draw is exp of the mean, the effects of the labels and fresh scatter.
func (g *generator) draw(q model.Quantity, l model.Labels) float64 {
	return math.Exp(g.expected(q, l, 1) + g.truth.Laws[q].Scatter*g.rng.NormFloat64())
}

// expected is the mean and the effects of the labels, those of batches and
// products weakened to a share.
func (g *generator) expected(q model.Quantity, l model.Labels, share float64) float64 {
	law := g.truth.Laws[q]
	y := law.Mean + law.Effect(model.Maker, l.Maker)
	for _, e := range q.Effects() {
		if e != model.Maker {
			y += share * law.Effect(e, l.Get(e))
		}
	}
	return y
}

// plan decides who makes what when, from which batches, and by what figures.
func (g *generator) plan() []*build {
	var builds []*build
	days := int(closing.Sub(opening) / day)
	for i := range buildCount {
		b := &build{base: map[model.Quantity]float64{}, measured: map[model.Quantity]float64{}}
		b.ID = fmt.Sprintf("W%03d", i+1)
		b.Date = opening.AddDate(0, 0, days*i/(buildCount-1))
		b.maker = pick(g.rng, g.makers, func(m maker) float64 { return m.share })
		b.line = pick(g.rng, g.lines, func(l line) float64 { return l.share })
		switch i {
		case oddSize:
			b.maker, b.line = g.makers[0], g.lines[len(g.lines)-1]
			g.truth.Custom = b.ID
		case lone:
			b.maker = g.makers[2]
		}
		g.label(b)
		if i == lone {
			b.CoreBatch = offcut
		}
		g.figures(b)
		g.remember(b)
		builds = append(builds, b)
	}
	return builds
}

// The builds, counted from 0, that are special before they are made.
const (
	lone    = 93  // takes the offcut
	oddSize = 141 // the customer's own size
)

// pick draws one of items with chances in proportion to share.
func pick[T any](rng *rand.Rand, items []T, share func(T) float64) T {
	u := rng.Float64()
	for _, item := range items {
		if u -= share(item); u < 0 {
			return item
		}
	}
	return items[0]
}

// label takes the batches that are open at the maker's bench.
func (g *generator) label(b *build) {
	from, since := g.shop, b.Date.Add(-b.maker.lag)
	if b.maker.apart {
		from = g.apart
	}
	b.Labels = model.Labels{
		Maker:       b.maker.name,
		Product:     b.line.name,
		CoreBatch:   from.core.at(since),
		StrandBatch: from.strand.at(since),
		ShotBatch:   from.shot.at(since),
	}
}

// figures plans the whip. A customer's own length makes another parts list of
// the product's, and the log states what the planner made of it, rounded as it
// prints. In later years plans are multiplied by saved factors, and the log
// states them too. All other plans are the product's own: the log leaves them
// blank.
func (g *generator) figures(b *build) {
	plan := b.line.plan
	loadIn := loaded(plan).LoadLengthMM / model.MMPerInch
	size := math.Exp(0.04 * g.rng.NormFloat64())
	resizedIn := math.Round(loadIn*size*math.Exp(0.03*g.rng.NormFloat64())*4) / 4
	stated := g.rng.Float64() < 0.28 && b.line.name != custom
	if stated {
		plan, loadIn = design(resized(b.line.parts, size, resizedIn)), resizedIn
	}
	b.base = map[model.Quantity]float64{model.Shot: plan.ShotG, model.Body: plan.BodyG, model.Length: plan.LengthMM}

	shot, body, length := 1.0, 1.0, 1.0 // factors inside
	b.ShotFactor, b.BodyFactor, b.LengthFactor = model.Unknown, model.Unknown, model.Unknown
	if b.maker.saves && !b.Date.Before(factorsOn) && b.line.name != custom && g.rng.Float64() < 0.75 {
		stated = true
		shot, body, length = g.factor(model.Shot, b.Labels), g.factor(model.Body, b.Labels), g.factor(model.Length, b.Labels)
		b.ShotFactor, b.BodyFactor, b.LengthFactor = shot, body, length
	}
	b.PredictedShotG, b.PredictedWeightG, b.PredictedLengthMM = model.Unknown, model.Unknown, model.Unknown
	if stated {
		b.PredictedShotG = round(plan.ShotG*shot, 1)
		b.PredictedWeightG = round(plan.ShotG*shot+plan.BodyG*body, 0)
		b.PredictedLengthMM = round(plan.LengthMM*length, 0)
	}

	b.LoadLengthMM = g.sometimes(0.93, loadIn*model.MMPerInch)
	b.PredictedStrandMM = model.Unknown
	if b.maker.offcuts != nil && !b.Date.Before(strandsOn) && g.rng.Float64() < 0.58 {
		b.base[model.Strand] = plan.StrandMM
		if stated {
			b.PredictedStrandMM = round(plan.StrandMM, 0)
		}
	}
}

// remember notes when the whip was begun and how humid it was, where someone
// did.
func (g *generator) remember(b *build) {
	if g.rng.Float64() < 0.15 {
		b.Started = b.Date.AddDate(0, 0, -2-g.rng.IntN(8))
	}
	b.Humidity = model.Unknown
	if b.maker.name == g.makers[0].name && g.rng.Float64() < 0.5 {
		b.Humidity = round(52+8*math.Cos(2*math.Pi*float64(b.Date.YearDay()-210)/365)+4*g.rng.NormFloat64(), 0)
	}
}

// factor is the factor an earlier calibration would have saved for these
// labels: near the truth, with batches drawn toward the shop's mean.
func (g *generator) factor(q model.Quantity, l model.Labels) float64 {
	key := string(q)
	for _, e := range q.Effects() {
		key += "\x00" + l.Get(e)
	}
	if _, ok := g.saved[key]; !ok {
		g.saved[key] = round(math.Exp(g.expected(q, l, 0.85)+0.008*g.rng.NormFloat64()), 3)
	}
	return g.saved[key]
}

// plait makes the whip, weighs it and lays a tape along it.
func (g *generator) plait(b *build) {
	shot := b.base[model.Shot] * g.draw(model.Shot, b.Labels)
	if b.CoreBatch == g.shop.core.newest() && !b.Date.Before(changed) {
		shot *= changeRate
	}
	b.measured[model.Shot] = shot
	b.measured[model.Weight] = shot + b.base[model.Body]*g.draw(model.Body, b.Labels)
	b.measured[model.Length] = b.base[model.Length] * g.draw(model.Length, b.Labels)

	// Now and then a whip is weighed or measured at someone else's bench.
	weighs, tapes := b.maker.weighs, b.maker.tapes
	if g.rng.Float64() < 0.15 {
		other := g.makers[g.rng.IntN(len(g.makers))]
		weighs, tapes = other.weighs, other.tapes
	}
	b.weight = weighs(b.measured[model.Weight])
	b.length = tapes(b.measured[model.Length])
	b.shot = b.maker.loads(b.measured[model.Shot])

	b.cut, b.left = blank, blank
	if base, ok := b.base[model.Strand]; ok {
		used := base * g.draw(model.Strand, b.Labels)
		b.cut = b.maker.offcuts(b.maker.cutsTo * math.Ceil((base*1.06+tailMM)/b.maker.cutsTo))
		b.left = b.maker.offcuts(b.cut.value - used)
	}
}

// sometimes is a figure that is noted with the given chance.
func (g *generator) sometimes(chance, x float64) float64 {
	if g.rng.Float64() < chance {
		return x
	}
	return model.Unknown
}

// noteChange keeps, for the truth only, where the newest core batch changed as
// the log shows it.
func (g *generator) noteChange(builds []*build) {
	c := &g.truth.Change
	c.CoreBatch, c.Factor = g.shop.core.newest(), changeRate
	for _, b := range builds {
		if b.CoreBatch != c.CoreBatch || b.Date.Before(changed) {
			continue
		}
		if c.Builds == 0 {
			c.Build, c.Date = b.ID, b.Date
		}
		c.Builds++
	}
}

// fill tests every core batch but the offcut before its first whip: three
// lengths, or two.
func (g *generator) fill() []*fill {
	var fills []*fill
	last := len(g.makers) - 1
	lengths := []float64{5, 6, 8, 10}       // inches
	load := loaded(g.lines[0].plan).ShotGMM // every core is of one cord
	for _, bench := range []struct {
		supplies
		makers []maker
	}{{g.shop, g.makers[:last]}, {g.apart, g.makers[last:]}} {
		for i, core := range bench.core.labels {
			m := bench.makers[i%len(bench.makers)]
			opened := bench.core.opened[i]
			for range 3 - i%3/2 {
				f := &fill{}
				f.Date = opened.Add(m.lag)
				f.Labels = model.Labels{Maker: m.name, CoreBatch: core, ShotBatch: bench.shot.at(opened)}
				f.length = m.tapes(lengths[g.rng.IntN(len(lengths))] * model.MMPerInch)
				base := f.length.value * load
				f.mass = m.loads(base * g.draw(model.Shot, f.Labels))
				f.PredictedShotG = g.sometimes(0.25, round(base, 1))
				fills = append(fills, f)
			}
		}
	}
	slices.SortStableFunc(fills, func(a, b *fill) int { return a.Date.Compare(b.Date) })
	for i, f := range fills {
		f.ID = fmt.Sprintf("F%02d", i+1)
		f.FilledLengthMM, f.ShotMassG = f.length.value, f.mass.value
	}
	return fills
}

// check weighs a length of every strand batch when it comes in, and a second
// length of the shop's newest a month later.
func (g *generator) check() []*check {
	var checks []*check
	weigh := func(batch string, date time.Time) {
		lengths := []cell{{"5 m", 5000}, {"8 m", 8000}, {"20 ft", 20 * model.MMPerFoot}, {"30 ft", 30 * model.MMPerFoot}}
		c := &check{}
		c.Date, c.StrandBatch = date, batch
		c.length = lengths[g.rng.IntN(len(lengths))]
		base := c.length.value / 1000 * strandGM
		c.mass = tenthGrams(base * g.draw(model.Body, c.Labels))
		c.PredictedMassG = g.sometimes(0.3, round(base, 1))
		checks = append(checks, c)
	}
	for _, s := range []supply{g.shop.strand, g.apart.strand} {
		for i, batch := range s.labels {
			weigh(batch, s.opened[i])
		}
	}
	newest := g.shop.strand
	for i := len(newest.labels) - 1; len(checks) < checkCount; i-- {
		weigh(newest.labels[i], newest.opened[i].Add(30*day))
	}
	slices.SortStableFunc(checks, func(a, b *check) int { return a.Date.Compare(b.Date) })
	for i, c := range checks {
		c.ID = fmt.Sprintf("K%02d", i+1)
		c.CheckedLengthMM, c.CheckedMassG = c.length.value, c.mass.value
	}
	return checks
}

// fill and check are rows with two figures as written.
type fill struct {
	model.Fill
	length, mass cell
}

type check struct {
	model.Check
	length, mass cell
}

func round(x float64, digits int) float64 {
	step := math.Pow10(digits)
	return math.Round(x*step) / step
}
