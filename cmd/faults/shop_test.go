package faults

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"trueplait/data/demo"
)

// product is the one that the shops of the tests make.
const product = "4 ft snake, 8 plait"

// shop is a folder with a log of its own, shop.duckdb.
type shop struct {
	dir string
}

func (s shop) path(name string) string { return filepath.Join(s.dir, name) }

func (s shop) log() string { return s.path("shop.duckdb") }

// write makes a file in the shop's folder.
func (s shop) write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(s.path(name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// run runs a command of the shop where nothing may go wrong.
func (s shop) run(t *testing.T, args ...string) result {
	t.Helper()
	return mustRun(t, s.dir, append(args, "--log", "shop.duckdb")...)
}

// newShop is a shop with thirty builds of one product, in a folder of its own.
func newShop(t *testing.T) shop {
	t.Helper()
	s := shop{t.TempDir()}
	s.stock(t)
	return s
}

// stock puts the first log into a shop.
func (s shop) stock(t *testing.T) {
	t.Helper()
	stocked.Do(func() {
		first := shop{t.TempDir()}
		for _, name := range []string{"parts.csv", "builds.csv"} {
			first.write(t, name, demoRows(t, name))
		}
		first.run(t, "import", "parts.csv", "builds.csv")
		var err error
		if stock, err = os.ReadFile(first.log()); err != nil {
			t.Fatal(err)
		}
	})
	if stock == nil {
		t.Fatal("the first shop could not be made: see the first failure")
	}
	if err := os.WriteFile(s.log(), stock, 0o644); err != nil {
		t.Fatal(err)
	}
}

// stock is the log that every shop begins with.
var (
	stocked sync.Once
	stock   []byte
)

// demoRows are the invented shop's rows of the product.
func demoRows(t *testing.T, name string) string {
	t.Helper()
	text, err := demo.Files.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for i, line := range strings.SplitAfter(string(text), "\n") {
		if i == 0 || strings.Contains(line, `"`+product+`"`) {
			out.WriteString(line)
		}
	}
	return out.String()
}
