package data

import (
	"context"
	_ "embed"

	"trueplait/model"
)

//go:embed query/form_entry_known.sql
var formEntryKnown string

//go:embed query/form_entry_add.sql
var formEntryAdd string

// Entered returns the row that a form was saved as, so that a form that is sent
// twice is saved once, also after a restart. key is random and made with the
// form; with "" there never is one.
func (im *Import) Entered(ctx context.Context, key string) (kind model.Kind, id string, ok bool, err error) {
	err = im.each(ctx, "form", formEntryKnown, []any{&kind, &id}, func() { ok = true }, key)
	return kind, id, ok, err
}

// Enter notes, within the import, the row that a form was saved as. A key that
// was entered before fails the import; "" is not noted. A check enters nothing:
// [ErrCheckOnly].
func (im *Import) Enter(ctx context.Context, key string, kind model.Kind, id string) error {
	switch {
	case im.check:
		return im.fail("form", ErrCheckOnly)
	case key == "":
		return nil
	}
	_, err := im.exec(ctx, "form", formEntryAdd, key, string(kind), id, im.now)
	return err
}
