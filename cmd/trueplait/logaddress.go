package main

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"trueplait/data/postgres"
)

// logName is the log as people may see it: its path, or its address without
// password and settings.
func (p *program) logName() string {
	if postgres.Is(p.log) {
		return postgres.Name(p.log)
	}
	return p.log
}

// secrets are the settings of an address that nobody else is to see.
var secrets = []string{"password", "sslpassword"}

// withoutPassword is a log's path, or its address with its settings but without
// any password, and whether there was one.
func withoutPassword(log string) (clean string, had bool) {
	if !postgres.Is(log) {
		return log, false
	}
	u, err := url.Parse(log)
	if err != nil {
		return postgres.Name(log), false // none that could be used
	}
	if _, had = u.User.Password(); had {
		u.User = url.User(u.User.Username())
	}
	settings := u.Query()
	for _, s := range secrets {
		had = had || settings.Has(s)
		settings.Del(s)
	}
	u.RawQuery = settings.Encode()
	return u.String(), had
}

// asRole is a server's address with its settings, as another role and without
// any password.
func asRole(address, role string) string {
	clean, _ := withoutPassword(address)
	u, err := url.Parse(clean)
	if err != nil {
		return clean
	}
	u.User = url.User(role)
	return u.String()
}

// addressIn is the server's address that a word of the command line is or ends
// in, as --log=ADDRESS does; "" where there is none.
func addressIn(word string) string {
	for i := range word {
		if postgres.Is(word[i:]) {
			return word[i:]
		}
	}
	return ""
}

// misplaced finds an address where a command takes something else, "" for none.
// Taken for the name of a file, its password would be shown and written down.
func misplaced(args []string) string {
	for i, word := range args {
		named := i > 0 && (args[i-1] == "--log" || args[i-1] == "--shard") || args[0] == "server"
		if postgres.Is(word) && !named {
			return word
		}
	}
	return ""
}

// warnOfPasswords warns of a password on the command line.
func (p *program) warnOfPasswords(args []string) {
	exposed := func(word string) bool {
		_, had := withoutPassword(addressIn(word))
		return had
	}
	if slices.ContainsFunc(args, exposed) {
		fmt.Fprintln(p.stderr, "warning: the address has a password in it, which every user of this machine can see in its list of programs: "+
			"leave it out, and set PGPASSWORD, or PGPASSFILE to a file that has it")
	}
}

// discreet is a text that may quote words of the command line, without the
// passwords in them.
func discreet(text string, args []string) string {
	for _, word := range args {
		if address := addressIn(word); address != "" {
			text = strings.ReplaceAll(text, address, postgres.Name(address))
		}
	}
	return text
}
