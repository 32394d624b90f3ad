package service

import (
	"cmp"
	"errors"
	"slices"
)

// never is for nouns whose rows are always new.
func never[T any](Row[T]) (string, bool) { return "", false }

// addMembers records members on paper. A row of a member's name and role, or
// without a role, is that member: so a club's founder can import a book in which
// they stand.
func (im *importing) addMembers(b Book) error {
	before, err := im.Members.List(Query{})
	if err != nil {
		return err
	}
	byName := map[string]Member{}
	for _, m := range before {
		byName[m.Name] = m
	}
	return addNouns(im, noun[Member]{
		name: "members", known: im.people, taken: ErrMemberNameTaken, add: im.addMember,
		key: func(m Member) (string, string) { return string(m.ID), m.Name },
		there: func(r Row[Member]) (string, bool) {
			m, ok := byName[r.Value.Name]
			if !ok || len(r.Faults) > 0 || r.Value.Role != "" && r.Value.Role != m.Role {
				return "", false
			}
			delete(byName, m.Name) // a second row of that name is a double
			im.warn(r.spot(), "name", "member-there", m.Name+" is a member already: the row adds nobody")
			return string(m.ID), true
		},
		link: func(*Member) {},
	}, b.Members)
}

func (im *importing) addSites(b Book) error {
	return addNouns(im, noun[Site]{
		name: "sites", known: im.places, taken: ErrSiteNameTaken, there: never[Site], add: im.addSite,
		key:  func(s Site) (string, string) { return string(s.ID), s.Name },
		link: func(s *Site) { link(im, im.people, &s.Owner) },
	}, b.Sites)
}

func (im *importing) addMaterials(b Book) error {
	return addNouns(im, noun[Material]{
		name: "materials", known: im.stuffs, taken: ErrMaterialNameTaken, there: never[Material], add: im.addMaterial,
		key:  func(m Material) (string, string) { return string(m.ID), m.Name },
		link: func(*Material) {},
	}, b.Materials)
}

func (im *importing) addMeasures(b Book) error {
	return addNouns(im, noun[Measure]{
		name: "measures", known: im.vessels, taken: ErrMeasureNameTaken, there: never[Measure], add: im.addMeasure,
		key:  func(m Measure) (string, string) { return string(m.ID), m.Name },
		link: func(*Measure) {},
	}, b.Measures)
}

func (im *importing) addCultures(b Book) error {
	return addNouns(im, noun[Culture]{
		name: "cultures", known: im.cultures, taken: ErrCultureNameTaken, there: never[Culture],
		key:  func(c Culture) (string, string) { return string(c.ID), c.Name },
		link: func(*Culture) {},
		add: func(c Culture) (Culture, error) {
			c.MergedInto, c.Moved = "", nil // see mergeCultures
			return im.addCulture(c)
		},
	}, b.Cultures)
}

// cultureTable is which table the cultures are.
const cultureTable = 5

// mergeCultures merges the cultures whose rows say so, in the order of the table;
// the origins that a row names went along before.
func (im *importing) mergeCultures(b Book) error {
	im.table = cultureTable
	defer func() { im.table = originTable }()
	for _, r := range b.Cultures {
		c, fault := r.Value, len(r.Faults) > 0 || im.cultures.refused[r.Value.Name] || im.cultures.refused[string(r.Value.ID)]
		if c.MergedInto == "" || fault {
			continue
		}
		if err := im.mergeCulture(r.spot(), c); err != nil {
			return err
		}
	}
	return nil
}

// mergeCulture merges one culture of the table.
func (im *importing) mergeCulture(at spot, row Culture) error {
	c, err := im.Cultures.Get(CultureID(im.cultures.ids[cmp.Or(string(row.ID), row.Name)]))
	if err != nil {
		return err
	}
	im.follows = false
	link(im, im.cultures, &row.MergedInto)
	for i := range clone(&row.Moved) {
		link(im, im.origins, &row.Moved[i])
	}
	if !im.ready(at, nil) {
		return nil
	}
	into, err := im.Cultures.Get(row.MergedInto)
	all, knownErr := im.known()
	var faults Faults
	switch checkRef(&faults, "/merged_into", err); {
	case err != nil:
	case all.standing(into.ID) == c.ID:
		faults.Add("/merged_into", "same", "a culture can't be merged into what was merged into it")
	case into.Species != c.Species:
		checkRef(&faults, "/merged_into", ErrSpeciesMismatch)
	}
	for _, o := range row.Moved {
		_, err := im.Origins.Get(o)
		checkRef(&faults, "/moved_origins", err)
	}
	if err := cmp.Or(knownErr, faults.Err()); err != nil {
		return im.fault(at, err)
	}
	return im.merge(c, into.ID, row.Moved)
}

// originTable is which table the origins are.
const originTable = 6

func (im *importing) addOrigins(b Book) error {
	return addNouns(im, noun[Origin]{
		name: "origins", known: im.origins, taken: ErrOriginNameTaken, there: never[Origin], add: im.addOrigin,
		key:  func(o Origin) (string, string) { return string(o.ID), o.Name },
		link: func(o *Origin) { link(im, im.cultures, &o.Culture) },
	}, b.Origins)
}

// addBins records bins with the day they retired, which each record of theirs
// is checked against; that nothing is left in them is checked at the end. One
// whose start isn't told starts with its first record.
func (im *importing) addBins(b Book) error {
	first := im.firstSeen(b)
	b.Bins = slices.Clone(b.Bins)
	for i, r := range b.Bins {
		if m, ok := first[cmp.Or(r.Value.Name, string(r.Value.ID))]; ok && r.Value.Started.Text == "" {
			b.Bins[i].Value.Started.Text = m.Text
			im.warn(r.spot(), "started", "start-assumed", "not told; taken from the bin's first record, "+m.Text)
		}
	}
	return addNouns(im, noun[Bin]{
		name: "bins", known: im.bins, taken: ErrBinNameTaken, there: never[Bin], add: im.addBin,
		key: func(b Bin) (string, string) { return string(b.ID), b.Name },
		link: func(b *Bin) {
			link(im, im.places, &b.Site)
			link(im, im.people, &b.Keeper)
			for i := range clone(&b.StandIns) {
				link(im, im.people, &b.StandIns[i])
			}
		},
	}, b.Bins)
}

// firstSeen returns the moment of the first record of each bin, by what the
// records call it.
func (im *importing) firstSeen(b Book) map[string]Moment {
	first := map[string]Moment{}
	names := map[string]string{}
	for _, r := range b.Bins {
		names[string(r.Value.ID)] = r.Value.Name
	}
	see := func(at Moment, bins ...BinID) {
		m, err := ParseMoment(at.Text, im.zone, im.now)
		m.Text = at.Text
		for _, bin := range bins {
			name := cmp.Or(names[string(bin)], string(bin))
			if old, ok := first[name]; err == nil && at.Text != "" && (!ok || m.Time.Before(old.Time)) {
				first[name] = m
			}
		}
	}
	for _, r := range b.Movements {
		see(r.Value.At, r.Value.ToBin)
		for _, l := range r.Value.Lines {
			see(r.Value.At, l.FromBin)
		}
	}
	for _, r := range b.Harvests {
		see(r.Value.At, r.Value.Bin, r.Value.WormsTo)
	}
	for _, r := range b.Censuses {
		see(r.Value.At, r.Value.Bin)
	}
	for _, r := range b.Feedings {
		see(r.Value.At, r.Value.Bin)
	}
	for _, r := range b.Checks {
		see(r.Value.At, r.Value.Bin)
	}
	for _, r := range b.Contacts {
		see(r.Value.At, r.Value.Bins...)
	}
	for _, r := range b.Clearings {
		see(r.Value.At, r.Value.Bin)
	}
	for _, r := range b.Quarantines {
		see(r.Value.At, r.Value.Bin)
	}
	return first
}

func (im *importing) addBatches(b Book) error {
	return addNouns(im, noun[Batch]{
		name: "batches", known: im.batches, taken: ErrLotNumberTaken, there: never[Batch], add: im.addBatch,
		key:  func(b Batch) (string, string) { return string(b.ID), b.LotNumber },
		link: func(*Batch) {},
	}, b.Batches)
}

// checkRetired sees that nothing stands in the bins that are retired.
func (im *importing) checkRetired(b Book) error {
	im.table = binTable
	for _, r := range b.Bins {
		id, ok := im.bins.ids[r.Value.Name]
		if !ok || r.Value.Retired.Text == "" || im.short[id] || im.bins.refused[r.Value.Name] {
			continue
		}
		stock, err := im.Movements.Stock(BinID(id))
		if err != nil {
			return err
		}
		if len(stock) > 0 {
			im.note(r.spot(), FieldError{
				Pointer: "/retired", Code: "stock-left",
				Detail: "stock is left in the bin at the end: record where it went, or leave retired empty",
			})
		}
	}
	return nil
}

// binTable is which table the bins are.
const binTable = 7

// asFault returns err if it says what is wrong with a record, rather than with
// the store.
func asFault(err error) (*Error, bool) {
	e, ok := errors.AsType[*Error](err)
	if !ok {
		return nil, false
	}
	switch e.Kind {
	case Invalid, Conflict, NotFound, Forbidden:
		return e, true
	case Internal, Malformed, Unauthenticated, NotAllowed, Stale, TooLarge, Unsupported, Precondition, Limited, Unavailable:
	}
	return nil, false
}
