package workshop

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// How far, relative to their size, the figures of a calibration may be apart
// when it is fitted again: by the program that saved it, and by any the criterion
// of REML or, of a fit that has none because it is an approximate one, the
// spreads. Those are settled to a fourth of a standard error; a spread of three
// levels has one of 40 %.
const (
	sameProgramTolerance = 1e-10
	criterionTolerance   = 1e-6
	spreadTolerance      = 0.1
)

// fits fits every saved calibration again from the rows and the splits as they
// stood when it was saved, and compares all of its figures. Of one that another
// version of the program saved only the criterion decides, or the spreads, since
// the rest may have been improved; how far that is apart is noted.
func (v *verifier) fits(ctx context.Context) error {
	c := newChecking("calibrations come out the same when fitted again", "calibrations")
	defer v.done(c)
	for _, saved := range v.calibrations {
		c.Count++
		what, err := v.refit(ctx, saved)
		if err != nil {
			return fmt.Errorf("calibration %d: %w", saved.Number, err)
		}
		if what != "" {
			c.wrong(report.Fault{Where: fmt.Sprintf("calibration %d", saved.Number), What: what,
				Remedy: "take it from a sound backup; plans made with it state their factors themselves"})
		}
	}
	return nil
}

// refit says what is wrong with a calibration, "" if nothing is.
func (v *verifier) refit(ctx context.Context, saved data.Calibration) (what string, err error) {
	var result bytes.Buffer
	if err := v.log.WriteResult(ctx, saved.Number, &result); err != nil {
		return unreadableResult(ctx, err)
	}
	was, err := figuresIn(result.Bytes())
	if err != nil {
		return unreadableResult(ctx, err)
	}
	factors := v.factors[saved.Number]
	if f := strayFactor(factors, was); f != "" {
		return f + " is another in its result than where plans take it from", nil
	}
	past, err := v.log.AsOf(ctx, saved)
	if err != nil {
		return unreadable(ctx, err)
	}
	defer func() { err = errors.Join(err, past.Close()) }()
	through, ok, err := cutOff(ctx, past, saved)
	switch {
	case err != nil:
		return "", err
	case !ok && saved.Program == "":
		v.note("calibration %d was not fitted again: the program that saved it did not note from which rows, and those of its time are others", saved.Number)
		return "", nil
	case !ok:
		return "the rows it was made from are not those that the log has of that time", nil
	}
	pool, err := poolIn(result.Bytes())
	if err != nil {
		return fmt.Sprintf("what it borrowed cannot be read (%v)", err), nil
	}
	now, err := refitted(ctx, past, factors, Options{Through: through, KeepAll: strings.HasPrefix(saved.Options, keepAllOption)}, pool)
	if err != nil {
		return unreadable(ctx, err)
	}
	worst, far := apart(was, now, func(string) bool { return true })
	if isRelease(saved.Program) && saved.Program == v.opt.Program {
		if far > sameProgramTolerance {
			return worst, nil
		}
		return "", nil
	}
	criteria, spreads := deciding(was, now)
	if criterion, by := apart(was, now, criteria); by > criterionTolerance {
		return criterion, nil
	}
	if spread, by := apart(was, now, spreads); by > spreadTolerance {
		return spread, nil
	}
	if far > sameProgramTolerance {
		v.note("calibration %d was saved by another version of the program: %s", saved.Number, worst)
	}
	return "", nil
}

// unreadableResult makes what keeps a result from being read a fault of it,
// unless somebody stopped it.
func unreadableResult(ctx context.Context, err error) (string, error) {
	if ctx.Err() != nil {
		return "", err
	}
	return fmt.Sprintf("its result cannot be read (%v)", err), nil
}

// unreadable makes what keeps rows from being put together or fitted a fault of
// theirs, unless somebody stopped it.
func unreadable(ctx context.Context, err error) (string, error) {
	if ctx.Err() != nil {
		return "", err
	}
	return fmt.Sprintf("it cannot be fitted again (%v)", err), nil
}

func (v *verifier) note(format string, args ...any) {
	v.out.Notes = append(v.out.Notes, fmt.Sprintf(format, args...))
}

// isRelease reports whether a version stands for one program: that of a copy
// built from loose files does not.
func isRelease(version string) bool {
	return !slices.Contains([]string{"", "development", "unknown"}, version)
}

// cutOff finds up to which date a calibration took rows: that of its last row,
// and without any a day before all. false: the rows are not those it was made
// from.
func cutOff(ctx context.Context, past *data.Log, saved data.Calibration) (through time.Time, ok bool, err error) {
	through = saved.Through
	if through.IsZero() {
		through = time.Date(1, 1, 2, 0, 0, 0, 0, time.UTC)
	}
	print, err := past.Fingerprint(ctx, through)
	return through, print == saved.Fingerprint, err
}

// refitted are the figures of a calibration that had these factors, fitted again
// with those that were asked for and what it borrowed.
func refitted(ctx context.Context, past *data.Log, saved []data.SavedFactor, opt Options, pool *model.Pool) (map[string]float64, error) {
	w := &Workshop{Log: past, opt: opt}
	if err := w.Reread(ctx); err != nil {
		return nil, err
	}
	fit := calibrate.Options{KeepAll: opt.KeepAll, Pool: pool}
	cal, err := calibrate.Fit(ctx, w.Src, fit)
	if err != nil {
		return nil, err
	}
	if fit.For = askedFor(saved, cal); fit.For != nil {
		if cal, err = calibrate.Fit(ctx, w.Src, fit); err != nil {
			return nil, err
		}
	}
	var result bytes.Buffer
	if err := report.CalibrationLine(&result, cal); err != nil {
		return nil, err
	}
	return figuresIn(result.Bytes())
}

// askedFor are the combinations of labels that a calibration has factors of,
// and the same fitted without being asked has not.
func askedFor(saved []data.SavedFactor, unasked *calibrate.Calibration) []model.Labels {
	type combination struct {
		model.Quantity
		model.Labels
	}
	seen := map[combination]bool{}
	for _, q := range unasked.Quantities {
		for _, f := range q.Factors {
			seen[combination{q.Quantity, f.Labels}] = true
		}
	}
	var out []model.Labels
	for _, f := range saved {
		if !seen[combination{f.Quantity, f.Labels}] && !slices.Contains(out, f.Labels) {
			out = append(out, f.Labels)
		}
	}
	return out
}

// figuresIn are all figures of a result in JSON, each under its path. An element
// of a list goes by its labels, not by its place: "quantities{quantity=shot}
// factors{maker=Arlo, core_batch=HC01} factor".
func figuresIn(result []byte) (map[string]float64, error) {
	var tree any
	if err := json.Unmarshal(result, &tree); err != nil {
		return nil, err
	}
	out := map[string]float64{}
	gather(out, "", tree)
	return out, nil
}

func gather(into map[string]float64, path string, tree any) {
	switch t := tree.(type) {
	case float64:
		into[path] = t
	case map[string]any:
		for key, value := range t {
			gather(into, strings.TrimSpace(path+" "+key), value)
		}
	case []any:
		for _, element := range t {
			gather(into, path+elementName(element), element)
		}
	}
}

// elementName tells an element of a list from the others by the texts that name
// it: "{maker=Arlo, core_batch=HC01}". One without any is unnamed.
func elementName(element any) string {
	fields, ok := element.(map[string]any)
	if !ok {
		return ""
	}
	names := []string{"quantity", "parameter", "effect", "level", "build", "fill", "check"}
	for _, e := range model.Effects {
		names = append(names, string(e))
	}
	var texts []string
	for _, key := range names {
		if text, ok := fields[key].(string); ok && text != "" {
			texts = append(texts, key+"="+text)
		}
	}
	return "{" + strings.Join(texts, ", ") + "}"
}

// deciding tells by their paths the figures that decide across versions of the
// program: the criterion of each quantity that has one on both sides, the
// spreads of the others.
func deciding(was, now map[string]float64) (criteria, spreads func(path string) bool) {
	const criterion = " reml criterion"
	both := func(quantity string) bool {
		_, before := was[quantity+criterion]
		_, after := now[quantity+criterion]
		return before && after
	}
	criteria = func(path string) bool {
		quantity, ok := strings.CutSuffix(path, criterion)
		return ok && both(quantity)
	}
	spreads = func(path string) bool {
		quantity, _, ok := strings.Cut(path, " reml sd ")
		return ok && !both(quantity)
	}
	return criteria, spreads
}

// apart finds the figure that differs most between a saved result and the same
// fitted again, with what it is called and how far apart the two are relative
// to their size. A figure that is missing on one side is infinitely far, but
// for factors, of which the second may have more: labels asked for of one
// quantity are worked out for all.
func apart(was, now map[string]float64, counts func(path string) bool) (what string, far float64) {
	// Effects near zero are differences of larger figures: what is left of
	// rounding is no smaller than theirs. In log units, a thousandth of a ratio.
	const least = 1e-3
	for _, path := range slices.Sorted(maps.Keys(was)) {
		if !counts(path) {
			continue
		}
		again, ok := now[path]
		by := math.Inf(1)
		if ok {
			by = math.Abs(was[path]-again) / max(math.Abs(was[path]), math.Abs(again), least)
		}
		if by > far {
			what, far = fmt.Sprintf("%s is %g, and fitted again %s", path, was[path], figureText(now, path)), by
		}
	}
	for _, path := range slices.Sorted(maps.Keys(now)) {
		if _, ok := was[path]; !ok && counts(path) && !strings.Contains(path, " factors{") && !math.IsInf(far, 1) {
			what, far = fmt.Sprintf("%s is missing, and fitted again %g", path, now[path]), math.Inf(1)
		}
	}
	return what, far
}

func figureText(of map[string]float64, path string) string {
	if x, ok := of[path]; ok {
		return fmt.Sprintf("%g", x)
	}
	return "missing"
}

// strayFactor finds a factor that plans take and that the result does not have
// so, or the other way round; "" where there is none.
func strayFactor(saved []data.SavedFactor, result map[string]float64) string {
	left := maps.Clone(result)
	maps.DeleteFunc(left, func(path string, _ float64) bool {
		return !strings.Contains(path, " factors{") || !strings.HasSuffix(path, "} factor")
	})
	for _, f := range saved {
		labels := map[string]any{}
		for _, e := range f.Quantity.Effects() {
			labels[string(e)] = f.Labels.Get(e)
		}
		path := fmt.Sprintf("quantities{quantity=%s} factors%s factor", f.Quantity, elementName(labels))
		if x, ok := left[path]; !ok || x != f.Factor {
			return path
		}
		delete(left, path)
	}
	for _, path := range slices.Sorted(maps.Keys(left)) {
		return path
	}
	return ""
}
