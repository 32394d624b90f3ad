package service

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/webhook"
)

// DeliveryState is what became of a delivery.
type DeliveryState string

// The states of a delivery.
const (
	Pending   DeliveryState = "pending"   // it is tried, and will be tried again
	Delivered DeliveryState = "delivered" // the receiver took it
	GivenUp   DeliveryState = "given-up"  // it was tried long enough, or the webhook was turned off
)

// Delivery is one message for one webhook, and what became of it.
type Delivery struct {
	ID       DeliveryID
	Webhook  WebhookID
	Message  string // id of the event, the same for each webhook and at each attempt
	Event    webhook.Event
	At       time.Time // when it happened
	Body     string    // JSON
	State    DeliveryState
	Attempts []Attempt // the last ones
	Version  int64
}

// Attempt is one time that a delivery was tried.
type Attempt struct {
	At     time.Time
	Took   time.Duration
	Status int    // of the answer; 0: there was none
	Fault  string // why there was none, as a code
	Answer string // the beginning of its body
}

// What is kept of a delivery.
const (
	maxAttempts = 30
	maxAnswer   = 1000 // bytes
)

// Sender sends messages to other services.
type Sender interface {
	// Send posts a body to an address and waits for an answer, not for long. What
	// goes wrong is in the attempt.
	Send(ctx context.Context, url string, headers map[string]string, body []byte) Attempt
}

// DeliveryJob is what the queue holds: which delivery of which club.
type DeliveryJob struct {
	Club     ClubID
	Delivery DeliveryID
}

// queue adds a delivery, if the webhook wants to know of it, and has it sent once
// this transaction is committed.
func (w *work) queue(h Webhook, d Delivery) error {
	if !h.Enabled || !slices.Contains(h.Events, d.Event) {
		return nil
	}
	d.ID = DeliveryID(w.desk.NewID())
	if err := w.Deliveries.Insert(d); err != nil {
		return err
	}
	return w.Queue.Deliver(DeliveryJob{w.Club.ID, d.ID})
}

// undeliveredError has the queue try again.
type undeliveredError struct{ Attempt }

// Error says what came of the attempt.
func (e undeliveredError) Error() string {
	return fmt.Sprintf("service: not delivered: status %d %s", e.Status, e.Fault)
}

// Deliver tries a delivery for the so-manieth time and writes down what came of
// it. An error means that it should be tried again; one that needs no more is
// none. It opens no transaction while it waits for the receiver. Errors: one for
// an attempt that failed and isn't the last, the store's.
func (s Webhooks) Deliver(ctx context.Context, job DeliveryJob, attempt int) error {
	d, h, err := s.waiting(ctx, job)
	if err != nil || d.ID == "" {
		return err
	}
	now := s.desk.Now().Truncate(time.Microsecond)
	message := webhook.Message{ID: d.Message, Body: []byte(d.Body)}
	made := s.desk.Sender.Send(ctx, h.URL, message.Headers(now, s.desk.secrets(job.Club, h, now)...), message.Body)
	made.At, made.Answer = now, beginning(made.Answer)
	if err := s.desk.Store.Update(ctx, job.Club, func(tx Tx) error { return noteAttempt(tx, job.Delivery, made, attempt) }); err != nil {
		return err
	}
	if made.taken() || made.gone() || attempt >= webhook.Attempts() {
		return nil
	}
	return undeliveredError{made}
}

// beginning is the beginning of an answer that both databases can hold.
func beginning(answer string) string {
	return strings.ToValidUTF8(strings.ReplaceAll(answer[:min(len(answer), maxAnswer)], "\x00", ""), "")
}

// waiting returns a delivery that waits and its webhook, or none where there is
// nothing more to do.
func (s Webhooks) waiting(ctx context.Context, job DeliveryJob) (d Delivery, h Webhook, err error) {
	err = s.desk.Store.View(ctx, job.Club, func(tx Tx) error {
		if d, err = tx.Deliveries.Get(job.Delivery); err != nil {
			return err
		}
		h, err = tx.Webhooks.Get(d.Webhook)
		return err
	})
	switch {
	case KindOf(err) == NotFound: // the webhook was removed, or the delivery is too old
		return Delivery{}, h, nil
	case err != nil || d.State != Pending:
		return Delivery{}, h, err
	case !h.Enabled:
		return Delivery{}, h, s.desk.Store.Update(ctx, job.Club, func(tx Tx) error { return giveUp(tx, job.Delivery) })
	}
	return d, h, nil
}

// taken reports whether the receiver took the message.
func (a Attempt) taken() bool { return a.Status >= 200 && a.Status < 300 }

// gone reports whether the receiver wants no more messages.
func (a Attempt) gone() bool { return a.Status == 410 }

func giveUp(tx Tx, id DeliveryID) error {
	d, err := tx.Deliveries.Get(id)
	if err != nil {
		return err
	}
	d.State = GivenUp
	return tx.Deliveries.Update(d)
}

// noteAttempt writes down an attempt, and turns a webhook off whose receiver is
// gone. What was removed meanwhile stays so.
func noteAttempt(tx Tx, id DeliveryID, made Attempt, attempt int) error {
	d, err := tx.Deliveries.Get(id)
	if KindOf(err) == NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	d.Attempts = append(d.Attempts, made)
	d.Attempts = d.Attempts[max(0, len(d.Attempts)-maxAttempts):]
	switch {
	case made.taken():
		d.State = Delivered
	case made.gone() || attempt >= webhook.Attempts():
		d.State = GivenUp
	}
	if err := tx.Deliveries.Update(d); err != nil || !made.gone() {
		return err
	}
	h, err := tx.Webhooks.Get(d.Webhook)
	if err != nil {
		return err
	}
	h.Enabled, h.Gone = false, made.At
	return tx.Webhooks.Update(h)
}

// Replay sends one delivery again, whatever became of it. Errors:
// ErrClubNotFound, ErrForbidden for all but stewards, ErrDeliveryNotFound,
// ErrWebhookOff.
func (s Webhooks) Replay(ctx context.Context, a Actor, hook WebhookID, id DeliveryID) (Delivery, error) {
	return write(ctx, s.desk, a, func(w *work) (Delivery, error) {
		h, err := w.enabledWebhook(hook)
		if err != nil {
			return Delivery{}, err
		}
		d, err := w.Deliveries.Get(id)
		if err == nil && d.Webhook != h.ID {
			err = ErrDeliveryNotFound
		}
		if err != nil {
			return Delivery{}, err
		}
		return w.replay(d)
	})
}

// maxReplayed is how many deliveries one call sends again.
const maxReplayed = 1000

// ReplaySince sends again what a webhook was told since a moment, the oldest
// 1,000 of it, and says how many that were; without all only what wasn't
// delivered. Errors: ErrClubNotFound, ErrForbidden for all but stewards,
// ErrWebhookNotFound, ErrWebhookOff, ErrInvalid.
func (s Webhooks) ReplaySince(ctx context.Context, a Actor, hook WebhookID, since Moment, all bool) (int, error) {
	return write(ctx, s.desk, a, func(w *work) (int, error) {
		h, err := w.enabledWebhook(hook)
		if err != nil {
			return 0, err
		}
		var faults Faults
		if since.Text == "" {
			faults.Add("/since", "required", "say from when on")
		}
		w.settle(&faults, "/since", &since)
		if err := faults.Err(); err != nil {
			return 0, err
		}
		n := 0
		_, err = pages(Query{Webhook: h.ID, From: since.Time, Limit: maxReplayed}, w.Deliveries.List, func(d Delivery) (Delivery, bool, error) {
			if n >= maxReplayed || !all && d.State == Delivered {
				return d, false, nil
			}
			n++
			d, err := w.replay(d)
			return d, false, err
		}, func(d Delivery) Place { return Place{d.At, string(d.ID)} })
		return n, err
	})
}

// enabledWebhook finds a webhook to which something can be sent. Errors:
// ErrForbidden, ErrWebhookNotFound, ErrWebhookOff.
func (w *work) enabledWebhook(id WebhookID) (Webhook, error) {
	h, err := webhooksSeen{w}.Get(id)
	if err == nil && !h.Enabled {
		err = ErrWebhookOff
	}
	return h, err
}

func (w *work) replay(d Delivery) (Delivery, error) {
	old := d
	d.State = Pending
	d, err := put(w.Deliveries, old, d)
	if err != nil {
		return d, err
	}
	return d, w.Queue.Deliver(DeliveryJob{w.Club.ID, d.ID})
}

// ForgetOldDeliveries forgets the deliveries of all clubs that are older than 30
// days. Errors: the store's, of the first club that fails.
func (s Webhooks) ForgetOldDeliveries(ctx context.Context) error {
	clubs, err := s.desk.clubs(ctx)
	for _, c := range clubs {
		if err != nil {
			break
		}
		err = s.desk.Store.Update(ctx, c.ID, func(tx Tx) error { return tx.Deliveries.Sweep(s.desk.Now().Add(-webhook.Kept)) })
	}
	return err
}

// deliveriesSeen are the deliveries, for stewards.
type deliveriesSeen struct{ *work }

// Get returns one. Errors: ErrForbidden, ErrDeliveryNotFound.
func (s deliveriesSeen) Get(id DeliveryID) (Delivery, error) {
	if err := s.may(KeepWebhooks); err != nil {
		return Delivery{}, err
	}
	return s.Deliveries.Get(id)
}

// List returns a page in the order of q. Errors: ErrForbidden,
// ErrWebhookNotFound.
func (s deliveriesSeen) List(q Query) ([]Delivery, error) {
	if _, err := webhooksSeen(s).Get(q.Webhook); err != nil {
		return nil, err
	}
	return s.Deliveries.List(q)
}
