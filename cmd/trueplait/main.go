package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/alecthomas/kong"

	"trueplait/data"
	"trueplait/data/postgres"
)

// version is set by the linker for a release.
var version = ""

// Exit codes.
const (
	exitDone        = 0
	exitData        = 1   // the data or a file is at fault
	exitUsage       = 2   // the command line is
	exitLimit       = 3   // a limit asked for cannot be met; the answer is printed
	exitInterrupted = 130 // Ctrl-C
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// program is what every command works with.
type program struct {
	ctx    context.Context
	stdin  io.Reader
	stdout io.Writer
	stderr io.Writer
	log    string // path of the log, or its address, which may have a password in it: see logName
	named  bool   // --log was given
}

// cli is the command line. The fields' tags are its grammar and its help.
type cli struct {
	Log     string      `placeholder:"LOG" help:"The log: a DuckDB file, or postgres://ROLE@HOST:PORT/DATABASE (default: ${log_env}, or workshop.duckdb)."`
	Version versionFlag `help:"Print the version and exit."`

	Import      importCmd      `cmd:"" help:"Take CSV files into the log."`
	Check       checkCmd       `cmd:"" help:"Say what import would do, without writing."`
	Build       buildCmd       `cmd:"" help:"Enter a finished whip: its figures, by options or at the prompt."`
	Fill        fillCmd        `cmd:"" help:"Enter a test fill: a length of core, filled with shot and weighed."`
	Cord        cordCmd        `cmd:"" help:"Enter a cord check: a length of strand cord, weighed."`
	Calibrate   calibrateCmd   `cmd:"" help:"Work out how far each maker and each batch is off, and save it."`
	Factors     factorsCmd     `cmd:"" help:"Show the factors: the planner's figure is multiplied by them."`
	Plan        planCmd        `cmd:"" help:"Work out a build sheet: shot, load, cuts, weight and balance."`
	Promise     promiseCmd     `cmd:"" help:"Say which weight and length can be promised, and what would narrow it."`
	Proof       proofCmd       `cmd:"" help:"Show whether predictions got better, build by build."`
	Consistency consistencyCmd `cmd:"" help:"Show whether each product is made alike, and fits what is promised."`
	Serve       serveCmd       `cmd:"" help:"The bench page: plan, finish and measure in a browser or on a phone."`
	Report      reportCmd      `cmd:"" help:"Write it all as one HTML page."`
	Export      exportCmd      `cmd:"" help:"Write the log back to CSV, and to Parquet."`
	Backup      backupCmd      `cmd:"" help:"Copy the log into one file, also while the bench page is running."`
	Verify      verifyCmd      `cmd:"" help:"Check the log against everything it was made from."`
	Server      serverCmd      `cmd:"" help:"For who keeps a PostgreSQL server with the logs of many workshops."`
	Demo        demoCmd        `cmd:"" help:"Make an invented shop to look around in."`
	Completion  completionCmd  `cmd:"" help:"Print a completion script for bash, zsh or fish."`
}

const logEnv = "TRUEPLAIT_LOG"

// usageError is wrong usage: it exits 2.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// reportedError is a failure whose problems were printed already.
type reportedError struct{ code int }

func (e reportedError) Error() string { return fmt.Sprintf("exit code %d", e.code) }

// run executes one command line and returns its exit code. The answer goes to
// stdout, everything else to stderr; stdin is read where it is a terminal.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	p := &program{ctx: ctx, stdin: stdin, stdout: stdout, stderr: stderr}
	defer func() {
		if r := recover(); r != nil { // our own defect: a maker is not shown a stack
			fmt.Fprintf(stderr, "trueplait: a defect of the program stopped it: %v\n", r)
			code = exitData
		}
	}()
	var c cli
	exit := -1
	parser, err := kong.New(&c,
		kong.Name("trueplait"),
		kong.Description("Keeps planned against measured for every whip, and corrects the plan by it."),
		kong.Vars{"log_env": logEnv, "listen": defaultListen, "workshop_password_env": workshopPasswordEnv},
		kong.Writers(stdout, stderr),
		kong.Exit(func(code int) { exit = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true, WrapUpperBound: 90}),
		kong.ShortUsageOnError(),
	)
	if err != nil {
		fmt.Fprintf(stderr, "trueplait: %v\n", err)
		return exitData
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	args = commandFirst(parser.Model, args)
	if address := misplaced(args); address != "" {
		fmt.Fprintf(stderr, "trueplait: %s: is the address of a log on a server: name it with --log\n", postgres.Name(address))
		return exitUsage
	}
	k, err := parser.Parse(args)
	if exit >= 0 { // --help or --version has answered
		return exit
	}
	if err != nil {
		fmt.Fprintf(stderr, "trueplait: %s\n", discreet(err.Error(), args))
		hint(stderr, err)
		return exitUsage
	}
	p.warnOfPasswords(args)
	p.named = c.Log != ""
	p.log = c.Log
	if p.log == "" {
		p.log = os.Getenv(logEnv)
	}
	if p.log == "" {
		p.log = "workshop.duckdb"
	}
	return p.exitCode(k.Run(p))
}

// hint names the page of help that would have said it.
func hint(stderr io.Writer, err error) {
	var parse *kong.ParseError
	command := "trueplait"
	if errors.As(err, &parse) && parse.Context != nil && parse.Context.Selected() != nil {
		command = parse.Context.Selected().FullPath()
	}
	fmt.Fprintf(stderr, "see: %s --help\n", command)
}

// exitCode prints an error once and says how the program ends.
func (p *program) exitCode(err error) int {
	var usage usageError
	var reported reportedError
	switch {
	case err == nil:
		return exitDone
	case p.ctx.Err() != nil:
		fmt.Fprintln(p.stderr, "trueplait: interrupted; nothing was written")
		return exitInterrupted
	case errors.As(err, &reported):
		return reported.code
	case errors.As(err, &usage):
		fmt.Fprintf(p.stderr, "trueplait: %v\n", err)
		return exitUsage
	}
	fmt.Fprintf(p.stderr, "trueplait: %v\n", data.InWords(p.log, err))
	return exitData
}

// versionFlag prints the version.
type versionFlag bool

// BeforeReset is called by kong as soon as the flag is seen.
func (versionFlag) BeforeReset(k *kong.Kong) error {
	fmt.Fprintf(k.Stdout, "trueplait %s\n", versionText())
	k.Exit(exitDone)
	return nil
}

// versionText is the release, or the commit the program was built from.
func versionText() string {
	if version != "" {
		return version
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return "development " + s.Value[:12]
		}
	}
	return "development"
}
