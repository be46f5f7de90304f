package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// errInputEnded is a question that nobody will answer any more.
var errInputEnded = errors.New("the input ended; nothing was saved")

// prompt asks for one line at a time.
type prompt struct {
	in  *bufio.Reader
	out io.Writer
}

func newPrompt(in io.Reader, out io.Writer) *prompt { return &prompt{bufio.NewReader(in), out} }

// line asks and returns the answer, trimmed. Errors: that of ctx, where it ends
// first, and errInputEnded.
//
// A read of a terminal cannot be called off. At the end of ctx it is left
// behind, and nothing is read after it.
func (p *prompt) line(ctx context.Context, question string) (string, error) {
	if ctx.Err() != nil {
		return "", ctx.Err()
	}
	fmt.Fprint(p.out, question)
	type read struct {
		text string
		err  error
	}
	done := make(chan read, 1)
	go func() {
		text, err := p.in.ReadString('\n')
		done <- read{strings.TrimSpace(text), err}
	}()
	select {
	case <-ctx.Done():
		fmt.Fprintln(p.out)
		return "", ctx.Err()
	case r := <-done:
		if r.err == nil || r.err == io.EOF && r.text != "" {
			return r.text, nil
		}
		fmt.Fprintln(p.out)
		if r.err == io.EOF {
			return "", errInputEnded
		}
		return "", fmt.Errorf("the answer cannot be read: %w", r.err)
	}
}

// say writes a line below the answer that it is about.
func (p *prompt) say(format string, args ...any) {
	fmt.Fprintf(p.out, "  "+format+"\n", args...)
}

// isTerminal reports whether a stream of the program is a terminal.
func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
