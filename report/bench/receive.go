package bench

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"net/http"

	"trueplait/report"
)

// mostFiles is how many files may be sent at once: each is checked by itself,
// and empty ones cost their sender next to nothing.
const mostFiles = 50

// received reads the files of a request into memory. They never touch the disk.
func (v *visit) received() (*upload, error) {
	v.r.Body = http.MaxBytesReader(v.w, v.r.Body, maxUploads+1<<20)
	parts, err := v.r.MultipartReader()
	if err != nil {
		return nil, &wrong{http.StatusBadRequest, "No file came", "The form of the Files page sends files. Go back and use its button."}
	}
	up := &upload{}
	choices := map[string]bool{}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, cutOff(err)
		}
		if part.FormName() != "file" {
			if box := part.FormName(); box == "amend" || box == "good" {
				choices[box] = true
			}
			continue
		}
		text, err := io.ReadAll(io.LimitReader(part, maxFile+1))
		name := cmp.Or(part.FileName(), "file")
		switch {
		case err != nil:
			return nil, cutOff(err)
		case len(up.files) == mostFiles:
			return nil, &wrong{http.StatusRequestEntityTooLarge, "Those are too many files",
				fmt.Sprintf("At most %d are looked at together. Send them in parts, or import them at the prompt: trueplait import. Nothing was imported.", mostFiles)}
		case len(text) > maxFile:
			return nil, &wrong{http.StatusRequestEntityTooLarge, "That file is too large",
				report.Label(name) + " has more than 32 MB. Import it at the prompt, where there is no limit: trueplait import. Nothing was imported."}
		case part.FileName() != "" || len(text) > 0:
			up.files = append(up.files, File{Name: name, Bytes: text})
		}
	}
	for i := range up.files {
		up.files[i].Amend, up.files[i].Good = choices["amend"], choices["good"]
	}
	return up, nil
}

// cutOff says why files did not come through.
func cutOff(err error) error {
	var over *http.MaxBytesError
	if errors.As(err, &over) {
		return &wrong{http.StatusRequestEntityTooLarge, "Those files are too large",
			"Together they have more than 64 MB. Send them one by one, or import them at the prompt: trueplait import. Nothing was imported."}
	}
	return &wrong{http.StatusBadRequest, "The files did not come through",
		"The connection ended before they were here. Send them again. Nothing was imported."}
}
