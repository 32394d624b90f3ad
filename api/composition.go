package api

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// BatchComposition is what a batch is made of. The dry masses of harvests add up
// to that of the batch, and so do those of batches with direct_g.
type BatchComposition struct {
	Batch    Batch         `json:"batch" validate:"required"`
	Gone     bool          `json:"gone" example:"false" validate:"required"` // the batch is empty: this is what it was made of last
	DryG     float64       `json:"dry_g" example:"4200" validate:"required"`
	Harvests []HarvestPart `json:"harvests" validate:"required"`
	Batches  []BatchPart   `json:"batches" validate:"required"`                 // that it came out of last
	DirectG  float64       `json:"direct_g" example:"1200" validate:"required"` // straight from harvests, dry
	Explained
}

// HarvestPart is how much of a batch a harvest made.
type HarvestPart struct {
	Harvest string  `json:"harvest" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // or another movement by which it came in
	Bin     *Named  `json:"bin" extensions:"x-nullable" validate:"required"`
	At      *string `json:"at" example:"2026-05-01T07:30:00Z" extensions:"x-nullable" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	DryG    float64 `json:"dry_g" example:"3000" validate:"required"`
	Share   float64 `json:"share" example:"0.714" validate:"required"` // of the dry matter
}

// BatchPart is how much of a batch came out of another.
type BatchPart struct {
	Named
	DryG  float64 `json:"dry_g" example:"3000" validate:"required"`
	Share float64 `json:"share" example:"0.714" validate:"required"` // of the dry matter
}

func batchCompositionOf(c service.Composition, zone *time.Location) BatchComposition {
	out := BatchComposition{Batch: batchOf(c.Batch), Gone: c.Gone, Harvests: []HarvestPart{}, Batches: []BatchPart{}}
	var whole unit.Mass
	made, via := map[string]unit.Mass{}, map[string]unit.Mass{}
	for _, s := range c.Sources {
		whole += s.Dry
		made[s.Harvest] += s.Dry
		via[s.Batch] += s.Dry
	}
	share := func(dry unit.Mass) float64 { return float64(dry) / float64(whole) }
	for _, id := range sorted(made) {
		part := HarvestPart{Harvest: id, DryG: made[id].Grams(), Share: share(made[id])}
		if h, ok := c.Harvests[service.HarvestID(id)]; ok {
			at := h.At.In(zone)
			bin := namedBin(c.Names, h.Bin)
			part.Bin, part.At = &bin, &at
		}
		out.Harvests = append(out.Harvests, part)
	}
	for _, id := range sorted(via) {
		if id != "" {
			out.Batches = append(out.Batches, BatchPart{Named{id, c.Batches[service.BatchID(id)].LotNumber}, via[id].Grams(), share(via[id])})
		}
	}
	out.DryG, out.DirectG = whole.Grams(), via[""].Grams()
	return out
}

// sorted lists the largest first, then by id.
func sorted(parts map[string]unit.Mass) []string {
	ids := make([]string, 0, len(parts))
	for id := range parts {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, func(a, b string) int { return cmp.Or(cmp.Compare(parts[b], parts[a]), cmp.Compare(a, b)) })
	return ids
}

// getBatchComposition shows what a batch is made of.
//
//	@Summary		Show what a batch is made of
//	@Description	Which harvests made it, and which batches it came out of, with their shares of its dry matter. What was taken out took a proportional part of everything.
//	@ID				getBatchComposition
//	@Tags			batches
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			path		string	true	"id of the batch"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BatchComposition
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch}/composition [get]
func (s *Server) getBatchComposition(r *request) (answer, error) {
	c, err := s.Reports.Composition(r.ctx, r.actor(), service.BatchID(r.param("batch")))
	if err != nil {
		return answer{}, err
	}
	body := batchCompositionOf(c, r.zone())
	return r.explain(answer{status: http.StatusOK, body: &body}, always(c.Workings()))
}
