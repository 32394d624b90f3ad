package api

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/working"
)

// NewMovement is a movement as a caller records it. What it needs depends on its
// kind.
type NewMovement struct {
	ID         string    `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Kind       string    `json:"kind" example:"split" enums:"stocking,split,combine,hand-over,loss,use" validate:"required"`
	At         string    `json:"at,omitempty" example:"2026-05-01T07:30:00Z"`                                       // RFC 3339 time, or a date in the club's time zone; left out: now
	Lines      []NewLine `json:"lines" validate:"required"`                                                         // 1 to 50
	ToBin      string    `json:"to_bin,omitempty" example:"01970000-0000-7000-8000-000000000011" format:"uuid"`     // where the worms go; left out: out of the bins
	FromBatch  string    `json:"from_batch,omitempty" example:"01970000-0000-7000-8000-000000000022" format:"uuid"` // where castings come from, for a use, a hand-over or a loss
	Terms      string    `json:"terms,omitempty" example:"sale" enums:"sale,swap,gift"`                             // of a hand-over
	Party      string    `json:"party,omitempty" example:"Rosa's allotment"`                                        // outside the club, instead of to_bin
	PriceMinor *int64    `json:"price_minor" example:"1250" minimum:"0" extensions:"x-nullable"`                    // total of a sale, in minor units
	Currency   string    `json:"currency,omitempty" example:"EUR"`                                                  // ISO 4217
	Cause      string    `json:"cause,omitempty" example:"dead" enums:"dead,lost-bin,escaped,write-off,spoiled"`    // of a loss
	Material   *Quantity `json:"material" units:"mass" extensions:"x-nullable"`                                     // half-worked material that went along
	Note       string    `json:"note,omitempty" example:"from the warm corner" maxLength:"2000"`
}

func (n NewMovement) movement() service.Movement {
	m := service.Movement{
		ID: service.MovementID(n.ID), Kind: journal.Kind(n.Kind), At: service.Moment{Text: n.At}, ToBin: service.BinID(n.ToBin),
		FromBatch: service.BatchID(n.FromBatch), Terms: service.Terms(n.Terms), Party: n.Party, PriceMinor: n.PriceMinor,
		Currency: n.Currency, Cause: service.Cause(n.Cause), MaterialMass: massOrNone(n.Material), Note: n.Note,
	}
	for _, l := range n.Lines {
		m.Lines = append(m.Lines, l.line())
	}
	return m
}

// Movement is an entry of the journal with what was typed beside it. It is never
// changed; a reversal takes it back.
type Movement struct {
	ID         string    `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Kind       string    `json:"kind" example:"split" enums:"stocking,split,combine,hand-over,dispatch,arrival,loss,rework,use,census,harvest,reversal" validate:"required"`
	At         string    `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	Precision  string    `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	Lines      []Line    `json:"lines" validate:"required"`
	ToBin      *string   `json:"to_bin" example:"01970000-0000-7000-8000-000000000011" format:"uuid" extensions:"x-nullable" validate:"required"`
	FromBatch  *string   `json:"from_batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"`
	ToBatch    *string   `json:"to_batch" example:"01970000-0000-7000-8000-000000000022" format:"uuid" extensions:"x-nullable" validate:"required"` // of castings that arrived
	Transfer   *string   `json:"transfer" example:"01970000-0000-7000-8000-000000000050" format:"uuid" extensions:"x-nullable" validate:"required"` // of a dispatch or an arrival
	Leg        *string   `json:"leg" example:"01970000-0000-7000-8000-000000000052" format:"uuid" extensions:"x-nullable" validate:"required"`
	Terms      *string   `json:"terms" example:"sale" enums:"sale,swap,gift,loan" extensions:"x-nullable" validate:"required"`
	Party      *string   `json:"party" example:"Rosa's allotment" extensions:"x-nullable" validate:"required"`
	FromMember *string   `json:"from_member" example:"01970000-0000-7000-8000-000000000003" format:"uuid" extensions:"x-nullable" validate:"required"` // who kept it before
	ToMember   *string   `json:"to_member" example:"01970000-0000-7000-8000-000000000004" format:"uuid" extensions:"x-nullable" validate:"required"`   // who keeps it after
	PriceMinor *int64    `json:"price_minor" example:"1250" extensions:"x-nullable" validate:"required"`                                               // seen by the parties and stewards
	Currency   *string   `json:"currency" example:"EUR" extensions:"x-nullable" validate:"required"`
	Cause      *string   `json:"cause" example:"dead" enums:"dead,lost-bin,escaped,write-off,spoiled" extensions:"x-nullable" validate:"required"`
	MaterialG  *float64  `json:"material_g" example:"2000" extensions:"x-nullable" validate:"required"` // half-worked material that went along
	Reverses   *string   `json:"reverses" example:"01970000-0000-7000-8000-000000000023" format:"uuid" extensions:"x-nullable" validate:"required"`
	ReversedBy *string   `json:"reversed_by" example:"01970000-0000-7000-8000-000000000024" format:"uuid" extensions:"x-nullable" validate:"required"`
	Reason     *string   `json:"reason" example:"counted twice" extensions:"x-nullable" validate:"required"` // why it was reversed
	Note       *string   `json:"note" example:"from the warm corner" extensions:"x-nullable" validate:"required"`
	Postings   []Posting `json:"postings" validate:"required"` // sum to zero per commodity
	Recorded   Recorded  `json:"recorded" validate:"required"`
	Explained
}

// Posting moves an amount into an account, or out of it when negative.
type Posting struct {
	Account   BookAccount `json:"account" validate:"required"`
	Commodity string      `json:"commodity" example:"worms:eisenia-fetida" validate:"required"` // worms:SPECIES, or castings (dry matter)
	AmountMg  int64       `json:"amount_mg" example:"250000" format:"int64" validate:"required"`
	Origin    *string     `json:"origin" example:"01970000-0000-7000-8000-000000000015" format:"uuid" extensions:"x-nullable" validate:"required"` // of stock that comes in from outside; null: nobody knows, or not from outside
}

// BookAccount is an account of the journal.
type BookAccount struct {
	Kind string  `json:"kind" example:"bin" enums:"bin,batch,outside,transit,growth,mortality,weight-change,processing,adjustment" validate:"required"`
	Ref  *string `json:"ref" example:"01970000-0000-7000-8000-000000000010" format:"uuid" extensions:"x-nullable" validate:"required"` // the bin or batch; of what is under way the leg
}

func movementOf(m service.Movement, zone *time.Location) Movement {
	out := Movement{
		ID: string(m.ID), Kind: string(m.Kind), At: m.At.In(zone), Precision: string(m.At.Precision), Lines: linesOf(m.Lines),
		ToBin: orNull(string(m.ToBin)), FromBatch: orNull(string(m.FromBatch)), Terms: orNull(string(m.Terms)), Party: orNull(m.Party),
		ToBatch: orNull(string(m.ToBatch)), Transfer: orNull(string(m.Transfer)), Leg: orNull(string(m.Leg)),
		FromMember: orNull(string(m.FromMember)), ToMember: orNull(string(m.ToMember)), PriceMinor: m.PriceMinor,
		Currency: orNull(m.Currency), Cause: orNull(string(m.Cause)), MaterialG: gramsOrNull(m.MaterialMass),
		Reverses: orNull(string(m.Reverses)), ReversedBy: orNull(string(m.ReversedBy)), Reason: orNull(m.Reason), Note: orNull(m.Note),
		Postings: []Posting{}, Recorded: recordedOf(m.Recorded),
	}
	for _, p := range m.Postings {
		out.Postings = append(out.Postings, Posting{
			Account:   BookAccount{string(p.Account.Kind), orNull(p.Account.Ref)},
			Commodity: string(p.Commodity), AmountMg: int64(p.Amount), Origin: orNull(p.Origin),
		})
	}
	return out
}

// NewReversal takes a movement back.
type NewReversal struct {
	ID     string `json:"id,omitempty" example:"01970000-0000-7000-8000-000000000020" format:"uuid"` // made by the caller, or left to the service
	Reason string `json:"reason" example:"counted twice" maxLength:"2000" validate:"required"`
	Note   string `json:"note,omitempty" example:"told by phone" maxLength:"2000"`
}

// movements is the journal as a noun; an entry is never changed, but that it was
// reversed shows.
func (s *Server) movements(r *request) noun[service.Movement, service.MovementID, NewMovement, Movement] {
	return noun[service.Movement, service.MovementID, NewMovement, Movement]{
		explain: func(v service.Movement) ([]working.Figure, error) {
			return s.Reports.ExplainMovement(r.ctx, r.actor(), v)
		},
		name: "movement", shelf: s.Movements, in: NewMovement.movement, out: inZone(r, movementOf),
		head:    func(v service.Movement) head { return head{id: string(v.ID), version: movementVersion(v)} },
		filters: []string{"bin", "member", "species", "batch", "kind", "from", "to", "order"},
		named:   map[string]string{"/material_g": "/material"},
	}
}

func movementVersion(m service.Movement) int64 {
	if m.ReversedBy != "" {
		return 2
	}
	return 1
}

// addMovement records a movement.
//
//	@Summary		Record a movement
//	@Description	Stock or castings that moved. A stocking brings worms from an origin into to_bin; a split or combine moves them between bins of one keeper; a hand-over goes from a bin or batch to another keeper's bin or to a party; a loss says its cause; a use takes castings from from_batch.
//	@ID				addMovement
//	@Tags			movements
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			movement			body		NewMovement	true	"the movement"
//	@Success		201				{object}	Movement
//	@Header			201				{string}	Location	"the movement"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/movements [post]
func (s *Server) addMovement(r *request) (answer, error) { return s.movements(r).add(r) }

// listMovements shows a page of the club's movements.
//
//	@Summary		List movements
//	@Description	In their effective order. With bin, batch or species: those that moved something there, so no census that found what the book says.
//	@ID				listMovements
//	@Tags			movements
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				query		string	false	"movements of that bin"	format(uuid)
//	@Param			member			query		string	false	"from or to that member"	format(uuid)
//	@Param			species			query		string	false	"movements of that species"	example(eisenia-fetida)
//	@Param			batch			query		string	false	"movements of that batch"	format(uuid)
//	@Param			kind			query		string	false	"movements of that kind"	Enums(stocking, split, combine, hand-over, dispatch, arrival, loss, use, census, harvest, reversal)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Movement]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/movements [get]
func (s *Server) listMovements(r *request) (answer, error) {
	if r.gin.Query("bin") != "" && r.gin.Query("batch") != "" {
		var f service.Faults
		f.Add("?batch", "shape", "ask for a bin or a batch, not both")
		return answer{}, unreadable(f)
	}
	n := s.movements(r)
	n.head = func(m service.Movement) head { return head{id: strconv.FormatInt(m.Recorded.Seq, 10), at: m.At.Time} }
	return n.list(r)
}

// getMovement shows one movement.
//
//	@Summary		Show a movement
//	@Description	One that isn't there, or is another club's, answers 404.
//	@ID				getMovement
//	@Tags			movements
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			movement			path		string	true	"id of the movement"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Movement
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/movements/{movement} [get]
func (s *Server) getMovement(r *request) (answer, error) { return s.movements(r).get(r) }

// reverseMovement takes a movement back.
//
//	@Summary		Reverse a movement
//	@Description	Takes a movement, a harvest or a census back as a whole, at its own time. It happens once, and a reversal can't be reversed. What a transfer posted is corrected through the transfer.
//	@ID				reverseMovement
//	@Tags			movements
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			movement		path		string	true	"id of the movement, harvest or census"	format(uuid)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			reversal		body		NewReversal	true	"the reversal"
//	@Success		201				{object}	Movement
//	@Header			201				{string}	Location	"the reversal"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/movements/{movement}/reversal [post]
func (s *Server) reverseMovement(r *request) (answer, error) {
	n, err := decode[NewReversal](r)
	if err != nil {
		return answer{}, err
	}
	m, err := s.Reverse(r.ctx, r.actor(), service.MovementID(r.param("movement")), n.movement())
	if err != nil {
		return answer{}, err
	}
	return answer{
		status:   http.StatusCreated,
		location: "/v1/clubs/" + url.PathEscape(r.param("club")) + "/movements/" + string(m.ID),
		version:  movementVersion(m),
		body:     movementOf(m, r.zone()),
	}, r.err
}

func (n NewReversal) movement() service.Movement {
	return service.Movement{ID: service.MovementID(n.ID), Reason: n.Reason, Note: n.Note}
}
