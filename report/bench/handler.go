package bench

import (
	"context"
	"fmt"
	"log"
	"net/http"
	"strings"
	"time"
)

// Options of the page.
type Options struct {
	Log  *log.Logger // gets one line per request that failed on our side; nil: they go untold
	Door bool        // devices sign in, so that the page offers to sign out

	InWords func(error) error // words what goes into the log for people; nil: as it is

	Context context.Context  // what goes on in the background ends with it; nil: it never ends
	Now     func() time.Time // the clock; nil: the machine's
}

// background is the context of work that outlasts its request.
func (o Options) background() context.Context {
	if o.Context == nil {
		return context.Background()
	}
	return o.Context
}

func (o Options) now() time.Time {
	if o.Now == nil {
		return time.Now()
	}
	return o.Now()
}

// New returns the bench page of a shop. It is meant to stand behind a door
// that checks where requests come from, limits their bodies and sets the
// content security policy: pages use scripts and styles of their own origin
// only, unless they set another policy themselves.
func New(shop Shop, opt Options) http.Handler {
	b := &bench{shop: shop, opt: opt, mux: http.NewServeMux(), arriving: make(chan struct{}, mostArriving)}
	b.writing()
	b.reading()
	b.mux.HandleFunc("GET /static/", serveStatic)
	b.handle(anyOther, (*visit).notHere)
	return b.mux
}

// bench is the page: the shop, and what the page itself remembers.
type bench struct {
	shop  Shop
	opt   Options
	mux   *http.ServeMux
	saved savedList

	arriving chan struct{} // holds one for each request that brings files
	readingState
}

// anyOther is the pattern that requests come to which no other takes.
const anyOther = "/"

// writing adds the pages on which work is written down.
func (b *bench) writing() {
	b.handle("GET /{$}", (*visit).start)
	b.handle("GET /plan", (*visit).plan)
	b.handle("GET /plan/result", (*visit).planResult)
	b.handle("GET /plan/sheet", (*visit).planSheet)
	b.handle("POST /plan", (*visit).openPlan)
	b.handle("GET /drop", (*visit).drop)
	b.handle("POST /drop", (*visit).dropNow)
	b.handle("GET /finish", (*visit).finish)
	b.handle("POST /finish", (*visit).finishEntry)
	b.handle("GET /fill", (*visit).fill)
	b.handle("POST /fill", (*visit).fillEntry)
	b.handle("GET /cord", (*visit).cord)
	b.handle("POST /cord", (*visit).cordEntry)
	b.handle("GET /product", (*visit).product)
	b.handle("POST /product", (*visit).productEntry)
	b.handle("GET /edit", (*visit).edit)
	b.handle("POST /edit", (*visit).editEntry)
	b.handle("GET /saved", (*visit).showSaved)
	b.handle("GET /maker", (*visit).askMaker)
	b.handle("POST /maker", (*visit).chooseMaker)
	b.handle("GET /echo", (*visit).echo)
}

// handle serves a pattern with one of the page's functions.
func (b *bench) handle(pattern string, serve func(*visit) error) {
	b.mux.HandleFunc(pattern, b.page(serve))
}

// notHere answers a path that no page has, or a method that its page does not
// take.
func (v *visit) notHere() error {
	var takes []string
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		probe := v.r.Clone(v.r.Context())
		probe.Method = method
		if _, pattern := v.mux.Handler(probe); pattern != anyOther {
			takes = append(takes, method)
		}
	}
	if takes == nil {
		return notFound("There is no page at " + v.r.URL.Path + ".")
	}
	v.w.Header().Set("Allow", strings.Join(takes, ", "))
	return &wrong{http.StatusMethodNotAllowed, "This page cannot be used that way",
		fmt.Sprintf("It was asked with the method %s and takes %s. Go back and use its buttons.", v.r.Method, strings.Join(takes, " and "))}
}
