package data

import "trueplait/model"

// FinishOptions say what becomes of rows that differ from the log's.
type FinishOptions struct {
	// Amend lets a row replace the log's row of the same id, which goes into
	// the history. A file that contradicts itself stays a conflict: nobody
	// said which of its lines is right.
	Amend bool
}

// Outcome is what became of the rows of one file. Rows with a conflict or an
// unresolved calibration are left out of what is merged.
type Outcome struct {
	New     int // rows the log did not have
	Same    int // rows it had with equal content, repeats among them
	Amended int // rows that replaced the log's

	Conflicts  []Conflict   // by line
	Repeats    []Repeat     // lines that say again what an earlier one said, by line
	Unresolved []Unresolved // builds whose calibration's factors are not known, by line

	// Alike lists, per column of labels, labels of this file beside others of
	// the log or the file that differ from them only in case or spaces.
	Alike map[model.Effect][][2]string
}

// Conflict is a row whose id stands for something else in the log, earlier in
// the file, or in an open plan.
type Conflict struct {
	ID      string
	Line    int
	InFile  bool // the other row is earlier in the same file, at line Other
	Other   int  // line of the other row, in the file it came from
	InPlan  bool // the other is the open plan of that id, of another product or maker; Other is 0
	Columns []Difference
}

// Difference is a column in which two rows differ, both values as text; "" is
// blank. Masses and lengths are in g and mm, as the column's name says.
//
// Parts conflict as whole lists. A line of a list that differs elsewhere has
// no difference of its own.
type Difference struct {
	Column  string
	Here    string // in the row that conflicts
	Already string // in the row that was there before
}

// Repeat is a line with the id and the content of an earlier one.
type Repeat struct {
	ID    string
	Line  int
	First int // the earlier line
}

// Unresolved is a build that names a calibration but not the factors its plan
// contains, which cannot be looked up.
type Unresolved struct {
	ID          string
	Line        int
	Calibration int
	Known       bool             // the log has the calibration, but no factor for these labels
	Missing     []model.Quantity // shot, body or length
}
