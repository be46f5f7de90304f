package bench

import (
	"fmt"
	"html/template"
	"net/url"
	"strconv"
)

// pageRows is how many rows a page of a list has.
const pageRows = 25

// pager is the place of one page in a list.
type pager struct {
	Offset, Shown, Total int
	What                 string // "builds"
	Before, After        template.URL
}

// pageAt is which page of a list is asked for, counted from 0. What is no
// number, or beyond any log, is the first.
func (v *visit) pageAt() int {
	const beyond = 1_000_000
	n, err := strconv.Atoi(v.value("page"))
	if err != nil || n < 2 || n > beyond {
		return 0
	}
	return n - 1
}

// pages says where in a list of total rows this page stands; what names the
// rows, and anchor the part of the page with the list.
func (v *visit) pages(total int, what, anchor string) pager {
	at := v.pageAt()
	p := pager{Offset: at * pageRows, Total: total, What: what}
	p.Shown = max(0, min(pageRows, total-p.Offset))
	to := func(n int) template.URL {
		q := url.Values{}
		for name, values := range v.r.URL.Query() {
			q[name] = values
		}
		q.Set("page", strconv.Itoa(n+1))
		return template.URL(v.r.URL.Path + "?" + q.Encode() + anchor)
	}
	if at > 0 {
		p.Before = to(min(at-1, max(0, (total-1)/pageRows)))
	}
	if p.Offset+pageRows < total {
		p.After = to(at + 1)
	}
	return p
}

// String says what is shown: "1 to 25 of 3412 builds".
func (p pager) String() string {
	switch {
	case p.Total == 0:
		return "no " + p.What
	case p.Total == 1 && p.Shown == 1:
		return "just one"
	case p.Shown == 0:
		return fmt.Sprintf("none from %d on: there are %d %s", p.Offset+1, p.Total, p.What)
	case p.Shown == p.Total:
		return fmt.Sprintf("all %d %s", p.Total, p.What)
	}
	return fmt.Sprintf("%d to %d of %d %s", p.Offset+1, p.Offset+p.Shown, p.Total, p.What)
}
