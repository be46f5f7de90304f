package main

import (
	"github.com/alecthomas/kong"

	"trueplait/model"
)

// cordCmd enters a cord check.
type cordCmd struct {
	Edit string `placeholder:"CHECK" help:"Correct this cord check: options replace what it states, the rest stays. What it said before is kept in its history."`
	Yes  bool   `help:"Save without asking, although something looks wrong."`

	checkColumns `embed:"" group:"The row:"`
}

// checkColumns are the columns of a cord check. Their names are those of files,
// with dashes.
type checkColumns struct {
	Check         string `placeholder:"ID" help:"The cord check (default: the next free id)."`
	Date          string `placeholder:"DATE" help:"When it was made (default: today)."`
	StrandBatch   string `placeholder:"LABEL" help:"Batch of the strand cord."`
	CheckedLength string `placeholder:"LENGTH" help:"Length of cord that was weighed, e.g. 30ft."`
	CheckedMass   string `placeholder:"MASS" help:"What it weighs, e.g. 42.4g."`
	PredictedMass string `placeholder:"MASS" help:"What the planner says it weighs (default: from the parts lists)."`
	Note          string `placeholder:"TEXT" help:"Anything else."`
}

// Help is the worked example.
func (cordCmd) Help() string {
	return `Example: trueplait cord --strand-batch NC09 --checked-length "30 ft" --checked-mass 42.4g

Takes one cord check into the log: a measured length of strand cord, weighed. It
tells how heavy a new batch makes a whip before one is plaited. On a terminal it
asks for what is not given, and shows how far the cord is from today's
prediction before it is saved. Interrupted, it prints the command that goes on.

Where it cannot ask, strand batch, length and mass are needed, and a figure that
looks like another unit is saved only with --yes.`
}

// Run enters the cord check.
func (c *cordCmd) Run(p *program, k *kong.Context) error {
	return p.enter(k, model.Checks, c.Edit, c.Yes)
}
