// Package calibrate learns from a log how far the planner is off, and says what
// follows from it.
//
//  1. A [Source] sums up the observations of a quantity per combination of
//     labels: cells, and nothing else, reach the fit.
//  2. system.go and solution.go hold the mixed model of those cells, solved at
//     given ratios of spreads; sparsity.go and factor.go are the algebra, as
//     large as what batches have to do with each other. reml.go finds the most
//     likely ratios, stepping as descent.go does. Where that would not end,
//     large.go says what is done instead.
//  3. aside.go sets aside what is far from the fit, and repeats.
//  4. posterior.go, explorer.go, design.go and mixture.go take all spreads into
//     account that the rows allow, so that limits hold from the first build on;
//     belief.go keeps up with rows that come in.
//  5. [Fit] makes a [Calibration] of it: factors per maker and batch. pool.go lets
//     it borrow what other workshops have in common, share.go says what it lends
//     them.
//  6. plan.go, promise.go: a calibration put into a design, and what can be
//     promised of the next build.
//  7. proof.go, consistency.go and drift.go look back: whether predictions got
//     better, whether a product is made alike, whether hands or cord changed.
//
// Ratios are natural logarithms, ln(measured/base); masses are grams and
// lengths millimetres. What cannot be told is NaN.
package calibrate
