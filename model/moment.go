package model

// moment is a mass and its first moment about the butt.
type moment struct {
	g   float64
	gmm float64 // g·mm
}

// uniform is a mass spread evenly from one place to another, in mm; at one
// place where the two are the same.
func uniform(g, from, to float64) moment {
	return moment{g, g * (from + to) / 2}
}

func (m moment) plus(o moment) moment {
	return moment{m.g + o.g, m.gmm + o.gmm}
}

func (m moment) times(f float64) moment {
	return moment{m.g * f, m.gmm * f}
}

// balance is the balance point Σ m x/Σ m, mm from the butt; NaN without mass.
func (m moment) balance() float64 {
	if m.g == 0 {
		return Unknown
	}
	return m.gmm / m.g
}
