package service

import "context"

// reader is what a list and a look-up need of a noun's repository.
type reader[T any, K ~string] interface {
	Get(id K) (T, error)
	List(q Query) ([]T, error)
}

// Shelf is the use-cases that every noun of a club has: add one, get one, list
// a page, change one, take one away. What differs is in the functions.
type Shelf[T any, K ~string] struct {
	desk *Desk
	of   func(*work) reader[T, K]
	add  func(*work, T) (T, error)
	show func(*work, T) (T, error) // blanks what the member may not see, adds what isn't kept; nil: neither

	change func(w *work, old, new T) (T, error) // nil: never changed
	drop   func(*work, T) (T, error)            // voids or removes; nil: neither
}

// Add records v and returns it as recorded. Errors: ErrClubNotFound,
// ErrForbidden, ErrInvalid with the members at fault, ErrIDTaken, and the
// noun's own.
func (s Shelf[T, K]) Add(ctx context.Context, a Actor, v T) (T, error) {
	return write(ctx, s.desk, a, func(w *work) (T, error) {
		out, err := s.add(w, v)
		if err != nil {
			return out, err
		}
		return s.shown(w, out)
	})
}

// Get returns one. Errors: ErrClubNotFound, the noun's not-found error.
func (s Shelf[T, K]) Get(ctx context.Context, a Actor, id K) (T, error) {
	return read(ctx, s.desk, a, func(w *work) (T, error) {
		v, err := s.of(w).Get(id)
		if err != nil {
			return v, err
		}
		return s.shown(w, v)
	})
}

// List returns a page in the order of q. Errors: ErrClubNotFound.
func (s Shelf[T, K]) List(ctx context.Context, a Actor, q Query) ([]T, error) {
	return read(ctx, s.desk, a, func(w *work) ([]T, error) {
		items, err := s.of(w).List(q)
		for i := range items {
			if items[i], err = s.shown(w, items[i]); err != nil {
				return nil, err
			}
		}
		return items, err
	})
}

func (s Shelf[T, K]) shown(w *work, v T) (T, error) {
	if s.show == nil {
		return v, nil
	}
	return s.show(w, v)
}

// blanked is a show that only takes away.
func blanked[T any](show func(*work, T) T) func(*work, T) (T, error) {
	return func(w *work, v T) (T, error) { return show(w, v), nil }
}

// Service is every use-case, by noun.
type Service struct {
	*Desk
	Accounts        Accounts
	Sessions        Sessions
	Recoveries      *Recoveries
	Clubs           Clubs
	Invitations     Invitations
	APIKeys         APIKeys
	Members         Shelf[Member, MemberID]
	Sites           Shelf[Site, SiteID]
	Bins            Shelf[Bin, BinID]
	Materials       Shelf[Material, MaterialID]
	Measures        Shelf[Measure, MeasureID]
	Receipts        Shelf[Receipt, ReceiptID]
	Turnouts        Shelf[Turnout, TurnoutID]
	Cultures        Shelf[Culture, CultureID]
	Origins         Shelf[Origin, OriginID]
	Batches         Shelf[Batch, BatchID]
	BatchSteps      Shelf[BatchStep, BatchStepID]
	Reworks         Shelf[Rework, ReworkID]
	Feedings        Shelf[Feeding, FeedingID]
	Checks          Shelf[Check, CheckID]
	Censuses        Shelf[Census, CensusID]
	Harvests        Shelf[Harvest, HarvestID]
	Quarantines     Shelf[Quarantine, QuarantineID]
	Identifications Shelf[Identification, IdentificationID]
	Contacts        Shelf[BinContact, BinContactID]
	Clearings       Shelf[Clearing, ClearingID]
	LateEntries     Shelf[LateEntry, LateEntryID]
	Movements       Shelf[Movement, MovementID]
	Transfers       Transfers
	Offers          Shelf[Offer, OfferID]
	Calendars       Calendars
	Webhooks        Webhooks
	Lots            Shelf[Lot, LotID]
	Reports         Reports
	Publications    Publications
	Records         BookRecords
	Audit           Shelf[AuditEntry, AuditEntryID]
	Erasures        Shelf[Erasure, MemberID]
}

// New wires the use-cases to the desk. gate comes from package auth.
func New(d *Desk, gate Gate) *Service {
	return &Service{
		Desk:            d,
		Accounts:        Accounts{d, gate},
		Sessions:        Sessions{d, gate},
		Recoveries:      &Recoveries{d, gate, make(chan string, recoveriesAhead)},
		Clubs:           Clubs{d, gate},
		Invitations:     Invitations{d, gate, Shelf[Invitation, InvitationID]{d, func(w *work) reader[Invitation, InvitationID] { return invitationsSeen{w} }, nil, nil, nil, nil}},
		APIKeys:         APIKeys{Shelf[APIKey, APIKeyID]{d, func(w *work) reader[APIKey, APIKeyID] { return keysSeen{w} }, nil, blanked((*work).showKey), nil, (*work).dropKey}, gate},
		Members:         Shelf[Member, MemberID]{d, func(w *work) reader[Member, MemberID] { return w.Members }, (*work).addMember, nil, nil, nil},
		Sites:           Shelf[Site, SiteID]{d, func(w *work) reader[Site, SiteID] { return w.Sites }, (*work).addSite, blanked((*work).showSite), (*work).changeSite, (*work).dropSite},
		Bins:            Shelf[Bin, BinID]{d, func(w *work) reader[Bin, BinID] { return w.Bins }, (*work).addBin, (*work).showBin, (*work).changeBin, (*work).dropBin},
		Materials:       Shelf[Material, MaterialID]{d, func(w *work) reader[Material, MaterialID] { return w.Materials }, (*work).addMaterial, nil, (*work).changeMaterial, (*work).dropMaterial},
		Measures:        Shelf[Measure, MeasureID]{d, func(w *work) reader[Measure, MeasureID] { return w.Measures }, (*work).addMeasure, nil, (*work).changeMeasure, (*work).dropMeasure},
		Receipts:        Shelf[Receipt, ReceiptID]{d, func(w *work) reader[Receipt, ReceiptID] { return w.Receipts }, (*work).addReceipt, nil, (*work).changeReceipt, (*work).voidReceipt},
		Turnouts:        Shelf[Turnout, TurnoutID]{d, func(w *work) reader[Turnout, TurnoutID] { return w.Turnouts }, (*work).addTurnout, nil, (*work).changeTurnout, (*work).voidTurnout},
		Cultures:        Shelf[Culture, CultureID]{d, func(w *work) reader[Culture, CultureID] { return culturesSeen{w} }, (*work).addCulture, (*work).showCulture, (*work).changeCulture, (*work).dropCulture},
		Origins:         Shelf[Origin, OriginID]{d, func(w *work) reader[Origin, OriginID] { return w.Origins }, (*work).addOrigin, nil, (*work).changeOrigin, (*work).dropOrigin},
		Batches:         Shelf[Batch, BatchID]{d, func(w *work) reader[Batch, BatchID] { return w.Batches }, (*work).addBatch, nil, (*work).changeBatch, (*work).dropBatch},
		BatchSteps:      Shelf[BatchStep, BatchStepID]{d, func(w *work) reader[BatchStep, BatchStepID] { return w.BatchSteps }, (*work).addBatchStep, nil, (*work).changeBatchStep, (*work).voidBatchStep},
		Reworks:         Shelf[Rework, ReworkID]{d, func(w *work) reader[Rework, ReworkID] { return w.Reworks }, (*work).addRework, nil, nil, nil},
		Feedings:        Shelf[Feeding, FeedingID]{d, func(w *work) reader[Feeding, FeedingID] { return w.Feedings }, (*work).addFeeding, nil, (*work).changeFeeding, (*work).voidFeeding},
		Checks:          Shelf[Check, CheckID]{d, func(w *work) reader[Check, CheckID] { return w.Checks }, (*work).addCheck, nil, (*work).changeCheck, (*work).voidCheck},
		Censuses:        Shelf[Census, CensusID]{d, func(w *work) reader[Census, CensusID] { return w.Censuses }, (*work).addCensus, nil, nil, nil},
		Harvests:        Shelf[Harvest, HarvestID]{d, func(w *work) reader[Harvest, HarvestID] { return w.Harvests }, (*work).addHarvest, nil, nil, nil},
		Quarantines:     Shelf[Quarantine, QuarantineID]{d, func(w *work) reader[Quarantine, QuarantineID] { return w.Quarantines }, (*work).addQuarantine, nil, (*work).changeQuarantine, (*work).voidQuarantine},
		Identifications: Shelf[Identification, IdentificationID]{d, func(w *work) reader[Identification, IdentificationID] { return w.Identifications }, (*work).addIdentification, nil, (*work).changeIdentification, (*work).voidIdentification},
		Contacts:        Shelf[BinContact, BinContactID]{d, func(w *work) reader[BinContact, BinContactID] { return w.Contacts }, (*work).addContact, nil, (*work).changeContact, (*work).voidContact},
		Clearings:       Shelf[Clearing, ClearingID]{d, func(w *work) reader[Clearing, ClearingID] { return w.Clearings }, (*work).addClearing, nil, (*work).changeClearing, (*work).voidClearing},
		LateEntries:     Shelf[LateEntry, LateEntryID]{d, func(w *work) reader[LateEntry, LateEntryID] { return w.LateEntries }, nil, nil, nil, nil},
		Movements:       Shelf[Movement, MovementID]{d, func(w *work) reader[Movement, MovementID] { return w.Movements }, (*work).addMovement, blanked((*work).showMovement), nil, nil},
		Transfers:       Transfers{d},
		Offers:          Shelf[Offer, OfferID]{d, func(w *work) reader[Offer, OfferID] { return w.Offers }, (*work).addOffer, nil, (*work).changeOffer, (*work).withdrawOffer},
		Calendars:       Calendars{Shelf[Calendar, CalendarID]{d, func(w *work) reader[Calendar, CalendarID] { return calendarsSeen{w} }, nil, nil, nil, (*work).dropCalendar}, gate},
		Webhooks: Webhooks{
			Shelf[Webhook, WebhookID]{d, func(w *work) reader[Webhook, WebhookID] { return webhooksSeen{w} }, nil, nil, (*work).changeWebhook, (*work).dropWebhook},
			Shelf[Delivery, DeliveryID]{d, func(w *work) reader[Delivery, DeliveryID] { return deliveriesSeen{w} }, nil, nil, nil, nil},
		},
		Lots:         Shelf[Lot, LotID]{d, func(w *work) reader[Lot, LotID] { return w.Lots }, nil, (*work).showLot, nil, nil},
		Reports:      Reports{d},
		Publications: Publications{d},
		Records:      BookRecords{d},
		Audit:        Shelf[AuditEntry, AuditEntryID]{d, func(w *work) reader[AuditEntry, AuditEntryID] { return auditSeen{w} }, nil, nil, nil, nil},
		Erasures:     Shelf[Erasure, MemberID]{d, func(w *work) reader[Erasure, MemberID] { return erasuresSeen{w} }, nil, nil, nil, nil},
	}
}
