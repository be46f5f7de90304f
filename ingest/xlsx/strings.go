package xlsx

import (
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf16"
)

// readStrings reads the texts that cells refer to by number (18.4.9).
func (f *File) readStrings(part string) error {
	text, err := f.open(part, MaxStrings)
	if err != nil {
		return err
	}
	in := newDecoder(text)
	for {
		token, err := in.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return damaged(part, err)
		}
		if start, ok := token.(xml.StartElement); ok && start.Name.Local == "si" {
			s, err := richText(in)
			if err != nil {
				return damaged(part, err)
			}
			if f.strings = append(f.strings, s); len(f.strings) > maxStrings {
				return damaged(part, fmt.Errorf("over %d strings", maxStrings))
			}
		}
	}
}

// richText reads an element that holds text or runs of text, without the
// fonts of the runs and without reading aids (18.4.8).
func richText(in *xml.Decoder) (string, error) {
	var text strings.Builder
	for depth := 0; depth >= 0; {
		token, err := in.Token()
		if err != nil {
			return "", err
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "t":
				if err := content(in, &text); err != nil {
					return "", err
				}
			case "rPh":
				if err := in.Skip(); err != nil {
					return "", err
				}
			default:
				depth++
			}
		case xml.EndElement:
			depth--
		}
	}
	return unescape(text.String()), nil
}

// content adds the text up to the end of the element that has begun.
func content(in *xml.Decoder, text *strings.Builder) error {
	for {
		token, err := in.Token()
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.CharData:
			text.Write(t)
		case xml.StartElement:
			if err := in.Skip(); err != nil {
				return err
			}
		case xml.EndElement:
			return nil
		}
	}
}

// escaped is a character that XML cannot hold, by its UTF-16 number
// (22.9.2.19).
var escaped = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// unescape puts characters for their numbers. Halves of a character, which
// writers have no cause to escape, stay as they are.
func unescape(text string) string {
	if !strings.Contains(text, "_x") {
		return text
	}
	return escaped.ReplaceAllStringFunc(text, func(code string) string {
		n, err := strconv.ParseUint(code[2:6], 16, 16)
		if err != nil || utf16.IsSurrogate(rune(n)) {
			return code
		}
		return string(rune(n))
	})
}
