package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// NewBatchStep is what was done to a batch, or found in it, as a caller records
// it. Each kind has its own members: a drying moisture_pct or mass; a bagging
// bags, bags_left and mass, which one bag weighs; a treatment what, temperature
// and hours; an analysis parameter, value and what goes with them.
type NewBatchStep struct {
	ID          string    `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Batch       string    `json:"batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" validate:"required"`
	Kind        string    `json:"kind" example:"drying" enums:"drying,bagging,treatment,analysis" validate:"required"`
	At          string    `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`                                    // RFC 3339 time, or a date in the club's time zone; of an analysis: of the sample; left out: now
	MoisturePct *float64  `json:"moisture_pct" example:"40" minimum:"0" maximum:"99.9" extensions:"x-nullable"`   // of the batch, measured then
	Mass        *Quantity `json:"mass" units:"mass" extensions:"x-nullable"`                                      // drying: of the whole batch, wet; bagging: of one bag
	Bags        int64     `json:"bags,omitempty" minimum:"1" maximum:"1000000" format:"int64"`                    // filled
	BagsLeft    *int64    `json:"bags_left" minimum:"0" maximum:"1000000" format:"int64" extensions:"x-nullable"` // left out: all
	What        string    `json:"what,omitempty" maxLength:"2000"`
	Temperature *Quantity `json:"temperature" units:"temperature" extensions:"x-nullable"` // in Cel or [degF]
	Hours       *float64  `json:"hours" minimum:"0" maximum:"8784" extensions:"x-nullable"`
	Parameter   string    `json:"parameter,omitempty" maxLength:"80"` // what was looked for
	Sign        string    `json:"sign,omitempty" enums:"below,above"` // left out: the value itself
	Value       *float64  `json:"value" minimum:"-1000000000000" maximum:"1000000000000" extensions:"x-nullable"`
	Unit        string    `json:"unit,omitempty" maxLength:"80"`
	Method      string    `json:"method,omitempty" maxLength:"80"`
	Laboratory  string    `json:"laboratory,omitempty" maxLength:"80"`
	Expires     string    `json:"expires,omitempty" format:"date"` // the last day on which the analysis is good
	Note        string    `json:"note,omitempty" example:"on trays by the stove" maxLength:"2000"`
}

func (n NewBatchStep) step() service.BatchStep {
	s := service.BatchStep{
		ID: service.BatchStepID(n.ID), Batch: service.BatchID(n.Batch), Kind: service.StepKind(n.Kind), At: service.Moment{Text: n.At},
		Moisture: (*unit.Percent)(n.MoisturePct), Typed: typedOrNone(n.Mass), Bags: n.Bags, BagsLeft: n.Bags,
		Heat:      service.Heat{What: n.What, Value: typedOrNone(n.Temperature), Hours: n.Hours},
		Parameter: n.Parameter, Sign: service.Sign(n.Sign), Value: n.Value, Unit: n.Unit, Method: n.Method, Laboratory: n.Laboratory,
		Expires: service.Day(n.Expires), Note: n.Note,
	}
	if n.BagsLeft != nil {
		s.BagsLeft = *n.BagsLeft
	}
	return s
}

// BatchStep is what was done to a batch, or found in it. What its kind doesn't
// have is null.
type BatchStep struct {
	ID          string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Batch       string     `json:"batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" validate:"required"`
	Kind        string     `json:"kind" example:"drying" enums:"drying,bagging,treatment,analysis" validate:"required"`
	At          string     `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision   string     `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	MoisturePct *float64   `json:"moisture_pct" example:"40" extensions:"x-nullable" validate:"required"`
	Mass        *Quantity  `json:"mass" extensions:"x-nullable" validate:"required"`
	Bags        *int64     `json:"bags" example:"12" format:"int64" extensions:"x-nullable" validate:"required"`
	BagsLeft    *int64     `json:"bags_left" example:"7" format:"int64" extensions:"x-nullable" validate:"required"`
	What        *string    `json:"what" example:"steamed" extensions:"x-nullable" validate:"required"`
	Temperature *Quantity  `json:"temperature" extensions:"x-nullable" validate:"required"`
	Hours       *float64   `json:"hours" example:"1" extensions:"x-nullable" validate:"required"`
	Parameter   *string    `json:"parameter" example:"E. coli" extensions:"x-nullable" validate:"required"`
	Sign        *string    `json:"sign" example:"below" enums:"below,above" extensions:"x-nullable" validate:"required"`
	Value       *float64   `json:"value" example:"10" extensions:"x-nullable" validate:"required"`
	Unit        *string    `json:"unit" example:"CFU/g" extensions:"x-nullable" validate:"required"`
	Method      *string    `json:"method" example:"ISO 16649-2" extensions:"x-nullable" validate:"required"`
	Laboratory  *string    `json:"laboratory" example:"Quay Laboratory" extensions:"x-nullable" validate:"required"`
	Expires     *string    `json:"expires" example:"2027-05-01" format:"date" extensions:"x-nullable" validate:"required"`
	Note        *string    `json:"note" example:"on trays by the stove" extensions:"x-nullable" validate:"required"`
	Recorded    Recorded   `json:"recorded" validate:"required"`
	VoidedAt    *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy    *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func batchStepOf(s service.BatchStep, zone *time.Location) BatchStep {
	out := BatchStep{
		ID: string(s.ID), Batch: string(s.Batch), Kind: string(s.Kind), At: s.At.In(zone), Precision: string(s.At.Precision),
		MoisturePct: (*float64)(s.Moisture), Mass: typedOrNull(s.Typed), Bags: orNull(s.Bags),
		What: orNull(s.Heat.What), Temperature: typedOrNull(s.Heat.Value), Hours: s.Heat.Hours,
		Parameter: orNull(s.Parameter), Sign: orNull(string(s.Sign)), Value: s.Value, Unit: orNull(s.Unit), Method: orNull(s.Method),
		Laboratory: orNull(s.Laboratory), Expires: orNull(string(s.Expires)), Note: orNull(s.Note), Recorded: recordedOf(s.Recorded),
		VoidedAt: timeOrNull(s.Voided.At), VoidedBy: orNull(string(s.Voided.By)),
	}
	if s.Bags > 0 {
		out.BagsLeft = &s.BagsLeft
	}
	return out
}

func (s *Server) batchSteps(r *request) noun[service.BatchStep, service.BatchStepID, NewBatchStep, BatchStep] {
	return noun[service.BatchStep, service.BatchStepID, NewBatchStep, BatchStep]{
		name: "batch_step", shelf: s.BatchSteps, in: NewBatchStep.step, out: inZone(r, batchStepOf),
		head:    func(v service.BatchStep) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"batch", "kind", "member", "from", "to", "order", "voided"},
		voids:   true,
	}
}

// addBatchStep records a batch step.
//
//	@Summary		Record a batch step
//	@Description	What was done to a batch without dry matter moving, or found in it: a drying, a bagging, a treatment, a laboratory's analysis. A moisture that was measured is the batch's from then on, and shows what it weighs wet. Keepers and stewards record.
//	@ID				addBatchStep
//	@Tags			batches
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			batch_step			body		NewBatchStep	true	"the batch step"
//	@Success		201				{object}	BatchStep
//	@Header			201				{string}	Location	"the batch step"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batch-steps [post]
func (s *Server) addBatchStep(r *request) (answer, error) { return s.batchSteps(r).add(r) }

// listBatchSteps shows a page of the club's batch steps.
//
//	@Summary		List batch steps
//	@Description	In the order of their times.
//	@ID				listBatchSteps
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			query		string	false	"steps of that batch"	format(uuid)
//	@Param			kind			query		string	false	"steps of that kind"	Enums(drying, bagging, treatment, analysis)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[BatchStep]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batch-steps [get]
func (s *Server) listBatchSteps(r *request) (answer, error) { return s.batchSteps(r).list(r) }

// getBatchStep shows one batch step.
//
//	@Summary		Show a batch step
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getBatchStep
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch_step			path		string	true	"id of the batch step"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BatchStep
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batch-steps/{batch_step} [get]
func (s *Server) getBatchStep(r *request) (answer, error) { return s.batchSteps(r).get(r) }

// changeBatchStep changes a batch step.
//
//	@Summary		Change a batch step
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its batch and kind. How many bags are left is told here.
//	@ID				changeBatchStep
//	@Tags			batches
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch_step		path		string	true	"id of the batch step"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewBatchStep	true	"what changes"
//	@Success		200			{object}	BatchStep
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batch-steps/{batch_step} [patch]
func (s *Server) changeBatchStep(r *request) (answer, error) { return s.batchSteps(r).change(r) }

// voidBatchStep voids a batch step.
//
//	@Summary		Void a batch step
//	@Description	It stays, with voided_at, and counts for nothing.
//	@ID				voidBatchStep
//	@Tags			batches
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch_step		path		string	true	"id of the batch step"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		200				{object}	BatchStep
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batch-steps/{batch_step} [delete]
func (s *Server) voidBatchStep(r *request) (answer, error) { return s.batchSteps(r).remove(r) }
