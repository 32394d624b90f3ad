package service

import (
	"encoding/json"
	"time"
)

// AuditAction is what was done to a record.
type AuditAction string

// The actions of the audit.
const (
	Added    AuditAction = "add"
	Changed  AuditAction = "change"
	Voided   AuditAction = "void"
	Reversed AuditAction = "reverse" // an entry of the journal that takes another back
	Removed  AuditAction = "remove"
	Imported AuditAction = "import" // a whole book, in one entry with counts
)

// AuditEntry says who did what to a record of the club, and when. It is written
// in the transaction of what it tells, and never changed or removed. Before and
// After are JSON objects of what the record says, without personal values and
// secrets: of those Changed alone tells that they changed.
type AuditEntry struct {
	ID       AuditEntryID
	At       time.Time
	Seq      int64
	Member   MemberID // who did it
	Key      APIKeyID // by which key; empty: signed in
	OnBehalf MemberID // as whose doing it stands in the book; empty: their own
	Action   AuditAction
	Noun     string
	Record   string   // id of the record; empty: of no single one
	Changed  []string // the members that are not as before
	Before   string   // empty: there was none
	After    string   // empty: there is none
}

// auditSeen are the audit entries, for those who may read them.
type auditSeen struct{ *work }

// Get is not to be had: entries come in lists. Errors: ErrForbidden.
func (s auditSeen) Get(AuditEntryID) (AuditEntry, error) { return AuditEntry{}, ErrForbidden }

// List returns a page in the order of q. Errors: ErrForbidden.
func (s auditSeen) List(q Query) ([]AuditEntry, error) {
	if err := s.may(ReadAudit); err != nil {
		return nil, err
	}
	return s.Audit.List(q)
}

// note writes the audit entry of one change: before or after is nil where there
// is no such record. A change that changes nothing leaves none, and neither do
// the records of an import, which has one entry for all. Errors: ErrBooksClosed.
func (w *work) note(action AuditAction, before, after any) error {
	if err := w.closedTo(before, after); err != nil {
		return err
	}
	if w.quiet {
		return nil
	}
	v := after
	if v == nil {
		v = before
	}
	e := AuditEntry{Action: action, Noun: nounOf(v), Record: idOf(v)}
	was, is := w.testimony(e.Noun, before), w.testimony(e.Noun, after)
	if e.Changed = differing(was, is); len(e.Changed) == 0 {
		return nil
	}
	var err error
	if e.Before, err = was.text(); err != nil {
		return err
	}
	if e.After, err = is.text(); err != nil {
		return err
	}
	w.tell(e, before, after, is)
	return w.sign(e)
}

// noteImport writes the one entry of an import, with how many records it made.
func (w *work) noteImport(r ImportReport) error {
	counts := map[string]int{}
	var made []string
	for _, c := range r.Counts {
		if c.Records > 0 {
			counts[c.Table] = c.Records
			made = append(made, c.Table)
		}
	}
	text, err := json.Marshal(counts)
	if err != nil {
		return err
	}
	return w.sign(AuditEntry{Action: Imported, Noun: "book", Changed: made, After: string(text)})
}

// sign says who and when, and writes the entry.
func (w *work) sign(e AuditEntry) (err error) {
	if e.Seq, err = w.Movements.NextSeq(); err != nil {
		return err
	}
	e.ID, e.At, e.Member, e.OnBehalf = AuditEntryID(w.desk.NewID()), w.now, w.who.ID, w.by
	if w.who.key != nil {
		e.Key = w.who.key.ID
	}
	return w.Audit.Insert(e)
}
