package api

import (
	"net/http"
	"time"

	"lumbricary.example/service"
)

// PersonalData is what concerns a member in a club.
type PersonalData struct {
	Member       Member           `json:"member" validate:"required"`
	Invitations  []Invitation     `json:"invitations" validate:"required"` // for the member, without their codes
	APIKeys      []APIKey         `json:"api_keys" validate:"required"`    // that act as the member, without their secrets
	Calendars    []Calendar       `json:"calendars" validate:"required"`   // links to the member's due list, without their secrets
	Sites        []Site           `json:"sites" validate:"required"`       // that the member owns
	Bins         []Bin            `json:"bins" validate:"required"`        // that the member keeps or stands in for
	Records      []PersonalRecord `json:"records" validate:"required"`     // that the member wrote, voided ones as well
	Movements    []Movement       `json:"movements" validate:"required"`   // that the member is a party to, with prices
	Transfers    []Transfer       `json:"transfers" validate:"required"`   // in which the member is a side
	Offers       []Offer          `json:"offers" validate:"required"`      // of the member
	AuditEntries []AuditEntry     `json:"audit_entries" validate:"required"`
}

// PersonalRecord is a record that a member wrote.
type PersonalRecord struct {
	Noun      string   `json:"noun" example:"feeding" enums:"movement,harvest,census,rework,receipt,turnout,batch-step,feeding,check" validate:"required"`
	ID        string   `json:"id" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
	Kind      *string  `json:"kind" example:"split" extensions:"x-nullable" validate:"required"` // of a movement, a rework, a batch step or an identification; what a contact shared
	At        string   `json:"at" example:"2026-05-01T07:30:00Z" validate:"required"`            // RFC 3339 time, or a date in the club's time zone
	Precision string   `json:"precision" example:"instant" enums:"instant,day" validate:"required"`
	Note      *string  `json:"note" example:"from the warm corner" extensions:"x-nullable" validate:"required"`
	Recorded  Recorded `json:"recorded" validate:"required"`
}

func personalDataOf(d service.PersonalData, zone *time.Location) PersonalData {
	return PersonalData{
		Member:       memberOf(d.Member),
		Invitations:  rowsOf(d.Invitations, func(i service.Invitation) Invitation { return invitationOf(i, "") }),
		APIKeys:      rowsOf(d.Keys, func(k service.APIKey) APIKey { return apiKeyOf(k, "") }),
		Calendars:    rowsOf(d.Calendars, func(c service.Calendar) Calendar { return calendarOf(c, "") }),
		Sites:        rowsOf(d.Sites, siteOf),
		Bins:         rowsOf(d.Bins, func(b service.Bin) Bin { return binOf(b, zone) }),
		Records:      rowsOf(d.Records, func(r service.PersonalRecord) PersonalRecord { return personalRecordOf(r, zone) }),
		Movements:    rowsOf(d.Movements, func(m service.Movement) Movement { return movementOf(m, zone) }),
		Transfers:    rowsOf(d.Transfers, func(t service.TransferSeen) Transfer { return transferOf(t, zone) }),
		Offers:       rowsOf(d.Offers, offerOf),
		AuditEntries: rowsOf(d.Audit, auditEntryOf),
	}
}

func personalRecordOf(r service.PersonalRecord, zone *time.Location) PersonalRecord {
	return PersonalRecord{r.Noun, r.ID, orNull(r.Kind), r.At.In(zone), string(r.At.Precision), orNull(r.Note), recordedOf(r.Recorded)}
}

// getPersonalData shows what concerns a member.
//
//	@Summary		Export what concerns a member
//	@Description	One document, for the member and for stewards: the member, the invitations, API keys and calendars, sites with their addresses, bins, what the member recorded, movements the member is a party to with their prices, transfers and offers, and audit entries of what the member did.
//	@ID				getPersonalData
//	@Tags			members
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member			path		string	true	"id of the member"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	PersonalData
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/members/{member}/personal-data [get]
func (s *Server) getPersonalData(r *request) (answer, error) {
	d, err := s.PersonalData(r.ctx, r.actor(), service.MemberID(r.param("member")))
	if err != nil {
		return answer{}, err
	}
	a := answer{status: http.StatusOK, body: personalDataOf(d, r.zone())}
	return a, r.err
}

// MyPersonalData is what the service holds of an account outside of its clubs.
type MyPersonalData struct {
	Account     Account      `json:"account" validate:"required"`
	Sessions    []Session    `json:"sessions" validate:"required"`    // that last, the one used last first
	Memberships []Membership `json:"memberships" validate:"required"` // by the clubs' handles
}

// getMyPersonalData shows what concerns the account that calls.
//
//	@Summary		Export what concerns my account
//	@Description	The account, its sessions and memberships. What a club holds of a member is at the club: /v1/clubs/{club}/members/{member}/personal-data.
//	@ID				getMyPersonalData
//	@Tags			accounts
//	@Produce		json
//	@Security		bearer
//	@Success		200			{object}	MyPersonalData
//	@Failure		401,500,503	{object}	Problem
//	@Router			/v1/me/personal-data [get]
func (s *Server) getMyPersonalData(r *request) (answer, error) {
	a, in, err := s.Accounts.Me(r.ctx, r.account)
	if err != nil {
		return answer{}, err
	}
	mine, err := s.Sessions.Mine(r.ctx, r.account)
	return answer{status: http.StatusOK, body: MyPersonalData{
		Account:     accountOf(a),
		Sessions:    rowsOf(mine, func(v service.Session) Session { return sessionOf(v, r.bearer()) }),
		Memberships: rowsOf(in, func(m service.Membership) Membership { return Membership{clubOf(m.Club), memberOf(m.Member)} }),
	}}, err
}
