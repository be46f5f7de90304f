package data

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// makeLog makes an empty log where there is none. It is made beside, in a folder
// of its own, and gets its name when it is whole: a file that a kill or a full
// disk cut off half way would be taken for a damaged log ever after. Where
// another program makes one at the same time, the first one stays.
func makeLog(ctx context.Context, path string, known []migration) (err error) {
	folder, err := os.MkdirTemp(filepath.Dir(path), "."+filepath.Base(path)+".new-*")
	if err != nil {
		return openError(path, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	beside := filepath.Join(folder, filepath.Base(path))
	l, err := openFile(beside, ReadWrite)
	if err != nil {
		return err
	}
	if err := errors.Join(l.migrate(ctx, 0, known), l.Close()); err != nil {
		return fmt.Errorf("log %s: %w", path, err)
	}
	if err := syncFile(beside); err != nil {
		return openError(path, err)
	}
	if err := publish(beside, path); err != nil && !errors.Is(err, os.ErrExist) {
		return openError(path, err)
	}
	return nil
}
