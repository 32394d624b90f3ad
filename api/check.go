package api

import (
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// NewCheck is a check as a caller records it. What is left out or null was not
// looked at.
type NewCheck struct {
	ID          string     `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Bin         string     `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At          string     `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`                                 // RFC 3339 time, or a date in the club's time zone; left out: now
	Temperature *Quantity  `json:"temperature" units:"temperature" extensions:"x-nullable"`                     // in Cel or [degF]
	MoisturePct *float64   `json:"moisture_pct" example:"75" minimum:"0" maximum:"100" extensions:"x-nullable"` // a meter's figure
	Squeeze     string     `json:"squeeze,omitempty" example:"drops" enums:"dry,drops,stream"`                  // what a fistful of bedding does
	PH          *float64   `json:"ph" example:"6.8" minimum:"0" maximum:"14" extensions:"x-nullable"`
	Ammonia     *bool      `json:"ammonia" example:"false" extensions:"x-nullable"`                             // smelt
	LeftoverPct *float64   `json:"leftover_pct" example:"20" minimum:"0" maximum:"100" extensions:"x-nullable"` // of the dry matter of all feedings not yet gone
	Leftovers   []Leftover `json:"leftovers,omitempty"`                                                         // of single feedings; they go before leftover_pct
	WormsAt     string     `json:"worms_at,omitempty" example:"throughout" enums:"feed,throughout,walls,lid,bottom"`
	Pests       []string   `json:"pests,omitempty" example:"mites"`
	Beaded      *bool      `json:"beaded" example:"false" extensions:"x-nullable"` // worms like strings of pearls: too much protein
	Escape      *bool      `json:"escape" example:"false" extensions:"x-nullable"`
	Leachate    *Quantity  `json:"leachate" units:"volume" extensions:"x-nullable"` // drained
	Cover       string     `json:"cover,omitempty" example:"wet cardboard" maxLength:"2000"`
	Note        string     `json:"note,omitempty" example:"smells of forest" maxLength:"2000"`
}

// Leftover is how much of a feeding is still to be seen.
type Leftover struct {
	Feeding string  `json:"feeding" example:"01970000-0000-7000-8000-000000000021" format:"uuid" validate:"required"`
	LeftPct float64 `json:"left_pct" example:"10" minimum:"0" maximum:"100" validate:"required"` // of its dry matter
}

func (n NewCheck) check() service.Check {
	c := service.Check{
		ID: service.CheckID(n.ID), Bin: service.BinID(n.Bin), At: service.Moment{Text: n.At},
		Moisture: (*unit.Percent)(n.MoisturePct), Squeeze: service.Squeeze(n.Squeeze), PH: n.PH, Ammonia: n.Ammonia,
		LeftoverAll: (*unit.Percent)(n.LeftoverPct), WormsAt: service.WormsAt(n.WormsAt), Pests: append([]string(nil), n.Pests...),
		Beaded: n.Beaded, Escape: n.Escape, Cover: n.Cover, Note: n.Note,
	}
	if n.Temperature != nil {
		t := asRead(n.Temperature.measure().Temperature())
		c.Temperature = &t
	}
	if n.Leachate != nil {
		l := asRead(n.Leachate.measure().Volume())
		c.Leachate = &l
	}
	for _, l := range n.Leftovers {
		c.Leftovers = append(c.Leftovers, service.Leftover{Feeding: service.FeedingID(l.Feeding), Percent: unit.Percent(l.LeftPct)})
	}
	return c
}

// Check is what a keeper saw. Null means not looked at.
type Check struct {
	ID           string     `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Bin          string     `json:"bin" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	At           string     `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision    string     `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	TemperatureC *float64   `json:"temperature_c" example:"21.5" extensions:"x-nullable" validate:"required"`
	MoisturePct  *float64   `json:"moisture_pct" example:"75" extensions:"x-nullable" validate:"required"`
	Squeeze      *string    `json:"squeeze" example:"drops" enums:"dry,drops,stream" extensions:"x-nullable" validate:"required"`
	PH           *float64   `json:"ph" example:"6.8" extensions:"x-nullable" validate:"required"`
	Ammonia      *bool      `json:"ammonia" example:"false" extensions:"x-nullable" validate:"required"`
	LeftoverPct  *float64   `json:"leftover_pct" example:"20" extensions:"x-nullable" validate:"required"`
	Leftovers    []Leftover `json:"leftovers" validate:"required"`
	WormsAt      *string    `json:"worms_at" example:"throughout" enums:"feed,throughout,walls,lid,bottom" extensions:"x-nullable" validate:"required"`
	Pests        []string   `json:"pests" example:"mites" validate:"required"`
	Beaded       *bool      `json:"beaded" example:"false" extensions:"x-nullable" validate:"required"`
	Escape       *bool      `json:"escape" example:"false" extensions:"x-nullable" validate:"required"`
	LeachateL    *float64   `json:"leachate_l" example:"0.5" extensions:"x-nullable" validate:"required"`
	Cover        *string    `json:"cover" example:"wet cardboard" extensions:"x-nullable" validate:"required"`
	Note         *string    `json:"note" example:"smells of forest" extensions:"x-nullable" validate:"required"`
	Recorded     Recorded   `json:"recorded" validate:"required"`
	VoidedAt     *time.Time `json:"voided_at" example:"2026-05-01T09:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`            // null: it stands
	VoidedBy     *string    `json:"voided_by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // member
}

func checkOf(c service.Check, zone *time.Location) Check {
	out := Check{
		ID: string(c.ID), Bin: string(c.Bin), At: c.At.In(zone), Precision: string(c.At.Precision),
		TemperatureC: (*float64)(c.Temperature), MoisturePct: (*float64)(c.Moisture), Squeeze: orNull(string(c.Squeeze)), PH: c.PH,
		Ammonia: c.Ammonia, LeftoverPct: (*float64)(c.LeftoverAll), Leftovers: []Leftover{}, WormsAt: orNull(string(c.WormsAt)),
		Pests: append([]string{}, c.Pests...), Beaded: c.Beaded, Escape: c.Escape, LeachateL: (*float64)(c.Leachate),
		Cover: orNull(c.Cover), Note: orNull(c.Note), Recorded: recordedOf(c.Recorded),
		VoidedAt: timeOrNull(c.Voided.At), VoidedBy: orNull(string(c.Voided.By)),
	}
	for _, l := range c.Leftovers {
		out.Leftovers = append(out.Leftovers, Leftover{string(l.Feeding), float64(l.Percent)})
	}
	return out
}

func (s *Server) checks(r *request) noun[service.Check, service.CheckID, NewCheck, Check] {
	return noun[service.Check, service.CheckID, NewCheck, Check]{
		name: "check", shelf: s.Checks, in: NewCheck.check, out: inZone(r, checkOf),
		head:    func(v service.Check) head { return head{id: string(v.ID), version: v.Version, at: v.At.Time} },
		filters: []string{"bin", "member", "from", "to", "order", "voided"},
		voids:   true, resent: resentCheck,
		named: map[string]string{"/leachate_l": "/leachate"},
	}
}

// resentCheck adds the figures of a check in the form in which they are sent.
func resentCheck(n *node) {
	for shown, sent := range map[string]struct{ name, unit string }{"temperature_c": {"temperature", "Cel"}, "leachate_l": {"leachate", "L"}} {
		if v := n.member(shown); v.kind == numberNode {
			n.set(sent.name, &node{kind: objectNode, names: []string{"value", "unit"}, items: []*node{v, {kind: stringNode, text: sent.unit}}})
		}
	}
}

// addCheck records a check.
//
//	@Summary		Record a check
//	@Description	What a keeper saw in a bin. What was left of earlier feedings makes processing rates possible.
//	@ID				addCheck
//	@Tags			checks
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			check			body		NewCheck	true	"the check"
//	@Success		201				{object}	Check
//	@Header			201				{string}	Location	"the check"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/checks [post]
func (s *Server) addCheck(r *request) (answer, error) { return s.checks(r).add(r) }

// listChecks shows a page of the club's checks.
//
//	@Summary		List checks
//	@Description	In the order of their times.
//	@ID				listChecks
//	@Tags			checks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"checks of that bin"	format(uuid)
//	@Param			member			query		string	false	"recorded by that member"	format(uuid)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			voided			query		bool	false	"true: with those that were voided"
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Check]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/checks [get]
func (s *Server) listChecks(r *request) (answer, error) { return s.checks(r).list(r) }

// getCheck shows one check.
//
//	@Summary		Show a check
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getCheck
//	@Tags			checks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			check			path		string	true	"id of the check"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Check
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/checks/{check} [get]
func (s *Server) getCheck(r *request) (answer, error) { return s.checks(r).get(r) }

// changeCheck changes a check.
//
//	@Summary		Change a check
//	@Description	A merge patch (RFC 7396): members that are left out stay, null takes one away. All but its bin: void it and record it in the other one.
//	@ID				changeCheck
//	@Tags			checks
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			check		path		string	true	"id of the check"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			patch		body		NewCheck	true	"what changes"
//	@Success		200			{object}	Check
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/checks/{check} [patch]
func (s *Server) changeCheck(r *request) (answer, error) { return s.checks(r).change(r) }

// voidCheck voids a check.
//
//	@Summary		Void a check
//	@Description	It stays, with voided_at, and counts for nothing: not in lists unless they are asked for it, nor in figures and exports; in the timeline as voided.
//	@ID				voidCheck
//	@Tags			checks
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			check		path		string	true	"id of the check"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Success		200				{object}	Check
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		401,403,404,409,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/checks/{check} [delete]
func (s *Server) voidCheck(r *request) (answer, error) { return s.checks(r).remove(r) }
