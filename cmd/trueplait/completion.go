package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"
)

// completionCmd prints a completion script.
type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Help is the worked example.
func (completionCmd) Help() string {
	return `Example: source <(trueplait completion bash)

For good: trueplait completion bash > ~/.local/share/bash-completion/completions/trueplait
          trueplait completion zsh > a folder of $fpath, as _trueplait
          trueplait completion fish > ~/.config/fish/completions/trueplait.fish`
}

// Run prints the script, made from the grammar of the command line itself.
func (c *completionCmd) Run(p *program, k *kong.Context) error {
	script := map[string]func(*kong.Node) string{"bash": bashCompletion, "zsh": zshCompletion, "fish": fishCompletion}[c.Shell]
	_, err := fmt.Fprint(p.stdout, script(k.Model.Node))
	return err
}

// words lists what may follow a command: the options of the program, its own,
// and the values it chooses from.
func words(root, command *kong.Node) string {
	var out []string
	for _, n := range []*kong.Node{root, command} {
		for _, f := range n.Flags {
			if !f.Hidden {
				out = append(out, "--"+f.Name)
			}
		}
	}
	for _, n := range command.Children {
		out = append(out, n.Name)
		for _, f := range n.Flags {
			out = append(out, "--"+f.Name)
		}
	}
	for _, a := range command.Positional {
		out = append(out, a.EnumSlice()...)
	}
	return strings.Join(out, " ")
}

func commandNames(root *kong.Node) string {
	var out []string
	for _, n := range root.Children {
		out = append(out, n.Name)
	}
	return strings.Join(out, " ")
}

func bashCompletion(root *kong.Node) string {
	var b strings.Builder
	b.WriteString("_trueplait() {\n\tlocal word=${COMP_WORDS[COMP_CWORD]} command= w\n")
	b.WriteString("\tfor w in \"${COMP_WORDS[@]:1:COMP_CWORD-1}\"; do\n\t\tcase $w in\n")
	fmt.Fprintf(&b, "\t\t%s) command=$w; break;;\n\t\tesac\n\tdone\n\tlocal words\n\tcase $command in\n", strings.ReplaceAll(commandNames(root), " ", "|"))
	for _, n := range root.Children {
		fmt.Fprintf(&b, "\t%s) words=%q;;\n", n.Name, words(root, n))
	}
	fmt.Fprintf(&b, "\t*) words=%q;;\n\tesac\n", commandNames(root)+" --log --version --help")
	b.WriteString("\tCOMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n}\ncomplete -o bashdefault -o default -F _trueplait trueplait\n")
	return b.String()
}

func zshCompletion(root *kong.Node) string {
	var b strings.Builder
	b.WriteString("#compdef trueplait\nlocal -a commands\nlocal command=${words[(r)" + strings.ReplaceAll("("+commandNames(root)+")", " ", "|") + "]}\n")
	b.WriteString("case $command in\n")
	for _, n := range root.Children {
		fmt.Fprintf(&b, "%s) compadd -- %s; _files;;\n", n.Name, words(root, n))
	}
	fmt.Fprintf(&b, "*) compadd -- %s --log --version --help;;\nesac\n", commandNames(root))
	return b.String()
}

func fishCompletion(root *kong.Node) string {
	var b strings.Builder
	none := "not __fish_seen_subcommand_from " + commandNames(root)
	for _, n := range root.Children {
		fmt.Fprintf(&b, "complete -c trueplait -f -n %s -a %s -d %s\n", fishQuote(none), n.Name, fishQuote(n.Help))
		for _, c := range n.Children {
			fmt.Fprintf(&b, "complete -c trueplait -f -n %s -a %s -d %s\n", fishQuote("__fish_seen_subcommand_from "+n.Name), c.Name, fishQuote(c.Help))
		}
		for _, f := range append(append([]*kong.Flag{}, root.Flags...), n.Flags...) {
			takes := " -r"
			if f.IsBool() {
				takes = ""
			}
			fmt.Fprintf(&b, "complete -c trueplait -n %s -l %s%s -d %s\n", fishQuote("__fish_seen_subcommand_from "+n.Name), f.Name, takes, fishQuote(f.Help))
		}
	}
	return b.String()
}

func fishQuote(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(s) + "'"
}
