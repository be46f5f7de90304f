package ingest

import (
	"slices"
	"strings"
	"unicode"

	"trueplait/model"
)

// normalise returns a header as names are compared: in lower case, with _ for
// spaces, dashes, dots, slashes and brackets, 3 for ³ and 2 for ²; runs of _
// are one, and none is left at the ends.
func normalise(header string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(header) {
		switch {
		case unicode.IsSpace(r), unicode.Is(unicode.Pd, r), strings.ContainsRune(`_./\()[]{}`, r):
			gap = true
			continue
		case r == '³':
			r = '3'
		case r == '²':
			r = '2'
		}
		if gap && b.Len() > 0 {
			b.WriteByte('_')
		}
		gap = false
		b.WriteRune(r)
	}
	return b.String()
}

// fileKind tells the kind of a file from its normalised headers. The trouble
// it returns is about ErrKind.
func fileKind(headers []string) (model.Kind, error) {
	has := func(name string) bool { return slices.Contains(headers, name) }
	var kinds []model.Kind
	for _, id := range []struct {
		kind model.Kind
		told bool
	}{
		{model.Builds, has("build")},
		{model.Fills, has("fill")},
		{model.Checks, has("check")},
		{model.Parts, has("part") && has("role")},
	} {
		if id.told {
			kinds = append(kinds, id.kind)
		}
	}
	switch {
	case len(kinds) == 1:
		return kinds[0], nil
	case len(kinds) > 1:
		return "", troublef(ErrKind, "the header has columns of both %s and %s: %s", kinds[0], kinds[1], kindsByHeader)
	case has("product"):
		return model.Products, nil
	}
	return "", errNoKind
}

// errNoKind is about the header of a file, or of a sheet, that has no rows for
// the log.
var errNoKind = troublef(ErrKind, "the header does not tell what the rows are: %s", kindsByHeader)

const kindsByHeader = `a file of builds has the column "build", test fills "fill", cord checks "check", ` +
	`parts "part" and "role", products "product" and none of these`

// input is a column as one file has it.
type input struct {
	column
	unit  unit   // of cells that name none; the zero unit where the header names none
	at    int    // place in the file's records
	given string // header as written
}

// matchHeader finds the column of a normalised header: the longest known name
// that starts it, followed by nothing or by a unit of the column's dimension.
// known is false where there is no such column; the error is about a unit that
// the column cannot have.
func (f *form) matchHeader(header string) (in input, known bool, err error) {
	rest := ""
	for _, c := range f.columns {
		after, ok := strings.CutPrefix(header, c.name)
		if ok && len(c.name) > len(in.name) && (after == "" || after[0] == '_') {
			in.column, rest = c, strings.TrimPrefix(after, "_")
		}
	}
	if in.name == "" || rest == "" {
		return in, in.name != "", nil
	}
	u, ok := unitNamed(rest)
	switch {
	case in.base == (unit{}):
		return in, false, nil
	case ok && u.dimension == in.base.dimension:
		in.unit = u
		return in, true, nil
	case ok || rest == "gr":
		return in, true, wrongUnit(rest, in.base.dimension)
	}
	return in, false, nil
}

// matchHeaders finds the column of every header and hands each problem to
// report with the header it is about and its place, -1 where it is about them
// all. Headers that are no column are left out; they are problems unless
// ignoreUnknown. strange tells that there were such problems.
func (f *form) matchHeaders(headers []string, ignoreUnknown bool, report func(at int, header string, err error)) (inputs []input, strange bool) {
	for i, given := range headers {
		in, known, err := f.matchHeader(normalise(given))
		in.at, in.given = i, given
		same := slices.IndexFunc(inputs, func(other input) bool { return other.name == in.name })
		switch {
		case err != nil:
			report(i, given, err)
		case !known && ignoreUnknown:
			continue
		case normalise(given) == "":
			report(i, "", troublef(ErrColumn, "column %d has no header: name it, delete it or say --ignore-unknown", i+1))
			continue
		case !known:
			strange = true
			report(i, given, f.unknownColumn(given))
			continue
		case same >= 0:
			report(i, given, troublef(ErrColumn, "is the column %s, as %s is: keep one of them", in.name, quote(inputs[same].given)))
			continue
		}
		inputs = append(inputs, in)
	}
	for _, c := range f.columns {
		if c.required && !slices.ContainsFunc(inputs, func(in input) bool { return in.name == c.name }) {
			report(-1, "", troublef(ErrColumn, "the column %q is missing: %s need it", c.name, f.kind))
		}
	}
	return inputs, strange
}

// unknownColumn names the column that a header which is none comes nearest to.
func (f *form) unknownColumn(given string) error {
	header := normalise(given)
	nearest, fewest := "", 0
	for _, c := range f.columns {
		if n := Distance(header, c.name); nearest == "" || n < fewest {
			nearest, fewest = c.name, n
		}
	}
	return troublef(ErrColumn, "is not a column of %s; the nearest is %q: rename it, delete it or say --ignore-unknown", f.kind, nearest)
}

// Distance is the fewest letters to insert, delete or replace to make b of
// a. Levenshtein, Soviet Physics Doklady 10 (1966) 707.
func Distance(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, r := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, s := range to {
			replaced := diagonal
			if r != s {
				replaced++
			}
			diagonal = row[j+1]
			row[j+1] = min(replaced, row[j]+1, diagonal+1)
		}
	}
	return row[len(to)]
}
