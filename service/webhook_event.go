package service

import (
	"encoding/json"
	"time"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/webhook"
)

// told is an event that this transaction makes, with what the audit tells of its
// record.
type told struct {
	event  webhook.Event
	noun   string
	id     string
	record map[string]any
}

// tell notes the events of a change, which the audit has just noted.
func (w *work) tell(e AuditEntry, before, after any, is testimony) {
	for _, event := range webhookEvents(e.Action, before, after) {
		w.told = append(w.told, told{event, e.Noun, e.Record, is.open})
	}
}

// webhookEvents returns the events of a change of a record. before and after are nil
// where there is no such record.
func webhookEvents(action AuditAction, before, after any) []webhook.Event {
	switch v := after.(type) {
	case Transfer:
		old, _ := before.(Transfer)
		return stepEvents(v.Steps[min(len(old.Steps), len(v.Steps)):])
	case Offer:
		return offerEvents(action, v)
	case Quarantine:
		return quarantineEvents(action, before, v)
	case Member:
		return memberEvents(before, v)
	case Bin:
		return binEvents(before, v)
	case nil:
		return nil
	}
	if event := webhook.Event(nounOf(after) + "." + pastOf[action]); event.Known() {
		return []webhook.Event{event}
	}
	return nil
}

// pastOf says of the actions of the audit what was done.
var pastOf = map[AuditAction]string{Added: "recorded", Changed: "changed", Voided: "voided", Reversed: "reversed"}

// stepEvent are the events of the steps of a transfer.
var stepEvent = map[exchange.Verb]webhook.Event{
	exchange.Propose: webhook.TransferProposed, exchange.Accept: webhook.TransferAccepted, exchange.Decline: webhook.TransferDeclined,
	exchange.Cancel: webhook.TransferCancelled, exchange.Dispatch: webhook.TransferDispatched, exchange.Receive: webhook.TransferReceived,
	exchange.Settle: webhook.TransferSettled, exchange.Fail: webhook.TransferUndelivered, exchange.Replace: webhook.TransferReplaced,
	exchange.Waive: webhook.TransferWaived, exchange.Repay: webhook.TransferRepaid, exchange.Forgive: webhook.TransferForgiven,
	exchange.Claim: webhook.TransferClaimed,
}

func stepEvents(steps []Step) (out []webhook.Event) {
	for _, s := range steps {
		out = append(out, stepEvent[s.Verb])
	}
	return out
}

func offerEvents(action AuditAction, o Offer) []webhook.Event {
	switch {
	case action == Added:
		return []webhook.Event{webhook.OfferMade}
	case !o.Withdrawn.IsZero():
		return []webhook.Event{webhook.OfferWithdrawn}
	}
	return []webhook.Event{webhook.OfferChanged}
}

func quarantineEvents(action AuditAction, before any, q Quarantine) (out []webhook.Event) {
	old, was := before.(Quarantine)
	switch {
	case action == Voided:
		return []webhook.Event{webhook.QuarantineVoided}
	case !was:
		out = append(out, webhook.QuarantineBegun)
	}
	if old.Released.Time.IsZero() && !q.Released.Time.IsZero() {
		return append(out, webhook.QuarantineEnded)
	}
	if was {
		out = append(out, webhook.QuarantineChanged)
	}
	return out
}

func memberEvents(before any, m Member) []webhook.Event {
	old, was := before.(Member)
	switch {
	case !was || old.left() && !m.left():
		return []webhook.Event{webhook.MemberJoined}
	case m.left() && !old.left():
		return []webhook.Event{webhook.MemberLeft}
	}
	return []webhook.Event{webhook.MemberChanged}
}

func binEvents(before any, b Bin) []webhook.Event {
	old, was := before.(Bin)
	switch {
	case !was:
		return []webhook.Event{webhook.BinAdded}
	case old.Retired.Time.IsZero() && !b.Retired.Time.IsZero():
		return []webhook.Event{webhook.BinRetired}
	}
	return []webhook.Event{webhook.BinChanged}
}

// announce queues what this transaction has told for the webhooks that want to
// know it.
func (w *work) announce() error {
	if len(w.told) == 0 {
		return nil
	}
	hooks, err := w.Webhooks.List(Query{})
	if err != nil || len(hooks) == 0 {
		return err
	}
	for _, t := range w.told {
		body, err := w.payload(t)
		if err != nil {
			return err
		}
		event := w.desk.NewID()
		for _, h := range hooks {
			if err := w.queue(h, Delivery{Webhook: h.ID, Message: event, Event: t.event, At: w.now, Body: body, State: Pending, Version: 1}); err != nil {
				return err
			}
		}
	}
	return nil
}

// payload is the body that tells an event: ids, words and figures of the record,
// as the audit tells them, and no text that may be personal.
func (w *work) payload(t told) (string, error) {
	data := map[string]any{"club": w.Club.ID, "noun": t.noun, "id": t.id, "member": w.who.ID, "record": t.record}
	if w.by != "" {
		data["on_behalf"] = w.by
	}
	text, err := json.Marshal(map[string]any{"type": t.event, "timestamp": w.now.Format(time.RFC3339Nano), "data": data})
	return string(text), err
}
