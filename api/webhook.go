package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/webhook"
)

// NewWebhook is what adding a webhook takes.
type NewWebhook struct {
	Name    string   `json:"name" example:"Club website" maxLength:"80" validate:"required"`
	URL     string   `json:"url" example:"https://club.example/hooks/lumbricary" format:"uri" maxLength:"500" validate:"required"` // https, without a user
	Events  []string `json:"events" example:"harvest.recorded,offer.made" validate:"required"`                                     // that it is told of
	Enabled *bool    `json:"enabled,omitempty" example:"true" default:"true"`                                                      // false: it is told of nothing
}

func (n NewWebhook) webhook() service.Webhook {
	h := service.Webhook{Name: n.Name, URL: n.URL, Enabled: n.Enabled == nil || *n.Enabled}
	for _, e := range n.Events {
		h.Events = append(h.Events, webhook.Event(e))
	}
	return h
}

// Webhook is an address that is told of the club's events (Standard Webhooks
// 1.0).
type Webhook struct {
	ID        string     `json:"id" example:"01970000-0000-7000-8000-000000000071" format:"uuid" validate:"required"`
	Name      string     `json:"name" example:"Club website" validate:"required"`
	URL       string     `json:"url" example:"https://club.example/hooks/lumbricary" format:"uri" validate:"required"`
	Events    []string   `json:"events" example:"harvest.recorded,offer.made" validate:"required"`
	Enabled   bool       `json:"enabled" example:"true" validate:"required"`
	GoneAt    *time.Time `json:"gone_at" example:"2026-06-01T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`    // when it answered 410 and was turned off; null: it didn't
	RotatedAt *time.Time `json:"rotated_at" example:"2026-06-01T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"` // for 24 hours from then on the secret before signs as well
	CreatedAt time.Time  `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	Secret    *string    `json:"secret" example:"whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw6Yn8Qm0JvWk=" extensions:"x-nullable" validate:"required"` // shown once, when it is made or rotated
}

func webhookOf(h service.Webhook, secret string) Webhook {
	out := Webhook{
		ID: string(h.ID), Name: h.Name, URL: h.URL, Events: []string{}, Enabled: h.Enabled, GoneAt: timeOrNull(h.Gone),
		RotatedAt: timeOrNull(h.RotatedAt), CreatedAt: h.CreatedAt, Secret: orNull(secret),
	}
	for _, e := range h.Events {
		out.Events = append(out.Events, string(e))
	}
	return out
}

func (s *Server) webhooks(*request) noun[service.Webhook, service.WebhookID, NewWebhook, Webhook] {
	return noun[service.Webhook, service.WebhookID, NewWebhook, Webhook]{
		name: "webhook", shelf: s.Webhooks.Shelf, in: NewWebhook.webhook,
		out:  func(h service.Webhook) Webhook { return webhookOf(h, "") },
		head: func(h service.Webhook) head { return head{id: string(h.ID), version: h.Version} },
	}
}

// addWebhook adds a webhook.
//
//	@Summary		Add a webhook
//	@Description	For stewards. What happens in the club is posted to the address as JSON {type, timestamp, data}, signed as Standard Webhooks 1.0 has it: data has the ids, words and figures of the record, and no text that may be personal. Events: bin.added, bin.changed, bin.retired, census.recorded, check.recorded, check.changed, check.voided, feeding.recorded, feeding.changed, feeding.voided, harvest.recorded, member.joined, member.changed, member.left, movement.recorded, movement.reversed, offer.made, offer.changed, offer.withdrawn, quarantine.begun, quarantine.changed, quarantine.ended, quarantine.voided, receipt.recorded, receipt.changed, receipt.voided, rework.recorded, and transfer. with proposed, accepted, declined, cancelled, dispatched, received, settled, undelivered, replaced, waived, repaid, forgiven, claimed. An import tells nothing. The secret is shown once: a replay by Idempotency-Key shows null in its place.
//	@ID				addWebhook
//	@Tags			webhooks
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string		true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key							header		string		false	"makes the call happen once; kept for 7 days"
//	@Param			webhook									body		NewWebhook	true	"the webhook"
//	@Success		201										{object}	Webhook
//	@Header			201										{string}	Location	"the webhook, but for its secret"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks [post]
func (s *Server) addWebhook(r *request) (answer, error) {
	in, err := decode[NewWebhook](r)
	if err != nil {
		return answer{}, err
	}
	made, err := s.Webhooks.Make(r.ctx, r.actor(), in.webhook())
	return answer{
		status: http.StatusCreated, location: r.path() + "/" + string(made.ID), body: webhookOf(made.Webhook, made.Secret), kept: webhookOf(made.Webhook, ""),
	}, err
}

// listWebhooks shows a page of the webhooks.
//
//	@Summary		List webhooks
//	@Description	For stewards, in the order of their ids.
//	@ID				listWebhooks
//	@Tags			webhooks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Webhook]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks [get]
func (s *Server) listWebhooks(r *request) (answer, error) { return s.webhooks(r).list(r) }

// getWebhook shows one webhook, but for its secret.
//
//	@Summary		Show a webhook
//	@Description	For stewards.
//	@ID				getWebhook
//	@Tags			webhooks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook			path		string	true	"id of the webhook"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Webhook
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook} [get]
func (s *Server) getWebhook(r *request) (answer, error) { return s.webhooks(r).get(r) }

// changeWebhook changes a webhook.
//
//	@Summary		Change a webhook
//	@Description	For stewards. A merge patch (RFC 7396): members that are left out stay. One that is enabled again is no longer gone.
//	@ID				changeWebhook
//	@Tags			webhooks
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook		path		string	true	"id of the webhook"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Param			patch		body		NewWebhook	true	"what changes"
//	@Success		200			{object}	Webhook
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,412,413,415,422,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook} [patch]
func (s *Server) changeWebhook(r *request) (answer, error) { return s.webhooks(r).change(r) }

// removeWebhook removes a webhook.
//
//	@Summary		Remove a webhook
//	@Description	For stewards. The log of its deliveries goes with it, and what wasn't delivered isn't any more.
//	@ID				removeWebhook
//	@Tags			webhooks
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook		path		string	true	"id of the webhook"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		204			"removed"
//	@Failure		401,403,404,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook} [delete]
func (s *Server) removeWebhook(r *request) (answer, error) { return s.webhooks(r).remove(r) }

// rotateWebhook gives a webhook another secret.
//
//	@Summary		Rotate a webhook's secret
//	@Description	For stewards. The answer shows the secret once. For 24 hours messages are signed by both, so that the receiver can change over; rotate twice to be rid of a secret at once.
//	@ID				rotateWebhook
//	@Tags			webhooks
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			webhook			path		string	true	"id of the webhook"	format(uuid)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Success		200				{object}	Webhook
//	@Failure		400,401,403,404,409,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/webhooks/{webhook}/rotation [post]
func (s *Server) rotateWebhook(r *request) (answer, error) {
	made, err := s.Webhooks.Rotate(r.ctx, r.actor(), service.WebhookID(r.param("webhook")))
	return answer{status: http.StatusOK, body: webhookOf(made.Webhook, made.Secret), kept: webhookOf(made.Webhook, "")}, err
}
