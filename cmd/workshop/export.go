package workshop

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"strings"
	"time"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
)

// The names of what an export has beside the kinds' own files.
const (
	AmendmentsName   = "amendments.jsonl"
	CalibrationsName = "calibrations.jsonl"
)

// Export writes the log back to files: each kind that has rows as CSV, the rows
// that were amended and the saved calibrations, one JSON object a line. file
// makes a file of the name and has its content written.
func (w *Workshop) Export(ctx context.Context, file func(name string, content func(io.Writer) error) error) error {
	for _, kind := range model.Kinds {
		any, err := w.hasRows(ctx, kind)
		if err != nil {
			return err
		}
		if any {
			if err := file(string(kind)+".csv", func(to io.Writer) error { return w.WriteRows(ctx, kind, to) }); err != nil {
				return err
			}
		}
	}
	amended, err := w.Log.Amendments(ctx)
	if err != nil {
		return err
	}
	if len(amended) > 0 {
		if err := file(AmendmentsName, func(to io.Writer) error { return writeAmendments(to, amended) }); err != nil {
			return err
		}
	}
	saved, err := w.Log.Calibrations(ctx)
	if err != nil || len(saved) == 0 {
		return err
	}
	return file(CalibrationsName, func(to io.Writer) error { return w.writeCalibrations(ctx, to, saved) })
}

func (w *Workshop) hasRows(ctx context.Context, kind model.Kind) (bool, error) {
	for _, err := range w.Log.Rows(ctx, kind, time.Time{}) {
		return err == nil, err
	}
	return false, nil
}

// WriteRows writes every row of a kind as CSV.
func (w *Workshop) WriteRows(ctx context.Context, kind model.Kind, to io.Writer) error {
	out, err := ingest.NewWriter(to, kind)
	if err != nil {
		return err
	}
	for row, err := range w.Log.Rows(ctx, kind, time.Time{}) {
		if err != nil {
			return err
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	return out.Flush()
}

// writeAmendments writes the rows that were replaced; the row itself is CSV as
// it would be exported.
func writeAmendments(to io.Writer, list []data.Amendment) error {
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
		if err := json.NewEncoder(to).Encode(line); err != nil {
			return err
		}
	}
	return nil
}

// writeCalibrations writes the saved calibrations, one result at a time.
func (w *Workshop) writeCalibrations(ctx context.Context, to io.Writer, list []data.Calibration) error {
	for _, s := range list {
		var result bytes.Buffer
		if err := w.Log.WriteResult(ctx, s.Number, &result); err != nil {
			return err
		}
		line := struct {
			Number      int             `json:"number"`
			Made        time.Time       `json:"made"`
			Options     string          `json:"options"`
			Fingerprint string          `json:"fingerprint"`
			Result      json.RawMessage `json:"result"`
		}{s.Number, s.Made, s.Options, s.Fingerprint, result.Bytes()}
		if err := json.NewEncoder(to).Encode(line); err != nil {
			return err
		}
	}
	return nil
}

// Export writes every file of an export into one zip archive. It is made on the
// disk first, so that a browser that takes it slowly does not hold the log.
func (b *Bench) Export(ctx context.Context, w io.Writer) (err error) {
	file, err := os.CreateTemp("", "trueplait-*.zip")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close(), os.Remove(file.Name())) }()
	if err := b.archive(ctx, file); err != nil {
		return err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err = io.Copy(w, file)
	return err
}

// archive writes an export as a zip archive.
func (b *Bench) archive(ctx context.Context, w io.Writer) error {
	b.log.Lock()
	defer b.log.Unlock()
	archive := zip.NewWriter(w)
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return err
	}
	err = b.workshop.Export(ctx, func(name string, content func(io.Writer) error) error {
		file, err := archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: at})
		if err != nil {
			return err
		}
		return content(file)
	})
	return errors.Join(err, archive.Close())
}
