package api

import (
	"net/http"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// noGenetics is the caution beside every figure on descent.
const noGenetics = "Shares say by mass from which origins the stock came. They are no genetics: which worms bred and which died nobody recorded."

// LotOverlap is what two lots have in common.
type LotOverlap struct {
	Lot          OverlapLot       `json:"lot" validate:"required"`
	Other        OverlapLot       `json:"other" validate:"required"`
	Overlap      *float64         `json:"overlap" example:"0.3" extensions:"x-nullable" validate:"required"` // the smaller shares of every origin, summed, exact; null: one of the two is withdrawn
	Unknown      float64          `json:"unknown" example:"0" validate:"required"`                           // of it: of unknown origin in both, which need not be the same
	Origins      []OverlapOrigin  `json:"origins" validate:"required"`                                       // that both descend from
	Ancestors    []CommonAncestor `json:"ancestors" validate:"required"`                                     // the nearest lots that both descend from, the newest first; one of the two, where the other descends from it
	AncestorsCut bool             `json:"ancestors_cut" example:"false" validate:"required"`                 // the search was given up after 2,000 lots: there may be more
	Caution      string           `json:"caution" example:"Shares say by mass from which origins the stock came. They are no genetics: which worms bred and which died nobody recorded." validate:"required"`
}

// OverlapLot is one of two lots.
type OverlapLot struct {
	ID      string `json:"id" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Species Named  `json:"species" validate:"required"`
	Bin     Named  `json:"bin" validate:"required"`
	Member  Named  `json:"member" validate:"required"` // who kept the bin when the lot opened
}

// OverlapOrigin is an origin that two lots both descend from.
type OverlapOrigin struct {
	LineageOrigin
	OtherShare float64 `json:"other_share" example:"0.3" validate:"required"` // of the other lot; share is that of the lot
	Common     float64 `json:"common" example:"0.3" validate:"required"`      // the smaller of the two
}

// CommonAncestor is a lot that two lots both descend from, and the movement that
// opened it.
type CommonAncestor struct {
	CustodyStep
	Arrivals      int `json:"arrivals" example:"2" validate:"required"`       // between it and the lot, by the shortest way
	OtherArrivals int `json:"other_arrivals" example:"1" validate:"required"` // between it and the other
}

func lotOverlapOf(o service.LotOverlap) LotOverlap {
	n := o.Names
	lot := func(l service.Lot) OverlapLot {
		return OverlapLot{
			ID: l.ID, Species: Named{l.Place.Species, n.Species[service.SpeciesID(l.Place.Species)]},
			Bin: namedBin(n, service.BinID(l.Place.Bin)), Member: Named{string(l.Member), n.Members[l.Member]},
		}
	}
	out := LotOverlap{
		Lot: lot(o.A), Other: lot(o.B), Unknown: share(o.Unknown), Origins: []OverlapOrigin{}, Ancestors: []CommonAncestor{},
		AncestorsCut: o.Cut, Caution: noGenetics,
	}
	if o.Known {
		whole := share(o.Parts)
		out.Overlap = &whole
	}
	for _, c := range o.Common {
		row := originsOf(lineage.Shares{{Origin: c.Origin, Parts: c.A}}, n)[0]
		out.Origins = append(out.Origins, OverlapOrigin{row, share(c.B), share(c.Parts)})
	}
	for _, a := range o.Nearest {
		out.Ancestors = append(out.Ancestors, CommonAncestor{custodyStepOf(a.CustodyStep, n, o.Club.Zone()), a.A, a.B})
	}
	return out
}

// OverlapText tells what two lots have in common: plain text, at most 80 columns
// wide, in the units of a system.
func OverlapText(o service.LotOverlap, in unit.System) string {
	t := &lineageText{l: service.LotLineage{Club: o.Club, Names: o.Names}, in: in}
	t.say("What two lots have in common")
	if o.Club.Name != "" {
		t.say("%s", o.Club.Name)
	}
	t.line("")
	for _, l := range []service.Lot{o.A, o.B} {
		t.item("the %s in %s since %s, lot %s", named(o.Names.Species, l.Place.Species, l.Place.Species), t.place(l), spokenDay(l.OpenedAt, o.Club.Zone()), l.ID)
	}
	t.line("")
	switch {
	case !o.Known:
		t.say("One of them is withdrawn: the record that opened it was taken back, and it has no origins to compare.")
	case o.Parts == 0:
		t.say("They have no origin in common.")
	default:
		t.say("They have %s of their origins in common.", percent(o.Parts, lineage.One))
		t.table(
			text("Origin", o.Common, func(c lineage.InCommon) string { return t.origin(c.Origin) }),
			column{"First", true, text("", o.Common, func(c lineage.InCommon) string { return percent(c.A, lineage.One) }).cells},
			column{"Second", true, text("", o.Common, func(c lineage.InCommon) string { return percent(c.B, lineage.One) }).cells},
			column{"Common", true, text("", o.Common, func(c lineage.InCommon) string { return percent(c.Parts, lineage.One) }).cells},
		)
	}
	if o.Unknown > 0 {
		t.say("Of that, %s are of unknown origin in both, which need not be the same.", percent(o.Unknown, lineage.One))
	}
	t.ancestors(o)
	t.line("")
	t.say("%s", noGenetics)
	return t.String()
}

// ancestors tells the nearest lots that two lots both descend from.
func (t *lineageText) ancestors(o service.LotOverlap) {
	t.heading("The nearest stock that both descend from")
	for _, a := range o.Nearest {
		t.item("%s, lot %s, which began on %s with %s: %s to the first and %s to the second", t.place(a.Lot), a.Lot.ID,
			spokenDay(a.Lot.OpenedAt, o.Club.Zone()), weight(a.Lot.Mass, t.in), count(a.A, "arrival", "arrivals"), count(a.B, "arrival", "arrivals"))
	}
	switch {
	case o.Cut:
		t.say("The search was given up; there may be more.")
	case len(o.Nearest) == 0:
		t.say("There is none in the club's books.")
	}
}

// getLotOverlap shows what two lots have in common.
//
//	@Summary		Show what two lots have in common
//	@Description	The smaller share of every origin, summed: 1 for lots of the same shares, 0 for lots without a common origin or of two species; the same both ways, and exact. Beside it the nearest lots that both descend from, with their dates and keepers. Shares go by mass and are no genetics. As plain text for Accept: text/plain.
//	@ID				getLotOverlap
//	@Tags			lots
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot				path		string	true	"id of the lot"
//	@Param			other			path		string	true	"id of the other lot"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	LotOverlap
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/overlap/{other} [get]
func (s *Server) getLotOverlap(r *request) (answer, error) {
	o, err := s.Reports.Overlap(r.ctx, r.actor(), service.LotID(r.param("lot")), service.LotID(r.param("other")))
	if err != nil {
		return answer{}, err
	}
	if r.wantsText() {
		return textAnswer(OverlapText(o, r.units())), r.err
	}
	return answer{status: http.StatusOK, body: lotOverlapOf(o)}, nil
}
