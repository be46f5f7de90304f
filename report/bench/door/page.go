package door

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"net/http"
)

// The door's own files. Its pages need no other: the style is inside, so that
// they look the same to devices that may fetch nothing else.
var (
	//go:embed html/door.html
	doorHTML string
	//go:embed html/door.css
	doorCSS string
)

var doorTemplate = template.Must(template.New("door").Parse(doorHTML))

// view is a page of the door.
type view struct {
	Title string
	Words []string // what happened and what to do, a paragraph each
	Form  *form    // asks for the code
	Link  *link    // leads on
	Leave bool     // offers to sign out
}

// form asks for the code.
type form struct {
	Code    string // filled in
	Next    string // where the device goes then
	Trouble string // with the code sent before
	Open    bool   // nothing is encrypted
}

type link struct {
	To, Words string
	Apart     bool // in a tab of its own
}

func signInView(f form) view {
	return view{
		Title: "The bench",
		Words: []string{"Type the access code that the terminal shows, on the machine where the bench was started."},
		Form:  &f,
	}
}

func welcome(next string) view {
	return view{
		Title: "This device is signed in",
		Words: []string{"It stays signed in for 12 hours after it was last used, 7 days at most."},
		Link:  &link{To: next, Words: "Go to the bench"},
		Leave: true,
	}
}

// show answers with a page of the door.
func (a *answer) show(status int, v view) {
	sum := sha256.Sum256([]byte(doorCSS))
	h := a.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+
		"'; img-src data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	setHeaders(h, a.request)
	a.began = true
	a.ResponseWriter.WriteHeader(status)
	if a.request.Method == http.MethodHead {
		return
	}
	// An error here is a browser that went away.
	_ = doorTemplate.Execute(a.ResponseWriter, struct {
		view
		CSS template.CSS
	}{v, template.CSS(doorCSS)})
}
