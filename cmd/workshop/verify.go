package workshop

import (
	"context"
	"fmt"

	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// Verify checks the log against everything it was made from, and writes
// nothing:
//
//  1. what its tables promise of each other ([data.Log.Invariants]);
//  2. every row there is or was against its line of the file it came from,
//     which is read again (verifyrows.go);
//  3. figures that were worked out at import, as far as what they were worked
//     out from is still known (verifyfigures.go);
//  4. every saved calibration, fitted again from the rows as they stood when it
//     was saved (verifyfits.go).
//
// It holds the rows and one of the files in memory. On a server, others may write
// meanwhile: files that come in after it began are left out.
func (w *Workshop) Verify(ctx context.Context) (*report.Verification, error) {
	v := &verifier{log: w.Log, opt: w.opt}
	for _, check := range []func(context.Context) error{v.rules, v.read, v.rows, v.figures, v.fits} {
		if err := check(ctx); err != nil {
			return nil, err
		}
	}
	return &v.out, nil
}

// verifier is a log being verified, with what several checks need of it.
type verifier struct {
	log *data.Log
	opt Options
	out report.Verification

	sources      []data.SourceFile
	versions     map[model.Kind][]data.Version // by file, then line
	calibrations []data.Calibration
	factors      map[int][]data.SavedFactor // by number of their calibration
}

// read reads what several checks need: the files, and of the rows what they were
// when the last of those was in.
func (v *verifier) read(ctx context.Context) (err error) {
	if v.sources, err = v.log.Sources(ctx); err != nil {
		return err
	}
	newest := 0
	for _, s := range v.sources {
		newest = max(newest, s.Number)
	}
	v.versions = map[model.Kind][]data.Version{}
	for _, kind := range model.Kinds {
		for version, err := range v.log.Versions(ctx, kind) {
			if err != nil {
				return err
			}
			if version.Source > newest {
				continue
			}
			if version.ReplacedBy > newest {
				version.ReplacedBy = 0
			}
			v.versions[kind] = append(v.versions[kind], version)
		}
	}
	if v.calibrations, err = v.log.Calibrations(ctx); err != nil {
		return err
	}
	v.factors = map[int][]data.SavedFactor{}
	for _, c := range v.calibrations {
		if v.factors[c.Number], err = v.log.SavedFactors(ctx, c.Number); err != nil {
			return err
		}
	}
	return nil
}

// checking is one check under way.
type checking struct{ report.Checked }

// newChecking begins a check: what should hold, in words, of what.
func newChecking(holds, of string) *checking { return &checking{report.Checked{Holds: holds, Of: of}} }

// wrong notes a fault.
func (c *checking) wrong(f report.Fault) {
	c.Wrong++
	if len(c.Faults) == MaxShown {
		c.More++
		return
	}
	c.Faults = append(c.Faults, f)
}

// done adds a check to what was checked.
func (v *verifier) done(c *checking) { v.out.Checks = append(v.out.Checks, c.Checked) }

// restore is the remedy for what nothing in the log can mend.
const restore = "take the row from a sound backup, or correct it by hand and import it with --amend"

// rules checks what the tables promise of each other.
func (v *verifier) rules(ctx context.Context) error {
	rules, err := v.log.Invariants(ctx)
	if err != nil {
		return err
	}
	for _, r := range rules {
		c := newChecking(r.Holds, r.Of)
		c.Count = r.Checked
		for _, broken := range r.Broken {
			c.wrong(report.Fault{Where: fmt.Sprintf("%s %q", broken.What, broken.ID), What: broken.Detail,
				Remedy: "another program or the disk changed the log: go on with a sound backup"})
		}
		v.done(c)
	}
	return nil
}

// rowName names a row and where it came from: build "W017" (builds.csv:18).
func rowName(row model.Row) string { return fmt.Sprintf("%s (%s)", rowLabel(row), row.From()) }
