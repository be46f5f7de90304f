package main

import (
	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/report"
)

// proofCmd compares predictions made with and without the correction.
type proofCmd struct{ analysis }

// Help is the worked example.
func (proofCmd) Help() string {
	return `Example: trueplait proof

Predicts every build from the rows before it only, with the plan alone, with
simple corrections and with the calibration, and compares them on the same
builds. Better is said only where chance is no explanation.`
}

// Run scores and shows.
func (c *proofCmd) Run(p *program) (err error) {
	w, err := c.open(p, data.ReadOnly)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	proof, err := calibrate.Prove(p.ctx, w.Src, calibrate.ProofOptions{KeepAll: c.keepAll(), Seed: c.Seed})
	if err != nil {
		return err
	}
	return showProof(p, proof, &c.analysis)
}

func showProof(p *program, proof *calibrate.Proof, a *analysis) error {
	if a.JSON {
		return report.ProofJSON(p.stdout, proof)
	}
	return report.ProofTable(p.stdout, proof, p.style(a.Units))
}
