// Package bench is the page that a maker uses at the bench, on a phone propped
// on the vice or on a PC: plan a build, finish it with three numbers, make test
// fills and cord checks, and look up what the log knows.
//
// Pages are written by the server from html/template, styled by one sheet, and
// work without scripts; html/bench.js adds comfort. A page is a method of
// visit, listed in handler.go or reading.go, and a template html/NAME.html that
// defines "main" (and "head", if it needs a style of its own) for
// html/layout.html; html/parts.html holds forms and lists.
//
// A row is written down in three steps, see entry.go: the form, the review of
// what was understood, and saved. What was typed travels with it as text, so
// that nothing is lost on the way back; a random key travels too, so that one
// press of Save saves one row however often it is sent. After saving, the
// browser is sent on, and a reload repeats nothing.
//
// The page knows no log and no statistics. It asks a [Shop], and shows in words
// of package report what it says. Text from the log and from the visitor is
// escaped by the templates; package report makes the invisible visible.
package bench
