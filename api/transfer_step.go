package api

import (
	"net/http"
	"strings"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// NewStep is a step that needs nothing more. A steward may take it on behalf of
// a side.
type NewStep struct {
	For  string `json:"for,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // on whose behalf; left out: the caller, or whose step it is
	Note string `json:"note,omitempty" example:"told by phone" maxLength:"2000"`
}

func (n NewStep) stepping() service.Stepping {
	return service.Stepping{For: service.MemberID(n.For), Note: n.Note}
}

// NewLegStep is a step on one leg.
type NewLegStep struct {
	NewStep
	Leg string `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid"` // left out: the only one that it can be about
}

func (n NewLegStep) stepping() service.Stepping {
	s := n.NewStep.stepping()
	s.Leg = service.LegID(n.Leg)
	return s
}

// NewAcceptance accepts a proposal. Who accepts says where their own goods come
// from, where the proposal doesn't.
type NewAcceptance struct {
	NewStep
	Goods []NewSource `json:"goods,omitempty"`                                                               // one for each thing that the caller's side is to give, in order
	ToBin string      `json:"to_bin,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"` // where what comes in return is to go; may be told when it arrives
}

// NewSource says where something comes from.
type NewSource struct {
	FromBin   string `json:"from_bin,omitempty" example:"01970000-0000-7000-8000-000000000010" format:"uuid"`
	FromBatch string `json:"from_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"`
}

func (n NewAcceptance) stepping() service.Stepping {
	s := n.NewStep.stepping()
	s.ToBin = service.BinID(n.ToBin)
	for _, g := range n.Goods {
		s.Lines = append(s.Lines, service.Line{FromBin: service.BinID(g.FromBin), FromBatch: service.BatchID(g.FromBatch)})
	}
	return s
}

// NewDispatch sends a leg.
type NewDispatch struct {
	NewLegStep
	At     string      `json:"at,omitempty" example:"2026-05-02T07:30:00Z"` // RFC 3339 time, or a date in the club's time zone; left out: now
	Packed []NewPacked `json:"packed,omitempty"`                            // what was packed of each thing that was agreed, in order; left out: as agreed
}

// NewPacked is how much of one thing was packed.
type NewPacked struct {
	Quantity     Quantity `json:"quantity" units:"mass count share volume" validate:"required"`
	SizeClass    string   `json:"size_class,omitempty" example:"bed-run" enums:"unsorted,bed-run,breeders,bait-size,juveniles"` // gives the mass of a worm to a count
	DensityGPerL float64  `json:"density_g_per_l,omitempty" example:"30" minimum:"0"`                                           // of a volume
	SampleMg     float64  `json:"sample_mg,omitempty" example:"410" minimum:"0"`                                                // weighed mass of a worm, for a count
	MoisturePct  *float64 `json:"moisture_pct" example:"62" minimum:"0" maximum:"99.9" extensions:"x-nullable"`                 // of castings, measured
}

func (n NewPacked) line() service.Line {
	return service.Line{
		Typed: n.Quantity.measure(), SizeClass: quantity.SizeClass(n.SizeClass), Density: n.DensityGPerL, SampleMg: n.SampleMg,
		Moisture: (*unit.Percent)(n.MoisturePct),
	}
}

func (n NewDispatch) stepping() service.Stepping {
	s := n.NewLegStep.stepping()
	s.At, s.Lines = service.Moment{Text: n.At}, rowsOf(n.Packed, NewPacked.line)
	return s
}

// NewArrival takes a leg in.
type NewArrival struct {
	NewLegStep
	At        string       `json:"at,omitempty" example:"2026-05-02T10:00:00Z"`                                     // RFC 3339 time, or a date in the club's time zone; left out: now
	Came      []NewOutcome `json:"came,omitempty"`                                                                  // what came of each thing that was sent, in order; left out: all of it
	ToBin     string       `json:"to_bin,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"`   // of the receiver
	ToBatch   string       `json:"to_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"` // of castings; left out: they leave the store
	ReturnAll bool         `json:"return_all,omitempty" example:"false"`                                            // everything goes back, but what is dead or missing
}

// NewOutcome is what became of one thing that was sent. What is left out follows:
// the rest was received, where received isn't told; else the rest is missing, and
// a surplus is weight gained.
type NewOutcome struct {
	Received     *Quantity `json:"received" units:"mass count share volume" extensions:"x-nullable"`                             // {worms} weigh what they did at dispatch; % of what was sent
	SizeClass    string    `json:"size_class,omitempty" example:"bed-run" enums:"unsorted,bed-run,breeders,bait-size,juveniles"` // of what was received
	DensityGPerL float64   `json:"density_g_per_l,omitempty" example:"30" minimum:"0"`                                           // of a volume
	SampleMg     float64   `json:"sample_mg,omitempty" example:"410" minimum:"0"`                                                // weighed mass of a worm, for a count
	MoisturePct  *float64  `json:"moisture_pct" example:"62" minimum:"0" maximum:"99.9" extensions:"x-nullable"`                 // of castings, measured
	Dead         *Quantity `json:"dead" units:"mass" extensions:"x-nullable"`                                                    // seen dead
	WeightLost   *Quantity `json:"weight_lost" units:"mass" extensions:"x-nullable"`                                             // water and gut; negative: gained
	Missing      *Quantity `json:"missing" units:"mass" extensions:"x-nullable"`                                                 // did not arrive
	Returned     *Quantity `json:"returned" units:"mass" extensions:"x-nullable"`                                                // goes back
}

func (n NewOutcome) outcome() service.Outcome {
	out := service.Outcome{Dead: massOrNone(n.Dead), Returned: massOrNone(n.Returned)}
	if n.Received != nil {
		line := NewPacked{*n.Received, n.SizeClass, n.DensityGPerL, n.SampleMg, n.MoisturePct}.line()
		out.Received = &line
	}
	if n.Missing != nil {
		missing := massOrNone(n.Missing)
		out.Missing = &missing
	}
	if n.WeightLost != nil {
		lost := signedMass(*n.WeightLost)
		out.WeightLost = &lost
	}
	return out
}

// signedMass is a mass that may be negative.
func signedMass(q Quantity) unit.Mass {
	if q.Value < 0 {
		q.Value = -q.Value
		return -massOrNone(&q)
	}
	return massOrNone(&q)
}

func (n NewArrival) stepping() service.Stepping {
	s := n.NewLegStep.stepping()
	s.At, s.Came, s.GiveBack = service.Moment{Text: n.At}, rowsOf(n.Came, NewOutcome.outcome), n.ReturnAll
	s.ToBin, s.ToBatch = service.BinID(n.ToBin), service.BatchID(n.ToBatch)
	return s
}

// step decodes what a step takes, takes it, and answers with the transfer as it
// stands then. named gives wire names to the pointers of the use-case, by their
// first member. Errors: those of decode and of the use-case.
func step[N interface{ stepping() service.Stepping }](r *request, verb exchange.Verb, named map[string]string) (answer, error) {
	given, err := decode[N](r)
	if err != nil {
		return answer{}, err
	}
	taken := given.stepping()
	taken.Verb = verb
	t, err := r.server.Transfers.Step(r.ctx, r.actor(), service.TransferID(r.param("transfer")), taken)
	if err != nil {
		return answer{}, repointedBy(err, func(pointer string) string { return renamed(pointer, named) })
	}
	return r.transfer(http.StatusOK, t)
}

// renamed is a pointer whose first member goes by another name.
func renamed(pointer string, named map[string]string) string {
	first, rest, more := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	name, ok := named[first]
	switch {
	case !ok:
		return pointer
	case more:
		return "/" + name + "/" + rest
	}
	return "/" + name
}

// acceptTransfer accepts a proposal.
//
//	@Summary		Accept a transfer
//	@Description	By the side that didn't propose it. What is agreed is reserved, both legs of a swap or none; where more would be promised than the books hold, it is refused.
//	@ID				acceptTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewAcceptance	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/accept [post]
func (s *Server) acceptTransfer(r *request) (answer, error) {
	return step[NewAcceptance](r, exchange.Accept, nil)
}

// declineTransfer declines a proposal.
//
//	@Summary		Decline a transfer
//	@Description	By the side that didn't propose it, before it is accepted.
//	@ID				declineTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewStep	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/decline [post]
func (s *Server) declineTransfer(r *request) (answer, error) {
	return step[NewStep](r, exchange.Decline, nil)
}

// cancelTransfer cancels a transfer.
//
//	@Summary		Cancel a transfer
//	@Description	By the proposer; once it is accepted, by either side; only before something was sent. What was reserved is free again.
//	@ID				cancelTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewStep	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/cancel [post]
func (s *Server) cancelTransfer(r *request) (answer, error) {
	return step[NewStep](r, exchange.Cancel, nil)
}

// dispatchTransfer sends a leg.
//
//	@Summary		Send a leg of a transfer
//	@Description	By the giver: as agreed, or as it was packed. It leaves the bin or batch and is under way. The mean mass of a worm is the one of this moment, and stays.
//	@ID				dispatchTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewDispatch	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/dispatch [post]
func (s *Server) dispatchTransfer(r *request) (answer, error) {
	return step[NewDispatch](r, exchange.Dispatch, map[string]string{"goods": "packed"})
}

// receiveTransfer takes a leg in.
//
//	@Summary		Receive a leg of a transfer
//	@Description	By the receiver, once for each leg. What was sent is what was received, seen dead, lost or gained in weight, missing, and what goes back; each is booked by itself.
//	@ID				receiveTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewArrival	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/receive [post]
func (s *Server) receiveTransfer(r *request) (answer, error) {
	return step[NewArrival](r, exchange.Receive, nil)
}
