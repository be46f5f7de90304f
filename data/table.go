package data

import (
	"fmt"

	"trueplait/model"
)

// table is how rows of one kind are kept: its columns, and its statements by
// what they do. Those from stage to unstage are steps of [File.Finish], in that
// order.
type table struct {
	kind   model.Kind
	name   string // of the table
	record func() *record

	stage     string // creates the staging table
	append    string // loads a batch into it
	computed  string // counts the log's rows with figures that were worked out; "": recognise looks for itself
	recognise string // blanks figures that are what was worked out; "" where none is
	repeated  string // notes lines that repeat an id of the same file
	verdict   string // compares staged rows with the log's
	conflicts string // lists those that differ, both side by side
	carry     string // keeps for a row what was worked out for the one it replaces; "" where none is
	keep      string // copies the log's rows that differ into the history
	remove    string // and takes them out
	hold      string // marks the staged rows that insert leaves where they are; "": insert finds them itself
	insert    string // adds staged rows that the log does not have
	unstage   string // drops the staging table

	rows     string // lists every row, or one
	stated   string // reads one row without what was worked out; "": its rows have no id each
	search   string // lists rows by words; "" where nobody searches
	replaced string // lists the history, or that of one row
	shadow   string // copies the table into a temporary one of its name
	export   string // reads the table as it is, for Parquet
	versions string // lists every row there is or was, as stated
	asOf     string // reads the table as it was when a file was the newest
}

// tables lists the kinds in the order an import loads them.
func tables() []table {
	return []table{partTable(), productTable(), fillTable(), checkTable(), buildTable()}
}

// tableOf finds the table of a kind.
func tableOf(kind model.Kind) (table, error) {
	for _, t := range tables() {
		if t.kind == kind {
			return t, nil
		}
	}
	return table{}, fmt.Errorf("data: no rows of kind %q are kept", kind)
}
