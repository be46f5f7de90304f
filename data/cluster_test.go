package data

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"trueplait/model"
	"trueplait/model/trade"
)

// planNode is a node of a plan, as EXPLAIN (ANALYZE, VERBOSE, FORMAT JSON) gives it.
type planNode struct {
	Type      string     `json:"Node Type"`
	Relations string     `json:"Relations"`
	Schema    string     `json:"Schema"`
	Remote    string     `json:"Remote SQL"`
	Rows      float64    `json:"Actual Rows"` // of one loop
	Loops     float64    `json:"Actual Loops"`
	Plans     []planNode `json:"Plans"`
}

// foreign lists the scans of other servers' builds in a plan.
func (s planNode) foreign() (out []planNode) {
	if s.Type == "Foreign Scan" && strings.Contains(s.Remote, "trueplait_p") {
		out = append(out, s)
	}
	for _, p := range s.Plans {
		out = append(out, p.foreign()...)
	}
	return out
}

// moved is what scans brought from other servers: sums, and rows as they are.
func moved(scans []planNode) (sums, rows int) {
	for _, s := range scans {
		if n := int(s.Rows * s.Loops); strings.Contains(s.Remote, " GROUP BY ") {
			sums += n
		} else {
			rows += n
		}
	}
	return sums, rows
}

// explain runs a statement as a divided log words it, undoes it, and returns the
// scans of its plan.
func explain(ctx context.Context, conn *session, query string, args ...any) (out []planNode, err error) {
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	var text string
	err = tx.QueryRowContext(ctx, "explain (analyze, verbose, format json) "+conn.of.word(query), args...).Scan(&text)
	if err != nil {
		return nil, err
	}
	var plans []struct{ Plan planNode }
	if err := json.Unmarshal([]byte(text), &plans); err != nil {
		return nil, err
	}
	return plans[0].Plan.foreign(), nil
}

// Of 20,000 builds, fits have servers move sums: a row a cell, a maker, a bin or
// a day, and of builds only those that are listed.
func TestServersSumUp(t *testing.T) {
	inFile(t)
	const parts, builds = 5, 20_000
	n, _ := guildLog(t, 2, parts)
	l, err := Open(t.Context(), serverLog(t, n), ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	importTrade(t, l, trade.Large(builds, false))

	o, err := l.Observations(t.Context(), forever, false)
	if err != nil {
		t.Fatal(err)
	}
	cells := map[model.Quantity]int{}
	for _, q := range []model.Quantity{model.Shot, model.Weight} {
		of, err := o.Cells(t.Context(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		cells[q] = len(of)
	}
	row, ok, err := l.Row(t.Context(), model.Builds, "B00010000")
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	one := row.(*model.Build)
	fitted := model.Fitted{Sigma: 0.05, Theta2: map[model.Effect]float64{model.Maker: 1}}
	residuals := func(q model.Quantity) model.Residuals { return model.Residuals{Quantity: q, Fitted: fitted} }
	err = o.with(t.Context(), "", model.Weight, func(conn *session) error {
		if err := o.setFitted(t.Context(), conn, residuals(model.Weight), residuals(model.Shot), residuals(model.Body)); err != nil {
			return err
		}
		if err := o.setWanted(t.Context(), conn, []wanted{
			{key: model.RowKey{Kind: model.Builds, ID: one.ID}, date: one.Date, level: level{model.Maker, one.Maker}},
		}); err != nil {
			return err
		}
		for _, x := range []struct {
			name, query string
			args        []any
			sums, rows  int // at most
		}{
			{"cells of weight", cellsQuery, chosen(model.Weight.Effects(), "weight"), cells[model.Weight], 0},
			{"cells of shot", cellsQuery, chosen(model.Shot.Effects(), "shot"), cells[model.Shot], 0},
			// Bins of each maker.
			{"residual_scan", residualScan, append(chosen(model.Weight.Effects(), "weight", 0.),
				1./64, 0., -1., math.Inf(1), math.Inf(1), math.Inf(1), false, 0.3), builds / 10, 0},
			{"combinations", combinationsQuery, chosen(model.Weight.Effects(), "weight"), cells[model.Weight], 0},
			{"level_fill", levelFill, []any{forever}, builds / 4, 0},
			{"residual_correlation", residualCorrelation, []any{0., 0.}, 200, 0}, // a row a maker
			{"compared_count", comparedCount, nil, 200, 0},
			// Days of each maker are counted; of builds, those of the last days come.
			{"newest", newestQuery, []any{100}, builds / 2, 200},
			{"wanted_places", wantedPlaces, []any{"maker"}, builds / 100, 20},
		} {
			scans, err := explain(t.Context(), conn, x.query, x.args...)
			if err != nil {
				return fmt.Errorf("%s: %w", x.name, err)
			}
			sums, rows := moved(scans)
			t.Logf("%s: %d scans move %d sums and %d rows", x.name, len(scans), sums, rows)
			switch {
			case len(scans) < parts:
				t.Errorf("%s: %d scans of %d parts", x.name, len(scans), parts)
			case sums == 0 || sums > x.sums || rows > x.rows:
				t.Errorf("%s moves %d sums and %d rows, want at most %d and %d:\n%s", x.name, sums, rows, x.sums, x.rows, scans[0].Remote)
			case (strings.HasPrefix(x.name, "cells") || x.name == "combinations") && sums != x.sums:
				t.Errorf("%s moves %d sums of %d cells", x.name, sums, x.sums)
			}
		}
		// The test can tell: without this setting servers send rows.
		if _, err := conn.Conn.ExecContext(t.Context(), "set enable_partitionwise_aggregate = off"); err != nil {
			return err
		}
		scans, err := explain(t.Context(), conn, comparedCount)
		if err != nil {
			return err
		}
		if _, rows := moved(scans); rows != builds {
			t.Errorf("without partitionwise aggregates, %d rows move, want %d", rows, builds)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// importTrade imports the builds of a trade.
func importTrade(t testing.TB, l *Log, w trade.Trade) {
	t.Helper()
	err := l.within(t.Context(), noon, func(im *Import) error {
		f, err := im.File("builds.csv", model.Builds)
		if err != nil {
			return err
		}
		for b := range w.Builds() {
			if err := f.Add(b); err != nil {
				return err
			}
		}
		_, err = f.Finish(t.Context(), FinishOptions{})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
