package service

import (
	"context"
	"io"
	"time"

	"lumbricary.example/service/archive"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// Store is what the use-cases ask of persistence. View and Update are the only
// doors to a club's rows; Shared opens the tables that belong to no club.
//
// fn of Update and of UpdateShared may run more than once (a serialisation
// failure is retried at most 5 times with jitter, then ErrBusy) and must have no
// effect but through its argument. A door opened inside another fails. An error
// of fn rolls everything back and is returned as it is.
type Store interface {
	// View runs fn on one snapshot of the club's rows and can't write.
	View(ctx context.Context, club ClubID, fn func(Tx) error) error
	// Update runs fn in one transaction that can see and change the rows of one
	// club only, and that nobody else writes to until it ends: what fn reads stays
	// so, and who comes later finds it done.
	Update(ctx context.Context, club ClubID, fn func(Tx) error) error
	// Rehearse is Update that always rolls back: a dry run.
	Rehearse(ctx context.Context, club ClubID, fn func(Tx) error) error
	// Once runs fn in one Update in which key happens once: Update (and Rehearse)
	// called with the ctx that fn gets joins that transaction. A key seen before
	// gives its first answer without running fn. Errors: ErrKeyReused when the
	// key came with another body; ErrKeyBusy when its first call is still running
	// after 2 s.
	Once(ctx context.Context, club ClubID, key OnceKey, fn func(context.Context) (Answer, error)) (Answer, error)
	// Admit adds the club of an archive, whose schema must be the database's, and
	// runs fn on it as Update does, in the same transaction. It reads from a file that
	// can't be read twice, so it runs once. Errors: archive.FaultError; ErrHandleTaken,
	// ErrIDTaken where the club is here already.
	Admit(ctx context.Context, from *archive.Reader, fn func(Tx) error) error
	// ViewShared and UpdateShared do the same for accounts, clubs and signing keys.
	ViewShared(ctx context.Context, fn func(Shared) error) error
	UpdateShared(ctx context.Context, fn func(Shared) error) error
	// Ready checks that the database answers and has the program's schema.
	// Errors: ErrNotReady.
	Ready(ctx context.Context) error
}

// OnceKey identifies a write that must happen once: the key is the caller's,
// the rest is its scope.
type OnceKey struct {
	Account  AccountID
	Route    string // method and route template
	Key      string
	BodyHash string // SHA-256 of path, query and body
}

// Answer is the stored answer of a write that happened once.
type Answer struct {
	Status   int
	Location string
	ETag     string
	Type     string
	Body     []byte
}

// Shared is the tables that belong to no club.
type Shared struct {
	Accounts AccountRepo
	Clubs    ClubRepo
	Keys     KeyRepo
	Sessions SessionRepo
	Codes    CodeRepo
}

// AccountRepo keeps accounts.
type AccountRepo interface {
	// Insert adds a. Errors: ErrEmailTaken.
	Insert(a Account) error
	// ByID and ByEmail find one. Errors: ErrAccountNotFound.
	ByID(id AccountID) (Account, error)
	ByEmail(email string) (Account, error)
	// Count returns how many there are.
	Count() (int64, error)
	// Under lists the accounts whose address ends so.
	Under(domain string) ([]AccountID, error)
	// Lock is ByID that makes the transaction the only one that has the account
	// locked until it ends.
	Lock(id AccountID) (Account, error)
	// SetPassphrase replaces the hash. Errors: ErrAccountNotFound.
	SetPassphrase(id AccountID, hash string) error
	// Blank leaves nothing of an account but its id, with an e-mail address that is
	// nobody's. Errors: ErrAccountNotFound.
	Blank(id AccountID, email string) error
}

// SessionRepo keeps sessions.
type SessionRepo interface {
	Insert(s Session) error
	// Get finds one. Errors: ErrSessionEnded when there is none.
	Get(id SessionID) (Session, error)
	// Lock is Get that makes the transaction the only one that has the session
	// locked until it ends.
	Lock(id SessionID) (Session, error)
	// Update replaces the row of s's id. Errors: ErrSessionEnded.
	Update(s Session) error
	// Of lists the account's sessions that last at now, rotated last first.
	Of(account AccountID, now time.Time) ([]Session, error)
	// Sweep removes the account's sessions that have expired.
	Sweep(account AccountID, now time.Time) error
}

// CodeRepo keeps the hashes of one-use codes.
type CodeRepo interface {
	// Insert adds c and removes those that had expired when it was made.
	Insert(c Code) error
	// Find finds one that is good at now; Take removes it as well, so that only
	// one can have it. Errors: ErrCodeNotFound.
	Find(hash string, p Purpose, now time.Time) (Code, error)
	Take(hash string, p Purpose, now time.Time) (Code, error)
	// Forget removes the account's codes.
	Forget(account AccountID) error
}

// ClubRepo keeps the list of clubs.
type ClubRepo interface {
	// Insert adds c with its first steward, and notes the membership of the
	// steward's account. Errors: ErrHandleTaken, ErrIDTaken.
	Insert(c Club, founder Member) error
	// ByRef finds a club by id or handle. Errors: ErrClubNotFound.
	ByRef(ref string) (Club, error)
	// All lists the clubs by handle.
	All() ([]Club, error)
	// Of lists the clubs that the account may be a member of, by handle, from an
	// index of club and account. The club's own members have the last word.
	Of(account AccountID) ([]Club, error)
	// Join puts the account into that index, once.
	Join(club ClubID, account AccountID) error
	// Leave takes the account out of that index.
	Leave(account AccountID) error
}

// SigningKey is a key that signs access tokens, as stored.
type SigningKey struct {
	ID      string // RFC 7638 thumbprint
	PEM     string // PKCS#8
	Created time.Time
	Retired time.Time // zero: signs
}

// KeyRepo keeps the signing keys and the service's other secrets.
type KeyRepo interface {
	Insert(k SigningKey) error
	// Retire marks the keys that are in use, but the one named, as retired at now.
	Retire(but string, now time.Time) error
	// All lists the keys, newest first.
	All() ([]SigningKey, error)
	// Secret returns the named random secret, which make makes the first time.
	Secret(name string, make func() ([]byte, error)) ([]byte, error)
}

// Secret returns the named secret of 32 random bytes that is made once for each
// database. Errors: the store's, those of the randomness.
func Secret(ctx context.Context, store Store, name string, random io.Reader) (secret []byte, err error) {
	err = store.UpdateShared(ctx, func(sh Shared) error {
		secret, err = sh.Keys.Secret(name, func() ([]byte, error) {
			fresh := make([]byte, 32)
			_, err := io.ReadFull(random, fresh)
			return fresh, err
		})
		return err
	})
	return secret, err
}

// Tx is one club's data inside one transaction. Nothing in it can reach
// another club. Lookups of an id that isn't there fail with the noun's
// not-found error; inserts of an id that is there fail with ErrIDTaken.
type Tx struct {
	Club            Club
	Members         MemberRepo
	Settings        SettingsRepo
	Invitations     InvitationRepo
	APIKeys         APIKeyRepo
	Sites           Records[Site, SiteID]
	Bins            Records[Bin, BinID]
	Materials       Records[Material, MaterialID]
	Measures        Records[Measure, MeasureID]
	Receipts        Records[Receipt, ReceiptID]
	Turnouts        Records[Turnout, TurnoutID]
	Cultures        Records[Culture, CultureID]
	Origins         Records[Origin, OriginID]
	Batches         Records[Batch, BatchID]
	LotNumbers      LotNumberRepo
	BatchSteps      Records[BatchStep, BatchStepID]
	Reworks         Records[Rework, ReworkID]
	Feedings        Records[Feeding, FeedingID]
	Checks          Records[Check, CheckID]
	Censuses        Records[Census, CensusID]
	Harvests        Records[Harvest, HarvestID]
	Quarantines     Records[Quarantine, QuarantineID]
	Identifications Records[Identification, IdentificationID]
	Contacts        Records[BinContact, BinContactID]
	Clearings       Records[Clearing, ClearingID]
	LateEntries     Records[LateEntry, LateEntryID]
	Movements       MovementRepo
	Transfers       TransferRepo
	Offers          Records[Offer, OfferID]
	Calendars       CalendarRepo
	Webhooks        Records[Webhook, WebhookID]
	Deliveries      DeliveryRepo
	Queue           QueueRepo
	Lots            LotRepo
	Events          EventRepo
	Audit           AuditRepo
	Erasures        ErasureRepo
	Answers         AnswerRepo
	Totals          TotalRepo
	Rows            Rows
}

// Records keeps one noun of one club.
type Records[T any, K ~string] interface {
	// Insert adds v. Errors: ErrIDTaken, and the noun's name-taken error.
	Insert(v T) error
	// Get returns one. Errors: the noun's not-found error.
	Get(id K) (T, error)
	// Some returns those of the ids that exist, in no order.
	Some(ids []K) ([]T, error)
	// Update replaces the row of v's id whose version is v.Version, and adds one
	// to it. Errors: ErrStale.
	Update(v T) error
	// Delete removes the row of v's id whose version is v.Version. Errors:
	// ErrStale, ErrInUse when a record names it.
	Delete(v T) error
	// List returns a page in the order of q.
	List(q Query) ([]T, error)
}

// MemberRepo keeps members.
type MemberRepo interface {
	Records[Member, MemberID]
	// ByAccount finds the member who signs in with that account. Errors:
	// ErrMemberNotFound.
	ByAccount(AccountID) (Member, error)
}

// InvitationRepo keeps invitations.
type InvitationRepo interface {
	Records[Invitation, InvitationID]
	// ByCode finds one by the hash of its code. Errors: ErrInvitationNotFound.
	ByCode(hash string) (Invitation, error)
}

// APIKeyRepo keeps API keys.
type APIKeyRepo interface {
	Records[APIKey, APIKeyID]
	// ByHash finds one by its hash. Errors: ErrAPIKeyNotFound.
	ByHash(hash string) (APIKey, error)
	// Used notes when keys were last used, where that is later than what is noted.
	// The versions of the keys stay.
	Used(at map[APIKeyID]time.Time) error
}

// CalendarRepo keeps the private links to the due list.
type CalendarRepo interface {
	Records[Calendar, CalendarID]
	// ByHash finds one by the hash of its link. Errors: ErrCalendarNotFound.
	ByHash(hash string) (Calendar, error)
}

// DeliveryRepo keeps what was sent to webhooks, ordered by (at, id).
type DeliveryRepo interface {
	Records[Delivery, DeliveryID]
	// Forget removes the deliveries of a webhook, Sweep those from before a moment.
	Forget(WebhookID) error
	Sweep(before time.Time) error
}

// QueueRepo keeps work that is to be done after the transaction is committed, at
// least once.
type QueueRepo interface {
	Deliver(job DeliveryJob) error
}

// SettingsRepo keeps the club's own settings.
type SettingsRepo interface {
	// Update replaces the settings of the club, all but its id, handle and founding,
	// when their version is c.Version, and adds one to it. Errors: ErrStale.
	Update(c Club) error
}

// Query selects and orders a list. Dated records are ordered by (moment, id),
// all others by id; zero members don't filter.
type Query struct {
	Bin      BinID
	Member   MemberID
	Species  SpeciesID
	Material MaterialID
	Batch    BatchID
	Webhook  WebhookID
	Kind     string
	Record   string    // id of the record that audit entries are about
	Voided   bool      // voided records as well
	Name     string    // of a culture, its own or one that was merged into it
	Merged   bool      // cultures that were merged into others as well
	OpenOn   string    // a date: offers that stand on that day, transfers that may be open
	From     time.Time // moment at or after
	To       time.Time // moment before
	Newest   bool      // newest first
	After    Place     // the last of the page before
	Limit    int       // 0: all
}

// Place is where a record stands in the order of its list.
type Place struct {
	At time.Time // zero for records that have no moment
	ID string
}

// MovementRepo keeps the journal.
type MovementRepo interface {
	// NextSeq returns a number higher than any given before in this database.
	NextSeq() (int64, error)
	// Insert appends movements that happen together, in that order, with their
	// postings, and adds the sum of them to the books. Errors: ErrIDTaken,
	// ErrReversedBefore, ErrMoreThanBook.
	Insert(ms ...Movement) error
	// InsertVoid appends m, which is reversed in the same transaction or reverses
	// such an entry, and leaves the books as they are: together the two come to
	// nothing. Errors: ErrIDTaken, ErrReversedBefore.
	InsertVoid(m Movement) error
	// Get and Some find entries; Some keeps no order. Errors: ErrMovementNotFound.
	Get(id MovementID) (Movement, error)
	Some(ids []MovementID) ([]Movement, error)
	// List returns a page by (moment, sequence).
	List(q Query) ([]Movement, error)
	// Lines returns the postings on one account in effective order, and of each
	// whether it is void.
	Lines(a journal.Account, c journal.Commodity) ([]journal.Line, error)
	// Book returns what an account holds now.
	Book(a journal.Account, c journal.Commodity) (unit.Mass, error)
	// Stock returns the book per species of a bin, where it isn't zero.
	Stock(bin BinID) (map[SpeciesID]unit.Mass, error)
	// Stocks returns the books of bins, as Stock does for one.
	Stocks(bins []BinID) (map[BinID]map[SpeciesID]unit.Mass, error)
	// StockOf returns the book per species of a bin at the start of that moment.
	StockOf(bin BinID, at time.Time) (map[SpeciesID]unit.Mass, error)
	// StockAt returns the book per bin and species at the start of that moment;
	// a zero time means now.
	StockAt(at time.Time) (map[BinID]map[SpeciesID]unit.Mass, error)
	// Last returns the effective moment and sequence of the journal's last entry
	// in effective order; zero when it is empty.
	Last() (time.Time, int64, error)
	// Entries returns the whole journal in effective order; SomeEntries those of the
	// ids, in no order.
	Entries() ([]journal.Entry, error)
	SomeEntries(ids []MovementID) ([]journal.Entry, error)
	// Posted returns the line of every posting, with its own copy of its entry's
	// moment and sequence; Repost makes the copies those of the entries.
	Posted() ([]journal.Line, error)
	Repost(entries []journal.Entry) error
	// Held returns what the accounts hold where it isn't zero; Rebook makes it that.
	// Errors of Rebook: ErrMoreThanBook.
	Held() (map[journal.Book]unit.Mass, error)
	Rebook(held map[journal.Book]unit.Mass) error
}

// LotNumberRepo keeps every lot number that the club ever gave to a batch.
type LotNumberRepo interface {
	// Take notes that the number is the batch's. Errors: ErrLotNumberTaken when
	// it is or was another's.
	Take(number string, of BatchID) error
	// From lists the numbers that begin with a text.
	From(beginning string) ([]string, error)
}

// TransferRepo keeps transfers.
type TransferRepo interface {
	Records[Transfer, TransferID]
	// Open lists the transfers that may still reserve something, or of which
	// something is still to happen, by id. One whose promises have expired may be
	// among them.
	Open() ([]Transfer, error)
	// Lapsed lists the transfers whose contact was to be kept up to a day before the
	// one given.
	Lapsed(day string) ([]Transfer, error)
}

// LotRepo keeps what lineage derives from the journal: lots of bins, and lots
// under way, which List, Standing and Count leave out.
type LotRepo interface {
	// Insert adds lots with their parents.
	Insert(lots []Lot) error
	// Update replaces lots with their parents; Remix all of a lot but its parents,
	// its opening and its member.
	Update(lots []Lot) error
	Remix(lots []Lot) error
	// All lists every lot, those under way as well; Replace makes lots the whole set.
	All() ([]Lot, error)
	Replace(lots []Lot) error
	// Get finds one. Errors: ErrLotNotFound.
	Get(id LotID) (Lot, error)
	Some(ids []LotID) ([]Lot, error)
	// Children returns the ids of the lots that have one of ids as parent, or came by
	// it.
	Children(ids []LotID) ([]LotID, error)
	// Bare returns lots of bins without their shares; BareChildren those that have one
	// of ids as a parent.
	Bare(ids []LotID) ([]Lot, error)
	BareChildren(ids []LotID) ([]Lot, error)
	// Newest returns the newest lot of each place, ended or not; Waiting those that
	// are withdrawn and have no successor yet.
	Newest(places []lineage.Place) ([]Lot, error)
	Waiting(places []lineage.Place) ([]Lot, error)
	// Since returns the lots of a place that opened at or after a moment, the newest
	// before that isn't withdrawn, and all before that are.
	Since(p lineage.Place, from time.Time) ([]Lot, error)
	// Standing returns the newest lot of each species in the bin, ended or not;
	// of all bins when the bin is empty.
	Standing(bin BinID) ([]Lot, error)
	// List returns a page by (opened, id).
	List(q Query) ([]Lot, error)
}

// AuditRepo keeps the audit, to which nothing is done but to add.
type AuditRepo interface {
	Insert(e AuditEntry) error
	// List returns a page by (at, sequence), with the filters member, noun (Kind),
	// record, from and to.
	List(q Query) ([]AuditEntry, error)
}

// ErasureRepo keeps which members were erased, by their ids.
type ErasureRepo interface {
	Insert(e Erasure) error
	// Get finds one. Errors: ErrMemberNotFound.
	Get(id MemberID) (Erasure, error)
	// List returns a page by id.
	List(q Query) ([]Erasure, error)
}

// AnswerRepo reaches the answers that are kept for calls that come again.
type AnswerRepo interface {
	// Rewrite puts in the place of each body what rewrite makes of it.
	Rewrite(rewrite func(body string) string) error
}

// EventRepo keeps the timelines.
type EventRepo interface {
	Insert(events ...BinEvent) error
	// Remove takes an event away, where its record has moved.
	Remove(e BinEvent) error
	// Replace makes events the whole set.
	Replace(events []BinEvent) error
	// List returns a page of a bin's events, or of all bins', by (moment, sequence).
	List(q Query) ([]BinEvent, error)
}

// Rows are the club's rows as they are stored, whatever they mean.
type Rows interface {
	// Copy writes an archive of them and returns its sum.
	Copy(to io.Writer) (archive.Sum, error)
}

// TotalRepo keeps what the club's records of each month add up to. It takes part
// in no audit: totals follow from the records.
type TotalRepo interface {
	// Add adds to what is kept.
	Add(deltas []Total) error
	// List returns the totals from the first month to the last, both included, in
	// the order of their keys; an empty month doesn't filter.
	List(first, last string) ([]Total, error)
	// Replace makes totals all there are, and notes TotalRules.
	Replace(totals []Total) error
	// Rules returns the TotalRules by which the totals were last made; 0 if never.
	Rules() (int64, error)
}
