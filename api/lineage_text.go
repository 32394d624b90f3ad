package api

import (
	"fmt"
	"slices"
	"strings"

	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// lineageText is the story of a lot being written down.
type lineageText struct {
	paper
	l  service.LotLineage
	in unit.System
}

// LineageText tells where a lot came from, in order of dates: plain text, at
// most 80 columns wide, in the units of a system.
func LineageText(l service.LotLineage, in unit.System) string {
	t := &lineageText{l: l, in: in}
	t.opening()
	if !l.Lot.Withdrawn {
		t.sources()
		t.cultures()
	}
	t.story()
	return t.String()
}

func (t *lineageText) opening() {
	lot := t.l.Lot
	t.say("Where the %s in %s came from", t.species(), t.bin(lot.Place.Bin))
	if t.l.Club.Name != "" {
		t.say("%s", t.l.Club.Name)
	}
	t.say("Lot %s", lot.ID)
	t.line("")
	switch {
	case !lot.Withdrawn:
		t.say("The lot began on %s with %s, kept by %s.", spokenDay(lot.OpenedAt, t.l.Club.Zone()), weight(lot.Mass, t.in), t.member(lot.Member))
		if !lot.EndedAt.IsZero() {
			t.say("It ended on %s.", spokenDay(lot.EndedAt, t.l.Club.Zone()))
		}
		t.identity()
	case lot.Successor == "":
		t.say("This lot is withdrawn: the record that opened it was taken back, and nothing stands for it.")
	default:
		t.say("This lot is withdrawn: the record that opened it was taken back. Lot %s stands for it.", lot.Successor)
	}
}

// identity says what the worms were found to be.
func (t *lineageText) identity() {
	found := t.l.Lot.Identified
	if found == nil {
		return
	}
	name, day := t.l.Names.Species[found.Species], spokenDay(found.At, t.l.Club.Zone())
	if found.ToldApart {
		t.say("The worms are booked as %s and were identified as %s on %s.", t.species(), name, day)
		return
	}
	t.say("The worms are booked as %s; what went into the lot was found to be of several species, last on %s: %s.", t.species(), day, name)
}

// sources tells the shares of the origins, the largest first.
func (t *lineageText) sources() {
	t.heading("It descends from")
	shares := slices.Clone(t.l.Lot.Shares)
	slices.SortStableFunc(shares, func(a, b lineage.Share) int { return int(max(-1, min(1, b.Parts-a.Parts))) })
	origin := func(s lineage.Share) service.Origin { return t.l.Names.Origins[service.OriginID(s.Origin)] }
	t.table(
		text("Origin", shares, func(s lineage.Share) string { return t.origin(s.Origin) }),
		text("Kind", shares, func(s lineage.Share) string { return string(origin(s).Kind) }),
		text("Culture", shares, func(s lineage.Share) string { return t.l.Names.Cultures[origin(s).Culture].Name }),
		column{"Share", true, text("", shares, func(s lineage.Share) string { return percent(s.Parts, lineage.One) }).cells},
	)
	t.line("")
	t.say("The effective number of sources is %s.", digits(t.l.EffectiveSources, 2))
}

// cultures says of which the lot is a copy.
func (t *lineageText) cultures() {
	var less []string
	for _, c := range t.l.Cultures {
		share := percent(c.Parts, lineage.One) + " of " + t.l.Names.Cultures[c.Culture].Name
		if c.Copy {
			t.say("It is a copy of a culture: %s.", share)
		} else {
			less = append(less, share)
		}
	}
	if len(less) > 0 && len(less) == len(t.l.Cultures) {
		t.say("It is no copy of a culture: that takes %d %%, and it has %s.", t.l.Club.CopyPct, listed(less))
	}
}

// story tells the chain of custody.
func (t *lineageText) story() {
	t.heading("In order of dates")
	if t.l.Older {
		t.say("Earlier steps are left out: these are the last %d.", len(t.l.Custody))
	}
	for _, s := range t.l.Custody {
		t.item("%s: %s", spokenDay(s.Movement.At.Time, t.l.Club.Zone()), t.step(s))
	}
}

// step tells one lot on the way.
func (t *lineageText) step(s service.CustodyStep) string {
	arrived, there := t.arrivals(s)
	bin := t.place(s.Lot)
	if len(arrived) == 0 {
		return fmt.Sprintf("a record on %s was taken back.", bin)
	}
	var b strings.Builder
	switch m := s.Movement; {
	case m.Kind == journal.Arriving && m.FromMember == s.Lot.Member:
		fmt.Fprintf(&b, "%s got back %s", bin, listed(arrived))
	case m.Kind == journal.HandOver || m.Kind == journal.Arriving:
		fmt.Fprintf(&b, "%s %s %s into %s", t.giver(m), inWords(gaveWords, string(m.Terms)), listed(arrived), bin)
	default:
		fmt.Fprintf(&b, "%s %s %s", bin, inWords(cameWords, string(m.Kind)), listed(arrived))
	}
	if s.Movement.MaterialMass > 0 {
		fmt.Fprintf(&b, ", with %s of half-worked material", weight(s.Movement.MaterialMass, t.in))
	}
	b.WriteString(".")
	if there != "" {
		fmt.Fprintf(&b, " They joined %s, %s in all.", there, weight(s.Lot.Mass, t.in))
	}
	if s.Movement.Note != "" {
		fmt.Fprintf(&b, " Note: %s", s.Movement.Note)
	}
	return b.String()
}

// gaveWords says how stock was handed over, by its terms.
var gaveWords = map[string]string{"sale": "sold", "swap": "swapped", "gift": "gave", "loan": "lent", "": "handed over"}

// cameWords says how stock came into a bin.
var cameWords = map[string]string{
	"stocking": "was stocked with", "split": "got", "combine": "took in", "harvest": "got at a harvest", "census": "was found to hold",
}

// arrivals lists what came into a lot, and tells what of the bin's own it
// joined.
func (t *lineageText) arrivals(s service.CustodyStep) (arrived []string, there string) {
	for _, p := range s.Lot.Parents {
		from := t.parent(p.Lot)
		switch {
		case p.Lot == "":
			arrived = append(arrived, weight(p.Mass, t.in)+" from "+t.origin(p.Origin))
		case from == "":
			arrived = append(arrived, weight(p.Mass, t.in)+" from before")
		case from == s.Lot.Place.Bin:
			there = weight(p.Mass, t.in) + " that stood there"
		default:
			arrived = append(arrived, weight(p.Mass, t.in)+" out of "+t.bin(from))
		}
	}
	return arrived, there
}

// parent is the bin of a lot on the way; "" of one that is left out.
func (t *lineageText) parent(lot string) string {
	i := slices.IndexFunc(t.l.Custody, func(s service.CustodyStep) bool { return s.Lot.ID == lot })
	if i < 0 {
		return ""
	}
	return t.l.Custody[i].Lot.Place.Bin
}

func (t *lineageText) origin(id string) string {
	if o, ok := t.l.Names.Origins[service.OriginID(id)]; ok {
		return o.Name
	}
	return "an unknown origin"
}

// giver is who handed over: a member, or the party outside the club.
func (t *lineageText) giver(m service.Movement) string {
	if m.FromMember == "" && m.Party != "" {
		return m.Party
	}
	return t.member(m.FromMember)
}

func (t *lineageText) member(id service.MemberID) string {
	return named(t.l.Names.Members, string(id), "nobody in the club")
}

// place is the bin of a lot, with who kept it.
func (t *lineageText) place(l service.Lot) string {
	bin := t.bin(l.Place.Bin)
	if name, ok := t.l.Names.Members[l.Member]; ok {
		return name + "'s " + bin
	}
	return bin
}

func (t *lineageText) bin(id string) string { return binName(t.l.Names, service.BinID(id)) }

func (t *lineageText) species() string {
	return named(t.l.Names.Species, t.l.Lot.Place.Species, t.l.Lot.Place.Species)
}
