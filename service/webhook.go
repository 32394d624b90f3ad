package service

import (
	"context"
	"fmt"
	"slices"
	"time"

	"lumbricary.example/service/webhook"
)

// Webhook is an address at which the club wants to be told of events. Its secret
// is made from a key of the database when it is needed; see webhook.SecretOf.
type Webhook struct {
	ID         WebhookID
	Name       string
	URL        string
	Events     []webhook.Event // that it is told of
	Enabled    bool
	Gone       time.Time // when its receiver said that it is gone for good; zero: it didn't
	Generation int64     // of the secret
	RotatedAt  time.Time // zero: the secret is the first
	CreatedAt  time.Time
	Version    int64
}

// maxWebhooks is how many a club has at most.
const maxWebhooks = 20

// Webhooks are the use-cases on webhooks: looking at them, changing and removing
// them come with the shelf.
type Webhooks struct {
	Shelf[Webhook, WebhookID]
	Deliveries Shelf[Delivery, DeliveryID]
}

// WithSecret is a webhook with its secret, which is shown once.
type WithSecret struct {
	Webhook
	Secret string
}

// Make adds a webhook. Errors: ErrClubNotFound, ErrForbidden for all but
// stewards, ErrInvalid.
func (s Webhooks) Make(ctx context.Context, a Actor, h Webhook) (WithSecret, error) {
	return write(ctx, s.desk, a, func(w *work) (WithSecret, error) {
		h, err := w.addWebhook(h)
		return w.withSecret(h), err
	})
}

// Rotate gives a webhook another secret; for 24 hours what is sent is signed by
// the one before as well. Errors: ErrClubNotFound, ErrForbidden for all but
// stewards, ErrWebhookNotFound.
func (s Webhooks) Rotate(ctx context.Context, a Actor, id WebhookID) (WithSecret, error) {
	return write(ctx, s.desk, a, func(w *work) (WithSecret, error) {
		old, err := webhooksSeen{w}.Get(id)
		if err != nil {
			return WithSecret{}, err
		}
		h := old
		h.Generation, h.RotatedAt = h.Generation+1, w.now
		h, err = put(w.Webhooks, old, h)
		return w.withSecret(h), err
	})
}

func (w *work) withSecret(h Webhook) WithSecret {
	return WithSecret{h, w.desk.secretOf(w.Club.ID, h, h.Generation).Text()}
}

func (d *Desk) secretOf(club ClubID, h Webhook, generation int64) webhook.Secret {
	return webhook.SecretOf(d.WebhookKey, string(club), string(h.ID), generation)
}

// secrets are those by which a message to h is signed: for a while after a
// rotation also the one before.
func (d *Desk) secrets(club ClubID, h Webhook, now time.Time) []webhook.Secret {
	out := []webhook.Secret{d.secretOf(club, h, h.Generation)}
	if !h.RotatedAt.IsZero() && now.Before(h.RotatedAt.Add(webhook.Overlap)) {
		out = append(out, d.secretOf(club, h, h.Generation-1))
	}
	return out
}

// addWebhook adds a webhook, which is enabled unless it is told otherwise.
// Errors: ErrForbidden, ErrInvalid.
func (w *work) addWebhook(h Webhook) (Webhook, error) {
	if err := w.may(KeepWebhooks); err != nil {
		return Webhook{}, err
	}
	var faults Faults
	w.checkWebhook(&faults, h)
	all, err := w.Webhooks.List(Query{})
	if err != nil {
		return Webhook{}, err
	}
	if len(all) >= maxWebhooks {
		faults.Add("", "range", "a club has %d webhooks at most", maxWebhooks)
	}
	if err := faults.Err(); err != nil {
		return Webhook{}, err
	}
	h.ID, h.Generation, h.CreatedAt, h.Version = WebhookID(w.desk.NewID()), 1, w.now, 1
	return h, w.Webhooks.Insert(h)
}

func (w *work) checkWebhook(faults *Faults, h Webhook) {
	checkName(faults, "/name", h.Name)
	faults.Check("/url", "format", webhook.CheckAddress(h.URL, w.desk.LoopbackHooks))
	if len(h.Events) == 0 {
		faults.Add("/events", "required", "say which events it is told of")
	}
	for i, e := range h.Events {
		at := fmt.Sprintf("/events/%d", i)
		if !e.Known() {
			faults.Add(at, "unknown", "there is no such event")
		}
		if slices.Contains(h.Events[:i], e) {
			faults.Add(at, "repeated", "give each event once")
		}
	}
}

// changeWebhook changes a webhook; one that is enabled again is no longer gone.
// Errors: ErrForbidden, ErrInvalid, ErrStale.
func (w *work) changeWebhook(old, h Webhook) (Webhook, error) {
	if err := w.may(KeepWebhooks); err != nil {
		return Webhook{}, err
	}
	var faults Faults
	if w.checkWebhook(&faults, h); len(faults) > 0 {
		return Webhook{}, faults.Err()
	}
	h.ID, h.Generation, h.RotatedAt, h.CreatedAt, h.Version = old.ID, old.Generation, old.RotatedAt, old.CreatedAt, old.Version
	if !h.Enabled {
		h.Gone = old.Gone
	}
	return put(w.Webhooks, old, h)
}

// dropWebhook removes a webhook and the log of its deliveries. Errors:
// ErrForbidden, ErrStale.
func (w *work) dropWebhook(h Webhook) (Webhook, error) {
	if err := w.may(KeepWebhooks); err != nil {
		return Webhook{}, err
	}
	if err := w.Deliveries.Forget(h.ID); err != nil {
		return Webhook{}, err
	}
	return h, w.Webhooks.Delete(h)
}

// webhooksSeen are the webhooks, for stewards.
type webhooksSeen struct{ *work }

// Get returns one. Errors: ErrForbidden, ErrWebhookNotFound.
func (s webhooksSeen) Get(id WebhookID) (Webhook, error) {
	if err := s.may(KeepWebhooks); err != nil {
		return Webhook{}, err
	}
	return s.Webhooks.Get(id)
}

// List returns a page in the order of q. Errors: ErrForbidden.
func (s webhooksSeen) List(q Query) ([]Webhook, error) {
	if err := s.may(KeepWebhooks); err != nil {
		return nil, err
	}
	return s.Webhooks.List(q)
}
