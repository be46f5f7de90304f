package main

import (
	"github.com/alecthomas/kong"

	"trueplait/model"
)

// fillCmd enters a test fill.
type fillCmd struct {
	Edit string `placeholder:"FILL" help:"Correct this test fill: options replace what it states, the rest stays. What it said before is kept in its history."`
	Yes  bool   `help:"Save without asking, although something looks wrong."`

	fillColumns `embed:"" group:"The row:"`
}

// fillColumns are the columns of a test fill. Their names are those of files,
// with dashes.
type fillColumns struct {
	Fill          string `placeholder:"ID" help:"The test fill (default: the next free id)."`
	Date          string `placeholder:"DATE" help:"When it was made (default: today)."`
	Maker         string `placeholder:"NAME" help:"Who filled it."`
	CoreBatch     string `placeholder:"LABEL" help:"Batch of the core cord."`
	ShotBatch     string `placeholder:"LABEL" help:"Batch of the shot."`
	FilledLength  string `placeholder:"LENGTH" help:"Length of core that was filled, e.g. 6in."`
	ShotMass      string `placeholder:"MASS" help:"Shot that it took, e.g. 13.2g."`
	PredictedShot string `placeholder:"MASS" help:"What the planner says it takes (default: worked out from builds, else from the parts list)."`
	Note          string `placeholder:"TEXT" help:"Anything else."`
}

// Help is the worked example.
func (fillCmd) Help() string {
	return `Example: trueplait fill --core-batch HC15 --filled-length "8 in" --shot-mass 16.8g

Takes one test fill into the log: a measured length of core cord, filled with
shot, which is weighed. It tells the load of a new batch before its first whip,
in minutes. On a terminal it asks for what is not given, and shows how far the
load is from today's prediction before it is saved. Interrupted, it prints the
command that goes on.

Where it cannot ask, core batch, length and shot are needed, and a figure that
looks like another unit is saved only with --yes.`
}

// Run enters the test fill.
func (c *fillCmd) Run(p *program, k *kong.Context) error {
	return p.enter(k, model.Fills, c.Edit, c.Yes)
}
