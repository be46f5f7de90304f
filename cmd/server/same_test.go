package server

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trueplait/data/demo"
)

// Whatever is asked of the same rows, a log on a server says what a file says.
func TestSame(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "anna")
	files := demoFiles(t, g)
	const product = "6 ft bull, 12 plait"
	minute := 0 // the clock of both
	ask := func(where []string, args ...string) string {
		t.Helper()
		cmd := g.command("anna", append(slices.Clone(args), where...)...)
		cmd.Env = append(cmd.Env, fmt.Sprintf("SOURCE_DATE_EPOCH=%d", 1751328000+60*minute)) // from 2025-07-01
		r := finish(t, cmd)
		if r.code != 0 {
			t.Fatalf("trueplait %s: exit code %d\n%s", strings.Join(cmd.Args[1:], " "), r.code, r.stderr)
		}
		return r.stdout
	}
	file, server := []string{"--log", "shop.duckdb"}, []string{"--log", g.address("anna")}
	for _, command := range [][]string{
		append([]string{"check", "--json"}, files...),
		append([]string{"import", "--json"}, files...),
		{"calibrate", "--json", "--through", "2024-06-30"},
		{"calibrate", "--json", "--for", "maker=Arlo,core_batch=new"},
		{"calibrate", "--json"},
		{"factors", "--json"},
		{"proof", "--json"},
		{"consistency", "--json"},
		{"promise", "--json", "--product", product},
		{"plan", "--json", "--product", product}, // not saved: its last digits would be rows then
		{"fill", "--fill", "T1", "--core-batch", "HC01", "--filled-length", "200mm", "--shot-mass", "17g"},
		{"build", "--build", "T2", "--maker", "Arlo", "--product", product, "--core-batch", "HC01", "--weight", "460g", "--length", "1900mm", "--yes"},
		{"build", "--edit", "T2", "--weight", "461g", "--yes"},
		{"calibrate", "--json", "--split", "core_batch=HC01@2024-03-01"},
		{"report", "--json", "-o", "page.html"},
		{"verify", "--json"},
	} {
		minute++
		if diff := apart(t, ask(file, command...), ask(server, command...)); diff != "" {
			t.Errorf("trueplait %s: %s", strings.Join(command, " "), diff)
		}
	}
	ask(file, "export", "from-file", "--parquet")
	ask(server, "export", "from-server", "--parquet")
	compareFolders(t, filepath.Join(g.dir, "from-file"), filepath.Join(g.dir, "from-server"))
}

// demoFiles writes the files of the invented shop, and returns their names.
func demoFiles(t *testing.T, g guild) []string {
	t.Helper()
	names, err := fs.Glob(demo.Files, "*.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		g.write(t, name, string(text))
	}
	return names
}

// compareFolders compares two exports file by file: CSV byte for byte, JSON by
// its figures. Parquet is compressed in whatever way, so only its being there.
func compareFolders(t *testing.T, file, server string) {
	t.Helper()
	read := func(folder string) map[string]string {
		entries, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]string{}
		for _, e := range entries {
			text, err := os.ReadFile(filepath.Join(folder, e.Name()))
			if err != nil {
				t.Fatal(err)
			}
			out[e.Name()] = string(text)
		}
		return out
	}
	a, b := read(file), read(server)
	names := slices.Sorted(maps.Keys(a))
	if !slices.Equal(names, slices.Sorted(maps.Keys(b))) || len(names) < 10 {
		t.Fatalf("exported %q from the file and %q from the server", names, slices.Sorted(maps.Keys(b)))
	}
	for _, name := range names {
		switch filepath.Ext(name) {
		case ".csv":
			if a[name] != b[name] {
				t.Errorf("%s differs", name)
			}
		case ".jsonl":
			if diff := apart(t, a[name], b[name]); diff != "" {
				t.Errorf("%s: %s", name, diff)
			}
		}
	}
}

// tolerance is how far a figure may be apart, relative to its size: sums over
// rows are added in another order. Near zero, figures are what is left of larger
// ones: there it is an absolute one, as of a figure of 1.
const tolerance = 1e-10

// apart finds a difference between what was printed, which is text or JSON
// values one after the other; "" where there is none. The name of the log is
// the one thing that may differ.
func apart(t *testing.T, file, server string) string {
	t.Helper()
	if file == server {
		return ""
	}
	a, b := json.NewDecoder(strings.NewReader(file)), json.NewDecoder(strings.NewReader(server))
	for a.More() && b.More() {
		var x, y any
		if a.Decode(&x) != nil || b.Decode(&y) != nil {
			return fmt.Sprintf("the file says\n%s\nand the server\n%s", file, server)
		}
		if diff := apartAt("", x, y); diff != "" {
			return diff
		}
	}
	if a.More() || b.More() {
		return "one of them says more"
	}
	return ""
}

// apartAt is apart of two values at a path.
func apartAt(path string, x, y any) string {
	switch x := x.(type) {
	case map[string]any:
		y, ok := y.(map[string]any)
		if !ok || !slices.Equal(slices.Sorted(maps.Keys(x)), slices.Sorted(maps.Keys(y))) {
			break
		}
		for _, key := range slices.Sorted(maps.Keys(x)) {
			if path == "" && key == "log" {
				continue
			}
			if diff := apartAt(path+" "+key, x[key], y[key]); diff != "" {
				return diff
			}
		}
		return ""
	case []any:
		y, ok := y.([]any)
		if !ok || len(x) != len(y) {
			break
		}
		for i := range x {
			if diff := apartAt(fmt.Sprintf("%s %d", path, i), x[i], y[i]); diff != "" {
				return diff
			}
		}
		return ""
	case float64:
		if y, ok := y.(float64); ok && math.Abs(x-y) <= tolerance*max(1, math.Abs(x)) {
			return ""
		}
	default:
		if x == y {
			return ""
		}
	}
	return fmt.Sprintf("%s is %v in the file and %v on the server", strings.TrimSpace(path), short(x), short(y))
}

// short is a value as text, cut off.
func short(v any) string {
	text := fmt.Sprint(v)
	return text[:min(len(text), 500)]
}

// What is far apart is told apart, wherever it is.
func TestApart(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		same bool
	}{
		{`{"a":[1,{"b":2}]}`, `{"a":[1,{"b":2.0000000000001}]}`, true},
		{`{"a":[1,{"b":2}]}`, `{"a":[1,{"b":2.000000001}]}`, false},
		{`{"a":[1]}`, `{"a":[1,2]}`, false},
		{`{"a":1}`, `{"b":1}`, false},
		{`{"a":null}`, `{"a":0}`, false},
		{`{"a":"x"}`, `{"a":"y"}`, false},
		{`{"log":"x"}`, `{"log":"y"}`, true},
		{"{\"a\":1}\n{\"a\":2}", "{\"a\":1}\n{\"a\":3}", false},
		{"{\"a\":1}\n{\"a\":2}", `{"a":1}`, false},
		{"a table", "another", false},
	} {
		if diff := apart(t, tt.a, tt.b); (diff == "") != tt.same {
			t.Errorf("%s, %s: %q", tt.a, tt.b, diff)
		}
	}
}
