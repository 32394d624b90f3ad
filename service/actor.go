package service

import "slices"

// Actor is who calls, and in which club: the account that the access token
// names, or the hash of the API key that was shown, and the club's handle or id
// from the path. What it may do is read from the club's books at each call,
// never from the token.
type Actor struct {
	Account AccountID
	Club    string
	KeyHash string // of an API key; empty: the account signed in
	Link    string // hash of a calendar's link, which reads one due list and nothing else
	Late    string // why the call writes into closed books; empty: it doesn't
}

// Role is what a member may do in a club.
type Role string

// The roles, from most to least.
const (
	Steward Role = "steward"
	Keeper  Role = "keeper"
	Reader  Role = "reader"
)

// Scope is what an API key may be used for.
type Scope string

// The scopes. What needs none of them no key may do.
const (
	ScopeFigures  Scope = "figures"  // the club's figures, and nothing personal
	ScopeRead     Scope = "read"     // the club's book, but for addresses and prices; figures with it
	ScopeRecord   Scope = "record"   // what was done and seen
	ScopeTransfer Scope = "transfer" // what passes from one keeper to another, and its price
)

// Action is something that needs a right.
type Action string

// The actions. Each use-case asks for one.
const (
	ReadBook       Action = "read-book"
	ReadFigures    Action = "read-figures"
	RecordOnBin    Action = "record-on-bin"
	AddBin         Action = "add-bin"
	AddSite        Action = "add-site"
	SeeAddress     Action = "see-address"
	SeePrice       Action = "see-price"
	ReadStatement  Action = "read-statement"
	AddMaterial    Action = "add-material"
	RecordReceipt  Action = "record-receipt"
	RecordTurnout  Action = "record-turnout"
	AddOrigin      Action = "add-origin"
	AddCulture     Action = "add-culture"
	AddMember      Action = "add-member"
	ChangeRole     Action = "change-role"
	RemoveMember   Action = "remove-member"
	SetPublicName  Action = "set-public-name"
	SeeInvitations Action = "see-invitations"
	ChangeClub     Action = "change-club"
	Publish        Action = "publish"
	CloseBooks     Action = "close-books"
	WriteClosed    Action = "write-closed"
	MakeKey        Action = "make-key"
	MakeClubKey    Action = "make-club-key"
	SeeKey         Action = "see-key"
	RevokeKey      Action = "revoke-key"
	UseCastings    Action = "use-castings"
	HandOver       Action = "hand-over"
	Exchange       Action = "exchange"
	Offering       Action = "offer"
	ReverseEntry   Action = "reverse-entry"
	ImportRecords  Action = "import-records"
	ExportRecords  Action = "export-records"
	ReadAudit      Action = "read-audit"
	ExportPersonal Action = "export-personal"
	EraseMember    Action = "erase-member"
	ReviewErasures Action = "review-erasures"
	ReviewDue      Action = "review-due"
	LinkCalendar   Action = "link-calendar"
	EndCalendar    Action = "end-calendar"
	KeepWebhooks   Action = "keep-webhooks"
)

// reach says on whose things a role may act.
type reach uint8

const (
	none reach = iota
	own        // things the member answers for
	all
)

// noKey stands where an API key would need a scope: no key may.
const noKey Scope = ""

// right is a row of the table: the scope that an API key needs, and how far
// each role reaches.
type right struct {
	scope                   Scope
	steward, keeper, reader reach
}

// rights is the whole table of who may do what. An action that is missing has
// no right. A call by an API key needs both the scope and the reach of the role
// as which the key acts.
var rights = map[Action]right{
	ReadBook:       {ScopeRead, all, all, all},
	ReadFigures:    {ScopeFigures, all, all, all},
	RecordOnBin:    {ScopeRecord, all, own, none},
	AddBin:         {ScopeRecord, all, own, none},
	AddSite:        {ScopeRecord, all, own, none},
	SeeAddress:     {noKey, all, own, own},
	ReadStatement:  {noKey, all, own, own},
	SeePrice:       {ScopeTransfer, all, own, own},
	AddMaterial:    {ScopeRecord, all, all, none},
	RecordReceipt:  {ScopeRecord, all, own, none},
	RecordTurnout:  {ScopeRecord, all, own, none},
	AddOrigin:      {ScopeRecord, all, all, none},
	AddCulture:     {ScopeRecord, all, none, none},
	AddMember:      {noKey, all, none, none},
	ChangeRole:     {noKey, all, none, none},
	RemoveMember:   {noKey, all, own, own},
	SetPublicName:  {noKey, own, own, own},
	SeeInvitations: {noKey, all, none, none},
	ChangeClub:     {noKey, all, none, none},
	Publish:        {noKey, all, none, none},
	CloseBooks:     {noKey, all, none, none},
	WriteClosed:    {noKey, all, none, none},
	MakeKey:        {noKey, own, own, own},
	MakeClubKey:    {noKey, all, none, none},
	SeeKey:         {noKey, all, own, own},
	RevokeKey:      {noKey, all, own, own},
	UseCastings:    {ScopeRecord, all, all, none},
	HandOver:       {ScopeTransfer, all, own, none},
	Exchange:       {ScopeTransfer, all, own, none},
	Offering:       {ScopeTransfer, all, own, none},
	ReverseEntry:   {ScopeRecord, all, own, none},
	ImportRecords:  {noKey, all, none, none},
	ExportRecords:  {noKey, all, none, none},
	ReadAudit:      {noKey, all, none, none},
	ExportPersonal: {noKey, all, own, own},
	EraseMember:    {noKey, all, own, own},
	ReviewErasures: {noKey, all, none, none},
	ReviewDue:      {ScopeRead, all, none, none},
	LinkCalendar:   {noKey, own, own, own},
	EndCalendar:    {noKey, all, own, own},
	KeepWebhooks:   {noKey, all, none, none},
}

// reach returns how far a role reaches; one that isn't a role reaches nothing.
func (r right) reach(role Role) reach {
	switch role {
	case Steward:
		return r.steward
	case Keeper:
		return r.keeper
	case Reader:
		return r.reader
	}
	return none
}

// wider says which scope holds a narrower one: who may read the book may read
// its figures.
var wider = map[Scope]Scope{ScopeFigures: ScopeRead}

// ScopeOf returns the scope that an API key needs for the action, itself or in
// a wider one; it is empty for what no key may do.
func ScopeOf(action Action) Scope { return rights[action].scope }

// May reports whether m may do action on a thing that owners answer for.
func (m Member) May(action Action, owners ...MemberID) bool {
	switch rights[action].reach(m.Role) {
	case all:
		return true
	case own:
		return slices.Contains(owners, m.ID)
	case none:
	}
	return false
}

// caller is the member on whose behalf a transaction runs, and the API key by
// which the call came.
type caller struct {
	Member
	key *APIKey // nil: the member signed in
}

// May reports whether the member may do action on a thing that owners answer
// for, and by this key.
func (c caller) May(action Action, owners ...MemberID) bool {
	return (c.key == nil || c.key.Grants(action)) && c.Member.May(action, owners...)
}

// principal names who calls among all who may: an account, or an API key.
func (c caller) principal(a Actor) AccountID {
	if c.key == nil {
		return a.Account
	}
	return AccountID("api-key " + c.key.ID)
}
