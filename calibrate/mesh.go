package calibrate

// mesh is the cells in the order of the levels of one effect, the pivot, that
// of the most levels. A row has one of them at most, so these levels can be
// eliminated one by one while their cells are at hand, and never need memory of
// their own.
type mesh struct {
	pivot       int
	first, next int     // its levels
	start       []int32 // links of each of them; the last ones have none
	links       []link
	longest     int // of a level's
}

// link is a cell by what it has besides the pivot.
type link struct {
	n     float64
	at    [maxEffects - 1]int32 // other levels, numbered without the pivot's; −1: none
	blank uint8
}

func newMesh(s *system) *mesh {
	m := &mesh{}
	count := make([]int, len(s.effects)+1)
	for _, l := range s.levels {
		count[l.effect]++
	}
	for k := range s.effects {
		if count[k] > count[m.pivot] {
			m.pivot = k
		}
	}
	for k := range m.pivot {
		m.first += count[k]
	}
	m.next = m.first + count[m.pivot]
	levels := m.next - m.first
	place := func(c *cell) int {
		if l := c.at[m.pivot]; l >= 0 {
			return int(l) - m.first
		}
		return levels
	}
	m.start = make([]int32, levels+2)
	for i := range s.cells {
		m.start[place(&s.cells[i])+1]++
	}
	for l := range levels + 1 {
		if l < levels {
			m.longest = max(m.longest, int(m.start[l+1]))
		}
		m.start[l+1] += m.start[l]
	}
	at := append([]int32(nil), m.start...)
	m.links = make([]link, len(s.cells))
	for i := range s.cells {
		c := &s.cells[i]
		to := &m.links[at[place(c)]]
		at[place(c)]++
		*to = link{n: c.n, at: [maxEffects - 1]int32{-1, -1, -1}, blank: c.blank % (1 << maxEffects)}
		others := 0
		for k, l := range c.at {
			if l >= 0 && k != m.pivot {
				to.at[others] = int32(m.without(int(l)))
				others++
			}
		}
	}
	return m
}

// without is the number of a level, not the pivot's, when those are left out.
func (m *mesh) without(l int) int {
	if l >= m.next {
		return l - (m.next - m.first)
	}
	return l
}

// of are the links of the pivot's level i.
func (m *mesh) of(i int) []link { return m.links[m.start[i]:m.start[i+1]] }

// loose are the links without a level of the pivot.
func (m *mesh) loose() []link { return m.links[m.start[len(m.start)-2]:] }

// sum adds up the vectors of the link's levels.
func (x *link) sum(of lanes) (f [width]float64) {
	for _, l := range x.at {
		if l < 0 {
			break
		}
		u := &of[l]
		f[0] += u[0]
		f[1] += u[1]
		f[2] += u[2]
		f[3] += u[3]
	}
	return f
}

// add adds f to the vectors of the link's levels.
func (x *link) add(to lanes, f [width]float64) {
	for _, l := range x.at {
		if l < 0 {
			break
		}
		u := &to[l]
		u[0] += f[0]
		u[1] += f[1]
		u[2] += f[2]
		u[3] += f[3]
	}
}
