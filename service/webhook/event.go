// Package webhook is what Standard Webhooks 1.0 asks of a sender, as functions on
// values: which events there are, how a message is signed, when a delivery is
// tried again, and which addresses may be called.
package webhook

import "slices"

// Event is a type of event.
type Event string

// The events.
const (
	BinAdded            Event = "bin.added"
	BinChanged          Event = "bin.changed"
	BinRetired          Event = "bin.retired"
	CensusRecorded      Event = "census.recorded"
	CheckRecorded       Event = "check.recorded"
	CheckChanged        Event = "check.changed"
	CheckVoided         Event = "check.voided"
	FeedingRecorded     Event = "feeding.recorded"
	FeedingChanged      Event = "feeding.changed"
	FeedingVoided       Event = "feeding.voided"
	HarvestRecorded     Event = "harvest.recorded"
	MemberJoined        Event = "member.joined"
	MemberChanged       Event = "member.changed"
	MemberLeft          Event = "member.left"
	MovementRecorded    Event = "movement.recorded" // but for those of censuses, harvests and reworks
	MovementReversed    Event = "movement.reversed" // a census or harvest goes by its movement
	OfferMade           Event = "offer.made"
	OfferChanged        Event = "offer.changed"
	OfferWithdrawn      Event = "offer.withdrawn"
	QuarantineBegun     Event = "quarantine.begun"
	QuarantineChanged   Event = "quarantine.changed"
	QuarantineEnded     Event = "quarantine.ended"
	QuarantineVoided    Event = "quarantine.voided"
	ReceiptRecorded     Event = "receipt.recorded"
	ReceiptChanged      Event = "receipt.changed"
	ReceiptVoided       Event = "receipt.voided"
	ReworkRecorded      Event = "rework.recorded"
	TransferProposed    Event = "transfer.proposed"
	TransferAccepted    Event = "transfer.accepted"
	TransferDeclined    Event = "transfer.declined"
	TransferCancelled   Event = "transfer.cancelled"
	TransferDispatched  Event = "transfer.dispatched"
	TransferReceived    Event = "transfer.received"
	TransferSettled     Event = "transfer.settled"
	TransferUndelivered Event = "transfer.undelivered"
	TransferReplaced    Event = "transfer.replaced"
	TransferWaived      Event = "transfer.waived"
	TransferRepaid      Event = "transfer.repaid"
	TransferForgiven    Event = "transfer.forgiven"
	TransferClaimed     Event = "transfer.claimed"
)

// Events lists the events.
func Events() []Event {
	return []Event{
		BinAdded, BinChanged, BinRetired, CensusRecorded, CheckRecorded, CheckChanged, CheckVoided, FeedingRecorded, FeedingChanged,
		FeedingVoided, HarvestRecorded, MemberJoined, MemberChanged, MemberLeft, MovementRecorded, MovementReversed, OfferMade,
		OfferChanged, OfferWithdrawn, QuarantineBegun, QuarantineChanged, QuarantineEnded, QuarantineVoided, ReceiptRecorded,
		ReceiptChanged, ReceiptVoided, ReworkRecorded, TransferProposed, TransferAccepted, TransferDeclined, TransferCancelled,
		TransferDispatched, TransferReceived, TransferSettled, TransferUndelivered, TransferReplaced, TransferWaived, TransferRepaid,
		TransferForgiven, TransferClaimed,
	}
}

// Known reports whether there is such an event.
func (e Event) Known() bool { return slices.Contains(Events(), e) }
