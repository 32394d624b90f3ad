package service

import (
	"cmp"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"slices"
)

// veil makes what a caller reads who may read the club's figures and nothing
// personal. Nobody is met by id or name, no text that a member typed is there,
// and no price: a member has a pseudonym as id and name, a thing keeps its id
// and has a label for a name.
//
// Both are cut from HMAC-SHA-256(secret of the database, club ‖ 0 ‖ noun ‖ 0 ‖
// id): the same in every answer, another in another club, and without the
// secret nobody comes from one to the member, nor to who joined before whom, as
// a number would tell.
type veil struct {
	secret []byte
	club   ClubID
	named  map[MemberID]string // members who agreed to be shown by these names
}

// veiled is w as such a caller reads it. The veil lies on the repositories, so
// that no use-case can forget it; what it doesn't know, as invitations and the
// audit, isn't there at all.
func (w *work) veiled() *work {
	return w.under(veil{secret: w.desk.Pseudonyms, club: w.Club.ID})
}

// under is w with the veil on its repositories.
func (w *work) under(v veil) *work {
	w.Tx = Tx{
		Club:            w.Club,
		Members:         veiledMembers{veiled[Member, MemberID]{w.Members, v.member}, w.Members},
		Sites:           veiled[Site, SiteID]{w.Sites, v.site},
		Bins:            veiled[Bin, BinID]{w.Bins, v.bin},
		Materials:       veiled[Material, MaterialID]{w.Materials, func(m Material) Material { return v.material(m, w.desk) }},
		Measures:        veiled[Measure, MeasureID]{w.Measures, v.measure},
		Cultures:        veiled[Culture, CultureID]{w.Cultures, v.culture},
		Origins:         veiled[Origin, OriginID]{w.Origins, v.origin},
		Batches:         veiled[Batch, BatchID]{w.Batches, v.batch},
		Feedings:        veiled[Feeding, FeedingID]{w.Feedings, v.feeding},
		Checks:          veiled[Check, CheckID]{w.Checks, v.check},
		Censuses:        veiled[Census, CensusID]{w.Censuses, v.census},
		Harvests:        veiled[Harvest, HarvestID]{w.Harvests, v.harvest},
		Receipts:        veiled[Receipt, ReceiptID]{w.Receipts, v.receipt},
		Turnouts:        veiled[Turnout, TurnoutID]{w.Turnouts, v.turnout},
		Totals:          veiledTotals{w.Totals, v},
		Movements:       veiledMovements{w.Movements, v},
		Identifications: veiled[Identification, IdentificationID]{w.Identifications, v.identification},
		Offers:          veiled[Offer, OfferID]{w.Offers, v.offer},
		Lots:            veiledLots{of: w.Lots, veil: v},
	}
	return w
}

// mark is what pseudonym and label of a thing are cut from.
func (v veil) mark(noun, id string) string {
	mac := hmac.New(sha256.New, v.secret)
	mac.Write([]byte(string(v.club) + "\x00" + noun + "\x00" + id))
	return hex.EncodeToString(mac.Sum(nil))
}

// label is what a thing is called in the place of its name.
func (v veil) label(noun, id string) string { return noun + " " + v.mark(noun, id)[:6] }

// pseudonym is the id that a member has; nobody stays nobody.
func (v veil) pseudonym(id MemberID) MemberID {
	if id == "" {
		return ""
	}
	return MemberID("keeper-" + v.mark("keeper", string(id))[:12])
}

func (v veil) identification(i Identification) Identification {
	return Identification{ID: i.ID, Lot: i.Lot, Species: i.Species, At: i.At, Method: i.Method, Specimens: i.Specimens, Recorded: v.recorded(i.Recorded), Version: i.Version}
}

func (v veil) receipt(r Receipt) Receipt {
	return Receipt{
		ID: r.ID, Material: r.Material, At: r.At, Net: r.Net, Rejected: r.Rejected, Residue: r.Residue, Animal: r.Animal, Basis: r.Basis,
		Recorded: v.recorded(r.Recorded), Version: r.Version,
	}
}

func (v veil) turnout(t Turnout) Turnout {
	t.Recorded, t.Voided = v.recorded(t.Recorded), Voiding{At: t.Voided.At}
	return t
}

func (v veil) total(t Total) Total {
	t.Member = v.pseudonym(t.Member)
	return t
}

func (v veil) recorded(r Recorded) Recorded {
	r.By = v.pseudonym(r.By)
	return r
}

func (v veil) member(m Member) Member {
	return Member{ID: v.pseudonym(m.ID), Name: cmp.Or(v.named[m.ID], v.label("keeper", string(m.ID)))}
}

func (v veil) site(s Site) Site {
	return Site{ID: s.ID, Name: v.label("site", string(s.ID)), Owner: v.pseudonym(s.Owner)}
}

func (v veil) bin(b Bin) Bin {
	return Bin{
		ID: b.ID, Name: v.label("bin", string(b.ID)), Kind: b.Kind, Site: b.Site, Keeper: v.pseudonym(b.Keeper),
		Surface: b.Surface, DepthCM: b.DepthCM, Started: b.Started, Retired: b.Retired,
	}
}

// material is called as the reference table calls it, where it is of it.
func (v veil) material(m Material, d *Desk) Material {
	m.Name, m.Note = v.label("material", string(m.ID)), ""
	if f, ok := d.Reference.FeedstockByID(m.Feedstock); ok {
		m.Name = f.Name
	}
	return m
}

func (v veil) measure(m Measure) Measure {
	m.Name, m.Note = v.label("measure", string(m.ID)), ""
	return m
}

// culture keeps the name of a culture that the club publishes.
func (v veil) culture(c Culture) Culture {
	if c.Note, c.AlsoCalled = "", nil; !c.Published {
		c.Name = v.label("culture", string(c.ID))
	}
	return c
}

func (v veil) origin(o Origin) Origin {
	o.Name, o.Note = v.label("origin", string(o.ID)), ""
	return o
}

func (v veil) batch(b Batch) Batch {
	return Batch{ID: b.ID, LotNumber: v.label("batch", string(b.ID)), Product: b.Product, MeshMM: b.MeshMM, CreatedAt: b.CreatedAt, Version: b.Version}
}

// offer keeps the words of who agreed to be shown by name.
func (v veil) offer(o Offer) Offer {
	if v.named[o.Member] == "" {
		o.What = ""
	}
	o.Member, o.Note = v.pseudonym(o.Member), ""
	return o
}

func (v veil) feeding(f Feeding) Feeding {
	f.Note, f.Recorded, f.Voided = "", v.recorded(f.Recorded), Voiding{At: f.Voided.At}
	return f
}

func (v veil) check(c Check) Check {
	c.Note, c.Cover, c.Pests = "", "", nil
	c.Recorded, c.Voided = v.recorded(c.Recorded), Voiding{At: c.Voided.At}
	return c
}

func (v veil) census(c Census) Census {
	c.Note, c.Recorded, c.Samples = "", v.recorded(c.Recorded), slices.Clone(c.Samples)
	for i := range c.Samples {
		c.Samples[i].Stratum = ""
	}
	return c
}

func (v veil) harvest(h Harvest) Harvest {
	h.Note, h.Recorded = "", v.recorded(h.Recorded)
	return h
}

func (v veil) movement(m Movement) Movement {
	m.Party, m.Reason, m.Note, m.PriceMinor, m.Currency = "", "", "", nil, ""
	m.FromMember, m.ToMember, m.Recorded = v.pseudonym(m.FromMember), v.pseudonym(m.ToMember), v.recorded(m.Recorded)
	return m
}

func (v veil) lot(l Lot) Lot {
	l.Member = v.pseudonym(l.Member)
	return l
}
