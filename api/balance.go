package api

import (
	"net/http"
	"net/url"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/balance"
)

// MaterialsBalance is what came in, lies there and went out in a season. Every
// total is the sum of its rows, and every row closes.
type MaterialsBalance struct {
	Period    Period     `json:"period" validate:"required"`
	AsOf      time.Time  `json:"as_of" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	Materials []PileRow  `json:"materials" validate:"required"` // wet
	Total     PileLine   `json:"total" validate:"required"`     // of the materials
	Batches   []StoreRow `json:"batches" validate:"required"`
	Store     StoreLine  `json:"store" validate:"required"`                    // of the batches
	LostDryG  float64    `json:"lost_dry_g" example:"120" validate:"required"` // in screening and blending, as dust
	Explained
}

// PileLine is what lies of a material: start_g + received_g − rejected_g −
// residue_g − fed_g = end_g.
type PileLine struct {
	StartG    float64    `json:"start_g" example:"4000" validate:"required"`
	ReceivedG float64    `json:"received_g" example:"25000" validate:"required"`
	RejectedG float64    `json:"rejected_g" example:"1500" validate:"required"`
	ResidueG  float64    `json:"residue_g" example:"0" validate:"required"`
	FedG      float64    `json:"fed_g" example:"21000" validate:"required"`   // from what came in
	EndG      float64    `json:"end_g" example:"6500" validate:"required"`    // on hand; below nothing where more was fed than came in
	ApartG    float64    `json:"apart_g" example:"0" validate:"required"`     // fed as well, before anything was recorded to come in
	Recorded  bool       `json:"recorded" example:"true" validate:"required"` // false: no receipt is on record, so nobody knows what is on hand
	ShortG    float64    `json:"short_g" example:"0" validate:"required"`     // the most that it was below nothing; 0: never. Records are missing or wrong
	ShortAt   *time.Time `json:"short_at" example:"2026-05-01T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
}

// PileRow is what lies of one material.
type PileRow struct {
	Named
	PileLine
}

func pileLineOf(p balance.Pile) PileLine {
	return PileLine{
		p.Start.Grams(), p.Received.Grams(), p.Rejected.Grams(), p.Residue.Grams(), p.Fed.Grams(), p.End.Grams(), p.Apart.Grams(),
		p.Begun, p.Short.Grams(), timeOrNull(p.ShortAt),
	}
}

// WetDry is castings: as they are, and without their water.
type WetDry struct {
	WetG float64 `json:"wet_g" example:"12000" validate:"required"`
	DryG float64 `json:"dry_g" example:"4200" validate:"required"`
}

func wetDry(a balance.Amount) WetDry { return WetDry{a.Wet.Grams(), a.Dry.Grams()} }

// StoreLine is what happened to castings in store: start, and harvested,
// reworked_in and arrived, less all that went out, is end; water_g is added to the
// wet mass alone.
type StoreLine struct {
	Start       WetDry  `json:"start" validate:"required"`
	Harvested   WetDry  `json:"harvested" validate:"required"`
	ReworkedIn  WetDry  `json:"reworked_in" validate:"required"`
	Arrived     WetDry  `json:"arrived" validate:"required"` // in any other way
	ReworkedOut WetDry  `json:"reworked_out" validate:"required"`
	Sold        WetDry  `json:"sold" validate:"required"`
	Swapped     WetDry  `json:"swapped" validate:"required"`
	Given       WetDry  `json:"given" validate:"required"`
	HandedOver  WetDry  `json:"handed_over" validate:"required"` // on terms that nobody told
	Used        WetDry  `json:"used" validate:"required"`
	Spoiled     WetDry  `json:"spoiled" validate:"required"`
	Left        WetDry  `json:"left" validate:"required"`                    // in any other way
	WaterG      float64 `json:"water_g" example:"-2500" validate:"required"` // below nothing: it dried
	End         WetDry  `json:"end" validate:"required"`                     // in store
	Assumed     bool    `json:"assumed" example:"false" validate:"required"` // the wet masses rest on moistures that nobody measured, in part at least
}

func storeLineOf(s balance.Store) StoreLine {
	f := func(flow balance.Flow) WetDry { return wetDry(s.Flows[flow]) }
	return StoreLine{
		Start: wetDry(s.Start), Harvested: f(balance.Harvested), ReworkedIn: f(balance.ReworkedIn), Arrived: f(balance.Arrived),
		ReworkedOut: f(balance.ReworkedOut), Sold: f(balance.Sold), Swapped: f(balance.Swapped), Given: f(balance.Given),
		HandedOver: f(balance.HandedOver), Used: f(balance.Used), Spoiled: f(balance.Spoiled), Left: f(balance.Left),
		WaterG: s.Water.Grams(), End: wetDry(s.End), Assumed: s.Assumed,
	}
}

// StoreRow is what happened to one batch; its name is the lot number.
type StoreRow struct {
	Named
	StoreLine
}

func materialsBalanceOf(b service.MaterialsBalance) MaterialsBalance {
	stores := balance.SumOf(b.Stores)
	return MaterialsBalance{
		Period: periodOf(b.Period), AsOf: b.AsOf,
		Materials: rowsOf(b.Piles, func(p balance.Pile) PileRow {
			return PileRow{rowNames{b.Names}.material(p.Material), pileLineOf(p)}
		}),
		Total: pileLineOf(balance.TotalOf(b.Piles)),
		Batches: rowsOf(b.Stores, func(s balance.Store) StoreRow {
			return StoreRow{Named{s.Batch, b.Batches[service.BatchID(s.Batch)].LotNumber}, storeLineOf(s)}
		}),
		Store: storeLineOf(stores), LostDryG: stores.Lost().Grams(),
	}
}

// getMaterialsBalance shows the materials balance.
//
//	@Summary		Show the materials balance of a season
//	@Description	Of each material: received, rejected, fed, and on hand at both ends. Of each batch, wet and dry: harvested, screened and blended, sold, swapped, given, used, spoiled, and in store at both ends. What was fed counts against what came in from the first receipt of its material on, or where it names a receipt. More fed than came in is shown as it is, with short_g.
//	@ID				getMaterialsBalance
//	@Tags			reports
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			season			query		string	false	"code of the season, as 2026-spring or own dates 2026-03-01..2026-05-31; left out: of today"	example(2026-spring)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	MaterialsBalance
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reports/materials-balance [get]
func (s *Server) getMaterialsBalance(r *request) (answer, error) {
	code, err := r.only("season")
	if err != nil {
		return answer{}, err
	}
	b, err := s.Reports.MaterialsBalance(r.ctx, r.actor(), code)
	if err != nil {
		return answer{}, err
	}
	body := materialsBalanceOf(b)
	return r.explain(answer{status: http.StatusOK, body: &body}, always(b.Workings()))
}

// only reads the one parameter that a call takes; empty where it is left out.
// Errors: ErrMalformed.
func (r *request) only(name string) (string, error) {
	values, err := url.ParseQuery(r.gin.Request.URL.RawQuery)
	if err != nil {
		return "", service.ErrMalformed.With("the query can't be read").Because(err)
	}
	var faults service.Faults
	for _, given := range sortedKeys(values) {
		switch {
		case given == "units" && r.route.has(figured), given == "explain" && r.route.has(explained): // see checkUnits, checkExplain
		case given != name:
			faults.Add("?"+given, "unknown", "this call has no such parameter")
		case len(values[given]) > 1:
			faults.Add("?"+given, "repeated", "give this parameter once")
		case !storable(values.Get(given)):
			faults.Add("?"+given, "format", "this can't be read")
		}
	}
	if len(faults) > 0 {
		return "", unreadable(faults)
	}
	return values.Get(name), nil
}

// BatchBalance is what happened to a batch until now.
type BatchBalance struct {
	Batch       Batch       `json:"batch" validate:"required"`
	Store       StoreLine   `json:"store" validate:"required"`                                             // since the batch began
	MoisturePct *float64    `json:"moisture_pct" example:"40" extensions:"x-nullable" validate:"required"` // of what is in store; null: it is empty
	Bags        []Bags      `json:"bags" validate:"required"`
	Analyses    []BatchStep `json:"analyses" validate:"required"`
	Treatments  []BatchStep `json:"treatments" validate:"required"`
	Explained
}

// Bags is bags that were filled at one time.
type Bags struct {
	Step   string  `json:"step" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Filled int64   `json:"filled" example:"12" format:"int64" validate:"required"`
	Left   int64   `json:"left" example:"7" format:"int64" validate:"required"`
	BagG   float64 `json:"bag_g" example:"5000" validate:"required"` // one bag
}

func batchBalanceOf(b service.BatchBalance, zone *time.Location) BatchBalance {
	out := BatchBalance{
		Batch: batchOf(b.Batch), Store: storeLineOf(b.Store), Bags: []Bags{}, Analyses: []BatchStep{}, Treatments: []BatchStep{},
	}
	if m, known := b.Contents.Moisture(); known {
		out.MoisturePct = (*float64)(&m)
	}
	for _, s := range b.Steps {
		switch s.Kind {
		case service.Bagging:
			out.Bags = append(out.Bags, Bags{string(s.ID), s.Bags, s.BagsLeft, s.Wet.Grams()})
		case service.Analysis:
			out.Analyses = append(out.Analyses, batchStepOf(s, zone))
		case service.Treatment:
			out.Treatments = append(out.Treatments, batchStepOf(s, zone))
		case service.Drying:
		}
	}
	return out
}

// getBatchBalance shows what happened to a batch.
//
//	@Summary		Show the balance of a batch
//	@Description	All that came into the batch and went out of it, wet and dry, what is in store, its bags, analyses and treatments.
//	@ID				getBatchBalance
//	@Tags			batches
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			path		string	true	"id of the batch"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BatchBalance
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch}/balance [get]
func (s *Server) getBatchBalance(r *request) (answer, error) {
	b, err := s.Reports.BatchBalance(r.ctx, r.actor(), service.BatchID(r.param("batch")))
	if err != nil {
		return answer{}, err
	}
	body := batchBalanceOf(b, r.zone())
	return r.explain(answer{status: http.StatusOK, body: &body}, always(b.Workings()))
}
