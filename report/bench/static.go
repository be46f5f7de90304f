package bench

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"path"
	"time"
)

// assetURL is the address of a file of html/. It changes with the file, so that
// a browser may keep what it has.
func assetURL(name string) (string, error) {
	b, err := assets.ReadFile(path.Join("html", name))
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(b)
	return "/static/" + hex.EncodeToString(sum[:8]) + "/" + name, nil
}

// serveStatic serves styles and scripts; templates are none of the browser's
// business.
func serveStatic(w http.ResponseWriter, r *http.Request) {
	name := path.Base(r.URL.Path)
	at, err := assetURL(name)
	if ext := path.Ext(name); err != nil || at != r.URL.Path || ext != ".css" && ext != ".js" {
		http.NotFound(w, r)
		return
	}
	b, err := assets.ReadFile(path.Join("html", name))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(b))
}
