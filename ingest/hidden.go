package ingest

import "unicode"

// hidden reports whether a character cannot be seen as such: controls, those
// that turn the direction of writing, spaces other than the usual one, and
// letters and marks that are drawn as nothing (Unicode's default ignorable
// ones, and the blank pattern of Braille).
func hidden(r rune) bool {
	return !unicode.IsPrint(r) || r > unicode.MaxASCII &&
		(r == brailleBlank || joins(r) || unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r))
}

const (
	brailleBlank       = '\u2800'
	zeroWidthNonJoiner = '\u200c'
	zeroWidthJoiner    = '\u200d'
)

// joins reports whether a character only changes how its neighbours are drawn:
// the joiners and the selectors of variants.
func joins(r rune) bool { return isJoiner(r) || isSelector(r) }

func isJoiner(r rune) bool   { return r == zeroWidthNonJoiner || r == zeroWidthJoiner }
func isSelector(r rune) bool { return unicode.Is(unicode.Variation_Selector, r) }

// joinsOnto reports whether a character that joins, behind r, is part of how a
// word or a picture is written. It is behind symbols, which are pictures or
// parts of one, and in scripts that join their letters or have variants of
// them; behind anything else it would change nothing that can be seen.
func joinsOnto(joint, r rune) bool {
	switch {
	case isSelector(r): // a picture of its own, to which more may be joined
		return isJoiner(joint)
	case unicode.Is(unicode.Han, r):
		return isSelector(joint)
	case r <= unicode.MaxASCII, hidden(r), unicode.In(r, unicode.Latin, unicode.Greek, unicode.Cyrillic, unicode.Armenian, unicode.Georgian,
		unicode.Hebrew, unicode.Thai, unicode.Hangul, unicode.Hiragana, unicode.Katakana):
		return false
	}
	return unicode.In(r, unicode.S, unicode.L, unicode.M)
}
