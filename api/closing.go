package api

import (
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode/utf8"

	"lumbricary.example/service"
)

// lateHeader says why a call writes into closed books.
const lateHeader = "Late-Reason"

// lateReason reads that header: UTF-8, or percent-encoded as browsers send it.
// Errors: ErrMalformed.
func (r *request) lateReason() (string, error) {
	text := strings.TrimSpace(r.gin.GetHeader(lateHeader))
	if plain, err := url.PathUnescape(text); err == nil {
		text = plain
	}
	if !storable(text) || utf8.RuneCountInString(text) > 2000 {
		return "", service.ErrMalformed.With("%s has at most 2000 characters of UTF-8; they may be percent-encoded", lateHeader)
	}
	return text, nil
}

// NewClosing closes the books, or opens them again.
type NewClosing struct {
	Until  *string `json:"until" example:"2026-03-31" maxLength:"10" extensions:"x-nullable"`           // the last day that is closed; null: all is open
	Reason string  `json:"reason,omitempty" example:"accounts of the season approved" maxLength:"2000"` // needed for an earlier day than before
}

// closeBooks closes a club's books up to a day.
//
//	@Summary		Close the books
//	@Description	For stewards. Up to and including that day nothing dated is recorded, changed, voided or reversed (409 books-closed) but by a steward who says why in the header Late-Reason; listLateEntries shows what was. An earlier day, or null, opens the books again and needs a reason.
//	@ID				closeBooks
//	@Tags			clubs
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			closing			body		NewClosing	true	"the last day"
//	@Success		200				{object}	Club
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,412,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/closing [post]
func (s *Server) closeBooks(r *request) (answer, error) {
	n, err := decode[NewClosing](r)
	if err != nil {
		return answer{}, err
	}
	var until service.Day
	if n.Until != nil {
		until = service.Day(*n.Until)
	}
	c, err := s.Clubs.CloseBooks(r.ctx, r.actor(), until, n.Reason)
	return answer{status: http.StatusOK, version: c.Version, body: clubOf(c)}, err
}

// LateEntry says that closed books were written in, and why.
type LateEntry struct {
	ID       string    `json:"id" example:"01970000-0000-7000-8000-000000000040" format:"uuid" validate:"required"`
	Noun     string    `json:"noun" example:"feeding" validate:"required"` // what was made, changed or taken back; book: an import
	Record   *string   `json:"record" example:"01970000-0000-7000-8000-000000000020" format:"uuid" extensions:"x-nullable" validate:"required"`
	At       time.Time `json:"at" example:"2026-03-30T11:00:00Z" format:"date-time" validate:"required"` // the moment in the closed books
	Why      string    `json:"why" example:"found on a slip of paper" validate:"required"`
	Recorded Recorded  `json:"recorded" validate:"required"`
}

func lateEntryOf(l service.LateEntry) LateEntry {
	return LateEntry{string(l.ID), l.Noun, orNull(l.Record), l.At, l.Why, recordedOf(l.Recorded)}
}

// listLateEntries shows a page of what was written into closed books.
//
//	@Summary		List late entries
//	@Description	What was recorded, changed or taken back in books that were closed, and why, in the order of the moments that it is about.
//	@ID				listLateEntries
//	@Tags			clubs
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			noun			query		string	false	"about that noun"	example(feeding)
//	@Param			record			query		string	false	"about that record"	format(uuid)
//	@Param			member			query		string	false	"by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[LateEntry]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/late-entries [get]
func (s *Server) listLateEntries(r *request) (answer, error) {
	return noun[service.LateEntry, service.LateEntryID, struct{}, LateEntry]{
		name: "late_entry", shelf: s.LateEntries, out: lateEntryOf,
		head:    func(v service.LateEntry) head { return head{id: string(v.ID), version: v.Version, at: v.At} },
		filters: []string{"noun", "record", "member", "from", "to", "order"},
	}.list(r)
}
