package main

import (
	"strings"

	"rsc.io/qr"
)

// qrCode draws text as a QR code for a terminal, two modules a character: dark
// on light whatever the terminal's colours, with the quiet zone of four modules
// that ISO/IEC 18004 asks for.
func qrCode(text string) (string, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4
	const inverse, normal = "\x1b[30;107m", "\x1b[0m"
	var b strings.Builder
	for y := -quiet; y < code.Size+quiet; y += 2 {
		b.WriteString(inverse)
		for x := -quiet; x < code.Size+quiet; x++ {
			switch upper, lower := code.Black(x, y), code.Black(x, y+1) && y+1 < code.Size+quiet; {
			case upper && lower:
				b.WriteString("█")
			case upper:
				b.WriteString("▀")
			case lower:
				b.WriteString("▄")
			default:
				b.WriteString(" ")
			}
		}
		b.WriteString(normal + "\n")
	}
	return b.String(), nil
}
