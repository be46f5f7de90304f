package postgres

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
)

//go:embed query/group_exists.sql
var groupExists string

//go:embed query/group_make.sql
var groupMake string

//go:embed query/group_grant_schema.sql
var groupGrantSchema string

//go:embed query/group_grant.sql
var groupGrant string

//go:embed query/group_revoke.sql
var groupRevoke string

//go:embed query/group_revoke_workshop.sql
var groupRevokeWorkshop string

//go:embed query/workshop_add.sql
var workshopAdd string

//go:embed query/workshop_exists.sql
var workshopExists string

//go:embed query/workshop_make.sql
var workshopMake string

//go:embed query/workshop_password.sql
var workshopPassword string

// What is wrong with a workshop to be added.
var (
	ErrTaken    = errors.New("is the name of a role already: give the workshop another name")
	ErrName     = errors.New("a workshop's name is 1 to 63 bytes")
	ErrPassword = errors.New("a workshop needs a password")
)

// longestName is what PostgreSQL takes for a name, bytes; it cuts longer ones.
const longestName = 63

// AdmitWorkshops lets the members of the role trueplait_workshop use the tables
// of a log, and makes that role where the server has none. It takes the owner of
// the tables, who may make roles.
func AdmitWorkshops(ctx context.Context, db *sql.DB) error {
	var there int
	if err := db.QueryRowContext(ctx, groupExists).Scan(&there); err != nil {
		return err
	}
	if there == 0 {
		if _, err := db.ExecContext(ctx, groupMake); err != nil {
			return err
		}
	}
	if err := execAll(ctx, db, groupGrantSchema); err != nil {
		return err
	}
	return grant(ctx, db)
}

// grant gives workshops their rights on the tables that there are.
func grant(ctx context.Context, db execer) error {
	return execAll(ctx, db, groupGrant, groupRevoke, groupRevokeWorkshop)
}

// AddWorkshop makes a role that is a workshop: it logs in with the password, and
// sees and writes its own rows. It takes a transaction. A server has one role of a
// name, so that two logs on it cannot both have a workshop of that name: [ErrTaken].
func AddWorkshop(ctx context.Context, db execer, name, password string) error {
	switch {
	case name == "" || len(name) > longestName:
		return fmt.Errorf("workshop %q: %w", name, ErrName)
	case password == "":
		return fmt.Errorf("workshop %q: %w", name, ErrPassword)
	}
	var there int
	if err := db.QueryRowContext(ctx, workshopExists, name).Scan(&there); err != nil {
		return err
	}
	if there > 0 {
		return fmt.Errorf("%q %w", name, ErrTaken)
	}
	if err := worded(ctx, db, db, workshopMake, name, password); err != nil {
		return err
	}
	_, err := db.ExecContext(ctx, workshopAdd, name)
	return err
}

// AddWorkshopToAll is AddWorkshop on all servers of a divided log, too.
func AddWorkshopToAll(ctx context.Context, db *sql.DB, name, password string) error {
	servers, err := Servers(ctx, db)
	if err != nil {
		return err
	}
	return transact(ctx, db, func(tx *sql.Tx) error {
		if err := AddWorkshop(ctx, tx, name, password); err != nil {
			return err
		}
		for _, s := range servers {
			if err := s.admit(ctx, tx, name); err != nil {
				return err
			}
		}
		return nil
	})
}
