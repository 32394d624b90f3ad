package api

import (
	"encoding/json"
	"strconv"
	"time"

	"lumbricary.example/service"
)

// AuditEntry says who did what to a record, and when.
type AuditEntry struct {
	ID         string         `json:"id" example:"01970000-0000-7000-8000-000000000040" format:"uuid" validate:"required"`
	At         time.Time      `json:"at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	Seq        int64          `json:"seq" example:"43" format:"int64" validate:"required"`
	Member     string         `json:"member" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`                               // who did it
	APIKey     *string        `json:"api_key" example:"01970000-0000-7000-8000-000000000041" format:"uuid" extensions:"x-nullable" validate:"required"`      // by which it was done; null: the member was signed in
	OnBehalfOf *string        `json:"on_behalf_of" example:"01970000-0000-7000-8000-000000000004" format:"uuid" extensions:"x-nullable" validate:"required"` // the member as whose doing it stands in the book; null: their own
	Action     string         `json:"action" example:"change" enums:"add,change,void,reverse,remove,import" validate:"required"`
	Noun       string         `json:"noun" example:"bin" validate:"required"`                                                                          // of the record, in the singular; book: an import
	Record     *string        `json:"record" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"` // null: no single one
	Changed    []string       `json:"changed" example:"depth_cm" validate:"required"`                                                                  // the members that are not as before, also those whose values are not shown
	Before     map[string]any `json:"before" extensions:"x-nullable" validate:"required"`                                                              // without names of people, addresses and notes; null: there was none
	After      map[string]any `json:"after" extensions:"x-nullable" validate:"required"`                                                               // the same; null: there is none
}

func auditEntryOf(e service.AuditEntry) AuditEntry {
	return AuditEntry{
		ID: string(e.ID), At: e.At, Seq: e.Seq, Member: string(e.Member), APIKey: orNull(string(e.Key)), OnBehalfOf: orNull(string(e.OnBehalf)),
		Action: string(e.Action), Noun: e.Noun, Record: orNull(e.Record), Changed: append([]string{}, e.Changed...),
		Before: objectOrNull(e.Before), After: objectOrNull(e.After),
	}
}

// objectOrNull reads a JSON object; null where there is none.
func objectOrNull(text string) map[string]any {
	var o map[string]any
	if err := json.Unmarshal([]byte(text), &o); err != nil {
		return nil
	}
	return o
}

// listAuditEntries shows a page of who did what.
//
//	@Summary		List who did what
//	@Description	The newest first, for stewards. Every change of the club's records is here, whoever made it and however. Of names of people, addresses, notes and secrets an entry says that they changed, never what they are.
//	@ID				listAuditEntries
//	@Tags			records
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			noun			query		string	false	"records of that noun"	example(bin)
//	@Param			record			query		string	false	"that record"	format(uuid)
//	@Param			member			query		string	false	"done by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[AuditEntry]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/audit-entries [get]
func (s *Server) listAuditEntries(r *request) (answer, error) {
	q, err := r.query("noun", "record", "member", "from", "to")
	if err != nil {
		return answer{}, err
	}
	more := q.Query
	more.Newest = true
	more.Limit++ // one more tells whether there is a next page
	entries, err := s.Audit.List(r.ctx, r.actor(), more)
	if err != nil {
		return answer{}, err
	}
	place := func(e service.AuditEntry) head { return head{id: strconv.FormatInt(e.Seq, 10), at: e.At} }
	return page(r, q, entries, place, auditEntryOf), r.err
}
