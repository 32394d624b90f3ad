package service

import (
	"slices"
	"time"

	"lumbricary.example/service/journal"
)

// audited makes every repository of w leave an audit entry with each change.
// It is the only place where entries come from, so that no use-case can forget
// one. Lots, timelines and the movements of censuses, harvests and reworks
// are not noted: they follow from what is.
func (w *work) audited() *work {
	tx := &w.Tx
	tx.Members = notedMembers{noted[Member, MemberID]{tx.Members, w}, tx.Members}
	tx.Invitations = notedInvitations{noted[Invitation, InvitationID]{tx.Invitations, w}, tx.Invitations}
	tx.APIKeys = notedKeys{noted[APIKey, APIKeyID]{tx.APIKeys, w}, tx.APIKeys}
	tx.Settings = notedSettings{tx.Settings, w}
	tx.Sites = noted[Site, SiteID]{tx.Sites, w}
	tx.Bins = noted[Bin, BinID]{tx.Bins, w}
	tx.Materials = noted[Material, MaterialID]{tx.Materials, w}
	tx.Measures = noted[Measure, MeasureID]{tx.Measures, w}
	tx.Receipts = noted[Receipt, ReceiptID]{tx.Receipts, w}
	tx.Turnouts = noted[Turnout, TurnoutID]{tx.Turnouts, w}
	tx.Cultures = noted[Culture, CultureID]{tx.Cultures, w}
	tx.Origins = noted[Origin, OriginID]{tx.Origins, w}
	tx.Batches = noted[Batch, BatchID]{tx.Batches, w}
	tx.BatchSteps = noted[BatchStep, BatchStepID]{tx.BatchSteps, w}
	tx.Reworks = noted[Rework, ReworkID]{tx.Reworks, w}
	tx.Feedings = noted[Feeding, FeedingID]{tx.Feedings, w}
	tx.Checks = noted[Check, CheckID]{tx.Checks, w}
	tx.Censuses = noted[Census, CensusID]{tx.Censuses, w}
	tx.Harvests = noted[Harvest, HarvestID]{tx.Harvests, w}
	tx.Quarantines = noted[Quarantine, QuarantineID]{tx.Quarantines, w}
	tx.Identifications = noted[Identification, IdentificationID]{tx.Identifications, w}
	tx.Contacts = noted[BinContact, BinContactID]{tx.Contacts, w}
	tx.Clearings = noted[Clearing, ClearingID]{tx.Clearings, w}
	tx.Movements = notedMovements{tx.Movements, w}
	tx.Transfers = notedTransfers{noted[Transfer, TransferID]{tx.Transfers, w}, tx.Transfers}
	tx.Offers = noted[Offer, OfferID]{tx.Offers, w}
	tx.Calendars = notedCalendars{noted[Calendar, CalendarID]{tx.Calendars, w}, tx.Calendars}
	tx.Webhooks = noted[Webhook, WebhookID]{tx.Webhooks, w}
	tx.Erasures = notedErasures{tx.Erasures, w}
	return w
}

// noted is a noun's repository that leaves an audit entry with each change.
type noted[T any, K ~string] struct {
	Records[T, K]
	work *work
}

// Insert implements Records.
func (s noted[T, K]) Insert(v T) error {
	if err := s.Records.Insert(v); err != nil {
		return err
	}
	return s.work.note(Added, nil, v)
}

// Update implements Records.
func (s noted[T, K]) Update(v T) error {
	before, err := s.Get(K(idOf(v)))
	if err != nil {
		return err
	}
	if err := s.Records.Update(v); err != nil {
		return err
	}
	action := Changed
	if isVoid(v) && !isVoid(before) {
		action = Voided
	}
	return s.work.note(action, before, v)
}

// Delete implements Records.
func (s noted[T, K]) Delete(v T) error {
	if err := s.Records.Delete(v); err != nil {
		return err
	}
	return s.work.note(Removed, v, nil)
}

// isVoid tells whether a record of a noun that can be voided is.
func isVoid(v any) bool {
	r, ok := v.(interface{ void() bool })
	return ok && r.void()
}

type notedMembers struct {
	noted[Member, MemberID]
	all MemberRepo
}

// ByAccount implements MemberRepo.
func (s notedMembers) ByAccount(id AccountID) (Member, error) { return s.all.ByAccount(id) }

type notedInvitations struct {
	noted[Invitation, InvitationID]
	all InvitationRepo
}

// ByCode implements InvitationRepo.
func (s notedInvitations) ByCode(hash string) (Invitation, error) { return s.all.ByCode(hash) }

type notedKeys struct {
	noted[APIKey, APIKeyID]
	all APIKeyRepo
}

// ByHash implements APIKeyRepo.
func (s notedKeys) ByHash(hash string) (APIKey, error) { return s.all.ByHash(hash) }

// Used implements APIKeyRepo; that a key was used is no change.
func (s notedKeys) Used(at map[APIKeyID]time.Time) error { return s.all.Used(at) }

type notedCalendars struct {
	noted[Calendar, CalendarID]
	all CalendarRepo
}

// ByHash implements CalendarRepo.
func (s notedCalendars) ByHash(hash string) (Calendar, error) { return s.all.ByHash(hash) }

type notedTransfers struct {
	noted[Transfer, TransferID]
	all TransferRepo
}

// Open implements TransferRepo.
func (s notedTransfers) Open() ([]Transfer, error) { return s.all.Open() }

// Lapsed implements TransferRepo.
func (s notedTransfers) Lapsed(day string) ([]Transfer, error) { return s.all.Lapsed(day) }

// notedSettings notes the club's settings as a record of the club.
type notedSettings struct {
	SettingsRepo
	work *work
}

// Update implements SettingsRepo.
func (s notedSettings) Update(c Club) error {
	if err := s.SettingsRepo.Update(c); err != nil {
		return err
	}
	return s.work.note(Changed, s.work.Club, c)
}

// notedErasures notes that a member was erased, not what.
type notedErasures struct {
	ErasureRepo
	work *work
}

// Insert implements ErasureRepo.
func (s notedErasures) Insert(e Erasure) error {
	if err := s.ErasureRepo.Insert(e); err != nil {
		return err
	}
	return s.work.note(Added, nil, e)
}

// notedMovements notes the entries of the journal but those of censuses,
// harvests and reworks, which are records of their own.
type notedMovements struct {
	MovementRepo
	work *work
}

// InsertVoid implements MovementRepo; a pair that comes to nothing has no entry.
func (s notedMovements) InsertVoid(m Movement) error {
	if err := s.MovementRepo.InsertVoid(m); err != nil {
		return err
	}
	return s.work.closedTo(nil, m)
}

// Insert implements MovementRepo.
func (s notedMovements) Insert(ms ...Movement) error {
	if err := s.MovementRepo.Insert(ms...); err != nil {
		return err
	}
	for _, m := range ms {
		if err := s.noted(m); err != nil {
			return err
		}
	}
	return nil
}

// noted notes an entry and the bins that it touches.
func (s notedMovements) noted(m Movement) error {
	for _, bin := range m.bins() {
		if !slices.Contains(s.work.touched, bin) {
			s.work.touched = append(s.work.touched, bin)
		}
	}
	switch m.Kind {
	case journal.Census, journal.Harvest, journal.Rework:
		return nil
	case journal.Reversal:
		return s.work.note(Reversed, nil, m)
	case journal.Stocking, journal.Split, journal.Combine, journal.HandOver, journal.Dispatch, journal.Arriving, journal.Loss, journal.Use:
	}
	return s.work.note(Added, nil, m)
}
