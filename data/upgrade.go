package data

import (
	"context"
	"errors"
	"fmt"
	"os"
)

// upgrade brings the tables of an older log up to date. The file as it was is
// kept beside the log until they are.
//
// The log is closed while its bytes are read: whoever closes a file gives up all
// locks his process has on it, DuckDB's too.
func (l *Log) upgrade(ctx context.Context, version int, known []migration) (*Log, error) {
	// All of the log is in its file then, nothing in the write-ahead log.
	_, err := l.db.ExecContext(ctx, "CHECKPOINT")
	if err = errors.Join(err, l.db.Close()); err != nil {
		return nil, openError(l.path, err)
	}
	was, err := os.Stat(l.path)
	if err != nil {
		return nil, fmt.Errorf("log %s: %w", l.path, err)
	}
	before := copyBefore(l.path, known)
	if err := keepCopy(l.path, before); err != nil {
		return nil, fmt.Errorf("log %s: no copy of it to bring its tables up to date, which takes as much room again: %w", l.path, diskError(err))
	}
	l, err = openFile(l.path, ReadWrite)
	if err != nil {
		return nil, errors.Join(err, os.Remove(before))
	}
	is, err := os.Stat(l.path)
	if err == nil && (!is.ModTime().Equal(was.ModTime()) || is.Size() != was.Size()) {
		err = fmt.Errorf("log %s: %w, which wrote to it just now: try again", l.path, ErrInUse)
	}
	if err != nil {
		return nil, errors.Join(err, l.db.Close(), os.Remove(before))
	}
	if err := l.migrate(ctx, version, known); err != nil {
		err = fmt.Errorf("log %s is as it was, and a copy of it is kept as %s: go on with the program that wrote it: %w", l.path, before, err)
		return nil, errors.Join(err, l.db.Close())
	}
	if err := os.Remove(before); err != nil {
		return nil, errors.Join(fmt.Errorf("log %s is up to date: %w", l.path, err), l.db.Close())
	}
	return l, nil
}

// copyBefore is the name of the copy of a log from before it had all known
// migrations.
func copyBefore(path string, known []migration) string {
	return fmt.Sprintf("%s.before-%04d", path, len(known))
}

// keepCopy copies a file, under a name of its own until all of it is on the
// disk. It takes the place of an older copy.
func keepCopy(file, name string) error {
	part, err := os.OpenFile(name+".part", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	if err := copyFile(part, file); err != nil {
		return errors.Join(err, os.Remove(part.Name()))
	}
	if err := os.Rename(part.Name(), name); err != nil {
		return err
	}
	return syncFolderOf(name)
}

// removeIfThere removes a file.
func removeIfThere(name string) error {
	if err := os.Remove(name); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}
