package data

import (
	"errors"
	"os"
	"path/filepath"
)

// roomForCommit is more than the write-ahead log takes for the rows of a day,
// bytes. What a large import needs beyond it is written before its commit.
const roomForCommit = 4 << 20

// checkRoom makes sure that the disk has room for a commit, by taking it and
// giving it back. DuckDB ends the whole program where the disk is full while it
// takes back a row that was replaced.
func (l *Log) checkRoom() (err error) {
	if l.path == "" || l.server {
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(l.path), "."+filepath.Base(l.path)+".room-*")
	if err != nil {
		return openError(l.path, err)
	}
	defer func() { err = errors.Join(err, f.Close(), os.Remove(f.Name())) }()
	if _, err := f.Write(make([]byte, roomForCommit)); err != nil {
		return openError(l.path, err)
	}
	return nil
}
