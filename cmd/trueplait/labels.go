package main

import "trueplait/model"

// labelFlags name whose hands and which batches a plan is for.
type labelFlags struct {
	Product     string `required:"" placeholder:"NAME" help:"The product, as in its parts list."`
	Maker       string `placeholder:"NAME" help:"Who makes it, or new (default: whoever made the latest)."`
	CoreBatch   string `placeholder:"LABEL" help:"Core batch, or new (default: the latest build's)."`
	StrandBatch string `placeholder:"LABEL" help:"Strand batch, or new (default: the latest build's)."`
	ShotBatch   string `placeholder:"LABEL" help:"Shot batch, or new (default: the latest build's)."`
}

// labels are those given; the rest is blank.
func (f *labelFlags) labels() model.Labels {
	return model.Labels{Maker: f.Maker, CoreBatch: f.CoreBatch, StrandBatch: f.StrandBatch, ShotBatch: f.ShotBatch, Product: f.Product}
}
