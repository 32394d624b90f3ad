package api

import (
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
)

// NewSettlement corrects what was packed or what came of a leg.
type NewSettlement struct {
	Leg     string       `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid"`      // left out: the only one that it can be about
	Packed  []NewPacked  `json:"packed,omitempty"`                                                                // told by the giver: of each thing, in order
	Came    []NewOutcome `json:"came,omitempty"`                                                                  // told by the receiver: of each thing, in order
	ToBin   string       `json:"to_bin,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"`   // into which bin it really went
	ToBatch string       `json:"to_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"` // into which batch it really went
	For     string       `json:"for,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"`      // on whose behalf; left out: the caller, or whose step it is
	Reason  string       `json:"reason" example:"weighed again when they had settled" maxLength:"2000" validate:"required"`
}

func (n NewSettlement) stepping() service.Stepping {
	return service.Stepping{
		Leg: service.LegID(n.Leg), Lines: rowsOf(n.Packed, NewPacked.line), Came: rowsOf(n.Came, NewOutcome.outcome), ToBin: service.BinID(n.ToBin),
		ToBatch: service.BatchID(n.ToBatch), For: service.MemberID(n.For), Note: n.Reason,
	}
}

// NewReplacement promises other goods for a leg that couldn't be delivered.
type NewReplacement struct {
	NewLegStep
	Goods []NewGood `json:"goods" validate:"required"` // 1 to 50
}

func (n NewReplacement) stepping() service.Stepping {
	s := n.NewLegStep.stepping()
	s.Lines = rowsOf(n.Goods, NewGood.line)
	return s
}

// NewRepayment brings back a part of a loan.
type NewRepayment struct {
	NewStep
	Goods   []NewGood `json:"goods" validate:"required"`                                                       // of the species that was lent; its offspring will do
	ToBin   string    `json:"to_bin,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"`   // of the lender; may be told when it arrives
	ToBatch string    `json:"to_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"` // of castings
	Done    bool      `json:"done,omitempty" example:"true"`                                                   // it has happened: sent and received at once
	At      string    `json:"at,omitempty" example:"2026-06-01"`                                               // of what is done: RFC 3339 time, or a date in the club's time zone; left out: now
}

func (n NewRepayment) stepping() service.Stepping {
	s := n.NewStep.stepping()
	s.Lines, s.ToBin, s.ToBatch, s.Done, s.At = rowsOf(n.Goods, NewGood.line), service.BinID(n.ToBin), service.BatchID(n.ToBatch), n.Done, service.Moment{Text: n.At}
	return s
}

// NewForgiveness forgives a part of a loan.
type NewForgiveness struct {
	NewStep
	Goods []NewAmount `json:"goods,omitempty"` // left out: all that is owed
}

// NewAmount is how much of what.
type NewAmount struct {
	Species      string   `json:"species,omitempty" example:"eisenia-fetida"` // of worms
	Castings     bool     `json:"castings,omitempty" example:"false"`
	Material     bool     `json:"material,omitempty" example:"false"`
	Quantity     Quantity `json:"quantity" units:"mass count volume" validate:"required"`
	SizeClass    string   `json:"size_class,omitempty" example:"bed-run" enums:"unsorted,bed-run,breeders,bait-size,juveniles"` // gives the mass of a worm to a count
	DensityGPerL float64  `json:"density_g_per_l,omitempty" example:"30" minimum:"0"`                                           // of a volume
	SampleMg     float64  `json:"sample_mg,omitempty" example:"410" minimum:"0"`                                                // weighed mass of a worm, for a count
	MoisturePct  *float64 `json:"moisture_pct" example:"62" minimum:"0" maximum:"99.9" extensions:"x-nullable"`                 // of castings, measured
}

func amountLines(amounts []NewAmount) []service.Line {
	var out []service.Line
	for _, a := range amounts {
		l := NewPacked{a.Quantity, a.SizeClass, a.DensityGPerL, a.SampleMg, a.MoisturePct}.line()
		l.Species, l.Castings, l.Material = service.SpeciesID(a.Species), a.Castings, a.Material
		out = append(out, l)
	}
	return out
}

func (n NewForgiveness) stepping() service.Stepping {
	s := n.NewStep.stepping()
	s.Lines = amountLines(n.Goods)
	return s
}

// NewClaim says what of a leg was not as it should be.
type NewClaim struct {
	Leg   string      `json:"leg,omitempty" example:"01970000-0000-7000-8000-000000000052" format:"uuid"` // left out: the only one that has arrived
	Goods []NewAmount `json:"goods" validate:"required"`
	For   string      `json:"for,omitempty" example:"01970000-0000-7000-8000-000000000003" format:"uuid"` // on whose behalf; left out: the caller, or who received
	Note  string      `json:"note" example:"dead on arrival" maxLength:"2000" validate:"required"`
}

func (n NewClaim) stepping() service.Stepping {
	return service.Stepping{Leg: service.LegID(n.Leg), Lines: amountLines(n.Goods), For: service.MemberID(n.For), Note: n.Note}
}

// settleTransfer corrects a leg.
//
//	@Summary		Correct what was packed or what came
//	@Description	The giver corrects what was packed, the receiver what came: it is booked anew at its own time, and what was booked before is reversed. What isn't told again stays.
//	@ID				settleTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewSettlement	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/settle [post]
func (s *Server) settleTransfer(r *request) (answer, error) {
	return step[NewSettlement](r, exchange.Settle, map[string]string{"goods": "packed", "note": "reason"})
}

// failTransfer says that a leg can't be delivered.
//
//	@Summary		Say that a leg of a swap can't be delivered
//	@Description	By its giver. If the other leg is done, it is owed until it is replaced, or until both sides make a gift of it.
//	@ID				failTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewLegStep	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/fail [post]
func (s *Server) failTransfer(r *request) (answer, error) {
	return step[NewLegStep](r, exchange.Fail, nil)
}

// replaceTransfer promises other goods for a leg.
//
//	@Summary		Promise other goods for a leg that is owed
//	@Description	By its giver, for a leg that couldn't be delivered, or whose promise has expired. They are reserved, and sent as every leg is.
//	@ID				replaceTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewReplacement	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/replace [post]
func (s *Server) replaceTransfer(r *request) (answer, error) {
	return step[NewReplacement](r, exchange.Replace, nil)
}

// waiveTransfer makes a gift of what is owed.
//
//	@Summary		Make a gift of what is owed
//	@Description	By both sides, one after the other: then the leg that can't be delivered is owed no more.
//	@ID				waiveTransfer
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
//	@Router			/v1/clubs/{club}/transfers/{transfer}/waive [post]
func (s *Server) waiveTransfer(r *request) (answer, error) {
	return step[NewStep](r, exchange.Waive, nil)
}

// repayTransfer brings a part of a loan back.
//
//	@Summary		Bring back a part of a loan
//	@Description	By the borrower: out of any bin, of the species that was lent. It is a leg of its own, promised and sent as every leg is, or with done told after it has happened. What is brought back keeps the lineage of its true source.
//	@ID				repayTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewRepayment	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/repayments [post]
func (s *Server) repayTransfer(r *request) (answer, error) {
	return step[NewRepayment](r, exchange.Repay, nil)
}

// forgiveTransfer forgives a part of a loan.
//
//	@Summary		Forgive a part of a loan
//	@Description	By the lender: so much less is owed, or nothing more.
//	@ID				forgiveTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewForgiveness	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/forgive [post]
func (s *Server) forgiveTransfer(r *request) (answer, error) {
	return step[NewForgiveness](r, exchange.Forgive, nil)
}

// claimTransfer claims that something was not as it should be.
//
//	@Summary		Claim that something was not as it should be
//	@Description	By the receiver of a leg that has arrived, as for worms that were dead on arrival. It books nothing. A later transfer that replaces this one is linked with its claims.
//	@ID				claimTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			step		body		NewClaim	true	"the step"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/claims [post]
func (s *Server) claimTransfer(r *request) (answer, error) {
	return step[NewClaim](r, exchange.Claim, nil)
}
