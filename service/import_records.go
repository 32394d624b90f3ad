package service

import "lumbricary.example/service/journal"

// nowhere is for records that move no stock.
func nowhere[T any](T) []string { return nil }

func (im *importing) movements() datedRows[Movement] {
	return datedRows[Movement]{
		name: "movements", table: movementTable, space: journalSpace,
		id: func(m Movement) string { return string(m.ID) },
		at: func(m *Movement) *Moment { return &m.At },
		link: func(m *Movement) {
			link(im, im.bins, &m.ToBin)
			link(im, im.batches, &m.FromBatch)
			link(im, im.batches, &m.ToBatch)
			link(im, im.transfers, &m.Transfer)
			im.linkLines(&m.Lines)
		},
		from: func(m Movement) []string { return append(linesFrom(m.Lines), string(m.FromBatch)) },
		into: func(m Movement) []string { return []string{string(m.ToBin), string(m.ToBatch)} },
		add: func(m Movement) error {
			if m.Kind == journal.Dispatch || m.Kind == journal.Arriving {
				return im.addLegMovement(m)
			}
			_, err := im.addMovement(m)
			return err
		},
	}
}

// linkLines links the bins and origins of lines.
func (im *importing) linkLines(lines *[]Line) {
	for i := range clone(lines) {
		link(im, im.bins, &(*lines)[i].FromBin)
		link(im, im.batches, &(*lines)[i].FromBatch)
		link(im, im.origins, &(*lines)[i].Origin)
	}
}

func linesFrom(lines []Line) []string {
	var out []string
	for _, l := range lines {
		out = append(out, string(l.FromBin), string(l.FromBatch))
	}
	return out
}

// reversals have no moment of their own: each takes that of what it reverses.
func (im *importing) reversals() datedRows[Movement] {
	return datedRows[Movement]{
		name: "movements", table: movementTable, space: journalSpace,
		id: func(m Movement) string { return string(m.ID) },
		link: func(m *Movement) {
			link(im, im.transfers, &m.Transfer)
			if m.Reverses != "" && im.refused[journalSpace+string(m.Reverses)] {
				im.follows = true
			}
		},
		from: nowhere[Movement], into: nowhere[Movement],
		add: func(m Movement) error {
			var faults Faults
			if m.Reverses == "" {
				faults.Add("/reverses", "required", "give the id of the movement that is taken back")
			}
			if m.At.Text != "" {
				faults.Add("/at", "shape", "a reversal takes the time of what it reverses; leave it empty")
			}
			if len(m.Lines) > 0 {
				faults.Add("/lines/0/quantity", "shape", "a reversal takes a movement back as a whole; leave its bins and quantities empty")
			}
			if err := faults.Err(); err != nil {
				return err
			}
			if m.Transfer != "" {
				return im.reverseOfLeg(m)
			}
			_, err := im.reverse(m.Reverses, m)
			return err
		},
	}
}

func (im *importing) harvests() datedRows[Harvest] {
	return datedRows[Harvest]{
		name: "harvests", table: harvestTable, space: journalSpace,
		id: func(h Harvest) string { return string(h.ID) },
		at: func(h *Harvest) *Moment { return &h.At },
		link: func(h *Harvest) {
			link(im, im.bins, &h.Bin)
			link(im, im.bins, &h.WormsTo)
			link(im, im.batches, &h.Batch)
			im.linkLines(&h.Worms)
		},
		from: func(h Harvest) []string { return []string{string(h.Bin)} },
		into: func(h Harvest) []string { return []string{string(h.WormsTo), string(h.Batch)} },
		add: func(h Harvest) error {
			_, err := im.addHarvest(h)
			return err
		},
	}
}

func (im *importing) censuses() datedRows[Census] {
	return datedRows[Census]{
		name: "censuses", table: censusTable, space: journalSpace,
		id:   func(c Census) string { return string(c.ID) },
		at:   func(c *Census) *Moment { return &c.At },
		link: func(c *Census) { link(im, im.bins, &c.Bin) },
		from: nowhere[Census],
		into: func(c Census) []string { return []string{string(c.Bin)} },
		add: func(c Census) error {
			_, err := im.addCensus(c)
			return err
		},
	}
}

func (im *importing) feedings() datedRows[Feeding] {
	return datedRows[Feeding]{
		name: "feedings", table: feedingTable, space: feedingSpace,
		id: func(f Feeding) string { return string(f.ID) },
		at: func(f *Feeding) *Moment { return &f.At },
		link: func(f *Feeding) {
			link(im, im.bins, &f.Bin)
			for i := range clone(&f.Items) {
				link(im, im.stuffs, &f.Items[i].Material)
				link(im, im.vessels, &f.Items[i].Measure)
				if im.refused[receiptSpace+string(f.Items[i].Receipt)] {
					im.follows = true
				}
			}
		},
		from: nowhere[Feeding], into: nowhere[Feeding],
		add: func(f Feeding) error {
			_, err := im.addFeeding(f)
			return err
		},
	}
}

func (im *importing) checks() datedRows[Check] {
	return datedRows[Check]{
		name: "checks", table: checkTable, space: checkSpace,
		id: func(c Check) string { return string(c.ID) },
		at: func(c *Check) *Moment { return &c.At },
		link: func(c *Check) {
			link(im, im.bins, &c.Bin)
			for _, l := range c.Leftovers {
				if im.refused[feedingSpace+string(l.Feeding)] {
					im.follows = true
				}
			}
		},
		from: nowhere[Check], into: nowhere[Check],
		add: func(c Check) error {
			_, err := im.addCheck(c)
			return err
		},
	}
}

func (im *importing) quarantines() datedRows[Quarantine] {
	return datedRows[Quarantine]{
		name: "quarantines", table: quarantineTable, space: quarantineSpace,
		id: func(q Quarantine) string { return string(q.ID) },
		at: func(q *Quarantine) *Moment { return &q.At },
		link: func(q *Quarantine) {
			link(im, im.bins, &q.Bin)
			link(im, im.people, &q.ReleasedBy)
		},
		from: nowhere[Quarantine], into: nowhere[Quarantine],
		add: func(q Quarantine) error {
			_, err := im.addQuarantine(q)
			return err
		},
	}
}

func (im *importing) contacts() datedRows[BinContact] {
	return datedRows[BinContact]{
		name: "contacts", table: contactTable, space: contactSpace,
		id: func(c BinContact) string { return string(c.ID) },
		at: func(c *BinContact) *Moment { return &c.At },
		link: func(c *BinContact) {
			for i := range clone(&c.Bins) {
				link(im, im.bins, &c.Bins[i])
			}
		},
		from: nowhere[BinContact], into: nowhere[BinContact],
		add: func(c BinContact) error {
			_, err := im.addContact(c)
			return err
		},
	}
}

func (im *importing) clearings() datedRows[Clearing] {
	return datedRows[Clearing]{
		name: "clearings", table: clearingTable, space: clearingSpace,
		id: func(c Clearing) string { return string(c.ID) },
		at: func(c *Clearing) *Moment { return &c.At },
		link: func(c *Clearing) {
			link(im, im.bins, &c.Bin)
			link(im, im.batches, &c.Batch)
			if im.refused[receiptSpace+string(c.Receipt)] {
				im.follows = true
			}
		},
		from: nowhere[Clearing], into: nowhere[Clearing],
		add: func(c Clearing) error {
			_, err := im.addClearing(c)
			return err
		},
	}
}

func (im *importing) identifications() datedRows[Identification] {
	return datedRows[Identification]{
		name: "identifications", table: identificationTable, space: identificationSpace,
		id: func(i Identification) string { return string(i.ID) },
		at: func(i *Identification) *Moment { return &i.At },
		link: func(*Identification) {
			if !im.derived {
				im.follows = true
			}
		},
		from: nowhere[Identification], into: nowhere[Identification],
		add: func(i Identification) error {
			_, err := im.addIdentification(i)
			return err
		},
	}
}

// isReversal reports whether a movement takes another back.
func (m Movement) isReversal() bool { return m.Kind == journal.Reversal }
