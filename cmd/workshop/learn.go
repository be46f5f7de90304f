package workshop

import "context"

// learnt is the last fit that followed a write.
type learnt struct {
	writes      int // commits of rows that it took in
	before, now *state
	err         error
}

// learn fits the factors anew after a write, and returns what was known before
// and after. Fitting takes longer than writing: those who wrote while another
// was fitting share the one fit that comes next, so that a full house does not
// wait for a fit each. The caller holds after, and not the log.
func (b *Bench) learn(ctx context.Context, write int) (before, now *state, err error) {
	if b.learnt.writes < write {
		b.log.Lock()
		defer b.log.Unlock()
		b.learnt = learnt{writes: b.writes, before: b.state.Load()}
		b.learnt.err = b.refit(ctx, true)
		b.learnt.now = b.state.Load()
	}
	return b.learnt.before, b.learnt.now, b.learnt.err
}
