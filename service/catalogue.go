package service

// The catalogue: every error that a caller can meet, with the sentence it
// meets. Where a detail is blank the use-case fills it.
var (
	ErrInternal       = &Error{Kind: Internal, Code: "internal", Detail: "a fault of the service; it is logged under the request id"}
	ErrInvalid        = &Error{Kind: Invalid, Code: "invalid", Detail: "the request was read but can't be recorded; see errors"}
	ErrBusy           = &Error{Kind: Unavailable, Code: "busy", Detail: "too many writes at once; try again"}
	ErrNotReady       = &Error{Kind: Unavailable, Code: "not-ready", Detail: "the database doesn't answer or has another schema"}
	ErrForbidden      = &Error{Kind: Forbidden, Code: "forbidden", Detail: "your role in this club doesn't allow that"}
	ErrStale          = &Error{Kind: Stale, Code: "stale", Detail: "the record has changed since you read it"}
	ErrUnguarded      = &Error{Kind: Precondition, Code: "precondition-required", Detail: "send If-Match with the ETag of what you read"}
	ErrInUse          = &Error{Kind: Conflict, Code: "in-use", Detail: "other records name it, so it stays; a bin can be retired"}
	ErrVoided         = &Error{Kind: Conflict, Code: "voided", Detail: "the record was voided; it stays as it is"}
	ErrBinStocked     = &Error{Kind: Conflict, Code: "bin-stocked", Detail: "the book has worms in that bin; move them, or record a loss or a census first"}
	ErrBooksClosed    = &Error{Kind: Conflict, Code: "books-closed", Detail: "the books of that day are closed"}
	ErrInQuarantine   = &Error{Kind: Conflict, Code: "in-quarantine", Detail: "the bin is in quarantine"}
	ErrQuarantined    = &Error{Kind: Conflict, Code: "quarantine-overlaps", Detail: "the bin has another quarantine in that time; release or change that one"}
	ErrQuarantineOpen = &Error{Kind: Conflict, Code: "quarantine-open", Detail: "the bin is in quarantine; release it first, or dispose of the bin"}
	ErrReleased       = &Error{Kind: Conflict, Code: "quarantine-released", Detail: "that quarantine has been released"}
	ErrUndoNothing    = &Error{Kind: Conflict, Code: "nothing-to-undo", Detail: "you recorded nothing in the last hour that stands"}
	ErrIDTaken        = &Error{Kind: Conflict, Code: "id-taken", Detail: "another record has that id"}
	ErrKeyReused      = &Error{Kind: Invalid, Code: "idempotency-key-reused", Detail: "that Idempotency-Key came before with another request"}
	ErrKeyBusy        = &Error{Kind: Conflict, Code: "idempotency-key-busy", Detail: "the first call with that Idempotency-Key is still running"}
	ErrMalformed      = &Error{Kind: Malformed, Code: "malformed", Detail: "the request can't be read"}
	ErrCursor         = &Error{Kind: Malformed, Code: "cursor", Detail: "that cursor isn't one of this list; start without one"}
	ErrTooLarge       = &Error{Kind: TooLarge, Code: "too-large", Detail: "the request is larger than the service takes"}
	ErrUnsupported    = &Error{Kind: Unsupported, Code: "unsupported-media-type", Detail: "send application/json"}
	ErrLimited        = &Error{Kind: Limited, Code: "limited", Detail: "too many calls; try again later"}
	ErrNoRoute        = &Error{Kind: NotFound, Code: "not-found", Detail: "there is nothing at this address"}
	ErrNoMethod       = &Error{Kind: NotAllowed, Code: "method-not-allowed", Detail: "this address doesn't take that method"}

	ErrSignIn             = &Error{Kind: Unauthenticated, Code: "sign-in", Detail: "sign in: send Authorization: Bearer with an access token"}
	ErrTokenExpired       = &Error{Kind: Unauthenticated, Code: "token-expired", Detail: "the access token has expired; sign in again"}
	ErrSessionEnded       = &Error{Kind: Unauthenticated, Code: "session-ended", Detail: "the session has ended; sign in again"}
	ErrCredentials        = &Error{Kind: Unauthenticated, Code: "credentials", Detail: "no account has that e-mail address and passphrase"}
	ErrCodeNotFound       = &Error{Kind: NotFound, Code: "code-not-found", Detail: "no such code, or it was used or has expired"}
	ErrRecoveryByOperator = &Error{Kind: Forbidden, Code: "recovery-by-operator", Detail: "this service sends no mail; ask its operator for a recovery code"}
	ErrEmailTaken         = &Error{Kind: Conflict, Code: "email-taken", Detail: "an account has that e-mail address"}
	ErrAccountNotFound    = &Error{Kind: NotFound, Code: "account-not-found", Detail: "no such account"}
	ErrFoundingClosed     = &Error{Kind: Forbidden, Code: "founding-closed", Detail: "this service takes no new clubs by the API; ask its operator"}
	ErrFoundingCode       = &Error{Kind: Forbidden, Code: "founding-code", Detail: "founding a club here takes a founding_code; ask the service's operator"}
	ErrClubNotFound       = &Error{Kind: NotFound, Code: "club-not-found", Detail: "no such club, or you are no member of it"}
	ErrNotPublished       = &Error{Kind: NotFound, Code: "not-published", Detail: "no club publishes anything at this address"}
	ErrHandleTaken        = &Error{Kind: Conflict, Code: "handle-taken", Detail: "a club has or had that handle"}
	ErrMemberNotFound     = &Error{Kind: NotFound, Code: "member-not-found", Detail: "no such member in this club"}
	ErrMemberTaken        = &Error{Kind: Conflict, Code: "member-taken", Detail: "that account is a member of this club"}
	ErrMemberNameTaken    = &Error{Kind: Conflict, Code: "member-name-taken", Detail: "a member of this club has that name"}
	ErrInvitationNotFound = &Error{Kind: NotFound, Code: "invitation-not-found", Detail: "no open invitation has that code for this account"}

	ErrInvitationClosed = &Error{Kind: Conflict, Code: "invitation-closed", Detail: "the invitation has been accepted"}
	ErrMemberLeft       = &Error{Kind: Conflict, Code: "member-left", Detail: "that member has left the club"}
	ErrLastSteward      = &Error{Kind: Conflict, Code: "last-steward", Detail: "a club needs a steward with an account; make another member steward first"}
	ErrAPIKeyNotFound   = &Error{Kind: NotFound, Code: "api-key-not-found", Detail: "no such API key in this club"}
	ErrAPIKeyEnded      = &Error{Kind: Unauthenticated, Code: "api-key-ended", Detail: "the API key has expired or was revoked; ask the club for another"}

	ErrSiteNotFound           = &Error{Kind: NotFound, Code: "site-not-found", Detail: "no such site in this club"}
	ErrSiteNameTaken          = &Error{Kind: Conflict, Code: "site-name-taken", Detail: "a site of this club has that name"}
	ErrBinNotFound            = &Error{Kind: NotFound, Code: "bin-not-found", Detail: "no such bin in this club"}
	ErrBinNameTaken           = &Error{Kind: Conflict, Code: "bin-name-taken", Detail: "a bin of this club has that name"}
	ErrBinRetired             = &Error{Kind: Conflict, Code: "bin-retired", Detail: "the bin is retired"}
	ErrSpeciesNotFound        = &Error{Kind: NotFound, Code: "species-not-found", Detail: "the reference table has no such species"}
	ErrMaterialNotFound       = &Error{Kind: NotFound, Code: "material-not-found", Detail: "no such material in this club"}
	ErrMaterialNameTaken      = &Error{Kind: Conflict, Code: "material-name-taken", Detail: "a material of this club has that name"}
	ErrMeasureNotFound        = &Error{Kind: NotFound, Code: "measure-not-found", Detail: "no such measure in this club"}
	ErrMeasureNameTaken       = &Error{Kind: Conflict, Code: "measure-name-taken", Detail: "a measure of this club has that name"}
	ErrTurnoutNotFound        = &Error{Kind: NotFound, Code: "turnout-not-found", Detail: "no such turnout in this club"}
	ErrReceiptNotFound        = &Error{Kind: NotFound, Code: "receipt-not-found", Detail: "no such receipt in this club"}
	ErrCultureNotFound        = &Error{Kind: NotFound, Code: "culture-not-found", Detail: "no such culture in this club"}
	ErrCultureNameTaken       = &Error{Kind: Conflict, Code: "culture-name-taken", Detail: "a culture of this club has that name"}
	ErrCultureMerged          = &Error{Kind: Conflict, Code: "culture-merged", Detail: "the culture was merged into another; its merged_into says into which"}
	ErrCultureNotMerged       = &Error{Kind: Conflict, Code: "culture-not-merged", Detail: "the culture was not merged into another"}
	ErrOriginNotFound         = &Error{Kind: NotFound, Code: "origin-not-found", Detail: "no such origin in this club"}
	ErrOriginNameTaken        = &Error{Kind: Conflict, Code: "origin-name-taken", Detail: "an origin of this club has that name"}
	ErrBatchNotFound          = &Error{Kind: NotFound, Code: "batch-not-found", Detail: "no such batch in this club"}
	ErrLotNumberTaken         = &Error{Kind: Conflict, Code: "lot-number-taken", Detail: "a batch of this club has or had that lot number"}
	ErrBatchStepNotFound      = &Error{Kind: NotFound, Code: "batch-step-not-found", Detail: "no such batch step in this club"}
	ErrReworkNotFound         = &Error{Kind: NotFound, Code: "rework-not-found", Detail: "no such rework in this club"}
	ErrFeedingNotFound        = &Error{Kind: NotFound, Code: "feeding-not-found", Detail: "no such feeding in this club"}
	ErrCheckNotFound          = &Error{Kind: NotFound, Code: "check-not-found", Detail: "no such check in this club"}
	ErrCensusNotFound         = &Error{Kind: NotFound, Code: "census-not-found", Detail: "no such census in this club"}
	ErrHarvestNotFound        = &Error{Kind: NotFound, Code: "harvest-not-found", Detail: "no such harvest in this club"}
	ErrMovementNotFound       = &Error{Kind: NotFound, Code: "movement-not-found", Detail: "no such movement in this club"}
	ErrTransferNotFound       = &Error{Kind: NotFound, Code: "transfer-not-found", Detail: "no such transfer in this club"}
	ErrOfferNotFound          = &Error{Kind: NotFound, Code: "offer-not-found", Detail: "no such offer in this club"}
	ErrQuarantineNotFound     = &Error{Kind: NotFound, Code: "quarantine-not-found", Detail: "no such quarantine in this club"}
	ErrIdentificationNotFound = &Error{Kind: NotFound, Code: "identification-not-found", Detail: "no such identification in this club"}
	ErrContactNotFound        = &Error{Kind: NotFound, Code: "contact-not-found", Detail: "no such contact in this club"}
	ErrClearingNotFound       = &Error{Kind: NotFound, Code: "clearing-not-found", Detail: "no such clearing in this club"}
	ErrLateEntryNotFound      = &Error{Kind: NotFound, Code: "late-entry-not-found", Detail: "no such late entry in this club"}
	ErrCalendarNotFound       = &Error{Kind: NotFound, Code: "calendar-not-found", Detail: "no such calendar in this club"}
	ErrWebhookNotFound        = &Error{Kind: NotFound, Code: "webhook-not-found", Detail: "no such webhook in this club"}
	ErrWebhookOff             = &Error{Kind: Conflict, Code: "webhook-off", Detail: "the webhook is turned off; enable it first"}
	ErrDeliveryNotFound       = &Error{Kind: NotFound, Code: "delivery-not-found", Detail: "that webhook has no such delivery"}
	ErrLotNotFound            = &Error{Kind: NotFound, Code: "lot-not-found", Detail: "no such lot in this club"}
	ErrLabelNotFound          = &Error{Kind: NotFound, Code: "label-not-found", Detail: "nothing in this club has that code"}

	ErrTimeUnreadable  = &Error{Kind: Invalid, Code: "time-unreadable", Detail: "give an RFC 3339 time as 2026-05-01T09:30:00Z, or a date as 2026-05-01"}
	ErrTimeAhead       = &Error{Kind: Invalid, Code: "time-ahead", Detail: "the time lies in the future"}
	ErrBeforeStart     = &Error{Kind: Invalid, Code: "before-start", Detail: "the time lies before the bin was started"}
	ErrNoKnownStock    = &Error{Kind: Invalid, Code: "no-known-stock", Detail: "the book has no stock there to take a share of; give a mass or a count"}
	ErrSpeciesNeeded   = &Error{Kind: Invalid, Code: "species-needed", Detail: "several species stand in the bin; say which"}
	ErrMoreThanBook    = &Error{Kind: Conflict, Code: "more-than-book", Detail: "that is more than the book holds"}
	ErrOutOfTurn       = &Error{Kind: Conflict, Code: "out-of-turn", Detail: "the transfer doesn't allow that step where it stands"}
	ErrNotAvailable    = &Error{Kind: Conflict, Code: "not-available", Detail: "that is more than is left to promise"}
	ErrShort           = &Error{Kind: Conflict, Code: "short", Detail: "what was promised is no longer there"}
	ErrOfTransfer      = &Error{Kind: Conflict, Code: "of-transfer", Detail: "a transfer posted that; correct it through the transfer"}
	ErrInTransfer      = &Error{Kind: Conflict, Code: "in-transfer", Detail: "an open transfer names the bin; end it first"}
	ErrReversalOf      = &Error{Kind: Conflict, Code: "reversal-of-reversal", Detail: "a reversal can't be reversed; record the movement again"}
	ErrReversedBefore  = &Error{Kind: Conflict, Code: "reversed-before", Detail: "that movement has been reversed"}
	ErrSpeciesMismatch = &Error{Kind: Invalid, Code: "species-mismatch", Detail: "the species differs from that of the origin or culture"}
	ErrPeriod          = &Error{Kind: Invalid, Code: "period", Detail: ""}
	ErrImport          = &Error{Kind: Invalid, Code: "import", Detail: "nothing was imported; every row at fault is listed in errors"}
)

// Catalogue lists every error that a caller can meet.
func Catalogue() []*Error {
	return []*Error{
		ErrInternal, ErrInvalid, ErrBusy, ErrNotReady, ErrForbidden, ErrStale, ErrUnguarded, ErrInUse, ErrVoided, ErrBinStocked, ErrBooksClosed, ErrInQuarantine, ErrQuarantined, ErrQuarantineOpen, ErrReleased, ErrUndoNothing, ErrIDTaken, ErrKeyReused,
		ErrKeyBusy, ErrMalformed, ErrCursor, ErrTooLarge, ErrUnsupported, ErrLimited, ErrNoRoute, ErrNoMethod, ErrSignIn,
		ErrTokenExpired, ErrSessionEnded, ErrCredentials, ErrCodeNotFound, ErrRecoveryByOperator, ErrEmailTaken, ErrAccountNotFound, ErrFoundingClosed, ErrFoundingCode, ErrClubNotFound, ErrNotPublished,
		ErrHandleTaken, ErrMemberNotFound, ErrMemberTaken, ErrMemberNameTaken, ErrInvitationNotFound,
		ErrInvitationClosed, ErrMemberLeft, ErrLastSteward, ErrAPIKeyNotFound, ErrAPIKeyEnded,
		ErrSiteNotFound, ErrSiteNameTaken, ErrBinNotFound, ErrBinNameTaken, ErrBinRetired, ErrSpeciesNotFound,
		ErrMaterialNotFound, ErrMaterialNameTaken, ErrMeasureNotFound, ErrMeasureNameTaken, ErrReceiptNotFound, ErrTurnoutNotFound, ErrCultureNotFound, ErrCultureNameTaken, ErrCultureMerged, ErrCultureNotMerged, ErrOriginNotFound,
		ErrOriginNameTaken, ErrBatchNotFound, ErrLotNumberTaken, ErrBatchStepNotFound, ErrReworkNotFound, ErrFeedingNotFound, ErrCheckNotFound,
		ErrCensusNotFound, ErrHarvestNotFound, ErrMovementNotFound, ErrQuarantineNotFound, ErrIdentificationNotFound, ErrContactNotFound, ErrClearingNotFound, ErrLateEntryNotFound, ErrLotNotFound, ErrLabelNotFound,
		ErrTransferNotFound, ErrOfferNotFound, ErrOutOfTurn, ErrNotAvailable, ErrShort, ErrOfTransfer, ErrInTransfer, ErrTimeUnreadable,
		ErrTimeAhead, ErrBeforeStart, ErrNoKnownStock, ErrSpeciesNeeded, ErrMoreThanBook, ErrReversalOf,
		ErrReversedBefore, ErrSpeciesMismatch, ErrPeriod, ErrImport, ErrCalendarNotFound, ErrWebhookNotFound, ErrWebhookOff, ErrDeliveryNotFound,
	}
}
