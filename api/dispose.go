package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewDisposal gives a bin up.
type NewDisposal struct {
	At    string `json:"at,omitempty" example:"2026-05-01"`                                            // RFC 3339 time, or a date in the club's time zone; left out: now
	Cause string `json:"cause" example:"lost-bin" enums:"dead,lost-bin,write-off" validate:"required"` // of the loss of what stands in it
	Why   string `json:"why" example:"flooded" maxLength:"2000" validate:"required"`

	CancelTransfers bool `json:"cancel_transfers,omitempty" example:"false"` // true: its open transfers as well, as far as nothing was sent
}

// Disposal is what giving a bin up did.
type Disposal struct {
	Transfers  []string    `json:"transfers" example:"01970000-0000-7000-8000-000000000050" validate:"required"` // that were cancelled or declined
	Loss       *Movement   `json:"loss" extensions:"x-nullable" validate:"required"`                             // of all that stood in it; null: nothing did
	Quarantine *Quarantine `json:"quarantine" extensions:"x-nullable" validate:"required"`                       // that ended; null: it was in none
	Bin        Bin         `json:"bin" validate:"required"`                                                      // retired
}

func disposalOf(d service.Disposal, zone *time.Location) Disposal {
	out := Disposal{Bin: binOf(d.Bin, zone), Transfers: rowsOf(d.Ended, func(t service.Transfer) string { return string(t.ID) })}
	if d.Loss != nil {
		m := movementOf(*d.Loss, zone)
		out.Loss = &m
	}
	if d.Released != nil {
		q := quarantineOf(*d.Released, zone)
		out.Quarantine = &q
	}
	return out
}

// disposeBin gives a bin up.
//
//	@Summary		Dispose of a bin
//	@Description	All in one: what stands in the bin by the book is recorded as a loss of that cause, its quarantine ends as disposed, and it retires. An open transfer that names the bin keeps it (409 in-transfer, with each in errors as record); cancel_transfers ends those in which nothing was sent yet: cancelled, or declined where they wait for the keeper's answer. What is under way is received first, into another bin or back. No record of the bin may lie after that moment. To take it back: take the bin into use again (PATCH, retired null), then reverse the loss.
//	@ID				disposeBin
//	@Tags			bins
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				path		string	true	"id of the bin"	format(uuid)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			disposal		body		NewDisposal	true	"when and why"
//	@Success		200				{object}	Disposal
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/dispose [post]
func (s *Server) disposeBin(r *request) (answer, error) {
	n, err := decode[NewDisposal](r)
	if err != nil {
		return answer{}, err
	}
	d, err := s.Dispose(r.ctx, r.actor(), service.BinID(r.param("bin")), service.Disposing{
		At: service.Moment{Text: n.At}, Cause: service.Cause(n.Cause), Why: n.Why, Cancel: n.CancelTransfers,
	})
	if err != nil {
		return answer{}, repointed(err, map[string]string{"/retired": "/at", "/retired_why": "/why", "/released": "/at"})
	}
	return answer{status: http.StatusOK, body: disposalOf(d, r.zone())}, r.err
}
