package door

import (
	"crypto/rand"
	"crypto/subtle"
	"strings"
	"unicode"
)

// letters are what codes are made of: nothing that is read or typed as
// something else (0 and O; 1, I and L). Eight of 31 make 8.5e11 codes: at
// maxTries a minute, day and night, it takes 80,000 years to hit one on average.
const (
	letters    = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
	codeLength = 8
)

// newCode returns a random code, every one equally likely.
func newCode() string {
	code := make([]byte, 0, codeLength)
	var b [1]byte
	for len(code) < codeLength {
		rand.Read(b[:])
		// The bytes past the last whole multiple would favour the first letters.
		if int(b[0]) < 256/len(letters)*len(letters) {
			code = append(code, letters[int(b[0])%len(letters)])
		}
	}
	return string(code)
}

// spoken writes a code in two groups.
func spoken(code string) string { return code[:codeLength/2] + "-" + code[codeLength/2:] }

// sameCode reports whether what was typed is the code. Case, spaces and
// dashes do not matter. The time taken does not depend on the letters.
func sameCode(typed, code string) bool {
	typed = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.Is(unicode.Dash, r) {
			return -1
		}
		return unicode.ToUpper(r)
	}, typed)
	return subtle.ConstantTimeCompare([]byte(typed), []byte(code)) == 1
}
