package service

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// exporting is one export under way.
type exporting struct {
	*work
	Names
	lots map[BatchID]string
	book Book
	all  []leaf
	fed  map[FeedingID]bool // the feedings that go out: those that stand

	received map[ReceiptID]bool // the same of receipts
}

// leaf is a dated record on its way into its table.
type leaf struct {
	at       time.Time
	table    int
	seq      int64
	id       string
	reverses string // set for a reversal, which goes after what it reverses
	put      func(at time.Time)
}

// export reads the whole book.
func (w *work) export() (Book, error) {
	names, err := w.names()
	if err != nil {
		return Book{}, err
	}
	lots, err := index(w.Batches, func(b Batch) (BatchID, string) { return b.ID, b.LotNumber })
	if err != nil {
		return Book{}, err
	}
	x := exporting{work: w, Names: names, lots: lots, fed: map[FeedingID]bool{}, received: map[ReceiptID]bool{}}
	for _, read := range []func() error{
		x.settings, x.members, x.sites, x.materials, x.measures, x.cultures, x.origins, x.bins, x.batches, x.offers, x.transfers,
		x.movements, x.harvests, x.reworks, x.censuses, x.receipts, x.turnouts, x.feedings, x.checks, x.batchSteps, x.contacts, x.clearings, x.quarantines, x.identifications,
	} {
		if err := read(); err != nil {
			return Book{}, err
		}
	}
	x.bind()
	return x.book, nil
}

// tableOf reads all rows of a noun, changed for the export.
func tableOf[T any, K ~string](of reader[T, K], change func(*T)) (Table[T], error) {
	all, err := of.List(Query{})
	rows := make(Table[T], len(all))
	for i, v := range all {
		change(&v)
		rows[i].Value = v
	}
	return rows, err
}

// members go by name: the founder of the club that imports them has an id.
func (x *exporting) members() (err error) {
	x.book.Members, err = tableOf(x.work.Members, func(m *Member) { m.ID, m.Account, m.PublicName = "", "", "" })
	slices.SortFunc(x.book.Members, func(a, b Row[Member]) int { return strings.Compare(a.Value.Name, b.Value.Name) })
	return err
}

func (x *exporting) sites() (err error) {
	x.book.Sites, err = tableOf(x.work.Sites, func(s *Site) { s.Owner = x.member(s.Owner) })
	return err
}

func (x *exporting) materials() (err error) {
	x.book.Materials, err = tableOf(x.work.Materials, func(*Material) {})
	return err
}

func (x *exporting) measures() (err error) {
	x.book.Measures, err = tableOf(x.work.Measures, func(*Measure) {})
	return err
}

func (x *exporting) cultures() (err error) {
	x.book.Cultures, err = tableOf(x.work.Cultures, func(c *Culture) {
		c.MergedInto = CultureID(x.Names.Cultures[c.MergedInto].Name)
		var moved []OriginID
		for _, o := range c.Moved {
			if there, ok := x.Names.Origins[o]; ok {
				moved = append(moved, OriginID(there.Name))
			}
		}
		c.Moved = moved
	})
	return err
}

func (x *exporting) origins() (err error) {
	x.book.Origins, err = tableOf(x.work.Origins, func(o *Origin) {
		o.Culture = CultureID(x.Names.Cultures[o.Culture].Name)
	})
	return err
}

func (x *exporting) bins() (err error) {
	x.book.Bins, err = tableOf(x.work.Bins, func(b *Bin) {
		b.Site, b.Keeper = SiteID(x.Names.Sites[b.Site]), x.member(b.Keeper)
		for i, m := range b.StandIns {
			b.StandIns[i] = x.member(m)
		}
		b.Started.Text = b.Started.In(x.zone)
		if !b.Retired.Time.IsZero() {
			b.Retired.Text = b.Retired.In(x.zone)
		}
	})
	return err
}

func (x *exporting) batches() (err error) {
	x.book.Batches, err = tableOf(x.work.Batches, func(*Batch) {})
	return err
}

func (x *exporting) member(id MemberID) MemberID { return MemberID(x.Names.Members[id]) }

func (x *exporting) bin(id BinID) BinID { return BinID(x.Names.Bins[id].Name) }

func (x *exporting) batch(id BatchID) BatchID { return BatchID(x.lots[id]) }

// lines names what lines refer to and keeps what they were booked as.
func (x *exporting) lines(lines []Line) []Line {
	out := slices.Clone(lines)
	for i := range out {
		l := &out[i]
		l.FromBin, l.Origin, l.FromBatch = x.bin(l.FromBin), OriginID(x.Names.Origins[l.Origin].Name), x.batch(l.FromBatch)
		l.Booked = &l.Mass
	}
	return out
}

func (x *exporting) movements() error {
	all, err := x.work.Movements.List(Query{})
	if err != nil {
		return err
	}
	posts, err := x.posts()
	for _, m := range all {
		if m.Kind == journal.Census || m.Kind == journal.Harvest || m.Kind == journal.Rework {
			continue
		}
		if census, ok := posts[m.Reverses]; ok {
			if m.Reverses = MovementID(census); census == "" {
				continue // of a census that posted anew, as an import will
			}
		}
		l := leaf{m.At.Time, movementTable, m.Recorded.Seq, string(m.ID), string(m.Reverses), func(at time.Time) {
			x.book.Movements = append(x.book.Movements, Row[Movement]{By: x.by(m.Recorded), Value: x.movement(m, at)})
		}}
		x.all = append(x.all, l)
	}
	return err
}

// posts returns every movement of a census with the id of the census if it posts
// for it now, and without if it did before.
func (x *exporting) posts() (map[MovementID]CensusID, error) {
	out := map[MovementID]CensusID{}
	again, err := x.work.Movements.List(Query{Kind: string(journal.Census)})
	if err != nil {
		return nil, err
	}
	for _, m := range again {
		out[m.ID] = ""
	}
	censuses, err := x.work.Censuses.List(Query{})
	for _, c := range censuses {
		out[c.Movement] = c.ID
	}
	return out, err
}

func (x *exporting) movement(m Movement, at time.Time) Movement {
	m.At.Text, m.Lines = x.text(m.At, at), x.lines(m.Lines)
	m.ToBin, m.FromBatch, m.ToBatch = x.bin(m.ToBin), x.batch(m.FromBatch), x.batch(m.ToBatch)
	if m.isReversal() {
		m.At.Text = ""
	}
	return m
}

func (x *exporting) harvests() error {
	all, err := x.work.Harvests.List(Query{})
	for _, h := range all {
		x.all = append(x.all, leaf{h.At.Time, harvestTable, h.Recorded.Seq, string(h.ID), "", func(at time.Time) {
			h.At.Text, h.Worms = x.text(h.At, at), x.lines(h.Worms)
			h.Bin, h.WormsTo, h.Batch = x.bin(h.Bin), x.bin(h.WormsTo), x.batch(h.Batch)
			for i := range h.Worms {
				h.Worms[i].weigh()
			}
			x.book.Harvests = append(x.book.Harvests, Row[Harvest]{By: x.by(h.Recorded), Value: h})
		}})
	}
	return err
}

// weigh replaces a volume by the mass that it was booked as: the table of
// harvests has no column for its density.
func (l *Line) weigh() {
	if l.Basis == quantity.Poured {
		l.Typed = unit.Measure{Value: l.Mass.Grams(), Unit: "g"}
	}
}

func (x *exporting) censuses() error {
	all, err := x.work.Censuses.List(Query{})
	for _, c := range all {
		x.all = append(x.all, leaf{c.At.Time, censusTable, c.Recorded.Seq, string(c.ID), "", func(at time.Time) {
			c.At.Text, c.Bin, c.Typed = x.text(c.At, at), x.bin(c.Bin), c.Typed.inOneUnit()
			x.book.Censuses = append(x.book.Censuses, Row[Census]{By: x.by(c.Recorded), Value: c})
		}})
	}
	return err
}

// inOneUnit returns the figure in the unit it was typed in, or in grams if it
// was typed in several: the table of censuses has one column for it.
func (t CensusText) inOneUnit() CensusText {
	if t.Estimate.Unit == t.Low.Unit && t.Low.Unit == t.High.Unit {
		return t
	}
	for _, q := range []*unit.Measure{&t.Estimate, &t.Low, &t.High} {
		if m, err := q.Mass(); err == nil {
			*q = unit.Measure{Value: m.Grams(), Unit: "g"}
		}
	}
	return t
}

func (x *exporting) feedings() error {
	all, err := x.work.Feedings.List(Query{})
	for _, f := range all {
		x.fed[f.ID] = true
		x.all = append(x.all, leaf{f.At.Time, feedingTable, f.Recorded.Seq, string(f.ID), "", func(at time.Time) {
			f.At.Text, f.Bin, f.Items = x.text(f.At, at), x.bin(f.Bin), slices.Clone(f.Items)
			for i, it := range f.Items {
				material := x.Names.Materials[it.Material]
				it = it.asBooked(material, x.Names.Measures[it.Measure])
				it.Material, it.Measure = MaterialID(material.Name), MeasureID(x.Names.Measures[it.Measure].Name)
				if !x.received[it.Receipt] {
					it.Receipt = "" // it doesn't stand, and so doesn't go out
				}
				f.Items[i] = it
			}
			x.book.Feedings = append(x.book.Feedings, Row[Feeding]{By: x.by(f.Recorded), Value: f})
		}})
	}
	return err
}

// asBooked returns an item whose measure, or whose material's density, has
// changed since as what it was booked as, so that an import books the same mass:
// what was weighed as its mass, what was poured or counted as its volume.
func (it FeedingItem) asBooked(m Material, v Measure) FeedingItem {
	wet, _, err := m.wet(it.Typed)
	if it.Measure != "" {
		wet, _, err = m.wetIn(v, it)
	}
	if err == nil && wet == it.Wet {
		return it
	}
	it.Measure, it.Count, it.Typed = "", nil, unit.Measure{Value: it.Wet.Grams(), Unit: "g"}
	if !it.Weighed && m.DensityGPerL != nil {
		it.Typed = unit.Measure{Value: it.Wet.Grams() / *m.DensityGPerL, Unit: "L"}
	}
	return it
}

func (x *exporting) checks() error {
	all, err := x.work.Checks.List(Query{})
	for _, c := range all {
		x.all = append(x.all, leaf{c.At.Time, checkTable, c.Recorded.Seq, string(c.ID), "", func(at time.Time) {
			c.At.Text, c.Bin = x.text(c.At, at), x.bin(c.Bin)
			c.Leftovers = slices.DeleteFunc(c.Leftovers, func(l Leftover) bool { return !x.fed[l.Feeding] })
			x.book.Checks = append(x.book.Checks, Row[Check]{By: x.by(c.Recorded), Value: c})
		}})
	}
	return err
}

func (x *exporting) contacts() error {
	all, err := x.work.Contacts.List(Query{})
	for _, c := range all {
		x.all = append(x.all, leaf{c.At.Time, contactTable, c.Recorded.Seq, string(c.ID), "", func(at time.Time) {
			c.At.Text, c.Bins = x.text(c.At, at), slices.Clone(c.Bins)
			for i, bin := range c.Bins {
				c.Bins[i] = x.bin(bin)
			}
			x.book.Contacts = append(x.book.Contacts, Row[BinContact]{By: x.by(c.Recorded), Value: c})
		}})
	}
	return err
}

// clearings leave out those of a receipt that doesn't stand, and so doesn't go
// out.
func (x *exporting) clearings() error {
	all, err := x.work.Clearings.List(Query{})
	for _, c := range all {
		if c.Receipt != "" && !x.received[c.Receipt] {
			continue
		}
		x.all = append(x.all, leaf{c.At.Time, clearingTable, c.Recorded.Seq, string(c.ID), "", func(at time.Time) {
			c.At.Text, c.Bin, c.Batch = x.text(c.At, at), x.bin(c.Bin), x.batch(c.Batch)
			x.book.Clearings = append(x.book.Clearings, Row[Clearing]{By: x.by(c.Recorded), Value: c})
		}})
	}
	return err
}

// quarantines keep their moments: they are recorded after all that they judge.
func (x *exporting) quarantines() error {
	all, err := x.work.Quarantines.List(Query{})
	for _, q := range all {
		q.At.Text, q.Bin, q.ReleasedBy = x.text(q.At, q.At.Time), x.bin(q.Bin), x.member(q.ReleasedBy)
		if !q.Released.Time.IsZero() {
			q.Released.Text = x.text(q.Released, q.Released.Time)
		}
		x.book.Quarantines = append(x.book.Quarantines, Row[Quarantine]{By: x.by(q.Recorded), Value: q})
	}
	return err
}

func (x *exporting) identifications() error {
	all, err := x.work.Identifications.List(Query{})
	for _, i := range all {
		i.At.Text = x.text(i.At, i.At.Time)
		x.book.Identifications = append(x.book.Identifications, Row[Identification]{By: x.by(i.Recorded), Value: i})
	}
	return err
}

func (x *exporting) by(r Recorded) string { return x.Names.Members[r.By] }

// text writes the moment of a record at its place in the export. A day told
// before its noon, or a record moved behind another, is written as an instant.
func (x *exporting) text(m Moment, at time.Time) string {
	local := at.In(x.zone)
	noon := time.Date(local.Year(), local.Month(), local.Day(), 12, 0, 0, 0, x.zone)
	if !at.Equal(noon) {
		m.Precision = ToTheInstant
	}
	m.Time = at
	return m.In(x.zone)
}

// bind puts the dated records into their tables in the order in which an import
// records them. The journal's order of one moment need not be that of the
// tables (a stocking recorded after a census of the same day): such a record
// moves a microsecond behind the one before it, so that the books agree again.
func (x *exporting) bind() {
	slices.SortFunc(x.all, func(a, b leaf) int {
		return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.seq, b.seq))
	})
	back := map[string]leaf{}
	var last leaf
	kept := x.all[:0]
	for _, l := range x.all {
		if l.reverses != "" {
			back[l.reverses] = l
			continue
		}
		if l.at.Before(last.at) {
			l.at = last.at
		}
		if l.at.Equal(last.at) && l.table < last.table {
			l.at = l.at.Add(time.Microsecond)
		}
		kept, last = append(kept, l), l
	}
	for _, l := range kept {
		l.put(l.at)
		if r, ok := back[l.id]; ok {
			r.put(l.at)
		}
	}
}
