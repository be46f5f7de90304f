package calibrate

import (
	"math"
	"sort"
	"time"

	"trueplait/model"
)

// naive knows the two corrections that a maker could work out by head from the
// builds before a day.
type naive struct {
	day     []time.Time // of eligible builds, in order
	y       []float64
	sum     []float64 // of y up to and with each
	byMaker map[string][]int
}

func newNaive(obs []model.Observation) *naive {
	n := &naive{byMaker: map[string][]int{}}
	sum := 0.0
	for i := range obs {
		o := &obs[i]
		if o.Excluded != "" || o.Key.Kind != model.Builds {
			continue
		}
		sum += o.Y
		if o.Labels.Maker != "" {
			n.byMaker[o.Labels.Maker] = append(n.byMaker[o.Labels.Maker], len(n.y))
		}
		n.day, n.y, n.sum = append(n.day, o.Date), append(n.y, o.Y), append(n.sum, sum)
	}
	return n
}

// before returns exp of the mean y of the builds before the day, and the last
// ratio of this maker; that mean, where there is none, and 1 without any build.
func (n *naive) before(day time.Time, maker string) (running, last float64) {
	count := sort.Search(len(n.day), func(i int) bool { return !n.day[i].Before(day) })
	if count == 0 {
		return 1, 1
	}
	running = math.Exp(n.sum[count-1] / float64(count))
	own := n.byMaker[maker]
	if i := sort.SearchInts(own, count); i > 0 {
		return running, math.Exp(n.y[own[i-1]])
	}
	return running, running
}
