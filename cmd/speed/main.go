// Speed writes the builds file of an invented trade to standard output, for
// measuring. Nothing in it was measured.
package main

import (
	"flag"
	"fmt"
	"os"

	"trueplait/model/trade"
)

func main() {
	rows := flag.Int("rows", 1_000_000, "builds to write")
	crossed := flag.Bool("crossed", false, "let every batch meet every maker")
	flag.Parse()
	if *rows < 1 || flag.NArg() > 0 {
		fmt.Fprintln(os.Stderr, "usage: speed [-rows N] [-crossed]")
		os.Exit(2)
	}
	if err := trade.Large(*rows, *crossed).WriteCSV(os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}
