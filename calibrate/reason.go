package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"trueplait/model"
)

// setAside lists the rows of q that its fit left out, by date then id, with
// the reason in words. overall is the factor of the quantity over all rows,
// which a slip of units is judged against.
func setAside(q model.Quantity, excluded []model.Excluded, far []model.Flagged, overall float64) []SetAside {
	var out []SetAside
	for _, x := range excluded {
		s := SetAside{Key: x.Key, Date: x.Date, Ratio: x.Ratio, Reason: x.Reason}
		switch x.Reason {
		case model.UnitSlip:
			s.Text = model.GuessSlip(q.Dimension(), x.Ratio, overall).String()
		case model.SlipInPart:
			s.Text = "its weight or shot used looks like another unit"
		case model.ByHand:
			s.Text = "by hand"
			if x.Note != "" {
				s.Text = "by hand: " + x.Note
			}
		case model.NoBody:
			s.Text = "the finished weight is not above the shot used: check both"
		case model.AsideShot:
			s.Text = "its shot was set aside"
		}
		out = append(out, s)
	}
	for _, f := range far {
		s := SetAside{Key: f.Key, Date: f.Date, Ratio: f.Ratio}
		if f.Lone != "" {
			s.Reason = model.OnlyRow
			s.Text = fmt.Sprintf("check this row: the only one of %s %s, and %s the rest", f.Lone.Word(), f.Labels.Get(f.Lone), offBy(f.Ratio/overall))
		} else {
			s.Reason = model.FarOut
			s.Text = fmt.Sprintf("far from the rest: %s what these hands and batches give; check the entry", offBy(math.Exp(f.T)))
		}
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b SetAside) int {
		return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Key.ID, b.Key.ID), cmp.Compare(a.Key.Kind, b.Key.Kind))
	})
	return out
}

// offBy puts a ratio in words: "31 % below".
func offBy(ratio float64) string {
	if ratio < 1 {
		return fmt.Sprintf("%.0f %% below", 100*(1-ratio))
	}
	return fmt.Sprintf("%.0f %% above", 100*(ratio-1))
}
