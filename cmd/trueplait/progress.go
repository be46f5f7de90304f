package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows how far a long import is, on a terminal and from the second
// second on.
type progress struct {
	out   io.Writer // nil: not a terminal
	start time.Time
	total int64
	read  int64
	bar   *progressbar.ProgressBar
}

func newProgress(stderr io.Writer) *progress {
	p := &progress{start: time.Now()}
	if f, ok := stderr.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.out = f
	}
	return p
}

// expect adds to the bytes there are to read.
func (p *progress) expect(n int64) { p.total += n }

// add counts bytes as read.
func (p *progress) add(n int) {
	p.read += int64(n)
	if p.out == nil {
		return
	}
	if p.bar == nil && time.Since(p.start) > time.Second {
		p.bar = progressbar.NewOptions64(p.total, progressbar.OptionSetWriter(p.out),
			progressbar.OptionShowBytes(true), progressbar.OptionClearOnFinish(),
			progressbar.OptionThrottle(100*time.Millisecond))
	}
	if p.bar != nil {
		_ = p.bar.Set64(p.read) // a bar that cannot be drawn is no reason to stop
	}
}

// done clears the bar.
func (p *progress) done() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
