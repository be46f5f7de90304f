package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/data/postgres"
)

// backupCmd copies the log.
type backupCmd struct {
	File string `arg:"" help:"File to copy the log to; it must not be there yet."`
}

// Help is the worked example.
func (backupCmd) Help() string {
	return `Example: trueplait backup /media/stick/workshop-2026-03.duckdb

Copies the log, as it is at one moment, into one file: every row, what was
amended, the calibrations, and the bytes of every file that was imported. The
copy is a log itself: trueplait verify --log FILE checks it, and any command
reads it.

The bench page may be running meanwhile: it makes the copy then, and nothing
that is being saved is lost or copied by halves. Nothing is overwritten.

A log on a server is backed up there, with all others, by who keeps the server:
pg_dump --format custom --file FILE DATABASE. For rows of your own in files, see
trueplait export --help.`
}

// Run copies the log, or has the page copy it that has it open.
func (c *backupCmd) Run(p *program) error {
	if postgres.Is(p.log) {
		return fmt.Errorf("log %s is on a server: who keeps that backs it up, with pg_dump; trueplait export writes your rows into files", p.logName())
	}
	if err := refuseBackupOver(c.File); err != nil {
		return err
	}
	err := c.copy(p)
	if errors.Is(err, data.ErrInUse) {
		err = c.ask(p, err)
	}
	if err != nil {
		return err
	}
	info, err := os.Stat(c.File)
	if err != nil {
		return err
	}
	const mb = 1e6
	_, err = fmt.Fprintf(p.stdout, "wrote %s, %.1f MB\n", c.File, float64(info.Size())/mb)
	return err
}

// copy copies a log that nobody else has open.
func (c *backupCmd) copy(p *program) (err error) {
	w, err := workshop.Open(p.ctx, p.log, data.ReadWrite, workshop.Options{Clock: now})
	if err != nil {
		return err
	}
	defer w.Close(&err)
	return w.Log.Backup(p.ctx, c.File)
}

// ask has the page copy the log. inUse is why this program cannot.
func (c *backupCmd) ask(p *program, inUse error) error {
	to, err := filepath.Abs(c.File)
	if err != nil {
		return err
	}
	err = askBackup(p.ctx, p.log, to)
	switch {
	case errors.Is(err, errNoSideDoor):
		return fmt.Errorf("%w; if it is the bench page, download a backup from its Files page", inUse)
	case err != nil:
		return err
	}
	fmt.Fprintln(p.stderr, "the log is open in the bench page, which made the copy")
	return nil
}

// refuseBackupOver refuses a file that is there: a backup overwrites nothing.
func refuseBackupOver(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: is there already: name another file, a backup overwrites nothing", path)
	}
	return nil
}
