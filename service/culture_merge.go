package service

import (
	"context"
	"slices"
)

// culturesSeen are the cultures as a club lists them: without those that were
// merged into others, unless they are asked for.
type culturesSeen struct{ *work }

// Get finds one, a merged one as well. Errors: ErrCultureNotFound.
func (s culturesSeen) Get(id CultureID) (Culture, error) { return s.Cultures.Get(id) }

// List returns a page by id. Of q it heeds Name, which finds a culture by its own
// name or by that of one that was merged into it, Merged, After and Limit. Errors:
// the store's.
func (s culturesSeen) List(q Query) ([]Culture, error) {
	all, err := s.known()
	var out []Culture
	for _, c := range all {
		called := q.Name == "" || c.Name == q.Name || slices.Contains(all.alsoCalled(c.ID), q.Name)
		if called && (c.MergedInto == "" || q.Merged) && string(c.ID) > q.After.ID && (q.Limit == 0 || len(out) < q.Limit) {
			out = append(out, c)
		}
	}
	return out, err
}

// cultures are all cultures of a club, in the order of their ids.
type cultures []Culture

// known reads the club's cultures, once until one of them changes.
func (w *work) known() (cultures, error) {
	if w.cultures != nil {
		return w.cultures, nil
	}
	all, err := w.Cultures.List(Query{})
	w.cultures = all
	return all, err
}

// standing is the culture that one has become part of, or is itself.
func (all cultures) standing(id CultureID) CultureID {
	for range all { // no longer a way than there are cultures
		i := slices.IndexFunc(all, func(c Culture) bool { return c.ID == id })
		if i < 0 || all[i].MergedInto == "" {
			return id
		}
		id = all[i].MergedInto
	}
	return id
}

// alsoCalled lists the names of the cultures that became part of one that stands.
func (all cultures) alsoCalled(id CultureID) (names []string) {
	for _, c := range all {
		if c.ID != id && all.standing(c.ID) == id {
			names = append(names, c.Name)
		}
	}
	slices.Sort(names)
	return names
}

// showCulture adds what a culture is also called, and tells of a merged one which
// culture stands for it now.
func (w *work) showCulture(c Culture) (Culture, error) {
	all, err := w.known()
	if c.AlsoCalled = all.alsoCalled(c.ID); c.MergedInto != "" {
		c.MergedInto = all.standing(c.ID)
	}
	return c, err
}

// MergeCulture merges a culture into another of its species, which it returns: its
// origins move there, and it stays as a name of it. Errors: ErrClubNotFound,
// ErrForbidden, ErrCultureNotFound, ErrCultureMerged, ErrInvalid, ErrStale.
func (s *Service) MergeCulture(ctx context.Context, a Actor, id, into CultureID) (Culture, error) {
	return write(ctx, s.Desk, a, func(w *work) (Culture, error) {
		if err := w.may(AddCulture); err != nil {
			return Culture{}, err
		}
		c, err := w.Cultures.Get(id)
		if err != nil {
			return Culture{}, err
		}
		if c.MergedInto != "" {
			return Culture{}, ErrCultureMerged
		}
		var faults Faults
		to, err := w.Cultures.Get(into)
		switch checkRef(&faults, "/into", err); {
		case err != nil:
		case to.ID == c.ID:
			faults.Add("/into", "same", "give another culture than the one that is merged")
		case to.MergedInto != "":
			checkRef(&faults, "/into", ErrCultureMerged)
		case to.Species != c.Species:
			checkRef(&faults, "/into", ErrSpeciesMismatch)
		}
		if err := faults.Err(); err != nil {
			return Culture{}, err
		}
		if err := w.merge(c, to.ID, nil); err != nil {
			return Culture{}, err
		}
		return w.shownCulture(to.ID)
	})
}

// merge moves the origins of a culture to the one that it is merged into, and
// notes which they were; went are such that moved before. The other gets a version
// as well, so that it can't be removed meanwhile. Errors: ErrStale.
func (w *work) merge(c Culture, into CultureID, went []OriginID) error {
	to, err := w.Cultures.Get(into)
	if err != nil {
		return err
	}
	all, err := w.known()
	if err != nil {
		return err
	}
	moved, err := w.moveOrigins(all.standing(into), func(o Origin) bool { return o.Culture == c.ID })
	if err != nil {
		return err
	}
	c.MergedInto, c.Moved = into, slices.Concat(went, moved)
	w.cultures = nil
	if err := w.Cultures.Update(c); err != nil {
		return err
	}
	return w.Cultures.Update(to)
}

// moveOrigins lets the origins that are meant belong to a culture, and returns
// them. Errors: ErrStale.
func (w *work) moveOrigins(to CultureID, meant func(Origin) bool) (moved []OriginID, err error) {
	origins, err := w.Origins.List(Query{})
	if err != nil {
		return nil, err
	}
	for _, o := range origins {
		if !meant(o) {
			continue
		}
		o.Culture = to
		if err := w.Origins.Update(o); err != nil {
			return nil, err
		}
		moved = append(moved, o.ID)
	}
	return moved, nil
}

// UnmergeCulture lets a culture that was merged stand by itself again, and returns
// it. The origins that went along go back, where they still belong to the culture
// that stands for it. Errors: ErrClubNotFound, ErrForbidden, ErrCultureNotFound,
// ErrCultureNotMerged, ErrStale.
func (s *Service) UnmergeCulture(ctx context.Context, a Actor, id CultureID) (Culture, error) {
	return write(ctx, s.Desk, a, func(w *work) (Culture, error) {
		if err := w.may(AddCulture); err != nil {
			return Culture{}, err
		}
		c, err := w.Cultures.Get(id)
		if err != nil {
			return Culture{}, err
		}
		if c.MergedInto == "" {
			return Culture{}, ErrCultureNotMerged
		}
		all, err := w.known()
		if err != nil {
			return Culture{}, err
		}
		stands, went := all.standing(c.ID), c.Moved
		c.MergedInto, c.Moved, w.cultures = "", nil, nil
		if err := w.Cultures.Update(c); err != nil {
			return Culture{}, err
		}
		if _, err := w.moveOrigins(c.ID, func(o Origin) bool { return o.Culture == stands && slices.Contains(went, o.ID) }); err != nil {
			return Culture{}, err
		}
		return w.shownCulture(c.ID)
	})
}

func (w *work) shownCulture(id CultureID) (Culture, error) {
	c, err := w.Cultures.Get(id)
	if err != nil {
		return c, err
	}
	return w.showCulture(c)
}

// follow makes a reference to a culture that was merged one to the culture that
// stands for it. Errors: the store's.
func (w *work) follow(id *CultureID) error {
	all, err := w.known()
	*id = all.standing(*id)
	return err
}
