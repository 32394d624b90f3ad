package service

// The identifiers. Each is a UUID in lower-case text form; a client may make
// its own (version 7 is best). None is a secret.
type (
	AccountID        string
	SessionID        string
	ClubID           string
	MemberID         string
	InvitationID     string
	APIKeyID         string
	SiteID           string
	BinID            string
	SpeciesID        string // slug of the reference table, as "eisenia-fetida"
	MaterialID       string
	MeasureID        string
	ReceiptID        string
	TurnoutID        string
	CultureID        string
	OriginID         string
	FeedingID        string
	CheckID          string
	CensusID         string
	HarvestID        string
	BatchID          string
	BatchStepID      string
	ReworkID         string
	MovementID       string
	QuarantineID     string
	IdentificationID string
	BinContactID     string
	ClearingID       string
	LateEntryID      string
	LotID            string
	TransferID       string
	LegID            string // of a transfer's leg; its account in transit
	OfferID          string
	CalendarID       string
	WebhookID        string
	DeliveryID       string // of a message to a webhook
	AuditEntryID     string
)

// validID reports whether id has the text form of a UUID, which every stored
// record's id has.
func validID(id string) bool {
	if len(id) != 36 {
		return false
	}
	for i := range len(id) {
		c := id[i]
		switch {
		case i == 8 || i == 13 || i == 18 || i == 23:
			if c != '-' {
				return false
			}
		case (c < '0' || c > '9') && (c < 'a' || c > 'f'):
			return false
		}
	}
	return true
}
