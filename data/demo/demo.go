// Package demo is an invented whip shop: two and a half years of its log, as
// four makers would have written it, and the truth behind it.
//
// The shop, its people and every figure are invented. The CSV files are what
// Generate(Seed) makes, byte for byte. What was planned is the planner's own
// work, from the parts lists of the shop's products. [Truth] says what a
// calibration ought to find in the log: how far each maker and batch is off,
// which rows hold slips of the pen, and when a batch changed without anyone
// noting it.
package demo

import "embed"

// Files holds builds.csv, fills.csv, checks.csv, products.csv and parts.csv.
//
//go:embed builds.csv fills.csv checks.csv products.csv parts.csv
var Files embed.FS

// Seed is the seed that the embedded files were made with: the first from 200
// on whose shop has every case that the tests of this package count.
const Seed = 200
