package api

import (
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"lumbricary.example/service"
)

// Delivery is one message for one webhook, and what became of it.
type Delivery struct {
	ID        string            `json:"id" example:"01970000-0000-7000-8000-000000000072" format:"uuid" validate:"required"`
	Webhook   string            `json:"webhook" example:"01970000-0000-7000-8000-000000000071" format:"uuid" validate:"required"`
	MessageID string            `json:"message_id" example:"01970000-0000-7000-8000-000000000073" format:"uuid" validate:"required"` // webhook-id, the same at each attempt
	Event     string            `json:"event" example:"harvest.recorded" validate:"required"`
	At        time.Time         `json:"at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	State     string            `json:"state" example:"delivered" enums:"pending,delivered,given-up" validate:"required"`
	Attempts  []DeliveryAttempt `json:"attempts" validate:"required"` // the last 30
	Payload   json.RawMessage   `json:"payload" swaggertype:"object" validate:"required"`
}

// DeliveryAttempt is one time that a message was sent.
type DeliveryAttempt struct {
	At         time.Time `json:"at" example:"2026-05-01T08:00:01Z" format:"date-time" validate:"required"`
	DurationMS int64     `json:"duration_ms" example:"120" format:"int64" validate:"required"`
	Status     *int      `json:"status" example:"204" format:"int32" extensions:"x-nullable" validate:"required"` // of the answer; null: there was none
	Fault      *string   `json:"fault" example:"timeout" enums:"address,private-address,unknown-name,certificate,timeout,unreachable" extensions:"x-nullable" validate:"required"`
	Answer     *string   `json:"answer" example:"ok" extensions:"x-nullable" validate:"required"` // the first 1,000 bytes of its body
}

func deliveryOf(d service.Delivery) Delivery {
	out := Delivery{
		ID: string(d.ID), Webhook: string(d.Webhook), MessageID: d.Message, Event: string(d.Event), At: d.At, State: string(d.State),
		Attempts: []DeliveryAttempt{}, Payload: json.RawMessage(d.Body),
	}
	for _, a := range d.Attempts {
		out.Attempts = append(out.Attempts, DeliveryAttempt{a.At, a.Took.Milliseconds(), orNull(a.Status), orNull(a.Fault), orNull(a.Answer)})
	}
	return out
}

func (s *Server) deliveries(*request) noun[service.Delivery, service.DeliveryID, struct{}, Delivery] {
	return noun[service.Delivery, service.DeliveryID, struct{}, Delivery]{
		name: "delivery", shelf: s.Webhooks.Deliveries, out: deliveryOf,
		head:    func(d service.Delivery) head { return head{id: string(d.ID), version: d.Version, at: d.At} },
		filters: []string{"state", "from", "to", "order"},
	}
}

// deliveryState reads a state of deliveries.
func deliveryState(faults *service.Faults, text string) string {
	if !slices.Contains([]service.DeliveryState{service.Pending, service.Delivered, service.GivenUp}, service.DeliveryState(text)) {
		faults.Add("?state", "unknown", "use pending, delivered or given-up")
	}
	return text
}

// listDeliveries shows a page of what was sent to a webhook.
//
//	@Summary		List a webhook's deliveries
//	@Description	For stewards: what was sent in the last 30 days, and what became of it. Messages are tried again after 5 s, 5 min, 30 min, 2, 5, 10, 14, 20 and 24 hours, each up to a fifth longer, then given up.
//	@ID				listDeliveries
//	@Tags			webhooks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook			path		string	true	"id of the webhook"	format(uuid)
//	@Param			state			query		string	false	"pending, delivered or given-up"	enums(pending,delivered,given-up)
//	@Param			from			query		string	false	"of that time or later"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest or newest first"	enums(oldest,newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Delivery]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook}/deliveries [get]
func (s *Server) listDeliveries(r *request) (answer, error) { return s.deliveries(r).list(r) }

// Replay says how many messages are sent again.
type Replay struct {
	Deliveries int `json:"deliveries" example:"12" format:"int32" validate:"required"`
}

// replayDelivery sends one message again.
//
//	@Summary		Send a message again
//	@Description	For stewards, whatever became of it. It has the same webhook-id as before.
//	@ID				replayDelivery
//	@Tags			webhooks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook			path		string	true	"id of the webhook"	format(uuid)
//	@Param			delivery		path		string	true	"id of the delivery"	format(uuid)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Success		200				{object}	Delivery
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook}/deliveries/{delivery}/replay [post]
func (s *Server) replayDelivery(r *request) (answer, error) {
	d, err := s.Webhooks.Replay(r.ctx, r.actor(), service.WebhookID(r.param("webhook")), service.DeliveryID(r.param("delivery")))
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, version: d.Version, body: deliveryOf(d)}, nil
}

// NewReplay is which messages are sent again.
type NewReplay struct {
	Since string `json:"since" example:"2026-05-01T08:00:00Z" validate:"required"` // RFC 3339 time, or a date in the club's time zone
	All   bool   `json:"all,omitempty" example:"false"`                            // also what was delivered
}

// replayWebhook sends messages again.
//
//	@Summary		Send a webhook's messages again
//	@Description	For stewards: those since a time that weren't delivered, or all, the oldest 1,000 of them. Each has the same webhook-id as before.
//	@ID				replayWebhook
//	@Tags			webhooks
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook			path		string	true	"id of the webhook"	format(uuid)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			replay			body		NewReplay	true	"which"
//	@Success		200				{object}	Replay
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook}/replay [post]
func (s *Server) replayWebhook(r *request) (answer, error) {
	in, err := decode[NewReplay](r)
	if err != nil {
		return answer{}, err
	}
	n, err := s.Webhooks.ReplaySince(r.ctx, r.actor(), service.WebhookID(r.param("webhook")), service.Moment{Text: in.Since}, in.All)
	return answer{status: http.StatusOK, body: Replay{n}}, err
}
