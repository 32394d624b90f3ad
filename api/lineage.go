package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/working"
)

// LotLineage is where a lot came from.
type LotLineage struct {
	Lot              string           `json:"lot" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Species          Named            `json:"species" validate:"required"`
	IdentifiedAs     *IdentifiedAs    `json:"identified_as" extensions:"x-nullable" validate:"required"` // null: nobody looked, and species is as booked
	Bin              Named            `json:"bin" validate:"required"`
	Member           Named            `json:"member" validate:"required"`  // who kept the bin when the lot opened
	Origins          []LineageOrigin  `json:"origins" validate:"required"` // the shares sum to one exactly
	UnknownShare     float64          `json:"unknown_share" example:"0.375" validate:"required"`
	Cultures         []LineageCulture `json:"cultures" validate:"required"`
	EffectiveSources float64          `json:"effective_sources" example:"1.88" validate:"required"` // 1/Σp² over the shares p of the origins
	Depth            int              `json:"depth" example:"2" validate:"required"`                // arrivals since the farthest origin
	Withdrawn        bool             `json:"withdrawn" example:"false" validate:"required"`
	Successor        *string          `json:"successor" example:"01970000-0000-7000-8000-000000000031" format:"uuid" extensions:"x-nullable" validate:"required"`
	Custody          []CustodyStep    `json:"custody" validate:"required"`                     // the last 200 steps down to the lot itself
	CustodyCut       bool             `json:"custody_cut" example:"false" validate:"required"` // there are older steps: see the lots upstream
	Explained
}

// LineageOrigin is how much of a lot descends from an origin.
type LineageOrigin struct {
	OriginShare
	Name    string `json:"name" example:"Green Farm 2026" validate:"required"`
	Kind    string `json:"kind" example:"supplier" enums:"supplier,wild,certificate,unknown" validate:"required"`
	Culture *Named `json:"culture" extensions:"x-nullable" validate:"required"`
}

// LineageCulture is how much of a lot belongs to a culture.
type LineageCulture struct {
	Named
	Share float64 `json:"share" example:"0.625" validate:"required"`
	Copy  bool    `json:"copy" example:"false" validate:"required"` // the share is enough, by the club's copy_pct: the culture can be kept alive by it
}

// CustodyStep is one lot on the way, and the movement that opened it.
type CustodyStep struct {
	Lot        string      `json:"lot" example:"01970000-0000-7000-8000-000000000032" format:"uuid" validate:"required"`
	At         string      `json:"at" example:"2026-04-20" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision  string      `json:"precision" example:"day" enums:"instant,day" validate:"required"`
	Bin        Named       `json:"bin" validate:"required"`
	Member     *Named      `json:"member" extensions:"x-nullable" validate:"required"`      // who kept it from then on
	FromMember *Named      `json:"from_member" extensions:"x-nullable" validate:"required"` // who kept what arrived before
	MassG      float64     `json:"mass_g" example:"500" validate:"required"`                // in the bin after
	Movement   string      `json:"movement" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Kind       string      `json:"kind" example:"split" enums:"stocking,split,combine,hand-over,dispatch,arrival,loss,use,census,harvest,reversal" validate:"required"`
	Terms      *string     `json:"terms" example:"gift" enums:"sale,swap,gift,loan" extensions:"x-nullable" validate:"required"`
	MaterialG  *float64    `json:"material_g" example:"2000" extensions:"x-nullable" validate:"required"`
	Note       *string     `json:"note" example:"from the warm corner" extensions:"x-nullable" validate:"required"`
	Parents    []LotParent `json:"parents" validate:"required"`
}

func lotLineageOf(l service.LotLineage) LotLineage {
	n := l.Names
	out := LotLineage{
		Lot: l.Lot.ID, IdentifiedAs: identifiedAsOf(l.Lot.Identified), Species: Named{l.Lot.Place.Species, n.Species[service.SpeciesID(l.Lot.Place.Species)]},
		Bin: namedBin(n, service.BinID(l.Lot.Place.Bin)), Member: Named{string(l.Lot.Member), n.Members[l.Lot.Member]},
		Origins: originsOf(l.Lot.Shares, n), UnknownShare: lineage.UnknownShare(l.Lot.Shares), Cultures: []LineageCulture{},
		EffectiveSources: l.EffectiveSources, Depth: l.Lot.Depth, Withdrawn: l.Lot.Withdrawn, Successor: orNull(l.Lot.Successor),
		Custody: []CustodyStep{}, CustodyCut: l.Older,
	}
	for _, c := range l.Cultures {
		out.Cultures = append(out.Cultures, LineageCulture{Named{string(c.Culture), n.Cultures[c.Culture].Name}, share(c.Parts), c.Copy})
	}
	for _, s := range l.Custody {
		out.Custody = append(out.Custody, custodyStepOf(s, n, l.Club.Zone()))
	}
	return out
}

func originsOf(shares lineage.Shares, n service.Names) []LineageOrigin {
	out := make([]LineageOrigin, 0, len(shares))
	for _, s := range sharesOf(shares) {
		row := LineageOrigin{OriginShare: s, Name: "unknown", Kind: string(service.UnknownOrigin)}
		if s.Origin != nil {
			o := n.Origins[service.OriginID(*s.Origin)]
			row.Name, row.Kind = o.Name, string(o.Kind)
			if c, ok := n.Cultures[o.Culture]; ok {
				row.Culture = &Named{string(c.ID), c.Name}
			}
		}
		out = append(out, row)
	}
	return out
}

func custodyStepOf(s service.CustodyStep, n service.Names, zone *time.Location) CustodyStep {
	return CustodyStep{
		Lot: s.Lot.ID, At: s.Movement.At.In(zone), Precision: string(s.Movement.At.Precision),
		Bin: namedBin(n, service.BinID(s.Lot.Place.Bin)), Member: namedOrNull(n.Members, s.Lot.Member),
		FromMember: namedOrNull(n.Members, s.Movement.FromMember), MassG: s.Lot.Mass.Grams(), Movement: string(s.Movement.ID),
		Kind: string(s.Movement.Kind), Terms: orNull(string(s.Movement.Terms)), MaterialG: gramsOrNull(s.Movement.MaterialMass),
		Note: orNull(s.Movement.Note), Parents: lotOf(s.Lot).Parents,
	}
}

func namedBin(n service.Names, id service.BinID) Named { return Named{string(id), n.Bins[id].Name} }

// getLotLineage shows where a lot came from.
//
//	@Summary		Show where a lot came from
//	@Description	The shares of every origin, and the lots on the way with their movements: the last 200; the lots upstream are all. As plain text, told in order of dates, for Accept: text/plain. To an API key for figures alone members are pseudonyms, things have labels for names, and there are no notes.
//	@ID				getLotLineage
//	@Tags			lots
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot			path		string	true	"id of the lot"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	LotLineage
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/lineage [get]
func (s *Server) getLotLineage(r *request) (answer, error) {
	l, err := s.Reports.Lineage(r.ctx, r.actor(), service.LotID(r.param("lot")))
	if err != nil {
		return answer{}, err
	}
	if r.wantsText() && !r.explains() {
		return textAnswer(LineageText(l, r.units())), r.err
	}
	body := lotLineageOf(l)
	return r.explain(answer{status: http.StatusOK, body: &body}, func() ([]working.Figure, error) {
		return s.Reports.ExplainLineage(r.ctx, r.actor(), l)
	})
}

// wantsText tells whether the caller asks for plain text before JSON.
func (r *request) wantsText() bool {
	if asked := r.gin.Query("format"); asked != "" {
		return asked == "text"
	}
	return r.gin.NegotiateFormat("application/json", "text/plain") == "text/plain"
}

func textAnswer(text string) answer {
	return answer{status: http.StatusOK, raw: []byte(text), media: "text/plain; charset=utf-8"}
}
