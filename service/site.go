package service

import (
	"errors"
	"time"
)

// Site is a place where bins are kept. Bins of one site share its risks.
type Site struct {
	ID        SiteID
	Name      string
	Address   string // shown to its owner and to stewards only
	Owner     MemberID
	Note      string
	CreatedAt time.Time
	Version   int64
}

// addSite adds a site; without an owner the member owns it. Errors:
// ErrForbidden, ErrInvalid, ErrMemberNotFound, ErrSiteNameTaken.
func (w *work) addSite(s Site) (Site, error) {
	if s.Owner == "" {
		s.Owner = w.who.ID
	}
	if err := w.may(AddSite, s.Owner); err != nil {
		return Site{}, err
	}
	var faults Faults
	s.ID = SiteID(w.id(string(s.ID), &faults))
	w.checkSite(&faults, s)
	if err := faults.Err(); err != nil {
		return Site{}, err
	}
	s.CreatedAt, s.Version = w.now, 1
	return s, w.Sites.Insert(s)
}

func (w *work) checkSite(faults *Faults, s Site) {
	checkName(faults, "/name", s.Name)
	checkNote(faults, "/address", s.Address)
	checkNote(faults, "/note", s.Note)
	w.checkMember(faults, "/owner", s.Owner)
}

// changeSite changes a site; only stewards give it to another owner. Errors:
// ErrForbidden, ErrInvalid, ErrSiteNameTaken, ErrStale.
func (w *work) changeSite(old, s Site) (Site, error) {
	if err := errors.Join(w.may(AddSite, old.Owner), w.may(AddSite, s.Owner)); err != nil {
		return Site{}, err
	}
	var faults Faults
	if !w.who.May(SeeAddress, old.Owner) { // as an API key
		if s.Address != "" {
			faults.Add("/address", "fixed", "only who sees the address changes it")
		}
		s.Address = old.Address
	}
	if w.checkSite(&faults, s); len(faults) > 0 {
		return Site{}, faults.Err()
	}
	s.CreatedAt, s.Version = old.CreatedAt, old.Version
	return put(w.Sites, old, s)
}

// dropSite removes a site without bins. Errors: ErrForbidden, ErrInUse,
// ErrStale.
func (w *work) dropSite(s Site) (Site, error) {
	if err := w.may(AddSite, s.Owner); err != nil {
		return Site{}, err
	}
	return s, w.Sites.Delete(s)
}

// showSite blanks the address unless the member owns the site or is a steward.
func (w *work) showSite(s Site) Site {
	if !w.who.May(SeeAddress, s.Owner) {
		s.Address = ""
	}
	return s
}
