package service

// Actor is who calls, and in which club: the account that the access token
// names and the club's handle or id from the path. What it may do is read from
// the club's books at each call, never from the token.
type Actor struct {
	Account AccountID
	Club    string
}

// Role is what a member may do in a club.
type Role string

// The roles, from most to least.
const (
	Steward Role = "steward"
	Keeper  Role = "keeper"
	Reader  Role = "reader"
)

// Action is something that needs a right.
type Action string

// The actions. Each use-case asks for one.
const (
	ReadBook      Action = "read-book"
	RecordOnBin   Action = "record-on-bin"
	AddBin        Action = "add-bin"
	AddSite       Action = "add-site"
	SeeAddress    Action = "see-address"
	SeePrice      Action = "see-price"
	AddMaterial   Action = "add-material"
	AddOrigin     Action = "add-origin"
	AddCulture    Action = "add-culture"
	AddMember     Action = "add-member"
	UseCastings   Action = "use-castings"
	ReverseEntry  Action = "reverse-entry"
	ImportRecords Action = "import-records"
	ExportRecords Action = "export-records"
)

// reach says on whose things a role may act.
type reach uint8

const (
	none reach = iota
	own        // things the member answers for
	all
)

// rights is the whole table of who may do what. An action that is missing, or
// a role that is missing from its row, has no right.
var rights = map[Action]map[Role]reach{
	ReadBook:      {Steward: all, Keeper: all, Reader: all},
	RecordOnBin:   {Steward: all, Keeper: own},
	AddBin:        {Steward: all, Keeper: own},
	AddSite:       {Steward: all, Keeper: own},
	SeeAddress:    {Steward: all, Keeper: own, Reader: own},
	SeePrice:      {Steward: all, Keeper: own, Reader: own},
	AddMaterial:   {Steward: all, Keeper: all},
	AddOrigin:     {Steward: all, Keeper: all},
	AddCulture:    {Steward: all},
	AddMember:     {Steward: all},
	UseCastings:   {Steward: all, Keeper: all},
	ReverseEntry:  {Steward: all, Keeper: own},
	ImportRecords: {Steward: all},
	ExportRecords: {Steward: all},
}

// May reports whether m may do action on a thing that owners answer for.
func (m Member) May(action Action, owners ...MemberID) bool {
	switch rights[action][m.Role] {
	case all:
		return true
	case own:
		for _, o := range owners {
			if o == m.ID {
				return true
			}
		}
	case none:
	}
	return false
}
