// Package ingest turns the CSV files and workbooks of a workshop into checked
// rows of package model, and such rows back into the same CSV.
//
// A file goes through these steps, each in constant memory:
//
//  1. its encoding and its separator are found out (source.go), or each sheet
//     of a workbook is turned into records of text (workbook.go, sheet.go,
//     and package xlsx below for the format);
//  2. the header says which kind of rows the file holds, which column stands
//     where and which unit it is in (header.go);
//  3. every cell is read with the column's unit and checked (cell.go, and
//     quantity.go for amounts such as 6' 2" or 1 lb 3 1/2 oz);
//  4. the row as a whole is checked (form.go) and handed out.
//
// Nothing that is wrong with a file stops the reading of it: each problem is a
// [RowError] that says where it is and what to do, and the next row follows.
//
// A file may come from a stranger. Records, numbers, lists of problems and the
// parts of a workbook have limits, so that no file makes the program hold more
// than some MB of it; what cannot be seen is refused in texts and spelled out
// in messages (hidden.go); what a spreadsheet would take for a formula gets a '
// before it wherever it is written (text.go, defuse.go).
//
// The columns of each kind are listed once, in form.go, together with the
// field of the row that each one fills. [Reader] and [Writer] both go by that
// list, so what is written can be read.
package ingest
