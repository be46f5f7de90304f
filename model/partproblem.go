package model

import "errors"

// ErrDropped is the warning that strands are dropped where the thong thins: as
// it should be, and worth a line on the plan only.
var ErrDropped = errors.New("are dropped on the way")

// PartProblem is what is wrong, or odd, with one cell of a parts list.
type PartProblem struct {
	Origin
	Part   string
	Column string // of the CSV
	Text   string // the value, as a number with its unit
	Err    error  // the problem and the remedy
}

// Error is FILE:LINE: COLUMN: "text" problem and remedy.
func (p *PartProblem) Error() string {
	return p.Origin.String() + ": " + p.Cell()
}

// Cell is the problem without file and line: COLUMN: "text" problem and
// remedy.
func (p *PartProblem) Cell() string {
	return p.Column + ": \"" + p.Text + "\" " + p.Err.Error()
}

// Unwrap returns the problem.
func (p *PartProblem) Unwrap() error { return p.Err }
