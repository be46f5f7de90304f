package data

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"time"

	"trueplait/data/duckdb"
)

//go:embed query/database_name.sql
var databaseName string

// ErrNotOpenToWrite is what Backup says of a log opened ReadOnly.
var ErrNotOpenToWrite = errors.New("is open to read only")

// Backup writes a copy of the log as it is at one moment, all of its tables, as
// one DuckDB file named to. It may be used from other goroutines meanwhile: what
// they ask waits. A file of that name is never replaced: [os.ErrExist].
//
// DuckDB itself makes the copy, beside the log. Reading the log's bytes would
// not do: whoever closes a file gives up all locks his process has on it, and
// another program could write into the log while this one does. The copy is
// opened and compared with the log (rows of every table, [Log.Fingerprint]),
// synced, and only then given its name; on another disk, copied there first. At
// whatever instant it stops, there is a whole backup of that name or none.
//
// A log opened ReadOnly cannot be backed up, [ErrNotOpenToWrite], because DuckDB
// then writes no other file either. Nobody writes to it while it is open, so its
// file can be copied by hand.
func (l *Log) Backup(ctx context.Context, to string) (err error) {
	if l.copyPath == "" {
		return fmt.Errorf("back up log %s: it %w: open it to write, or copy the file itself", l.path, ErrNotOpenToWrite)
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("back up log %s to %s: %w", l.path, to, diskError(err))
		}
	}()
	if err := checkNew(to); err != nil {
		return err
	}
	l.backup.Lock()
	defer l.backup.Unlock()
	// What is left of a backup that was cut off.
	if err := l.removeCopy(); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.removeCopy()) }()
	copied, err := l.copyDatabase(ctx)
	if err != nil {
		return err
	}
	made, err := l.readCopy(ctx)
	if err != nil {
		return err
	}
	if !maps.Equal(copied.rows, made.rows) || copied.fingerprint != made.fingerprint {
		return errors.New("the copy does not hold what the log does: try again, on another disk if it stays so")
	}
	if err := errors.Join(l.hideCopy(), syncFile(l.copyPath)); err != nil {
		return err
	}
	return publish(l.copyPath, to)
}

// content is what two copies of a log must have in common.
type content struct {
	rows        map[string]int // by table
	fingerprint string
}

// contentOf counts and digests what q reads.
func contentOf(ctx context.Context, q queryer) (content, error) {
	rows, err := countRows(ctx, q)
	if err != nil {
		return content{}, err
	}
	print, err := fingerprint(ctx, q, time.Time{})
	return content{rows, print}, err
}

// copyDatabase makes the copy at l.copyPath and returns what must be in it.
func (l *Log) copyDatabase(ctx context.Context) (copied content, err error) {
	conn, err := l.db.session(ctx) // nobody writes while it is held
	if err != nil {
		return copied, err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if copied, err = contentOf(ctx, conn); err != nil {
		return copied, err
	}
	var name string
	if err := conn.QueryRowContext(ctx, databaseName).Scan(&name); err != nil {
		return copied, err
	}
	if _, err := conn.ExecContext(ctx, "ATTACH "+duckdb.Literal(l.copyPath)+" AS backup"); err != nil {
		return copied, err
	}
	defer func() {
		// Whatever happened, the connection must be as it was.
		_, detach := conn.ExecContext(context.WithoutCancel(ctx), "DETACH backup")
		err = errors.Join(err, detach)
	}()
	if _, err := conn.ExecContext(ctx, "COPY FROM DATABASE "+duckdb.Identifier(name)+" TO backup"); err != nil {
		return copied, err
	}
	_, err = conn.ExecContext(ctx, "CHECKPOINT backup")
	return copied, err
}

// readCopy opens the copy and returns what is in it.
func (l *Log) readCopy(ctx context.Context) (made content, err error) {
	log, err := Open(ctx, l.copyPath, ReadOnly)
	if err != nil {
		return made, err
	}
	defer func() { err = errors.Join(err, log.Close()) }()
	return contentOf(ctx, log.db)
}

// hideCopy lets nobody read the copy who may not read the log.
func (l *Log) hideCopy() error {
	info, err := os.Stat(l.path)
	if err != nil {
		return err
	}
	return os.Chmod(l.copyPath, info.Mode().Perm())
}

// removeCopy removes the copy, which may not be there.
func (l *Log) removeCopy() error {
	for _, end := range duckdb.Ends {
		if err := removeIfThere(l.copyPath + end); err != nil {
			return err
		}
	}
	return nil
}

// checkNew makes sure that there is no file of a name, and that there can be.
func checkNew(name string) error {
	_, err := os.Lstat(name)
	switch {
	case err == nil:
		return fmt.Errorf("%w: name a new file, or move that one away", os.ErrExist)
	case !errors.Is(err, os.ErrNotExist):
		return err
	}
	if _, err := os.Stat(filepath.Dir(name)); err != nil {
		return fmt.Errorf("its folder is not there: create it first: %w", err)
	}
	return nil
}

// publish gives a finished file its name, with its folder synced; the old name
// may remain. It never replaces a file.
func publish(file, name string) error {
	// A link never takes the place of a file, while a rename would.
	err := os.Link(file, name)
	if errors.Is(err, os.ErrExist) {
		return checkNew(name)
	}
	if err == nil {
		return syncFolderOf(name)
	}

	// Another disk, or one without links.
	beside, err := copyInto(filepath.Dir(name), file)
	if err != nil {
		return err
	}
	if err := checkNew(name); err != nil {
		return errors.Join(err, os.Remove(beside))
	}
	if err := os.Rename(beside, name); err != nil {
		return errors.Join(err, os.Remove(beside))
	}
	return syncFolderOf(name)
}

// copyInto copies a file into a folder under a name of its own.
func copyInto(folder, file string) (name string, err error) {
	to, err := os.CreateTemp(folder, "."+filepath.Base(file)+"-*")
	if err != nil {
		return "", err
	}
	if err := copyFile(to, file); err != nil {
		return "", errors.Join(err, os.Remove(to.Name()))
	}
	return to.Name(), nil
}

// copyFile copies a file with its permissions, makes sure that the copy is on
// the disk, and closes it.
func copyFile(to *os.File, file string) (err error) {
	defer func() { err = errors.Join(err, to.Close()) }()
	from, err := os.Open(file)
	if err != nil {
		return err
	}
	defer from.Close()
	info, err := from.Stat()
	if err != nil {
		return err
	}
	if _, err := io.Copy(to, from); err != nil {
		return err
	}
	// A disk that knows no permissions, such as a USB stick, may refuse; who made
	// the copy can read it in any case.
	_ = to.Chmod(info.Mode().Perm())
	return to.Sync()
}

// syncFile makes sure that a file is on the disk.
func syncFile(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncFolderOf makes sure that the name of a file is on the disk.
func syncFolderOf(name string) error { return syncFile(filepath.Dir(name)) }
