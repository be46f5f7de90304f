package data

import (
	"bytes"
	"compress/gzip"
	"slices"
	"strings"
	"testing"

	"trueplait/model"
)

// fillLog puts into a log a little of everything that one can hold.
func fillLog(t *testing.T, l *Log) {
	t.Helper()
	amend := FinishOptions{Amend: true}
	add(t, l, usualRows()...)
	save(t, l, usualPlan("B8"), usualPlan("B9"))
	add(t, l, file{name: "finished.csv", rows: []model.Row{finished("B9")}})
	for _, row := range []model.Row{
		edit(usualBuild("B2"), func(b *model.Build) { b.WeightG++ }),
		edit(usualFill("F2"), func(f *model.Fill) { f.PredictedShotG, f.ShotMassG = model.Unknown, 41 }),
		edit(usualCheck("K1"), func(c *model.Check) { c.Note = "again" }),
		usualRows()[0].rows[0], // a shorter parts list
		edit(usualRows()[1].rows[0].(*model.ProductLine), func(p *model.ProductLine) { p.WeightHighG++ }),
	} {
		add(t, l, file{name: "amended.csv", opt: amend, rows: []model.Row{row}})
	}
	for _, c := range []Calibration{
		{Fingerprint: "f", Options: "a", Through: day(3), Made: noon, Program: "1.0"},
		{Fingerprint: "f", Options: "b", Made: noon},
	} {
		factor := SavedFactor{model.Shot, model.Labels{Maker: "ann", CoreBatch: "C1", ShotBatch: "S1"}, 0.9}
		c.NewestSource = newestOf(t, l)
		if _, err := l.SaveCalibration(t.Context(), c, found("{}", factor)); err != nil {
			t.Fatal(err)
		}
	}
	for since := range 2 {
		if err := l.Split(t.Context(), model.Split{Effect: model.CoreBatch, Label: "C1", Since: day(since)}, noon); err != nil {
			t.Fatal(err)
		}
	}
	if err := l.Unsplit(t.Context(), model.Split{Effect: model.CoreBatch, Label: "C1", Since: day(0)}, noon.AddDate(0, 0, -1)); err != nil {
		t.Fatal(err)
	}
	changed := usualPlan("B8")
	changed.PredictedWeightG++
	if err := l.ReplacePlan(t.Context(), changed); err != nil {
		t.Fatal(err)
	}
	if err := l.SetUnits(t.Context(), "ann", "metric", noon); err != nil {
		t.Fatal(err)
	}
	err := l.within(t.Context(), noon, func(im *Import) error {
		return im.Enter(t.Context(), "key", model.Builds, "B1")
	})
	if err != nil {
		t.Fatal(err)
	}
}

// broken lists what breaks the invariants of a log, each as a sentence.
func broken(t testing.TB, l *Log) []string {
	t.Helper()
	checked, err := l.Invariants(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, i := range checked {
		for _, v := range i.Broken {
			out = append(out, v.String())
		}
	}
	return out
}

func TestInvariantsHold(t *testing.T) {
	l := newLog(t)
	fillLog(t, l)
	checked, err := l.Invariants(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range checked {
		if len(i.Broken) > 0 {
			t.Errorf("%s: %v", i.Holds, i.Broken)
		}
		if i.Checked == 0 {
			t.Errorf("%s: checked in no %s", i.Holds, i.Of)
		}
	}
	if found := broken(t, newLog(t)); found != nil {
		t.Errorf("an empty log: %q", found)
	}
}

// Every kind of damage is found, and named by what it is in.
func TestInvariantsBroken(t *testing.T) {
	inFile(t)
	tests := []struct{ damage, found string }{
		{"delete from source where number = 3", `test fill "F1" came from file 3, which is not kept`},
		{"update source set kind = 'fills' where number = 5", `build "B1" came from file 5, which is not kept`},
		{"update build set line = 0 where id = 'B1'", `build "B1" came from line 0 of builds.csv`},
		{"update build_history set replaced_by = 99", `build "B2" was replaced by file 99, which is not kept`},
		{"update source set number = 99 where number = 11", `file "99" is number 11 in order`},
		{"insert into source_piece values (77, 0, 'x')", `file "77" has bytes but is not kept`},
		{"insert into part select product, 5, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm, load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm, strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm, mass_per_length_g_m, mass_g, fraction, version, source, line from part",
			`part "6 ft" has several lists or places that do not count up`},
		{"delete from build where id = 'B2'", `build "B2" was replaced by file 7, which has no such row`},
		{"update build set weight_g = -3 where id = 'B1'", `build "B1" has the weight_g -3.0`},
		{"update build set weight_g = cast('nan' as double precision) where id = 'B1'", `build "B1" has the weight_g nan`},
		{"update build set length_mm = cast('infinity' as double precision) where id = 'B1'", `build "B1" has the length_mm inf`},
		{"update build_history set humidity_percent = 101", `build "B2" has the humidity_percent 101.0`},
		{"update build set strand_left_mm = -1 where id = 'B1'", `build "B1" has the strand_left_mm -1.0`},
		{"update fill set shot_mass_g = 0 where id = 'F1'", `test fill "F1" has the shot_mass_g 0.0`},
		{"update cord_check set checked_mass_g = -1", `cord check "K1" has the checked_mass_g -1.0`},
		{"update product set weight_low_g = 0", `product "6 ft" has the weight_low_g 0.0`},
		{"update part_history set fraction = 1.5 where position = 1", `part "6 ft" has the fraction 1.5`},
		{"update part set count = 0", `part "6 ft" has the count 0.0`},
		{"update build set computed_weight_g = 1, parts_version = 1 where id = 'B1'", `build "B1" has a planned weight that is stated and worked out as well`},
		{"update fill set computed_shot_g = 1 where id = 'F1'", `test fill "F1" has a planned shot that is stated and worked out as well`},
		{"update build set computed_strand_mm = 1, parts_version = 9 where id = 'B1'",
			`build "B1" was worked out from version 9 of a parts list, which its product never had`},
		{"update build set date = cast('infinity' as date) where id = 'B1'", `build "B1" has the date infinity`},
		{"update calibration set through = cast('0044-03-15 (BC)' as date) where number = 1", `calibration "1" has the last day 0044-03-15 (BC)`},
		{"delete from build where id = 'B9'", `plan "B9" is finished, and the build of that file is not there`},
		{"update open_build set finished_at = null, finished_by = null where id = 'B9'", `plan "B9" is open, and the build is there`},
		{"update open_build set finished_by = null where id = 'B9'", `plan "B9" is finished, and the build of that file is not there`},
		{"delete from calibration where number = 1", `calibration "2" is number 1 in order`},
		{"delete from calibration where number = 1", `calibration "1" is not there and has a factor for shot`},
		{"update calibration set newest_source = 99 where number = 1", `calibration "1" was made after file 99, which is not kept`},
		{"insert into calibration_piece values (9, 0, 'x')", `calibration "9" is not there and has a result`},
		{"update calibration_factor set factor = 0", `calibration "1" has the factor 0.0 for shot`},
		{"update calibration_factor set quantity = 'colour'", `calibration "1" has a factor for what is no quantity: colour`},
		{"insert into calibration_factor select number, quantity, maker, core_batch, strand_batch, shot_batch, product, factor from calibration_factor",
			`calibration "1" has the same factor twice for shot`},
		{"update split set undone_at = made_at - interval 1 day where undone_at is not null", `split "C1" was undone before it was made`},
		{"update split set effect = 'product' where undone_at is null", `split "C1" splits a product`},
		{"insert into split select effect, label, since, made_at, null from split where undone_at is null", `split "C1" is in force twice from 2025-01-02`},
		{"update form_entry set id = 'B77'", `build "B77" was saved on the page and is not there`},
		{"delete from source_piece where source = 5", `file "builds.csv" has 0 bytes, not the `},
		{"update source set sha256 = 'x' where number = 5", `file "builds.csv" has other bytes than it was imported with (file number 5)`},
		{"update source_piece set content_gzip = 'x' where source = 5", `file "builds.csv" cannot be read back: `},
		{"update build set maker = 'an' || chr(8203) || 'n' where id = 'B1'", "maker \"an\\u200bn\" holds the invisible character U+200B"},
		{"update build set maker = 'e' || chr(769) where id = 'B1'", "maker \"e\u0301\" is not in Unicode NFC"},
		{"update build set id = ' B1' where id = 'B1'", `build " B1" is blank or has spaces around it`},
	}
	l := newLog(t)
	fillLog(t, l)
	exec := func(query string) {
		t.Helper()
		if _, err := l.db.Exec(query); err != nil {
			t.Fatal(err)
		}
	}
	for _, tt := range tests {
		t.Run(tt.damage, func(t *testing.T) {
			exec("begin transaction")
			defer exec("rollback")
			exec(tt.damage)
			found := broken(t, l)
			if !slices.ContainsFunc(found, func(s string) bool { return strings.HasPrefix(s, tt.found) }) {
				t.Errorf("found %q, want %q", found, tt.found)
			}
		})
	}
	if found := broken(t, l); found != nil {
		t.Errorf("after all was undone: %q", found)
	}
}

// One other byte of a kept file, packed as well as the right one, is found by
// the digest, in whichever piece it is.
func TestKeptByteChanged(t *testing.T) {
	l := newLog(t)
	err := l.within(t.Context(), noon, func(im *Import) error {
		f, err := im.File("long.csv", model.Builds)
		if err != nil {
			return err
		}
		if _, err := f.Write(bytes.Repeat([]byte("x"), pieceSize+100)); err != nil {
			return err
		}
		if err := f.Add(usualBuild("B1")); err != nil {
			return err
		}
		_, err = f.Finish(t.Context(), FinishOptions{})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for piece, size := range []int{pieceSize, 100} {
		var kept []byte
		if err := l.db.QueryRow("select content_gzip from source_piece where position = $1", piece).Scan(&kept); err != nil {
			t.Fatal(err)
		}
		other := bytes.Repeat([]byte("x"), size)
		other[size/2] = 'y'
		var packed bytes.Buffer
		w := gzip.NewWriter(&packed)
		w.Write(other) // a bytes.Buffer takes everything
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		keep := func(content []byte) {
			t.Helper()
			if _, err := l.db.Exec("update source_piece set content_gzip = $1 where position = $2", content, piece); err != nil {
				t.Fatal(err)
			}
		}
		keep(packed.Bytes())
		if found := broken(t, l); !slices.Equal(found, []string{`file "long.csv" has other bytes than it was imported with (file number 1)`}) {
			t.Errorf("piece %d: found %q", piece, found)
		}
		keep(kept)
		if found := broken(t, l); found != nil {
			t.Errorf("piece %d as it was: found %q", piece, found)
		}
	}
}
