// Package reference holds the published figures the planner's formulas stand
// on: sizes of shot, densities, how spheres pack, masses of cord, and how far
// a stated weight may fall short.
//
// The tables are CSV files beside this code, embedded as they are; each row
// says where its figures came from and how sure that is (SOURCE.md explains the
// words). A figure that a source does not give is NaN.
//
// The loaders panic where an embedded table is malformed: that is a program
// built wrongly, which its tests rule out, and nothing a user's data can cause.
package reference

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"trueplait/model"
)

// Provenance says where a row came from.
type Provenance struct {
	Source string
	Status string // "found", "computed", "derived" or "from memory", with what differs after a semicolon
}

// must returns the rows of an embedded table.
func must[T any](rows []T, err error) []T {
	if err != nil {
		panic(err)
	}
	return rows
}

// read parses a table whose header is exactly the given one, with parse taking
// the cells of each row from left to right.
func read[T any](name, text, header string, parse func(*cells) T) ([]T, error) {
	r := csv.NewReader(strings.NewReader(text))
	got, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("reference: %s: %w", name, err)
	}
	if strings.Join(got, ",") != header {
		return nil, fmt.Errorf("reference: %s:1: header is %q, want %q", name, strings.Join(got, ","), header)
	}
	var rows []T
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, fmt.Errorf("reference: %s: %w", name, err)
		}
		c := &cells{columns: got, record: record}
		row := parse(c)
		if c.err != nil {
			line, _ := r.FieldPos(0)
			return nil, fmt.Errorf("reference: %s:%d: %w", name, line, c.err)
		}
		rows = append(rows, row)
	}
}

// cells hands out one row's cells from left to right and keeps the first
// error.
type cells struct {
	columns []string
	record  []string
	next    int
	err     error
}

func (c *cells) take() (column, text string) {
	column, text = c.columns[c.next], c.record[c.next]
	c.next++
	return column, text
}

func (c *cells) fail(column, text, problem string) {
	if c.err == nil {
		c.err = fmt.Errorf("%s: %q %s", column, text, problem)
	}
}

// text is a cell that may be blank.
func (c *cells) text() string {
	_, text := c.take()
	return text
}

// name is a cell that may not be blank.
func (c *cells) name() string {
	column, text := c.take()
	if text == "" {
		c.fail(column, text, "is blank")
	}
	return text
}

// number is a cell that holds a finite number, 0 or above.
func (c *cells) number() float64 {
	column, text := c.take()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !(x >= 0) || math.IsInf(x, 0) {
		c.fail(column, text, "is not a number of 0 or above")
	}
	return x
}

// optional is a number, or NaN for a blank cell.
func (c *cells) optional() float64 {
	if c.record[c.next] == "" {
		c.next++
		return model.Unknown
	}
	return c.number()
}

// provenance is the last two cells of every table.
func (c *cells) provenance() Provenance {
	return Provenance{Source: c.name(), Status: c.name()}
}
