package main

import (
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

// commandFirst moves the command to the front, so that options may stand
// before it as well as after it.
func commandFirst(app *kong.Application, args []string) []string {
	takesValue := map[string]bool{}
	commands := map[string]bool{}
	note := func(n *kong.Node) {
		for _, f := range n.Flags {
			takesValue["--"+f.Name] = takesValue["--"+f.Name] || !f.IsBool()
			if f.Short != 0 {
				takesValue["-"+string(f.Short)] = !f.IsBool()
			}
		}
	}
	note(app.Node)
	for _, n := range app.Children {
		note(n)
		commands[n.Name] = true
	}
	for i := 0; i < len(args); i++ {
		switch a := args[i]; {
		case a == "--":
			return args
		case strings.HasPrefix(a, "-") && len(a) > 1:
			if takesValue[a] {
				i++
			}
		case commands[a]:
			return slices.Concat([]string{a}, args[:i], args[i+1:])
		default:
			return args
		}
	}
	return args
}
