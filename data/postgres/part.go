package postgres

import (
	"context"
	_ "embed"
	"fmt"
	"strconv"
	"strings"
)

//go:embed query/part_of_maker.sql
var partOfMaker string

//go:embed query/part_list.sql
var partList string

//go:embed query/part_sum.sql
var partSum string

// Part is a share of the builds: those of the makers whose names have the same
// hash. It has a schema of its own, by the same name on its server and, where the
// tables stand for those there, on the coordinator.
type Part struct {
	Schema string
	Server string // by name
}

// Number is the part's, from 0.
func (p Part) Number() int {
	n, _ := strconv.Atoi(strings.TrimPrefix(p.Schema, partPrefix)) // partSchema wrote it
	return n
}

const partPrefix = "trueplait_p"

// partSchema is the schema of a part.
func partSchema(number int) string { return fmt.Sprintf("%s%03d", partPrefix, number) }

// Parts lists the parts of a divided log, by number.
func Parts(ctx context.Context, db queryer) ([]Part, error) {
	return collect(ctx, db, partList, func(p *Part) []any { return []any{&p.Schema, &p.Server} })
}

// PartOf finds the part of a maker; [ErrWhole].
func PartOf(ctx context.Context, db queryer, maker string) (p Part, err error) {
	is, err := Divided(ctx, db)
	switch {
	case err != nil:
		return p, err
	case !is:
		return p, ErrWhole
	}
	err = db.QueryRowContext(ctx, partOfMaker, maker).Scan(&p.Schema, &p.Server)
	return p, err
}

// Sum is what two copies of a part have in common.
type Sum struct {
	Builds, Replaced     int
	buildSum, historySum string
}

// sumPart counts and sums up a part.
func sumPart(ctx context.Context, db queryer, schema string) (s Sum, err error) {
	var query string
	if err := db.QueryRowContext(ctx, partSum, schema).Scan(&query); err != nil {
		return s, err
	}
	err = db.QueryRowContext(ctx, query).Scan(&s.Builds, &s.Replaced, &s.buildSum, &s.historySum)
	return s, err
}

// SumPart counts and sums up a part on the server.
func (s Server) SumPart(ctx context.Context, p Part) (Sum, error) {
	db, err := s.connect()
	if err != nil {
		return Sum{}, err
	}
	defer db.Close()
	return sumPart(ctx, db, p.Schema)
}
