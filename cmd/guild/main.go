// Guild starts three PostgreSQL servers on this machine with a log that seven
// workshops share and two of the servers divide, for trying out; nothing of it
// is kept. Every figure in it is made up.
package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/data/demo"
	"trueplait/data/postgres/node"
	"trueplait/model/trade"
)

const (
	keeper   = "postgres"
	database = "guild"
	parts    = 6
	mine     = "anna" // who has the demo's log
)

// others are the workshops whose calibrations there are to borrow from.
var others = []string{"berta", "carla", "dora", "emma", "frida", "greta"}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx); err != nil && !errors.Is(err, context.Canceled) {
		fmt.Fprintln(os.Stderr, "guild:", err)
		os.Exit(1)
	}
}

// run starts the servers, fills them, and waits to be stopped.
func run(ctx context.Context) (err error) {
	var nodes []*node.Node
	defer func() {
		for _, n := range nodes {
			err = errors.Join(err, n.Remove())
		}
	}()
	var addresses []string
	for range 3 {
		n, err := node.Start()
		if err != nil {
			return err
		}
		nodes = append(nodes, n)
		if err := n.Database(database, keeper, ""); err != nil {
			return err
		}
		addresses = append(addresses, n.Address(keeper, database))
	}
	if err := data.SetUpServer(ctx, addresses[0], data.Cluster{Shards: addresses[1:], Parts: parts}); err != nil {
		return err
	}
	if err := fill(ctx, nodes[0]); err != nil {
		return err
	}
	log := strings.Replace(nodes[0].Address(mine, database), ":"+nodes[0].Password, "", 1)
	fmt.Printf(`Three servers run on this machine, for as long as this program does. Two of them
divide the builds of a guild, and one knows where they are. In another terminal:

  export PGPASSWORD=%s TRUEPLAIT_LOG=%s
  go run ./cmd/trueplait calibrate
  go run ./cmd/trueplait calibrate --pool
  go run ./cmd/trueplait serve

Who keeps the servers sees more:

  export PGPASSWORD=%[1]s
  go run ./cmd/trueplait server show --log %[3]s

Ctrl-C ends them.
`, nodes[0].Password, log, strings.Replace(addresses[0], ":"+nodes[0].Password, "", 1))
	<-ctx.Done()
	return nil
}

// fill makes the workshops and their logs.
func fill(ctx context.Context, n *node.Node) error {
	var own []workshop.Input
	files, err := fs.Glob(demo.Files, "*.csv")
	if err != nil {
		return err
	}
	for _, name := range files {
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			return err
		}
		own = append(own, workshop.Input{Name: name, Reader: bytes.NewReader(text)})
	}
	if err := add(ctx, n, mine, own); err != nil {
		return err
	}
	for i, name := range others {
		var builds bytes.Buffer
		if err := (trade.Trade{Rows: 60 + 30*i, Makers: 3, Batches: 8, Products: 5}).WriteCSV(&builds); err != nil {
			return err
		}
		if err := add(ctx, n, name, []workshop.Input{{Name: "builds.csv", Reader: &builds}}); err != nil {
			return err
		}
	}
	return nil
}

// add makes a workshop, imports its files and calibrates.
func add(ctx context.Context, n *node.Node, name string, files []workshop.Input) (err error) {
	if err := data.AddWorkshop(ctx, n.Address(keeper, database), name, n.Password); err != nil {
		return err
	}
	now := func() (time.Time, error) { return time.Now().UTC(), nil }
	w, err := workshop.Make(ctx, n.Address(name, database), workshop.Options{Clock: now, Program: "guild"})
	if err != nil {
		return err
	}
	defer w.Close(&err)
	im, err := w.Log.Begin(ctx, time.Now())
	if err != nil {
		return err
	}
	if _, err := workshop.NewLoader(im, workshop.Taking{}).Load(ctx, files); err != nil {
		return errors.Join(err, im.Rollback())
	}
	if err := im.Commit(ctx); err != nil {
		return err
	}
	_, err = w.Calibrate(ctx, nil)
	return err
}
