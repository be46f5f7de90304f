package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
)

// exportCmd writes the log back to files.
type exportCmd struct {
	Dir     string `arg:"" help:"Folder to write into; made if it is not there."`
	Parquet bool   `help:"Write Parquet files as well."`
}

// Help is the worked example.
func (exportCmd) Help() string {
	return `Example: trueplait export backup-2026-03

Writes builds.csv, fills.csv, checks.csv, products.csv and parts.csv, as far as
there are rows, in grams and millimetres. Imported into a new log and exported
again they give the same bytes. Amended rows and saved calibrations go beside
them as amendments.jsonl and calibrations.jsonl. Nothing is overwritten.`
}

// Run exports.
func (c *exportCmd) Run(p *program) (err error) {
	log, err := data.Open(p.ctx, p.log, data.ReadOnly)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, log.Close()) }()
	if err := os.MkdirAll(c.Dir, 0o777); err != nil {
		return err
	}
	if err := c.refuseOverwriting(); err != nil {
		return err
	}
	for _, kind := range model.Kinds {
		if err := c.csv(p, log, kind); err != nil {
			return err
		}
	}
	if err := c.amendments(p, log); err != nil {
		return err
	}
	if err := c.calibrations(p, log); err != nil {
		return err
	}
	if c.Parquet {
		return c.parquet(p, log)
	}
	return nil
}

// Names beside the kinds' own.
const (
	amendmentsName   = "amendments.jsonl"
	calibrationsName = "calibrations.jsonl"
)

// refuseOverwriting finds what is in the way before anything is written.
func (c *exportCmd) refuseOverwriting() error {
	names := []string{amendmentsName, calibrationsName}
	for _, k := range model.Kinds {
		names = append(names, string(k)+".csv", string(k)+".parquet")
	}
	for _, n := range names {
		path := filepath.Join(c.Dir, n)
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s: is there already: export into an empty folder", path)
		}
	}
	return nil
}

// file writes one file and says so.
func (c *exportCmd) file(p *program, name string, write func(io.Writer) error) error {
	path := filepath.Join(c.Dir, name)
	if err := replaceFile(path, write); err != nil {
		return err
	}
	_, err := fmt.Fprintf(p.stdout, "wrote %s\n", path)
	return err
}

// csv writes the rows of one kind, if there are any.
func (c *exportCmd) csv(p *program, log *data.Log, kind model.Kind) error {
	any, err := hasRows(p.ctx, log, kind)
	if err != nil || !any {
		return err
	}
	return c.file(p, string(kind)+".csv", func(w io.Writer) error { return writeRows(p.ctx, log, kind, w) })
}

func hasRows(ctx context.Context, log *data.Log, kind model.Kind) (bool, error) {
	for _, err := range log.Rows(ctx, kind, time.Time{}) {
		return err == nil, err
	}
	return false, nil
}

func writeRows(ctx context.Context, log *data.Log, kind model.Kind, w io.Writer) error {
	out, err := ingest.NewWriter(w, kind)
	if err != nil {
		return err
	}
	for row, err := range log.Rows(ctx, kind, time.Time{}) {
		if err != nil {
			return err
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	return out.Flush()
}

// amendments writes the rows that were replaced, one JSON object a line; the
// row itself is CSV as it would be exported.
func (c *exportCmd) amendments(p *program, log *data.Log) error {
	list, err := log.Amendments(p.ctx)
	if err != nil || len(list) == 0 {
		return err
	}
	return c.file(p, amendmentsName, func(w io.Writer) error {
		for _, a := range list {
			var row strings.Builder
			out, err := ingest.NewWriter(&row, a.Row.Kind())
			if err != nil {
				return err
			}
			if err := errors.Join(out.Write(a.Row), out.Flush()); err != nil {
				return err
			}
			line := struct {
				Kind     model.Kind `json:"kind"`
				Row      string     `json:"row"`
				Replaced time.Time  `json:"replaced"`
				By       string     `json:"by"`
			}{a.Row.Kind(), row.String(), a.When, a.By}
			if err := json.NewEncoder(w).Encode(line); err != nil {
				return err
			}
		}
		return nil
	})
}

// calibrations writes the saved calibrations, one JSON object a line.
func (c *exportCmd) calibrations(p *program, log *data.Log) error {
	list, err := log.Calibrations(p.ctx)
	if err != nil || len(list) == 0 {
		return err
	}
	return c.file(p, calibrationsName, func(w io.Writer) error {
		for _, s := range list {
			line := struct {
				Number      int             `json:"number"`
				Made        time.Time       `json:"made"`
				Options     string          `json:"options"`
				Fingerprint string          `json:"fingerprint"`
				Result      json.RawMessage `json:"result"`
			}{s.Number, s.Made, s.Options, s.Fingerprint, s.JSON}
			if err := json.NewEncoder(w).Encode(line); err != nil {
				return err
			}
		}
		return nil
	})
}

// parquet writes the Parquet files in a folder of their own and moves them to
// their place when they are whole.
func (c *exportCmd) parquet(p *program, log *data.Log) error {
	half, err := os.MkdirTemp(c.Dir, ".parquet.*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(half)
	if err := log.ExportParquet(p.ctx, half); err != nil {
		return err
	}
	files, err := os.ReadDir(half)
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(c.Dir, f.Name())
		if err := os.Rename(filepath.Join(half, f.Name()), path); err != nil {
			return err
		}
		if _, err := fmt.Fprintf(p.stdout, "wrote %s\n", path); err != nil {
			return err
		}
	}
	return syncFolder(c.Dir)
}
