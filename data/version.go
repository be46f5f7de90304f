package data

import (
	"context"
	"fmt"
	"iter"

	"trueplait/model"
)

// Version is a row as it is or as it was before an amendment, with what the log
// knows of it beside what was stated.
type Version struct {
	Row        model.Row // as stated, from its file and line
	Source     int       // number of that file
	ReplacedBy int       // number of the file that replaced the row; 0: it stands

	// Base is what was worked out at import, without any factor; NaN where a
	// figure was stated or none was to be had. Of a test fill only ShotG is
	// worked out, of a cord check only WeightG.
	Base Base

	// PartsVersion is the version of the product's parts list that Base came
	// from, for test fills and cord checks the highest of all lists; 0: from
	// builds, or nothing was worked out. Of a part, the version it belongs to.
	PartsVersion int
}

// Versions lists every row of a kind there is, and those that amendments
// replaced, by file then line. It is for who compares them with the files
// ([Log.WriteSource]).
//
// The log answers nothing else until the loop ends. After an error there are
// no more rows.
func (l *Log) Versions(ctx context.Context, kind model.Kind) iter.Seq2[Version, error] {
	return func(yield func(Version, error) bool) {
		t, err := tableOf(kind)
		if err != nil {
			yield(Version{}, err)
			return
		}
		var v Version
		r := t.record()
		targets := r.scanners(
			&r.origin.File, &r.origin.Line, &v.Source, &field{"replaced_by", &v.ReplacedBy},
			&field{"computed_weight_g", &v.Base.WeightG}, &field{"computed_length_mm", &v.Base.LengthMM},
			&field{"computed_shot_g", &v.Base.ShotG}, &field{"computed_strand_mm", &v.Base.StrandMM},
			&field{"parts_version", &v.PartsVersion})
		err = each(ctx, l.db, t.versions, targets, func() error {
			v.Row = r.row()
			if !yield(v, nil) {
				return errEnough
			}
			return nil
		})
		if err != nil && err != errEnough {
			yield(Version{}, fmt.Errorf("data: versions of %s: %w", kind, err))
		}
	}
}
