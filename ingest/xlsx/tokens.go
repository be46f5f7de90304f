package xlsx

import (
	"encoding/xml"
	"fmt"
	"io"
)

const (
	// maxToken is how many bytes a tag or a stretch of text may take in the
	// file; a cell holds 32,767 characters. A decoder holds the whole of one,
	// and up to twenty times as much where it is all attributes.
	maxToken = 1 << 20

	// maxDepth is how deep elements may be nested; those of a workbook are a
	// dozen deep. A decoder remembers every element that is open, which takes
	// thirty times what a short tag does.
	maxDepth = 64
)

// tokens are the tags and texts of a part.
type tokens struct {
	raw   *xml.Decoder
	limit *limitedReader // under raw
	depth int
}

// newDecoder reads XML that may be made to fill the memory.
func newDecoder(in io.Reader) *xml.Decoder {
	limit := &limitedReader{in: in, what: "a tag or text", most: maxToken}
	return xml.NewTokenDecoder(&tokens{raw: xml.NewDecoder(limit), limit: limit})
}

// Token implements xml.TokenReader.
func (t *tokens) Token() (xml.Token, error) {
	t.limit.renew()
	token, err := t.raw.RawToken()
	switch token.(type) {
	case xml.StartElement:
		if t.depth++; t.depth > maxDepth {
			return nil, fmt.Errorf("elements are nested over %d deep", maxDepth)
		}
	case xml.EndElement:
		t.depth--
	}
	return token, err
}

// limitedReader fails where more than most bytes are read before it is
// renewed.
type limitedReader struct {
	in   io.Reader
	what string // that is so long
	most int
	left int
}

func (l *limitedReader) renew() { l.left = l.most }

func (l *limitedReader) Read(p []byte) (int, error) {
	if l.left <= 0 {
		return 0, fmt.Errorf("%s is longer than %d MB", l.what, l.most>>20)
	}
	n, err := l.in.Read(p[:min(len(p), l.left)])
	l.left -= n
	return n, err
}
