package service

import "time"

// Member is a person in a club. One without an account is kept on paper: others
// record on their behalf.
type Member struct {
	ID        MemberID
	Account   AccountID // empty: has not joined with an account
	Name      string
	Role      Role
	CreatedAt time.Time
	Version   int64
}

// addMember adds a member on paper. Errors: ErrForbidden, ErrInvalid,
// ErrMemberNameTaken.
func (w *work) addMember(m Member) (Member, error) {
	if err := w.may(AddMember); err != nil {
		return Member{}, err
	}
	var faults Faults
	m.ID = MemberID(w.id(string(m.ID), &faults))
	checkName(&faults, "/name", m.Name)
	checkWord(&faults, "/role", m.Role, Steward, Keeper, Reader)
	if err := faults.Err(); err != nil {
		return Member{}, err
	}
	m.Account, m.CreatedAt, m.Version = "", w.now, 1
	return m, w.Members.Insert(m)
}

// checkMember notes a fault unless the club has that member.
func (w *work) checkMember(faults *Faults, pointer string, id MemberID) {
	_, err := w.Members.Get(id)
	checkRef(faults, pointer, err)
}
