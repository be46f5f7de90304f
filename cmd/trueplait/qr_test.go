package main

import (
	"strings"
	"testing"
	"unicode/utf8"

	"rsc.io/qr"
)

// The picture shows every module of the code, with four light modules around.
func TestQRCode(t *testing.T) {
	const text = "http://192.0.2.7:8642/door?code=ABCDEFGH"
	picture, err := qrCode(text)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(picture, "\n"), "\n")
	if want := (code.Size + 8 + 1) / 2; len(lines) != want {
		t.Fatalf("%d lines, want %d", len(lines), want)
	}
	dark := map[rune][2]bool{'█': {true, true}, '▀': {true, false}, '▄': {false, true}, ' ': {}}
	for i, line := range lines {
		line = strings.TrimSuffix(strings.TrimPrefix(line, "\x1b[30;107m"), "\x1b[0m")
		if n := utf8.RuneCountInString(line); n != code.Size+8 {
			t.Fatalf("line %d has %d modules, want %d", i, n, code.Size+8)
		}
		for x, r := range []rune(line) {
			for half := range 2 {
				y := 2*i + half - 4
				in := x >= 4 && x < code.Size+4 && y >= 0 && y < code.Size
				if want := in && code.Black(x-4, y); dark[r][half] != want {
					t.Fatalf("module %d, %d is dark %v, want %v", x-4, y, !want, want)
				}
			}
		}
	}
}
