package api

import (
	"net/http"
	"slices"

	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/season"
)

// CultureLineage is how a culture came to where it lives.
type CultureLineage struct {
	Club    PublishedClub    `json:"club" validate:"required"`
	Culture PublishedCulture `json:"culture" validate:"required"`
	Bins    int              `json:"bins" example:"3" format:"int32" validate:"required"` // in how many a copy lives
	Sites   int              `json:"sites" example:"2" format:"int32" validate:"required"`
	Keepers int              `json:"keepers" example:"2" format:"int32" validate:"required"`
	Copies  []PublishedCopy  `json:"copies" validate:"required"`
	PublishedDescent
}

// StarterLineage is where one lot came from.
type StarterLineage struct {
	Club     PublishedClub    `json:"club" validate:"required"`
	Lot      string           `json:"lot" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Species  Named            `json:"species" validate:"required"`
	Cultures []LineageCulture `json:"cultures" validate:"required"`             // that are published, the largest share first
	Share    float64          `json:"share" example:"0.97" validate:"required"` // of the lot that is of those
	PublishedDescent
}

// PublishedDescent is the lots on the way, and where they entered the club's books.
type PublishedDescent struct {
	Origins  []PublishedOrigin `json:"origins" validate:"required"`
	Steps    []PublishedStep   `json:"steps" validate:"required"`               // the oldest first, at most 300
	Cut      bool              `json:"cut" example:"false" validate:"required"` // there are others
	Cautions []string          `json:"cautions" validate:"required"`            // to be shown beside them
}

// PublishedOrigin is where stock entered the club's books from outside.
type PublishedOrigin struct {
	Named
	Kind    string `json:"kind" example:"supplier" enums:"supplier,wild,certificate,unknown" validate:"required"`
	Culture string `json:"culture" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
}

// PublishedCopy is stock of which at least 80 % is of the culture.
type PublishedCopy struct {
	Lot    string  `json:"lot" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Bin    Named   `json:"bin" validate:"required"`
	Keeper Named   `json:"keeper" validate:"required"`
	Share  float64 `json:"share" example:"0.94" validate:"required"`
	BookG  float64 `json:"book_g" example:"750" validate:"required"`
}

// PublishedStep is one lot: what stood in a bin after something arrived.
type PublishedStep struct {
	Lot        string          `json:"lot" example:"01970000-0000-7000-8000-000000000032" format:"uuid" validate:"required"`
	Month      string          `json:"month" example:"2026-04" validate:"required"`
	Kind       string          `json:"kind" example:"split" enums:"stocking,split,combine,hand-over,dispatch,arrival,loss,use,census,harvest,reversal" validate:"required"`
	Bin        Named           `json:"bin" validate:"required"`
	Keeper     Named           `json:"keeper" validate:"required"`                              // by pseudonym, or by the name that the member agreed to
	FromKeeper *Named          `json:"from_keeper" extensions:"x-nullable" validate:"required"` // who kept before what arrived
	MassG      float64         `json:"mass_g" example:"500" validate:"required"`                // in the bin after
	Share      float64         `json:"share" example:"0.94" validate:"required"`                // of it that is of the cultures shown
	StandsG    float64         `json:"stands_g" example:"400" validate:"required"`              // now; 0 once it has ended
	Parents    []PublishedPart `json:"parents" validate:"required"`
}

// PublishedPart is something that a lot came from: a step, an origin, or, with both
// null, something else.
type PublishedPart struct {
	Lot    *string `json:"lot" example:"01970000-0000-7000-8000-000000000032" format:"uuid" extensions:"x-nullable" validate:"required"`
	Origin *string `json:"origin" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"`
	MassG  float64 `json:"mass_g" example:"500" validate:"required"`
}

// descentOf shows the steps of a lineage. What they came from and is no step or
// origin of the cultures shown is something else.
func descentOf(p service.PublishedLineage) PublishedDescent {
	n, zone := rowNames{p.Names}, p.Club.Zone()
	out := PublishedDescent{
		Origins: []PublishedOrigin{}, Steps: []PublishedStep{}, Cut: p.Cut,
		Cautions: []string{string(service.CautionCertificate), string(service.CautionRelease), string(service.CautionBorders)},
	}
	told := map[string]bool{}
	for _, s := range p.Steps {
		told[s.Lot.ID] = true
	}
	for _, s := range p.Steps {
		parents := []PublishedPart{}
		for _, of := range s.Lot.Parents {
			part := PublishedPart{MassG: of.Mass.Grams()}
			if told[of.Lot] {
				part.Lot = &of.Lot
			}
			if o, ok := publishedOriginOf(p, of); ok {
				part.Origin = &o.ID
				if !slices.Contains(out.Origins, o) {
					out.Origins = append(out.Origins, o)
				}
			}
			parents = append(parents, part)
		}
		out.Steps = append(out.Steps, PublishedStep{
			Lot: s.Lot.ID, Month: season.LocalMonth(s.Lot.OpenedAt, zone), Kind: string(s.Movement.Kind), Bin: n.bin(s.Lot.Place.Bin),
			Keeper: n.member(string(s.Lot.Member)), FromKeeper: n.memberOrNull(string(s.Movement.FromMember)), MassG: s.Lot.Mass.Grams(),
			Share: share(s.Parts), StandsG: s.Stands.Grams(), Parents: parents,
		})
	}
	return out
}

// publishedOriginOf is the origin that a part came from, if it is of the cultures
// shown.
func publishedOriginOf(p service.PublishedLineage, of lineage.Parent) (PublishedOrigin, bool) {
	o, ok := p.Names.Origins[service.OriginID(of.Origin)]
	if !ok || !slices.ContainsFunc(p.Cultures, func(c service.CultureShare) bool { return c.Culture == o.Culture }) {
		return PublishedOrigin{}, false
	}
	return PublishedOrigin{Named{string(o.ID), o.Name}, string(o.Kind), string(o.Culture)}, true
}

// getCultureLineage shows the lineage of a culture that a club publishes.
//
//	@Summary		Show a culture's lineage
//	@Description	For every page, without credentials, where the club publishes the culture; else as one that isn't there. Where it lives now, and the lots that those copies descend from, with month, mass and keeper. Keepers are pseudonyms unless they agreed to be shown by name; bins and origins have labels for names. Show the cautions beside it.
//	@ID				getCultureLineage
//	@Tags			public
//	@Produce		json
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			culture			path		string	true	"id of the culture"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	CultureLineage
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500,503		{object}	Problem
//	@Router			/v1/public/clubs/{club}/cultures/{culture}/lineage [get]
func (s *Server) getCultureLineage(r *request) (answer, error) {
	p, err := s.Publications.Culture(r.ctx, r.param("club"), service.CultureID(r.param("culture")))
	if err != nil {
		return answer{}, err
	}
	n := rowNames{p.Names}
	out := CultureLineage{
		Club: publishedClubOf(p.Club), Culture: publishedCultureOf(p.Names.Cultures[p.Cultures[0].Culture], n), Copies: []PublishedCopy{}, PublishedDescent: descentOf(p),
	}
	bins, sites, keepers := map[service.BinID]bool{}, map[service.SiteID]bool{}, map[service.MemberID]bool{}
	for _, c := range p.Copies {
		b := p.Names.Bins[c.Bin]
		bins[b.ID], sites[b.Site], keepers[b.Keeper] = true, true, true
		out.Copies = append(out.Copies, PublishedCopy{string(c.Lot), n.bin(string(b.ID)), n.member(string(b.Keeper)), share(c.Parts), c.Book.Grams()})
	}
	out.Bins, out.Sites, out.Keepers = len(bins), len(sites), len(keepers)
	return answer{status: http.StatusOK, body: out}, nil
}

// getStarterLineage shows the lineage of a lot of published cultures.
//
//	@Summary		Show where a starter came from
//	@Description	For every page, without credentials, where at least 80 % of the lot is of cultures that the club publishes; else as one that isn't there. As the lineage of a culture, for one lot.
//	@ID				getStarterLineage
//	@Tags			public
//	@Produce		json
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot				path		string	true	"id of the lot"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	StarterLineage
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500,503		{object}	Problem
//	@Router			/v1/public/clubs/{club}/lots/{lot}/lineage [get]
func (s *Server) getStarterLineage(r *request) (answer, error) {
	p, err := s.Publications.Lot(r.ctx, r.param("club"), service.LotID(r.param("lot")))
	if err != nil {
		return answer{}, err
	}
	out := StarterLineage{
		Club: publishedClubOf(p.Club), Lot: p.Lot.ID, Species: rowNames{p.Names}.species(p.Lot.Place.Species), PublishedDescent: descentOf(p),
	}
	var parts int64
	for _, c := range p.Cultures {
		out.Cultures = append(out.Cultures, LineageCulture{Named{string(c.Culture), p.Names.Cultures[c.Culture].Name}, share(c.Parts), c.Copy})
		parts += c.Parts
	}
	out.Share = share(parts)
	return answer{status: http.StatusOK, body: out}, nil
}
