package data

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"trueplait/data/postgres"
)

// Cluster says how the builds of a shared log are divided among servers.
type Cluster struct {
	Shards []string // addresses of the servers that keep them; none: the log's own does
	Parts  int      // more than servers, so that parts can move to new ones
}

// MostParts is the most parts that a log is divided into: each is a table to be
// asked.
const MostParts = 256

// What who keeps a log is told of a role that does not do.
var (
	ErrKeeper = errors.New("is no administrator of the server: connect as a superuser, who sees all rows")
	ErrOwner  = errors.New("may not make tables and roles: connect as the owner of the database, with the right createrole")
)

// SetUpServer makes the tables of a shared log, or brings them up to date, and
// lets workshops in. With shards, it makes the tables of builds there first and
// divides the builds among them by the hash of the maker; the log must be empty.
// admin is the address of the log as the owner of its database, who may make
// roles; with shards as a superuser, and so are those of the shards.
func SetUpServer(ctx context.Context, admin string, c Cluster) (err error) {
	if len(c.Shards) > 0 && (c.Parts < len(c.Shards) || c.Parts > MostParts) {
		return fmt.Errorf("%d parts for %d servers: there must be at least one for each, and at most %d", c.Parts, len(c.Shards), MostParts)
	}
	var shards []postgres.Server
	for i, address := range c.Shards {
		s, err := postgres.NewServer(address, i+1)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(shards, func(other postgres.Server) bool { return other.Place() == s.Place() }) {
			return fmt.Errorf("%s is named twice", s.Place())
		}
		if err := prepareShard(ctx, address); err != nil {
			return err
		}
		shards = append(shards, s)
	}
	l, who, err := admitting(ctx, admin, len(shards) > 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	if len(shards) == 0 {
		return nil
	}
	return serverError(l.path, postgres.Divide(ctx, l.db.DB, who.Name, shards, c.Parts))
}

// admitting opens a log for who keeps it, and lets workshops use its tables.
func admitting(ctx context.Context, admin string, all bool) (*Log, postgres.Role, error) {
	l, who, err := openKeeper(ctx, admin, all)
	if err != nil {
		return nil, who, err
	}
	if err := postgres.AdmitWorkshops(ctx, l.db.DB); err != nil {
		return nil, who, errors.Join(serverError(l.path, err), l.Close())
	}
	return l, who, nil
}

// prepareShard makes the tables of a log on a server that is to keep builds.
func prepareShard(ctx context.Context, admin string) error {
	l, _, err := admitting(ctx, admin, true)
	if err != nil {
		return err
	}
	return l.Close()
}

// openKeeper opens a log for who keeps it, who sees all rows where that is
// wanted, with its tables up to date.
func openKeeper(ctx context.Context, admin string, all bool) (*Log, postgres.Role, error) {
	l, err := connectServer(admin)
	if err != nil {
		return nil, postgres.Role{}, err
	}
	who, err := postgres.Whoami(ctx, l.db.DB)
	switch {
	case err != nil:
		err = serverError(l.path, err)
	case all && !who.Above:
		err = fmt.Errorf("log %s: role %q %w", l.path, who.Name, ErrKeeper)
	case !who.Makes || !who.Roles:
		err = fmt.Errorf("log %s: role %q %w", l.path, who.Name, ErrOwner)
	default:
		err = l.bringUpToDate(ctx, ReadWrite, who)
	}
	if err != nil {
		return nil, who, errors.Join(err, l.Close())
	}
	return l, who, nil
}

// AddWorkshop makes a workshop: a role that logs in with the password and has a
// log of its own, on all servers of a divided one. admin is the address of the
// log as who set it up.
func AddWorkshop(ctx context.Context, admin, name, password string) (err error) {
	l, _, err := openKeeper(ctx, admin, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	return serverError(l.path, postgres.AddWorkshopToAll(ctx, l.db.DB, name, password))
}

// Part is a share of the builds of a divided log.
type Part struct {
	Number int    // from 0
	Server string // host, port and database
	Builds int    // of all workshops
}

// Parts lists the parts of a log, by number; none where it is not divided. admin
// is the address of the log as a superuser.
func Parts(ctx context.Context, admin string) (out []Part, err error) {
	l, _, err := openKeeper(ctx, admin, true)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	c, err := clusterOf(ctx, l)
	if err != nil {
		return nil, err
	}
	for _, p := range c.parts {
		s := c.server(p)
		sum, err := s.SumPart(ctx, p)
		if err != nil {
			return nil, serverError(s.Place(), err)
		}
		out = append(out, Part{Number: p.Number(), Server: s.Place(), Builds: sum.Builds})
	}
	return out, nil
}

// MovePart moves a part to a server at an address, which may be new to the log,
// and returns how many builds it has. Nobody reads or writes builds meanwhile;
// rows are counted and summed up on both servers before the log goes on with the
// new one. admin and to are addresses as superusers.
func MovePart(ctx context.Context, admin string, number int, to string) (builds int, err error) {
	l, who, err := openKeeper(ctx, admin, true)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	c, err := clusterOf(ctx, l)
	if err != nil {
		return 0, err
	}
	at := slices.IndexFunc(c.parts, func(p postgres.Part) bool { return p.Number() == number })
	switch {
	case len(c.parts) == 0:
		return 0, fmt.Errorf("log %s %w: set it up with --shard", l.path, postgres.ErrWhole)
	case at < 0:
		return 0, fmt.Errorf("part %d of log %s: %w: they are 0 to %d", number, l.path, postgres.ErrNoPart, len(c.parts)-1)
	}
	target, err := postgres.NewServer(to, len(c.servers)+1)
	if err != nil {
		return 0, err
	}
	known := slices.IndexFunc(c.servers, func(s postgres.Server) bool { return s.Place() == target.Place() })
	if known >= 0 {
		target = c.servers[known]
	} else {
		if err := prepareShard(ctx, to); err != nil {
			return 0, err
		}
		if err := postgres.Introduce(ctx, l.db.DB, who.Name, target); err != nil {
			return 0, serverError(l.path, err)
		}
	}
	moved, err := postgres.Move(ctx, l.db.DB, c.parts[at], len(c.parts), c.server(c.parts[at]), target)
	if err != nil {
		return 0, serverError(l.path, err)
	}
	return moved.Builds, nil
}

// cluster is how a log is divided.
type cluster struct {
	servers []postgres.Server
	parts   []postgres.Part
}

// clusterOf reads how a log is divided, if it is.
func clusterOf(ctx context.Context, l *Log) (c cluster, err error) {
	is, err := postgres.Divided(ctx, l.db.DB)
	if err == nil && is {
		if c.servers, err = postgres.Servers(ctx, l.db.DB); err == nil {
			c.parts, err = postgres.Parts(ctx, l.db.DB)
		}
	}
	if err != nil {
		return c, serverError(l.path, err)
	}
	return c, nil
}

// server is the one that keeps a part.
func (c cluster) server(p postgres.Part) postgres.Server {
	return c.servers[slices.IndexFunc(c.servers, func(s postgres.Server) bool { return s.Name == p.Server })]
}
