package service

import "time"

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
	checkName(&faults, "/name", s.Name)
	checkNote(&faults, "/address", s.Address)
	checkNote(&faults, "/note", s.Note)
	w.checkMember(&faults, "/owner", s.Owner)
	if err := faults.Err(); err != nil {
		return Site{}, err
	}
	s.CreatedAt, s.Version = w.now, 1
	return s, w.Sites.Insert(s)
}

// showSite blanks the address unless the member owns the site or is a steward.
func (w *work) showSite(s Site) Site {
	if !w.who.May(SeeAddress, s.Owner) {
		s.Address = ""
	}
	return s
}
