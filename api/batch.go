package api

import (
	"time"

	"lumbricary.example/service"
)

// NewBatch is a batch as a caller adds it: empty, until a harvest fills it.
type NewBatch struct {
	ID        string  `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	LotNumber string  `json:"lot_number,omitempty" example:"2026-05-A" maxLength:"80"`                   // printed on the bag; never the same twice in the club; left out: the next of the year, as 2026-001
	Product   string  `json:"product" example:"castings" enums:"vermicompost,screened,castings" validate:"required"`
	MeshMM    float64 `json:"mesh_mm,omitempty" example:"4" minimum:"0" maximum:"1000"` // of the screen; left out: not screened
	Note      string  `json:"note,omitempty" example:"for the school garden" maxLength:"2000"`
}

func (n NewBatch) batch() service.Batch {
	return service.Batch{
		ID: service.BatchID(n.ID), LotNumber: n.LotNumber, Product: service.Product(n.Product), MeshMM: n.MeshMM, Note: n.Note,
	}
}

// Batch is castings in store under a printable lot number.
type Batch struct {
	ID        string    `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	LotNumber string    `json:"lot_number" example:"2026-05-A" validate:"required"`
	Product   string    `json:"product" example:"castings" enums:"vermicompost,screened,castings" validate:"required"`
	MeshMM    *float64  `json:"mesh_mm" example:"4" extensions:"x-nullable" validate:"required"` // null: not screened
	Note      *string   `json:"note" example:"for the school garden" extensions:"x-nullable" validate:"required"`
	CreatedAt time.Time `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
}

func batchOf(b service.Batch) Batch {
	return Batch{
		ID: string(b.ID), LotNumber: b.LotNumber, Product: string(b.Product), MeshMM: orNull(b.MeshMM),
		Note: orNull(b.Note), CreatedAt: b.CreatedAt,
	}
}

func (s *Server) batches(*request) noun[service.Batch, service.BatchID, NewBatch, Batch] {
	return noun[service.Batch, service.BatchID, NewBatch, Batch]{
		name: "batch", shelf: s.Batches, in: NewBatch.batch, out: batchOf, filters: []string{"kind"},
		head: func(v service.Batch) head { return head{id: string(v.ID), version: v.Version} },
	}
}

// addBatch records a batch.
//
//	@Summary		Record a batch
//	@Description	Castings in store under a lot number, which is given where it is left out and never again to another batch. A harvest fills it.
//	@ID				addBatch
//	@Tags			batches
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			batch			body		NewBatch	true	"the batch"
//	@Success		201				{object}	Batch
//	@Header			201				{string}	Location	"the batch"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches [post]
func (s *Server) addBatch(r *request) (answer, error) { return s.batches(r).add(r) }

// listBatches shows a page of the club's batches.
//
//	@Summary		List batches
//	@Description	In the order of their ids.
//	@ID				listBatches
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			kind			query		string	false	"batches of that product"	Enums(vermicompost, screened, castings)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Batch]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches [get]
func (s *Server) listBatches(r *request) (answer, error) { return s.batches(r).list(r) }

// getBatch shows one batch.
//
//	@Summary		Show a batch
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getBatch
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			path		string	true	"id of the batch"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Batch
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch} [get]
func (s *Server) getBatch(r *request) (answer, error) { return s.batches(r).get(r) }

// changeBatch changes a batch.
//
//	@Summary		Change a batch
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. What is told of it; what it holds comes from harvests and movements.
//	@ID				changeBatch
//	@Tags			batches
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch		path		string	true	"id of the batch"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewBatch	true	"what changes"
//	@Success		200			{object}	Batch
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch} [patch]
func (s *Server) changeBatch(r *request) (answer, error) { return s.batches(r).change(r) }

// removeBatch removes a batch.
//
//	@Summary		Remove a batch
//	@Description	Only a batch that nothing came into or out of.
//	@ID				removeBatch
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch		path		string	true	"id of the batch"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204				"gone"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch} [delete]
func (s *Server) removeBatch(r *request) (answer, error) { return s.batches(r).remove(r) }
