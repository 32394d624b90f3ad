package api

import (
	"time"

	"lumbricary.example/service"
)

// NewIdentification is an identification as a caller records it.
type NewIdentification struct {
	ID           string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Lot          string `json:"lot" example:"01970000-0000-8000-8000-000000000030" format:"uuid" validate:"required"`
	Species      string `json:"species" example:"eisenia-andrei" validate:"required"` // found
	At           string `json:"at,omitempty" example:"2026-05-01"`                    // RFC 3339 time, or a date in the club's time zone; left out: now
	Method       string `json:"method" example:"dna" enums:"appearance,dissection,dna,other" validate:"required"`
	Specimens    int64  `json:"specimens,omitempty" example:"12" minimum:"0" maximum:"100000" format:"int32"` // looked at; left out: not told
	IdentifiedBy string `json:"identified_by,omitempty" example:"University of the Coast" maxLength:"80"`     // who told it
	Note         string `json:"note,omitempty" example:"COI barcode" maxLength:"2000"`
}

func (n NewIdentification) identification() service.Identification {
	return service.Identification{
		ID: service.IdentificationID(n.ID), Lot: service.LotID(n.Lot), Species: service.SpeciesID(n.Species), At: service.Moment{Text: n.At},
		Method: service.IdentificationMethod(n.Method), Specimens: n.Specimens, IdentifiedBy: n.IdentifiedBy, Note: n.Note,
	}
}

// Identification is a dated statement on what species the worms of a lot are.
type Identification struct {
	ID           string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Lot          string     `json:"lot" example:"01970000-0000-8000-8000-000000000030" format:"uuid" validate:"required"`
	Species      string     `json:"species" example:"eisenia-andrei" validate:"required"`
	At           string     `json:"at" example:"2026-05-01" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision    string     `json:"precision" example:"day" enums:"instant,day" validate:"required"`
	Method       string     `json:"method" example:"dna" enums:"appearance,dissection,dna,other" validate:"required"`
	Specimens    *int64     `json:"specimens" example:"12" format:"int32" extensions:"x-nullable" validate:"required"` // null: not told
	IdentifiedBy *string    `json:"identified_by" example:"University of the Coast" extensions:"x-nullable" validate:"required"`
	Note         *string    `json:"note" example:"COI barcode" extensions:"x-nullable" validate:"required"`
	Recorded     Recorded   `json:"recorded" validate:"required"`
	VoidedAt     *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy     *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func identificationOf(i service.Identification, zone *time.Location) Identification {
	return Identification{
		ID: string(i.ID), Lot: string(i.Lot), Species: string(i.Species), At: i.At.In(zone), Precision: string(i.At.Precision),
		Method: string(i.Method), Specimens: orNull(i.Specimens), IdentifiedBy: orNull(i.IdentifiedBy), Note: orNull(i.Note),
		Recorded: recordedOf(i.Recorded), VoidedAt: timeOrNull(i.Voided.At), VoidedBy: orNull(string(i.Voided.By)),
	}
}

// IdentifiedAs is what the worms of a lot are by the identifications that bear
// on it. Books and accounts keep the species as booked.
type IdentifiedAs struct {
	Species         string    `json:"species" example:"eisenia-andrei" validate:"required"`
	ToldApart       bool      `json:"told_apart" example:"true" validate:"required"` // false: what went into the lot was found to be of several species
	At              time.Time `json:"at" example:"2026-05-01T11:00:00Z" format:"date-time" validate:"required"`
	Identifications []string  `json:"identifications" example:"01970000-0000-7000-8000-000000000020" validate:"required"` // the records it comes from
}

func identifiedAsOf(i *service.Identified) *IdentifiedAs {
	if i == nil {
		return nil
	}
	out := IdentifiedAs{Species: string(i.Species), ToldApart: i.ToldApart, At: i.At, Identifications: []string{}}
	for _, id := range i.Statements {
		out.Identifications = append(out.Identifications, string(id))
	}
	return &out
}

func (s *Server) identifications(r *request) noun[service.Identification, service.IdentificationID, NewIdentification, Identification] {
	return noun[service.Identification, service.IdentificationID, NewIdentification, Identification]{
		name: "identification", shelf: s.Identifications, in: NewIdentification.identification, out: inZone(r, identificationOf),
		head: func(v service.Identification) head {
			return head{id: string(v.ID), version: v.Version, at: v.At.Time}
		},
		filters: []string{"lot", "species", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addIdentification records an identification.
//
//	@Summary		Record an identification
//	@Description	What species the worms of a lot were found to be. Lots that descend from it are taken for the same unless they have a later identification of their own; a lot whose parents differ is not told apart. Figures go by it; no mass is booked anew.
//	@ID				addIdentification
//	@Tags			identifications
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			identification	body		NewIdentification	true	"the identification"
//	@Success		201				{object}	Identification
//	@Header			201				{string}	Location	"the identification"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/identifications [post]
func (s *Server) addIdentification(r *request) (answer, error) { return s.identifications(r).add(r) }

// listIdentifications shows a page of the club's identifications.
//
//	@Summary		List identifications
//	@Description	In the order of their times.
//	@ID				listIdentifications
//	@Tags			identifications
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot				query		string	false	"statements on that lot"	format(uuid)
//	@Param			species			query		string	false	"that found that species"	example(eisenia-fetida)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Identification]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/identifications [get]
func (s *Server) listIdentifications(r *request) (answer, error) {
	return s.identifications(r).list(r)
}

// getIdentification shows one identification.
//
//	@Summary		Show an identification
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getIdentification
//	@Tags			identifications
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			identification	path		string	true	"id of the identification"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Identification
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/identifications/{identification} [get]
func (s *Server) getIdentification(r *request) (answer, error) { return s.identifications(r).get(r) }

// changeIdentification changes an identification.
//
//	@Summary		Change an identification
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its lot.
//	@ID				changeIdentification
//	@Tags			identifications
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			identification	path		string	true	"id of the identification"	format(uuid)
//	@Param			If-Match		header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			patch			body		NewIdentification	true	"what changes"
//	@Success		200			{object}	Identification
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/identifications/{identification} [patch]
func (s *Server) changeIdentification(r *request) (answer, error) {
	return s.identifications(r).change(r)
}

// voidIdentification voids an identification.
//
//	@Summary		Void an identification
//	@Description	It stays, with voided_at, and says nothing of any lot.
//	@ID				voidIdentification
//	@Tags			identifications
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			identification	path		string	true	"id of the identification"	format(uuid)
//	@Param			If-Match		header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Success		200				{object}	Identification
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/identifications/{identification} [delete]
func (s *Server) voidIdentification(r *request) (answer, error) {
	return s.identifications(r).remove(r)
}
