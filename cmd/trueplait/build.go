package main

import (
	"github.com/alecthomas/kong"

	"trueplait/model"
)

// buildCmd enters a finished whip.
type buildCmd struct {
	Edit string `placeholder:"BUILD" help:"Correct this build: options replace what it states, the rest stays. What it said before is kept in its history."`
	Yes  bool   `help:"Save without asking, although something looks wrong."`

	buildColumns `embed:"" group:"The row:"`
}

// buildColumns are the columns of a build. Their names are those of files, with
// dashes.
type buildColumns struct {
	Build       string `placeholder:"ID" help:"The build, or the open plan it finishes (default: the next free id)."`
	Date        string `placeholder:"DATE" help:"When it was finished (default: today)."`
	Maker       string `placeholder:"NAME" help:"Who made it."`
	Product     string `placeholder:"NAME" help:"What it is."`
	CoreBatch   string `placeholder:"LABEL" help:"Batch of the core cord."`
	StrandBatch string `placeholder:"LABEL" help:"Batch of the strand cord."`
	ShotBatch   string `placeholder:"LABEL" help:"Batch of the shot."`

	Weight     string `placeholder:"MASS" help:"Weight of the finished whip, e.g. \"14 1/2 oz\" or 411g."`
	Length     string `placeholder:"LENGTH" help:"Length of the finished whip, e.g. \"6' 1 3/4\\\"\" or 187cm."`
	ShotUsed   string `placeholder:"MASS" help:"Shot that went into it; or instead:"`
	ShotBefore string `placeholder:"MASS" help:"The tub of shot before."`
	ShotAfter  string `placeholder:"MASS" help:"The tub of shot after."`
	StrandCut  string `placeholder:"LENGTH" help:"Longest strand of the overlay, as cut."`
	StrandLeft string `placeholder:"LENGTH" help:"What was left of it."`
	LoadLength string `placeholder:"LENGTH" help:"How far the core was loaded."`
	Started    string `placeholder:"DATE" help:"When the plan was fixed."`
	Humidity   string `placeholder:"PERCENT" help:"Relative humidity."`

	PredictedWeight string `placeholder:"MASS" help:"As planned (default, here and below: from the open plan, else from the product's parts list)."`
	PredictedLength string `placeholder:"LENGTH" help:"As planned."`
	PredictedShot   string `placeholder:"MASS" help:"As planned."`
	PredictedStrand string `placeholder:"LENGTH" help:"What the strand was planned to use up, without any factor."`
	Calibration     string `placeholder:"N" help:"The calibration whose factors the plan contains."`
	ShotFactor      string `placeholder:"X" help:"The factor that the planned shot contains."`
	BodyFactor      string `placeholder:"X" help:"The factor that the planned weight less shot contains."`
	LengthFactor    string `placeholder:"X" help:"The factor that the planned length contains."`

	SetAside string `placeholder:"REASON" help:"Keep it out of fits, for this reason."`
	Note     string `placeholder:"TEXT" help:"Anything else."`
}

// Help is the worked example.
func (buildCmd) Help() string {
	return `Example: trueplait build --build W265 --weight "14 1/2 oz" --length "6' 1 3/4\"" --shot-used 83.5g

Takes one finished whip into the log, fits the factors anew and says what
changed. On a terminal it asks for what is not given: it offers the open plans
and the latest maker and batches, echoes each figure in two units, and shows how
far the whip is from today's prediction before it is saved. Interrupted, it
prints the command that goes on.

Where it cannot ask, maker, product and one measured figure are needed (an open
plan gives the first two), and a figure that looks like another unit is saved
only with --yes. To correct a whip: trueplait build --edit W265 --weight 411g.
An empty value, as in --note=, leaves a column blank.`
}

// Run enters the build.
func (c *buildCmd) Run(p *program, k *kong.Context) error {
	return p.enter(k, model.Builds, c.Edit, c.Yes)
}
