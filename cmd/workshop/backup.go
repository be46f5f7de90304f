package workshop

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
)

// BackupTo copies the log, as it is at one moment, to a file that is not there
// yet.
func (b *Bench) BackupTo(ctx context.Context, path string) error {
	b.log.Lock()
	defer b.log.Unlock()
	return b.workshop.Log.Backup(ctx, path)
}

// Backup writes a copy of the log, as it is at one moment. Rows can be saved as
// soon as the copy is made, while it is still being written out.
func (b *Bench) Backup(ctx context.Context, w io.Writer) (err error) {
	room, err := os.MkdirTemp(filepath.Dir(b.opt.Path), ".backup-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(room)) }()
	path := filepath.Join(room, "log.duckdb")
	if err := b.BackupTo(ctx, path); err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}
