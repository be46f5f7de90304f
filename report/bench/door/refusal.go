package door

import (
	"fmt"
	"io"
	"net/http"
	"time"
)

// refusal is a page that says why a request was not answered.
type refusal struct {
	status int
	view
}

func (a *answer) refuse(f refusal) { a.show(f.status, f.view) }

func wrongHost(r *http.Request) refusal {
	return refusal{http.StatusMisdirectedRequest, view{
		Title: "This is not the bench's address",
		Words: []string{
			fmt.Sprintf("The bench was called %q, and that is not one of its names. Nothing was read or saved.", r.Host),
			"Open it by an address that the terminal shows. If the address of its machine has changed since, start the bench again.",
		},
	}}
}

var otherOrigin = refusal{http.StatusForbidden, view{
	Title: "This did not come from the bench",
	Words: []string{
		"Another page sent it, or a program that does not say where it comes from. Nothing was saved.",
		"Open the bench in this browser and enter it there. If that is what you did, the browser is too old or hides where a form comes from: update it, or use another.",
	},
}}

var otherMachine = refusal{http.StatusForbidden, view{
	Title: "The bench is open on its own machine only",
	Words: []string{
		"Nothing was read or saved.",
		"To use it from a phone or another machine, start it there with --listen; the terminal then shows an access code.",
	},
}}

var notSignedIn = refusal{http.StatusForbidden, view{
	Title: "This device is not signed in",
	Words: []string{
		"Nothing was saved.",
		"If you were saving, keep this page: sign in with the link below, come back and reload. The browser then offers to send once more what you typed.",
	},
	Link: &link{To: doorPath, Words: "Sign in, in another tab", Apart: true},
}}

var wrongMethod = refusal{http.StatusMethodNotAllowed, view{
	Title: "Nothing happens here",
	Words: []string{"This address does not take such a request."},
	Link:  &link{To: "/", Words: "Go to the bench"},
}}

var largeForm = refusal{http.StatusRequestEntityTooLarge, view{
	Title: "That is too large",
	Words: []string{"Only an access code can be sent here."},
	Link:  &link{To: doorPath, Words: "Back to the door"},
}}

var badForm = refusal{http.StatusBadRequest, view{
	Title: "That could not be read",
	Words: []string{"What was sent is not a form with an access code in it."},
	Link:  &link{To: doorPath, Words: "Back to the door"},
}}

var ownFault = refusal{http.StatusInternalServerError, view{
	Title: "The bench made a mistake",
	Words: []string{
		"Something went wrong in the program; the terminal shows a line about it.",
		"If you were saving, look first whether it is there before you enter it again.",
	},
	Link: &link{To: "/", Words: "Go to the bench"},
}}

func tooManyTries(wait time.Duration) refusal {
	words := "Wait a minute"
	if n := (seconds(wait) + 59) / 60; n > 1 {
		words = fmt.Sprintf("Wait %d minutes", n)
	}
	return refusal{http.StatusTooManyRequests, view{
		Title: "Too many wrong codes",
		Words: []string{words + ", then type the newest code that the terminal shows. Devices that are signed in can go on working."},
		Link:  &link{To: doorPath, Words: "Back to the door"},
	}}
}

// refuseBody answers a request whose body is larger than it may be. The rest
// is read first and thrown away: closing on a browser that still sends can
// lose it the answer (RFC 9112, section 9.6). The server's ReadTimeout says
// how long that may last.
func (a *answer) refuseBody() {
	_, _ = io.Copy(io.Discard, a.sent)
	a.refuse(refusal{http.StatusRequestEntityTooLarge, view{
		Title: "That is too large",
		Words: []string{
			fmt.Sprintf("At most %s can be sent here, so it was not taken.", size(a.max)),
			"Send less at once. Files of any size go in at the terminal: trueplait import FILE.",
		},
		Link: &link{To: "/", Words: "Go to the bench"},
	}})
}

// seconds rounds up: who comes back after so long must not be early.
func seconds(d time.Duration) int { return int((d + time.Second - 1) / time.Second) }

// size writes a number of bytes.
func size(bytes int64) string {
	if bytes < 1_000_000 {
		return fmt.Sprintf("%d kB", bytes/1000)
	}
	return fmt.Sprintf("%d MB", bytes/1_000_000)
}
