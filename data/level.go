package data

import (
	"context"
	_ "embed"
	"time"

	"trueplait/model"
)

//go:embed query/level_stage.sql
var levelStage string

//go:embed query/level_unstage.sql
var levelUnstage string

//go:embed query/level_fill.sql
var levelFill string

//go:embed query/level_list.sql
var levelList string

// levels gives the labels their numbers, by which rows at work state them: from
// 1 for each effect, in the order of the labels.
type levels struct {
	label  [5][]string // of each effect, in the order of [model.Effects], by number; 0 is no label
	number map[model.Effect]map[string]int
}

// fill numbers the levels of the rows up to a date.
func (l *levels) fill(ctx context.Context, conn *session, through time.Time) error {
	if _, err := conn.ExecContext(ctx, levelFill, through); err != nil {
		return err
	}
	*l = levels{number: map[model.Effect]map[string]int{}}
	at := map[model.Effect]int{}
	for i, e := range model.Effects {
		at[e] = i
		l.label[i], l.number[e] = []string{""}, map[string]int{}
	}
	var effect, label string
	var n int
	return each(ctx, conn, levelList, []any{&effect, &n, &label}, func() error {
		e := model.Effect(effect)
		l.number[e][label] = n
		l.label[at[e]] = append(l.label[at[e]], label)
		return nil
	})
}

// numbered are the numbers of a row's levels, in the order of [model.Effects]; 0
// is no label.
type numbered [5]int

// scanners returns the targets before the numbers, the numbers, and those
// after.
func (n *numbered) scanners(before []any, after ...any) []any {
	out := append([]any{}, before...)
	for i := range n {
		out = append(out, &field{string(model.Effects[i]), &n[i]})
	}
	return append(out, after...)
}

// labels are the labels that n stands for.
func (l *levels) labels(n *numbered) model.Labels {
	return model.Labels{
		Maker:       l.label[0][n[0]],
		CoreBatch:   l.label[1][n[1]],
		StrandBatch: l.label[2][n[2]],
		ShotBatch:   l.label[3][n[3]],
		Product:     l.label[4][n[4]],
	}
}
