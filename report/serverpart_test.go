package report

import (
	"bytes"
	"testing"
)

func TestServerParts(t *testing.T) {
	parts := []ServerPart{{0, "a.example:5432/guild", 1200}, {1, "b.example:5432/guild", 7}}
	var table, json bytes.Buffer
	if err := ServerPartsTable(&table, parts, Style{}); err != nil {
		t.Fatal(err)
	}
	if want := "part  builds  server\n────────────────────────────────────\n   0    1200  a.example:5432/guild\n   1       7  b.example:5432/guild\n"; table.String() != want {
		t.Errorf("%s\nwant\n%s", table.String(), want)
	}
	if err := ServerPartsJSON(&json, parts[:1]); err != nil {
		t.Fatal(err)
	}
	want := "{\n  \"parts\": [\n    {\n      \"part\": 0,\n      \"server\": \"a.example:5432/guild\",\n      \"builds\": 1200\n    }\n  ]\n}\n"
	if json.String() != want {
		t.Errorf("%s\nwant\n%s", json.String(), want)
	}
}
