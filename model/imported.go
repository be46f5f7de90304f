package model

// Imported is what became of one file: what import and check report.
type Imported struct {
	File     string
	Kind     Kind
	Rows     int // rows read, good or bad
	New      int // rows the log did not have
	Same     int // rows the log had with equal content
	Amended  int // rows that replaced others
	Rejected int // rows not taken
	Warnings []string
}
