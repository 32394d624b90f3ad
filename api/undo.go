package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// NewUndo says what to take back.
type NewUndo struct {
	Bin string `json:"bin,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"` // the newest record of that bin; left out: of all
}

// Undone is the record that was taken back.
type Undone struct {
	Kind       string    `json:"kind" example:"movement" enums:"feeding,check,receipt,turnout,batch-step,census,harvest,rework,movement,quarantine,identification,contact,clearing" validate:"required"`
	ID         string    `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	RecordedAt time.Time `json:"recorded_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	Reversal   *Movement `json:"reversal" extensions:"x-nullable" validate:"required"` // what took it back; null: it posted nothing and was voided
}

func undoneOf(u service.Undone, zone *time.Location) Undone {
	out := Undone{Kind: u.Noun, ID: u.ID, RecordedAt: u.At}
	if u.Reversal != nil {
		m := movementOf(*u.Reversal, zone)
		out.Reversal = &m
	}
	return out
}

// undo takes back the caller's newest record.
//
//	@Summary		Undo the last record
//	@Description	Takes back the newest feeding, check, movement, harvest, census, quarantine, identification, contact or clearing that the caller recorded in the last hour and that still stands: what posts nothing is voided, all else reversed. Called again, it takes back the one before. An Idempotency-Key keeps a call that is sent twice from taking back two.
//	@ID				undo
//	@Tags			records
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			undo			body		NewUndo	true	"what to take back"
//	@Success		200				{object}	Undone
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/undo [post]
func (s *Server) undo(r *request) (answer, error) {
	n, err := decode[NewUndo](r)
	if err != nil {
		return answer{}, err
	}
	u, err := s.Records.Undo(r.ctx, r.actor(), service.BinID(n.Bin))
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, body: undoneOf(u, r.zone())}, r.err
}
