package main

import (
	"fmt"
	"os"
	"strings"

	"trueplait/data"
	"trueplait/data/postgres"
	"trueplait/report"
)

// serverCmd are the commands of who keeps a server.
type serverCmd struct {
	Setup    serverSetupCmd    `cmd:"" help:"Make the tables of a log, on one server or several, or bring them up to date."`
	Workshop serverWorkshopCmd `cmd:"" help:"Make a role for a workshop, which sees its own rows only."`
	Move     serverMoveCmd     `cmd:"" help:"Move a part of the builds to another server."`
	Show     serverShowCmd     `cmd:"" help:"Show which part of the builds is where."`
}

// Help is the worked example.
func (serverCmd) Help() string {
	return `Example: trueplait server setup --log postgres://keeper@guild.example/trueplait

For who keeps a PostgreSQL server, version 15 or newer, that many workshops
write to. --log is the address of the database as the role that owns it. A
workshop that was added names it with its own role, and every command works as
with a file: trueplait import builds.csv --log postgres://anna@guild.example/trueplait

Passwords come from PGPASSWORD, or from the file that PGPASSFILE names, which
has a line for each server: host:port:database:role:password. What TLS is asked
for stands in the address: ?sslmode=verify-full&sslrootcert=FILE.

Where builds are divided and one server is away, ?maker=NAME at the end of a
workshop's address reads and writes the builds of the makers that are kept
together with NAME's, and asks no other server.`
}

// admin is the address of the server that is kept.
func (p *program) admin() (string, error) {
	if !postgres.Is(p.log) {
		return "", usagef("--log %s: is no address: name the server with --log postgres://ROLE@HOST:PORT/DATABASE", p.log)
	}
	return p.log, nil
}

// serverSetupCmd makes the tables.
type serverSetupCmd struct {
	Shard      []string `placeholder:"ADDRESS" sep:"none" help:"Keep builds on this server, too (repeatable). The first server then only knows where they are."`
	Partitions int      `default:"12" placeholder:"N" help:"Parts that the builds are cut into, by maker; with --shard only (default: ${default}). It cannot be changed later: take more than there will ever be servers."`
}

// Help is the worked example.
func (serverSetupCmd) Help() string {
	return `Example: trueplait server setup --log postgres://keeper@guild.example/trueplait

Makes the tables in the database that --log names, or brings them up to date
where a newer program came; run again it changes nothing. The role owns the
database and may make roles.

Where one server is not enough, as a superuser of all of them, whose passwords
stand in the file of PGPASSFILE:
trueplait server setup --log postgres://keeper@guild.example/trueplait --shard postgres://keeper@a.example/trueplait --shard postgres://keeper@b.example/trueplait`
}

// Run makes them.
func (c *serverSetupCmd) Run(p *program) error {
	admin, err := p.admin()
	if err != nil {
		return err
	}
	for _, shard := range c.Shard {
		if !postgres.Is(shard) {
			return usagef("--shard %s: is no address: write postgres://ROLE@HOST:PORT/DATABASE", shard)
		}
	}
	if c.Partitions < max(1, len(c.Shard)) {
		return usagef("--partitions %d: fewer than the servers, of which some would stay empty: take several for each", c.Partitions)
	}
	if err := data.SetUpServer(p.ctx, admin, data.Cluster{Shards: c.Shard, Parts: c.Partitions}); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "%s is ready; add workshops with trueplait server workshop NAME\n", p.logName())
	return err
}

// workshopPasswordEnv is where a new workshop's password may stand.
const workshopPasswordEnv = "TRUEPLAIT_WORKSHOP_PASSWORD"

// serverWorkshopCmd makes a workshop.
type serverWorkshopCmd struct {
	Name         string `arg:"" help:"Name of the workshop, which is that of its role."`
	PasswordFile string `placeholder:"FILE" help:"File whose first line is the workshop's password (default: ${workshop_password_env})."`
}

// Help is the worked example.
func (serverWorkshopCmd) Help() string {
	return `Example: trueplait server workshop anna --password-file anna.txt --log postgres://keeper@guild.example/trueplait

Makes a role that logs in with the password, sees the rows that it wrote itself,
and no others. Give the workshop its address and the password; where it is kept
from then on is up to them: PGPASSWORD, or a file that PGPASSFILE names.`
}

// Run makes it.
func (c *serverWorkshopCmd) Run(p *program) error {
	admin, err := p.admin()
	if err != nil {
		return err
	}
	password, err := c.password()
	if err != nil {
		return err
	}
	if err := data.AddWorkshop(p.ctx, admin, c.Name, password); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "workshop %s: its log is --log %s\n", report.Label(c.Name), quoted(asRole(admin, c.Name)))
	return err
}

// password reads the workshop's password. It is no option: those can be read by
// every user of the machine.
func (c *serverWorkshopCmd) password() (string, error) {
	if c.PasswordFile == "" {
		password := os.Getenv(workshopPasswordEnv)
		if password == "" {
			return "", usagef("the workshop needs a password: name a file that has it with --password-file, or set %s", workshopPasswordEnv)
		}
		return password, nil
	}
	text, err := os.ReadFile(c.PasswordFile)
	if err != nil {
		return "", fileError(c.PasswordFile, err)
	}
	line, _, _ := strings.Cut(string(text), "\n")
	if line = strings.TrimSuffix(line, "\r"); line == "" {
		return "", fmt.Errorf("%s:1: the first line is blank: write the password there", c.PasswordFile)
	}
	return line, nil
}

// serverMoveCmd moves a part.
type serverMoveCmd struct {
	Part    int    `arg:"" help:"Number of the part, as trueplait server show has it."`
	Address string `arg:"" help:"Server to move it to: postgres://ROLE@HOST:PORT/DATABASE."`
}

// Help is the worked example.
func (serverMoveCmd) Help() string {
	return `Example: trueplait server move 3 postgres://keeper@c.example/trueplait --log postgres://keeper@guild.example/trueplait

Copies the part, compares rows and sums, and only then leaves the old place.`
}

// Run moves it.
func (c *serverMoveCmd) Run(p *program) error {
	admin, err := p.admin()
	if err != nil {
		return err
	}
	if !postgres.Is(c.Address) {
		return usagef("%q is no address: write postgres://ROLE@HOST:PORT/DATABASE", c.Address)
	}
	builds, err := data.MovePart(p.ctx, admin, c.Part, c.Address)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "part %d is on %s now: %d builds, compared with those it had\n", c.Part, postgres.Name(c.Address), builds)
	return err
}

// serverShowCmd shows what is where.
type serverShowCmd struct {
	JSON bool `name:"json" help:"Print it as JSON."`
}

// Help is the worked example.
func (serverShowCmd) Help() string {
	return `Example: trueplait server show --log postgres://keeper@guild.example/trueplait`
}

// Run shows it.
func (c *serverShowCmd) Run(p *program) error {
	admin, err := p.admin()
	if err != nil {
		return err
	}
	parts, err := data.Parts(p.ctx, admin)
	if err != nil {
		return err
	}
	var out []report.ServerPart
	for _, part := range parts {
		out = append(out, report.ServerPart(part))
	}
	if c.JSON {
		return report.ServerPartsJSON(p.stdout, out)
	}
	if out == nil {
		_, err := fmt.Fprintf(p.stdout, "%s keeps all builds itself\n", p.logName())
		return err
	}
	return report.ServerPartsTable(p.stdout, out, p.style("both"))
}
