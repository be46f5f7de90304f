package report

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
)

// Script is a script of a page with charts.
type Script struct {
	Name string // of its file
	Text string
}

// The scripts of a page. The chart library is Apache ECharts 6.1.0, unchanged;
// its licence is kept beside it.
var (
	//go:embed html/echarts/echarts.min.js
	echartsJS string
	//go:embed html/app.js
	appJS string
)

// ChartScripts are what draws the charts of a page, in the order they are
// loaded. The second needs the page to be there: it stands at its end.
func ChartScripts() []Script {
	return []Script{{"echarts.min.js", echartsJS}, {"app.js", appJS}}
}

// Digest names the content of the script in hexadecimal: another script has
// another one, so that what is served under it may be kept for good.
func (s Script) Digest() string {
	sum := sha256.Sum256([]byte(s.Text))
	return hex.EncodeToString(sum[:8])
}

// source names a script or style in a content security policy by its hash.
func source(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
