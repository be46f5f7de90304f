package bench

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
	"time"

	"trueplait/report"
)

// filesPage asks for files, and offers all that is in the log.
type filesPage struct {
	Problem  string
	Log      string
	OnServer bool
}

// filesPage is the page with what is wrong with what was chosen, "" for nothing.
func (v *visit) filesPage(problem string) filesPage {
	return filesPage{Problem: problem, Log: v.now.Log, OnServer: v.now.OnServer}
}

// files is the page of files that come and go.
func (v *visit) files() error {
	return v.show(http.StatusOK, "files", "Files", v.filesPage(""))
}

// rejects gives back the records that were left out of an import.
func (v *visit) rejects() error {
	_, up, err := v.waiting()
	if err != nil {
		return err
	}
	i, err := strconv.Atoi(v.value("file"))
	if err != nil || i < 0 || i >= len(up.reports) || len(up.reports[i].Rejects) == 0 {
		return notFound("No record of that file was left out.")
	}
	name := strings.TrimSuffix(up.files[i].Name, path.Ext(up.files[i].Name)) + ".rejected.csv"
	v.attach(name, "text/csv; charset=utf-8")
	_, err = v.w.Write(up.reports[i].Rejects)
	return err
}

// attach says that what follows is a file to be saved under a name. Whatever
// the name came from, nothing of it is taken for a folder.
func (v *visit) attach(name, kind string) {
	plain := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' || r == 0x7f {
			return '_'
		}
		return r
	}, report.Label(name))
	plain = cmp.Or(strings.TrimLeft(plain, ". "), "file")
	v.w.Header().Set("Content-Type", kind)
	v.w.Header().Set("Content-Disposition", cmp.Or(mime.FormatMediaType("attachment", map[string]string{"filename": plain}), "attachment"))
}

// export gives out all that is in the log as one zip archive.
func (v *visit) export() error {
	return v.give("trueplait-"+v.now.Today.Format(time.DateOnly)+".zip", "application/zip", v.shop.Export)
}

// backup gives out a copy of the log.
func (v *visit) backup() error {
	if v.now.OnServer {
		return notFound("The log is on a server, and who keeps that backs it up. The archive on the Files page has all of your rows.")
	}
	return v.give("trueplait-"+v.now.Today.Format(time.DateOnly)+".duckdb", "application/octet-stream", v.shop.Backup)
}

// give gives out a file that is written as it goes.
func (v *visit) give(name, kind string, write func(context.Context, io.Writer) error) error {
	v.attach(name, kind)
	out := &begun{Writer: v.w}
	err := write(v.r.Context(), out)
	if err == nil || !out.yes {
		if err != nil {
			clear(v.w.Header())
		}
		return err
	}
	v.log(err)
	// Half a file must not look like a whole one: the way to say so is to break
	// the connection off.
	panic(http.ErrAbortHandler)
}

// begun remembers whether anything was written.
type begun struct {
	io.Writer
	yes bool
}

func (b *begun) Write(p []byte) (int, error) {
	b.yes = true
	n, err := b.Writer.Write(p)
	if err != nil {
		return n, fmt.Errorf("download: %w", err)
	}
	return n, nil
}
