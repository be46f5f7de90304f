package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"trueplait/model"
)

// Settings of the scores.
const (
	bandCoverage   = 0.95
	bootstrapDraws = 2000
)

// figures sums up scored builds, in the order they were predicted.
func figures(builds []Scored, seed uint64) Figures {
	f := Figures{
		N: len(builds), Scores: map[Predictor]Score{},
		Coverage:  Coverage{Nominal: bandCoverage, Achieved: model.Unknown, Low: model.Unknown, High: model.Unknown},
		MeanWidth: model.Unknown, IntervalScore: model.Unknown,
	}
	for _, p := range Predictors {
		f.Scores[p] = score(builds, p)
	}
	none := Ratio{model.Unknown, model.Unknown, model.Unknown}
	f.MAERatio, f.MAERatioRunningMean = none, none
	if f.N == 0 {
		return f
	}
	n := float64(f.N)
	inside := 0.0
	f.MeanWidth, f.IntervalScore = 0, 0
	for _, b := range builds {
		if b.Low <= b.Measured && b.Measured <= b.High {
			inside++
		}
		f.MeanWidth += (b.High - b.Low) / n
		f.IntervalScore += intervalScore(b.Low, b.High, b.Measured, 1-bandCoverage) / n
	}
	f.Coverage.Achieved = inside / n
	f.resample(builds, inside, seed)
	return f
}

// score sums up the errors of one predictor, predicted less measured.
func score(builds []Scored, p Predictor) Score {
	if len(builds) == 0 {
		return Score{model.Unknown, model.Unknown, model.Unknown, model.Unknown}
	}
	var s Score
	n := float64(len(builds))
	for _, b := range builds {
		e := b.Predicted[p] - b.Measured
		s.Bias += e / n
		s.MAE += math.Abs(e) / n
		s.RMSE += e * e / n
		s.MAPE += math.Abs(e) / b.Measured / n
	}
	s.RMSE = math.Sqrt(s.RMSE)
	return s
}

// intervalScore is the width of a central 1−α interval plus 2/α times how far
// x lies outside: small is good. Gneiting & Raftery (2007), JASA 102:359,
// eq. 43.
func intervalScore(low, high, x, alpha float64) float64 {
	s := high - low
	if x < low {
		s += 2 / alpha * (low - x)
	}
	if x > high {
		s += 2 / alpha * (x - high)
	}
	return s
}

// resample fills the ratios of mean absolute errors and the coverage limits by
// a circular block bootstrap of consecutive builds: errors of neighbours are
// alike, since they share batches. Politis & Romano (1992).
func (f *Figures) resample(builds []Scored, inside float64, seed uint64) {
	n := len(builds)
	sums := func(of func(b *Scored) float64) []float64 {
		s := make([]float64, 2*n+1) // cumulative, twice round the circle
		for i := range 2 * n {
			s[i+1] = s[i] + of(&builds[i%n])
		}
		return s
	}
	off := func(p Predictor) []float64 {
		return sums(func(b *Scored) float64 { return math.Abs(b.Predicted[p] - b.Measured) })
	}
	series := [4][]float64{off(Calibrated), off(Planner), off(RunningMean), sums(func(b *Scored) float64 {
		if b.Low <= b.Measured && b.Measured <= b.High {
			return 1
		}
		return 0
	})}
	block := blockLength(builds)
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	var planner, running, cover []float64
	for range bootstrapDraws {
		var total [4]float64
		for left := n; left > 0; left -= block {
			from, size := r.IntN(n), min(block, left)
			for k := range series {
				total[k] += series[k][from+size] - series[k][from]
			}
		}
		if total[1] > 0 && total[2] > 0 {
			planner = append(planner, total[0]/total[1])
			running = append(running, total[0]/total[2])
		}
		cover = append(cover, total[3]/float64(n))
	}
	last := n
	f.MAERatio = ratio(series[0][last], series[1][last], planner)
	f.MAERatioRunningMean = ratio(series[0][last], series[2][last], running)
	low, high := percentiles(cover)
	wilsonLow, wilsonHigh := wilson(inside, float64(n))
	f.Coverage.Low, f.Coverage.High = math.Min(low, wilsonLow), math.Max(high, wilsonHigh)
}

// ratio is a/b with the percentile limits of its draws; unknown where the
// errors below the line are all 0.
func ratio(a, b float64, draws []float64) Ratio {
	if b == 0 || len(draws) == 0 {
		return Ratio{model.Unknown, model.Unknown, model.Unknown}
	}
	low, high := percentiles(draws)
	return Ratio{a / b, low, high}
}

// percentiles are the 2.5 % and 97.5 % quantiles, interpolated linearly
// between order statistics. It sorts x.
func percentiles(x []float64) (low, high float64) {
	slices.Sort(x)
	at := func(p float64) float64 {
		h := p * float64(len(x)-1)
		i := int(h)
		if i+1 >= len(x) {
			return x[len(x)-1]
		}
		return x[i] + (h-float64(i))*(x[i+1]-x[i])
	}
	return at((1 - bandCoverage) / 2), at((1 + bandCoverage) / 2)
}

// wilson is the 95 % score interval of a share. Wilson (1927), JASA 22:209.
func wilson(k, n float64) (low, high float64) {
	z := distuv.UnitNormal.Quantile((1 + bandCoverage) / 2)
	p := k / n
	middle := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return middle - half, middle + half
}

// blockLength is how many consecutive builds are drawn together: the cube root
// of their number, or the median number of builds to a core batch if that is
// more.
func blockLength(builds []Scored) int {
	count := map[string]int{}
	for _, b := range builds {
		if b.Labels.CoreBatch != "" {
			count[b.Labels.CoreBatch]++
		}
	}
	var sizes []float64
	for _, n := range count {
		sizes = append(sizes, float64(n))
	}
	length := int(math.Ceil(math.Cbrt(float64(len(builds)))))
	if m := median(sizes); m > float64(length) {
		length = int(m)
	}
	return min(length, len(builds))
}
