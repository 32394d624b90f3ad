package service

import (
	"context"
	"slices"
	"strconv"
	"sync"
	"time"
)

// APIKeyPrefix starts every API key, so that one that got lost is known for
// what it is.
const APIKeyPrefix = "lbk_"

// How long an API key is good for.
const (
	defaultKeyDays = 90
	maxKeyDays     = 366
)

// APIKey lets a program call for one member of one club. A member's own key
// acts as the member, whose role then bounds it; a club's key acts as a member
// on paper that bears the key's name, in a role that a steward has fixed. Only
// the hash of the key is kept.
type APIKey struct {
	ID         APIKeyID
	Name       string
	Member     MemberID // as whom it acts
	Role       Role     // of a club's key: reader or keeper; empty: the member's, as it is at each call
	Scopes     []Scope
	Hash       string
	MadeBy     MemberID
	CreatedAt  time.Time
	ExpiresAt  time.Time
	LastUsedAt time.Time // to the minute; zero: never
	RevokedAt  time.Time // zero: not revoked
	Version    int64
}

// Grants reports whether the key has the scope that the action needs, or one
// that is wider.
func (k APIKey) Grants(action Action) bool {
	return k.has(ScopeOf(action))
}

func (k APIKey) has(scope Scope) bool {
	return scope != noKey && (slices.Contains(k.Scopes, scope) || k.has(wider[scope]))
}

// ofClub tells whether the key is the club's, not a member's own.
func (k APIKey) ofClub() bool { return k.Role != "" }

// open tells whether the key is good at that moment.
func (k APIKey) open(now time.Time) bool { return k.RevokedAt.IsZero() && now.Before(k.ExpiresAt) }

// APIKeys are the use-cases on API keys: looking at them comes with the shelf.
type APIKeys struct {
	Shelf[APIKey, APIKeyID]
	gate Gate
}

// NewAPIKey is what making an API key takes.
type NewAPIKey struct {
	Name   string
	OfClub bool
	Role   Role // of a club's key
	Scopes []Scope
	Days   int // that it is good for; 0: 90
}

// Identify returns the hash of an API key that somebody shows, by which an
// Actor names it. Whether there is such a key only the club's books tell.
// Errors: ErrSignIn for what can't be one.
func (s APIKeys) Identify(shown string) (string, error) {
	if hash := s.gate.HashCode(shown[min(len(APIKeyPrefix), len(shown)):]); hash != "" {
		return hash, nil
	}
	return "", ErrSignIn
}

// Make makes an API key, which is shown once. Errors: ErrClubNotFound,
// ErrForbidden, ErrInvalid, ErrMemberNameTaken when a club's key would act as a
// person.
func (s APIKeys) Make(ctx context.Context, a Actor, in NewAPIKey) (APIKey, string, error) {
	code, hash, err := s.gate.NewCode()
	if err != nil {
		return APIKey{}, "", err
	}
	k, err := write(ctx, s.desk, a, func(w *work) (APIKey, error) { return w.addKey(in, hash) })
	return k, APIKeyPrefix + code, err
}

func (w *work) addKey(in NewAPIKey, hash string) (APIKey, error) {
	action := MakeKey
	if in.OfClub {
		action = MakeClubKey
	}
	if err := w.may(action, w.who.ID); err != nil {
		return APIKey{}, err
	}
	if in.Days == 0 {
		in.Days = defaultKeyDays
	}
	if err := in.check(); err != nil {
		return APIKey{}, err
	}
	k := APIKey{
		ID: APIKeyID(w.desk.NewID()), Name: in.Name, Member: w.who.ID, Role: in.Role, Scopes: in.Scopes, Hash: hash,
		MadeBy: w.who.ID, CreatedAt: w.now, ExpiresAt: w.now.AddDate(0, 0, in.Days), Version: 1,
	}
	if in.OfClub {
		m, err := w.standIn(in)
		if err != nil {
			return APIKey{}, err
		}
		k.Member = m.ID
	}
	return k, w.APIKeys.Insert(k)
}

func (in NewAPIKey) check() error {
	var faults Faults
	checkName(&faults, "/name", in.Name)
	if len(in.Scopes) == 0 {
		faults.Add("/scopes", "required", "say what the key is for: figures, read, record, transfer")
	}
	for i, scope := range in.Scopes {
		at := "/scopes/" + strconv.Itoa(i)
		checkWord(&faults, at, scope, ScopeFigures, ScopeRead, ScopeRecord, ScopeTransfer)
		if slices.Contains(in.Scopes[:i], scope) {
			faults.Add(at, "repeated", "give each scope once")
		}
	}
	if in.Days < 1 || in.Days > maxKeyDays {
		faults.Add("/expires_in_days", "range", "use 1 to %d days", maxKeyDays)
	}
	if in.OfClub {
		checkWord(&faults, "/role", in.Role, Keeper, Reader)
	} else {
		checkWord(&faults, "/role", in.Role, "")
	}
	return faults.Err()
}

// standIn returns the member as whom a club's key acts: the one that an earlier
// key of that name acts as, so that a key can be replaced, or a new one on
// paper. Errors: ErrMemberNameTaken by a person.
func (w *work) standIn(in NewAPIKey) (Member, error) {
	m := Member{ID: MemberID(w.desk.NewID()), Name: in.Name, Role: in.Role, CreatedAt: w.now, Version: 1}
	all, err := w.Members.List(Query{})
	if err != nil {
		return Member{}, err
	}
	i := slices.IndexFunc(all, func(m Member) bool { return m.Name == in.Name })
	if i < 0 {
		return m, w.Members.Insert(m)
	}
	m = all[i]
	if stands, err := w.standsInForKey(m.ID); err != nil || !stands {
		return Member{}, ErrMemberNameTaken.Because(err)
	}
	m.Role, m.LeftAt = in.Role, time.Time{}
	return m, w.Members.Update(m)
}

// standsInForKey tells whether the member is one as whom the club's keys act.
func (w *work) standsInForKey(id MemberID) (bool, error) {
	keys, err := w.APIKeys.List(Query{Member: id})
	return slices.ContainsFunc(keys, APIKey.ofClub), err
}

// dropKey ends a key at once; it stays on the list. Revoking it again changes
// nothing. Errors: ErrForbidden, ErrStale.
func (w *work) dropKey(k APIKey) (APIKey, error) {
	if err := w.may(RevokeKey, k.Member); err != nil {
		return APIKey{}, err
	}
	return w.revoke(k)
}

// revoke ends a key. Errors: ErrStale.
func (w *work) revoke(k APIKey) (APIKey, error) {
	if !k.RevokedAt.IsZero() {
		return k, nil
	}
	k.RevokedAt = w.now
	if err := w.APIKeys.Update(k); err != nil {
		return APIKey{}, err
	}
	k.Version++
	return k, nil
}

// keysSeen are the keys that the member may see: stewards all, others their
// own.
type keysSeen struct{ *work }

// Get returns one. Errors: ErrForbidden by a key, ErrAPIKeyNotFound.
func (s keysSeen) Get(id APIKeyID) (APIKey, error) {
	if err := s.may(SeeKey, s.who.ID); err != nil {
		return APIKey{}, err
	}
	k, err := s.APIKeys.Get(id)
	if err == nil && !s.who.May(SeeKey, k.Member) {
		return APIKey{}, ErrAPIKeyNotFound
	}
	return k, err
}

// List returns a page in the order of q. Errors: ErrForbidden by a key.
func (s keysSeen) List(q Query) ([]APIKey, error) {
	if err := s.may(SeeKey, s.who.ID); err != nil {
		return nil, err
	}
	if !s.who.May(SeeKey) {
		q.Member = s.who.ID
	}
	return s.APIKeys.List(q)
}

// showKey adds a use that isn't written yet.
func (w *work) showKey(k APIKey) APIKey {
	if used := w.desk.uses.last(w.Club.ID, k.ID); used.After(k.LastUsedAt) {
		k.LastUsedAt = used
	}
	return k
}

// keyUse is a key that was used.
type keyUse struct {
	club ClubID
	key  APIKeyID
}

// keyUses keeps in memory when keys were last used, so that no call waits for a
// write of that. The zero value is ready.
type keyUses struct {
	mu      sync.Mutex
	pending map[keyUse]time.Time
}

// note keeps a use, to the minute.
func (u *keyUses) note(club ClubID, k APIKey, now time.Time) {
	now = now.Truncate(time.Minute)
	if !now.After(k.LastUsedAt) {
		return
	}
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.pending == nil {
		u.pending = map[keyUse]time.Time{}
	}
	if use := (keyUse{club, k.ID}); now.After(u.pending[use]) {
		u.pending[use] = now
	}
}

// last returns the last use that isn't written, or the zero time.
func (u *keyUses) last(club ClubID, key APIKeyID) time.Time {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.pending[keyUse{club, key}]
}

// take returns the uses that aren't written, by club, and forgets them.
func (u *keyUses) take() map[ClubID]map[APIKeyID]time.Time {
	u.mu.Lock()
	defer u.mu.Unlock()
	out := map[ClubID]map[APIKeyID]time.Time{}
	for use, at := range u.pending {
		if out[use.club] == nil {
			out[use.club] = map[APIKeyID]time.Time{}
		}
		out[use.club][use.key] = at
	}
	u.pending = nil
	return out
}

// WriteUses writes when keys were last used. The program calls it once a
// minute; what a stop or an error loses is a minute of that, nothing else.
// Errors: the store's, of the first club that fails.
func (s APIKeys) WriteUses(ctx context.Context) error {
	for club, used := range s.desk.uses.take() {
		err := s.desk.Store.Update(ctx, club, func(tx Tx) error { return tx.APIKeys.Used(used) })
		if err != nil {
			return err
		}
	}
	return nil
}
