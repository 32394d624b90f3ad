package api

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"lumbricary.example/api/qr"
	"lumbricary.example/api/sheet"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
)

// provenanceCautions stand on every provenance sheet.
var provenanceCautions = []service.Caution{
	"A provenance sheet says what a club has on record. It is no plant-health certificate, and no proof that anything is absent.",
	service.CautionRelease, service.CautionBorders, service.CautionDust, service.CautionLocal,
}

// printProvenance prints where a starter came from.
//
//	@Summary		Print where a starter came from
//	@Description	A sheet as PDF to go with worms: origins with their shares, the chain of custody, species as booked and as identified, quarantines, how old the information is, what isn't known, cautions, and a QR code that holds the id of the lot. It names the club and no person: keepers and bins are numbered, wild and unknown origins have no name, and nothing is told of notes and outside parties.
//	@ID				printProvenance
//	@Tags			lots
//	@Produce		application/pdf
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot			path		string	true	"id of the lot"
//	@Param			paper			query		string	false	"without it: as the club's units have it"	Enums(a4, letter)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/provenance.pdf [get]
func (s *Server) printProvenance(r *request) (answer, error) {
	p, err := r.printing()
	if err != nil {
		return answer{}, err
	}
	v, err := s.Reports.Provenance(r.ctx, r.actor(), service.LotID(r.param("lot")))
	if err != nil {
		return answer{}, err
	}
	if p.paper == "" {
		p.paper = r.usualPaper()
	}
	t := newProvenanceSheet(v, r)
	pdf, err := t.print(sheet.Setup{
		Paper: p.paper, Title: "Provenance of a starter", Author: v.Club.Name, AsOf: r.today(),
		Foot: v.Club.Name + " · provenance of lot " + shortLot(v.Lot.ID) + " · as of " + t.day(v.AsOf),
	})
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, raw: pdf, media: pdfType}, r.err
}

// provenanceSheet is a provenance on its way to paper. It calls nobody by name:
// its lineageText has no names of members, and bins have numbers for names.
type provenanceSheet struct {
	lineageText
	v    service.Provenance
	told []service.CustodyStep
	out  *sheet.Sheet
}

// toldSteps is how many steps of a chain of custody are printed: the last.
const toldSteps = 25

func newProvenanceSheet(v service.Provenance, r *request) *provenanceSheet {
	t := &provenanceSheet{lineageText: lineageText{l: v.LotLineage, in: r.units()}, v: v}
	t.told = v.Custody[max(0, len(v.Custody)-toldSteps):]
	t.l.Names.Members, t.l.Names.Bins = map[service.MemberID]string{}, map[service.BinID]service.Bin{}
	for _, s := range t.told {
		t.number(s.Movement.FromMember)
		t.number(s.Lot.Member)
		id := service.BinID(s.Lot.Place.Bin)
		if _, met := t.l.Names.Bins[id]; !met {
			t.l.Names.Bins[id] = service.Bin{ID: id, Name: "bin " + strconv.Itoa(len(t.l.Names.Bins)+1)}
		}
	}
	return t
}

// number gives a member a number, once.
func (t *provenanceSheet) number(id service.MemberID) {
	if _, met := t.l.Names.Members[id]; !met && id != "" {
		t.l.Names.Members[id] = "keeper " + strconv.Itoa(len(t.l.Names.Members)+1)
	}
}

func (t *provenanceSheet) day(at time.Time) string { return spokenDay(at, t.l.Club.Zone()) }

// print prints the sheet. Errors: those of the drawing, and of the code.
func (t *provenanceSheet) print(setup sheet.Setup) ([]byte, error) {
	short, err := qr.Short(t.l.Lot.ID)
	if err != nil {
		return nil, err
	}
	modules, err := qr.Modules(short)
	if err != nil {
		return nil, err
	}
	t.out = sheet.New(setup)
	t.out.Title(setup.Title, t.l.Club.Name)
	t.out.Coded(modules, capital(t.species()), "Lot "+t.l.Lot.ID, "Code "+short, "As of "+t.day(t.v.AsOf))
	t.short()
	t.origins()
	t.custody()
	t.observed()
	t.unknown()
	t.out.Heading("Cautions")
	for _, c := range provenanceCautions {
		t.out.Text("• " + string(c))
	}
	return t.out.Bytes()
}

// short tells the whole in a few lines.
func (t *provenanceSheet) short() {
	lot := t.l.Lot
	rows := [][]string{{"Species as booked", capital(t.species())}, {"Species as identified", t.identified()}}
	if lot.Withdrawn {
		rows = append(rows, []string{"The lot", "withdrawn: the record that opened it was taken back"})
	} else {
		rows = append(
			rows, []string{"The lot began", t.day(lot.OpenedAt) + " with " + weight(lot.Mass, t.in)},
			[]string{"Now", t.now()},
			[]string{"Cultures", t.shares()},
			[]string{"Effective number of sources", digits(t.l.EffectiveSources, 2)},
			[]string{"Share of unknown origin", percent(t.unknownParts(), lineage.One)},
		)
	}
	t.out.Heading("In short")
	t.out.Table(sheet.Table{Columns: []sheet.Column{{Head: "What"}, {Head: "On record"}}, Rows: rows})
}

func (t *provenanceSheet) now() string {
	if !t.l.Lot.EndedAt.IsZero() {
		return "ended on " + t.day(t.l.Lot.EndedAt)
	}
	out := weight(t.v.Book, t.in) + " by the book"
	if c := t.v.Census; c != nil {
		return out + fmt.Sprintf("; counted on %s: %s (%s to %s, 95 %%)", t.day(c.At.Time), weight(c.Mass, t.in), weight(c.Low, t.in), weight(c.High, t.in))
	}
	return out + "; not counted since it began"
}

func (t *provenanceSheet) identified() string {
	found := t.l.Lot.Identified
	if found == nil {
		return "not identified"
	}
	out := t.l.Names.Species[found.Species] + ", " + t.day(found.At)
	if !found.ToldApart {
		out = "of several species, last " + out
	}
	for _, i := range t.v.Identifications {
		out += fmt.Sprintf("; %s: %s by %s", t.day(i.At.Time), t.l.Names.Species[i.Species], inWords(methodWords, string(i.Method)))
		if i.Specimens > 0 {
			out += ", " + count(int(i.Specimens), "specimen", "specimens")
		}
	}
	return out
}

// methodWords say how a species was told.
var methodWords = map[string]string{"dna": "DNA", "other": "another method"}

func (t *provenanceSheet) shares() string {
	var out []string
	for _, c := range t.l.Cultures {
		share := percent(c.Parts, lineage.One) + " " + t.l.Names.Cultures[c.Culture].Name
		if c.Copy {
			share += " (a copy of it)"
		}
		out = append(out, share)
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, "; ")
}

// unknownParts is how much of the lot nobody knows the origin of.
func (t *provenanceSheet) unknownParts() int64 {
	var parts int64
	for _, s := range t.l.Lot.Shares {
		if o, ok := t.l.Names.Origins[service.OriginID(s.Origin)]; !ok || o.Kind == service.UnknownOrigin {
			parts += s.Parts
		}
	}
	return parts
}

// source is what an origin is called. A wild or an unknown one may be called
// after a person.
func (t *provenanceSheet) source(id string) string {
	o, ok := t.l.Names.Origins[service.OriginID(id)]
	switch {
	case !ok || o.Kind == service.UnknownOrigin:
		return "unknown"
	case o.Kind == service.WildOrigin:
		return "collected in the wild"
	}
	return o.Name
}

func (t *provenanceSheet) origins() {
	var rows [][]string
	for _, s := range t.l.Lot.Shares {
		o := t.l.Names.Origins[service.OriginID(s.Origin)]
		rows = append(rows, []string{t.source(s.Origin), string(o.Kind), t.l.Names.Cultures[o.Culture].Name, percent(s.Parts, lineage.One)})
	}
	if len(rows) == 0 {
		return
	}
	t.out.Heading("Origins")
	t.out.Table(sheet.Table{Columns: []sheet.Column{{Head: "Origin"}, {Head: "Kind"}, {Head: "Culture"}, {Head: "Share", Number: true}}, Rows: rows})
}

func (t *provenanceSheet) custody() {
	rows := make([][]string, 0, len(t.told))
	for _, s := range t.told {
		from := make([]string, 0, len(s.Lot.Parents))
		for _, p := range s.Lot.Parents {
			from = append(from, weight(p.Mass, t.in)+" "+t.parentOf(s, p))
		}
		rows = append(rows, []string{
			t.day(s.Lot.OpenedAt), capital(t.happened(s.Movement)), strings.Join(from, "; "), t.bin(s.Lot.Place.Bin), t.member(s.Lot.Member), weight(s.Lot.Mass, t.in),
		})
	}
	t.out.Heading("Chain of custody")
	if left := t.v.Upstream + 1 - len(t.told); left > 0 {
		t.out.Text(fmt.Sprintf("These are the last %d steps; %s on record.", len(t.told), count(left, "earlier one is", "earlier ones are")))
	}
	t.out.Table(sheet.Table{
		Columns: []sheet.Column{{Head: "Date"}, {Head: "What"}, {Head: "From"}, {Head: "Into"}, {Head: "Kept by"}, {Head: "In all", Number: true}}, Rows: rows,
	})
}

// parentOf says where a part of a lot came from.
func (t *provenanceSheet) parentOf(s service.CustodyStep, p lineage.Parent) string {
	switch from := t.parent(p.Lot); {
	case p.Lot == "":
		return "from origin: " + t.source(p.Origin)
	case from == s.Lot.Place.Bin:
		return "that stood there"
	case t.l.Names.Bins[service.BinID(from)].ID == "":
		return "from before"
	default:
		return "out of " + t.bin(from)
	}
}

// happened says what kind of entry opened a lot, and between whom.
func (t *provenanceSheet) happened(m service.Movement) string {
	kind := inWords(map[string]string{"hand-over": "handed over", "arrival": "arrived", "stocking": "stocked", "combine": "combined", "census": "found at a census"}, string(m.Kind))
	if m.Kind != journal.HandOver && m.Kind != journal.Arriving {
		return kind
	}
	if m.Terms != "" {
		kind += ", " + string(m.Terms)
	}
	if m.FromMember == "" {
		return kind + ", by an outside party"
	}
	return kind + ", by " + t.member(m.FromMember)
}

// observed tells of quarantines, and of the latest look into the bin.
func (t *provenanceSheet) observed() {
	t.out.Heading("Quarantine and checks")
	var rows [][]string
	for _, q := range t.v.Quarantines {
		end := "still lasts"
		if !q.Released.Time.IsZero() {
			end = "released on " + t.day(q.Released.Time) + ", found " + string(q.Outcome)
		}
		where := t.bin(string(q.Bin))
		if where == "" {
			where = "a bin before"
		}
		rows = append(rows, []string{where, t.day(q.At.Time), end})
	}
	if len(rows) > 0 {
		t.out.Table(sheet.Table{Columns: []sheet.Column{{Head: "Quarantine of"}, {Head: "From"}, {Head: "Ended"}}, Rows: rows})
	} else {
		t.out.Text("No quarantine of the bins on the way is on record.")
	}
	c := t.v.Check
	if c == nil {
		t.out.Text("No check of the bin is on record since the lot began.")
		return
	}
	seen := []string{"pests: " + noted(len(c.Pests) > 0)}
	for _, x := range []struct {
		what string
		is   *bool
	}{{"ammonia", c.Ammonia}, {"beaded worms", c.Beaded}, {"escape", c.Escape}} {
		if x.is != nil {
			seen = append(seen, x.what+": "+noted(*x.is))
		}
	}
	t.out.Text("Latest check of the bin, " + t.day(c.At.Time) + ": " + strings.Join(seen, ", ") + ".")
}

func noted(is bool) string {
	if is {
		return "noted"
	}
	return "none noted"
}

// unknown lists what the sheet can't tell.
func (t *provenanceSheet) unknown() {
	var out []string
	if t.unknownParts() > 0 {
		out = append(out, "Where "+percent(t.unknownParts(), lineage.One)+" of the lot came from.")
	}
	if t.l.Lot.Identified == nil {
		out = append(out, "What species the worms are: nobody looked; the name is as booked.")
	}
	if t.v.Census == nil && !t.l.Lot.Withdrawn {
		out = append(out, "How many worms there are: the mass is by the book.")
	}
	out = append(out, "What may have come along with worms, bedding or tools: contacts and exposure aren't part of this sheet.",
		"What happened to the worms outside of the club, before their origins and after they left.")
	t.out.Heading("Not known")
	for _, line := range out {
		t.out.Text("• " + line)
	}
}
