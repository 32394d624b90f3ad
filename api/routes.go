package api

import (
	"net/http"
	"slices"
	"strings"
)

// flags say what is special about a route.
type flags uint16

const (
	public    flags = 1 << iota // needs no access token
	secret                      // its answer holds a secret: not cached, and kept without it
	big                         // its body may have 16 MiB
	csv                         // its body is tables: CSV, a form or archive of CSV files, or JSON
	bare                        // a POST without a body
	signedIn                    // no API key may call it: the table of rights in service says so
	published                   // an API key for the figures alone may call it
	figured                     // it answers figures, in the units that ?units asks for
	unkeyed                     // takes no Idempotency-Key: its caller is no member yet
	linked                      // its path holds a secret, which is all that it needs
	kept                        // caches may keep its answers for a while and give them to everybody
	entrance                    // a page that a club lists may call it from its origin
	explained                   // its answer says how it came about, where ?explain asks for it
	exchanged                   // of what passes from one keeper to another: an API key needs the scope transfer
)

const (
	get   = http.MethodGet
	post  = http.MethodPost
	patch = http.MethodPatch
	del   = http.MethodDelete
)

// route is one line of the route table.
type route struct {
	method string
	path   string
	handle func(*request) (answer, error)
	flags  flags
}

// routes is the only route table: how a club is set up, its book, and what
// changes hands.
func (s *Server) routes() []route {
	return slices.Concat(s.settingRoutes(), s.bookRoutes(), s.exchangeRoutes())
}

func (s *Server) settingRoutes() []route {
	return []route{
		{get, "/livez", s.live, public},
		{get, "/readyz", s.ready, public},
		{get, "/problems/{code}", s.getProblem, public},
		{get, "/.well-known/jwks.json", s.getKeys, public},

		{post, "/v1/accounts", s.signUp, public},
		{post, "/v1/sessions", s.signIn, public | secret | entrance},
		{get, "/v1/sessions", s.listSessions, 0},
		{post, "/v1/sessions/refresh", s.refreshSession, public | secret | entrance},
		{post, "/v1/sessions/end", s.endSession, public | entrance},
		{post, "/v1/sessions/end-all", s.endSessions, bare},
		{post, "/v1/recoveries", s.recoverAccount, public},
		{post, "/v1/recoveries/requests", s.requestRecovery, public},
		{post, "/v1/me/passphrase", s.changePassphrase, 0},
		{get, "/v1/me", s.getMe, 0},
		{get, "/v1/me/personal-data", s.getMyPersonalData, 0},
		{post, "/v1/me/erasure", s.eraseAccount, 0},
		{get, "/v1/species", s.listSpecies, public},
		{get, "/v1/species/{species}", s.getSpecies, public},
		{get, "/v1/feedstocks", s.listFeedstocks, public},

		{get, "/v1/public/clubs/{club}", s.getPublication, public | kept},
		{get, "/v1/public/clubs/{club}/season", s.getPublishedSeason, public | kept | figured},
		{get, "/v1/public/clubs/{club}/offers", s.listPublishedOffers, public | kept},
		{get, "/v1/public/clubs/{club}/feed.json", s.getPublishedFeed, public | kept},
		{get, "/v1/public/clubs/{club}/cultures/{culture}/lineage", s.getCultureLineage, public | kept},
		{get, "/v1/public/clubs/{club}/lots/{lot}/lineage", s.getStarterLineage, public | kept},

		{post, "/v1/clubs", s.foundClub, 0},
		{get, "/v1/clubs/{club}", s.getClub, 0},
		{patch, "/v1/clubs/{club}", s.changeClub, signedIn},
		{post, "/v1/clubs/{club}/closing", s.closeBooks, signedIn},
		{get, "/v1/clubs/{club}/late-entries", s.listLateEntries, 0},

		{post, "/v1/clubs/{club}/members", s.addMember, signedIn},
		{get, "/v1/clubs/{club}/members", s.listMembers, 0},
		{get, "/v1/clubs/{club}/members/{member}", s.getMember, 0},
		{post, "/v1/clubs/{club}/members/{member}/role", s.changeRole, signedIn},
		{post, "/v1/clubs/{club}/members/{member}/public-name", s.setPublicName, signedIn},
		{post, "/v1/clubs/{club}/members/{member}/removal", s.removeMember, signedIn},
		{get, "/v1/clubs/{club}/members/{member}/personal-data", s.getPersonalData, signedIn},
		{post, "/v1/clubs/{club}/members/{member}/erasure", s.eraseMember, signedIn},
		{get, "/v1/clubs/{club}/erasures", s.listErasures, signedIn},
		{post, "/v1/clubs/{club}/erasures", s.reapplyErasures, signedIn},
		{post, "/v1/clubs/{club}/invitations", s.invite, signedIn | secret},
		{get, "/v1/clubs/{club}/invitations", s.listInvitations, signedIn},
		{post, "/v1/clubs/{club}/invitations/{invitation}/revocation", s.revokeInvitation, signedIn | bare},
		{post, "/v1/clubs/{club}/invitations/accept", s.acceptInvitation, signedIn | unkeyed},
		{post, "/v1/clubs/{club}/api-keys", s.addAPIKey, signedIn | secret},
		{get, "/v1/clubs/{club}/api-keys", s.listAPIKeys, signedIn},
		{get, "/v1/clubs/{club}/api-keys/{api_key}", s.getAPIKey, signedIn},
		{del, "/v1/clubs/{club}/api-keys/{api_key}", s.revokeAPIKey, signedIn},

		{post, "/v1/clubs/{club}/webhooks", s.addWebhook, signedIn | secret},
		{get, "/v1/clubs/{club}/webhooks", s.listWebhooks, signedIn},
		{get, "/v1/clubs/{club}/webhooks/{webhook}", s.getWebhook, signedIn},
		{patch, "/v1/clubs/{club}/webhooks/{webhook}", s.changeWebhook, signedIn},
		{del, "/v1/clubs/{club}/webhooks/{webhook}", s.removeWebhook, signedIn},
		{post, "/v1/clubs/{club}/webhooks/{webhook}/rotation", s.rotateWebhook, signedIn | secret | bare},
		{post, "/v1/clubs/{club}/webhooks/{webhook}/replay", s.replayWebhook, signedIn},
		{get, "/v1/clubs/{club}/webhooks/{webhook}/deliveries", s.listDeliveries, signedIn},
		{post, "/v1/clubs/{club}/webhooks/{webhook}/deliveries/{delivery}/replay", s.replayDelivery, signedIn | bare},

		{post, "/v1/clubs/{club}/sites", s.addSite, 0},
		{get, "/v1/clubs/{club}/sites", s.listSites, 0},
		{get, "/v1/clubs/{club}/sites/{site}", s.getSite, 0},
		{patch, "/v1/clubs/{club}/sites/{site}", s.changeSite, 0},
		{del, "/v1/clubs/{club}/sites/{site}", s.removeSite, 0},
		{post, "/v1/clubs/{club}/bins", s.addBin, 0},
		{get, "/v1/clubs/{club}/bins", s.listBins, 0},
		{get, "/v1/clubs/{club}/bins/{bin}", s.getBin, 0},
		{patch, "/v1/clubs/{club}/bins/{bin}", s.changeBin, 0},
		{del, "/v1/clubs/{club}/bins/{bin}", s.removeBin, 0},
		{post, "/v1/clubs/{club}/bins/{bin}/dispose", s.disposeBin, 0},
		{post, "/v1/clubs/{club}/materials", s.addMaterial, 0},
		{get, "/v1/clubs/{club}/materials", s.listMaterials, 0},
		{get, "/v1/clubs/{club}/materials/{material}", s.getMaterial, 0},
		{patch, "/v1/clubs/{club}/materials/{material}", s.changeMaterial, 0},
		{del, "/v1/clubs/{club}/materials/{material}", s.removeMaterial, 0},
		{post, "/v1/clubs/{club}/measures", s.addMeasure, 0},
		{get, "/v1/clubs/{club}/measures", s.listMeasures, 0},
		{get, "/v1/clubs/{club}/measures/{measure}", s.getMeasure, 0},
		{patch, "/v1/clubs/{club}/measures/{measure}", s.changeMeasure, 0},
		{del, "/v1/clubs/{club}/measures/{measure}", s.removeMeasure, 0},
		{post, "/v1/clubs/{club}/turnouts", s.addTurnout, 0},
		{get, "/v1/clubs/{club}/turnouts", s.listTurnouts, 0},
		{get, "/v1/clubs/{club}/turnouts/{turnout}", s.getTurnout, 0},
		{patch, "/v1/clubs/{club}/turnouts/{turnout}", s.changeTurnout, 0},
		{del, "/v1/clubs/{club}/turnouts/{turnout}", s.voidTurnout, 0},
		{post, "/v1/clubs/{club}/receipts", s.addReceipt, 0},
		{get, "/v1/clubs/{club}/receipts", s.listReceipts, 0},
		{get, "/v1/clubs/{club}/receipts/{receipt}", s.getReceipt, figured | explained},
		{patch, "/v1/clubs/{club}/receipts/{receipt}", s.changeReceipt, 0},
		{del, "/v1/clubs/{club}/receipts/{receipt}", s.voidReceipt, 0},
		{post, "/v1/clubs/{club}/cultures", s.addCulture, 0},
		{get, "/v1/clubs/{club}/cultures", s.listCultures, 0},
		{get, "/v1/clubs/{club}/cultures/{culture}", s.getCulture, 0},
		{patch, "/v1/clubs/{club}/cultures/{culture}", s.changeCulture, 0},
		{del, "/v1/clubs/{club}/cultures/{culture}", s.removeCulture, 0},
		{post, "/v1/clubs/{club}/cultures/{culture}/merge", s.mergeCulture, 0},
		{post, "/v1/clubs/{club}/cultures/{culture}/unmerge", s.unmergeCulture, bare},
		{post, "/v1/clubs/{club}/origins", s.addOrigin, 0},
		{get, "/v1/clubs/{club}/origins", s.listOrigins, 0},
		{get, "/v1/clubs/{club}/origins/{origin}", s.getOrigin, 0},
		{patch, "/v1/clubs/{club}/origins/{origin}", s.changeOrigin, 0},
		{del, "/v1/clubs/{club}/origins/{origin}", s.removeOrigin, 0},
	}
}

func (s *Server) bookRoutes() []route {
	return []route{
		{post, "/v1/clubs/{club}/batches", s.addBatch, 0},
		{get, "/v1/clubs/{club}/batches", s.listBatches, 0},
		{get, "/v1/clubs/{club}/batches/{batch}", s.getBatch, 0},
		{patch, "/v1/clubs/{club}/batches/{batch}", s.changeBatch, 0},
		{del, "/v1/clubs/{club}/batches/{batch}", s.removeBatch, 0},
		{get, "/v1/clubs/{club}/batches/{batch}/balance", s.getBatchBalance, figured | explained},
		{get, "/v1/clubs/{club}/batches/{batch}/composition", s.getBatchComposition, figured | explained},
		{post, "/v1/clubs/{club}/batch-steps", s.addBatchStep, 0},
		{get, "/v1/clubs/{club}/batch-steps", s.listBatchSteps, 0},
		{get, "/v1/clubs/{club}/batch-steps/{batch_step}", s.getBatchStep, 0},
		{patch, "/v1/clubs/{club}/batch-steps/{batch_step}", s.changeBatchStep, 0},
		{del, "/v1/clubs/{club}/batch-steps/{batch_step}", s.voidBatchStep, 0},
		{post, "/v1/clubs/{club}/reworks", s.addRework, 0},
		{get, "/v1/clubs/{club}/reworks", s.listReworks, 0},
		{get, "/v1/clubs/{club}/reworks/{rework}", s.getRework, figured | explained},

		{post, "/v1/clubs/{club}/feedings", s.addFeeding, 0},
		{get, "/v1/clubs/{club}/feedings", s.listFeedings, 0},
		{get, "/v1/clubs/{club}/feedings/{feeding}", s.getFeeding, figured | explained},
		{patch, "/v1/clubs/{club}/feedings/{feeding}", s.changeFeeding, 0},
		{del, "/v1/clubs/{club}/feedings/{feeding}", s.voidFeeding, 0},
		{post, "/v1/clubs/{club}/checks", s.addCheck, 0},
		{get, "/v1/clubs/{club}/checks", s.listChecks, 0},
		{get, "/v1/clubs/{club}/checks/{check}", s.getCheck, 0},
		{patch, "/v1/clubs/{club}/checks/{check}", s.changeCheck, 0},
		{del, "/v1/clubs/{club}/checks/{check}", s.voidCheck, 0},
		{post, "/v1/clubs/{club}/censuses", s.addCensus, figured},
		{get, "/v1/clubs/{club}/censuses", s.listCensuses, figured},
		{get, "/v1/clubs/{club}/censuses/{census}", s.getCensus, figured | explained},
		{post, "/v1/clubs/{club}/harvests", s.addHarvest, 0},
		{get, "/v1/clubs/{club}/harvests", s.listHarvests, 0},
		{get, "/v1/clubs/{club}/harvests/{harvest}", s.getHarvest, figured | explained},
		{post, "/v1/clubs/{club}/movements", s.addMovement, 0},
		{get, "/v1/clubs/{club}/movements", s.listMovements, 0},
		{get, "/v1/clubs/{club}/movements/{movement}", s.getMovement, figured | explained},
		{post, "/v1/clubs/{club}/movements/{movement}/reversal", s.reverseMovement, 0},

		{post, "/v1/clubs/{club}/quarantines", s.addQuarantine, 0},
		{get, "/v1/clubs/{club}/quarantines", s.listQuarantines, 0},
		{get, "/v1/clubs/{club}/quarantines/{quarantine}", s.getQuarantine, 0},
		{patch, "/v1/clubs/{club}/quarantines/{quarantine}", s.changeQuarantine, 0},
		{del, "/v1/clubs/{club}/quarantines/{quarantine}", s.voidQuarantine, 0},
		{post, "/v1/clubs/{club}/quarantines/{quarantine}/release", s.releaseQuarantine, 0},
		{post, "/v1/clubs/{club}/identifications", s.addIdentification, 0},
		{get, "/v1/clubs/{club}/identifications", s.listIdentifications, 0},
		{get, "/v1/clubs/{club}/identifications/{identification}", s.getIdentification, 0},
		{patch, "/v1/clubs/{club}/identifications/{identification}", s.changeIdentification, 0},
		{del, "/v1/clubs/{club}/identifications/{identification}", s.voidIdentification, 0},
		{post, "/v1/clubs/{club}/contacts", s.addContact, 0},
		{get, "/v1/clubs/{club}/contacts", s.listContacts, 0},
		{get, "/v1/clubs/{club}/contacts/{contact}", s.getContact, 0},
		{patch, "/v1/clubs/{club}/contacts/{contact}", s.changeContact, 0},
		{del, "/v1/clubs/{club}/contacts/{contact}", s.voidContact, 0},
		{post, "/v1/clubs/{club}/clearings", s.addClearing, 0},
		{get, "/v1/clubs/{club}/clearings", s.listClearings, 0},
		{get, "/v1/clubs/{club}/clearings/{clearing}", s.getClearing, 0},
		{patch, "/v1/clubs/{club}/clearings/{clearing}", s.changeClearing, 0},
		{del, "/v1/clubs/{club}/clearings/{clearing}", s.voidClearing, 0},

		{get, "/v1/clubs/{club}/bins/{bin}/stock", s.getBinStock, figured | explained},
		{get, "/v1/clubs/{club}/bins/{bin}/timeline", s.listBinTimeline, figured},
		{get, "/v1/clubs/{club}/bins/{bin}/rate", s.getBinRate, figured | explained},
		{get, "/v1/clubs/{club}/bins/{bin}/yield", s.getBinYield, figured | explained},
		{get, "/v1/clubs/{club}/due", s.listDue, figured},
		{get, "/v1/clubs/{club}/bins/{bin}/due", s.listBinDue, figured},
		{post, "/v1/clubs/{club}/calendars", s.addCalendar, signedIn | secret},
		{get, "/v1/clubs/{club}/calendars", s.listCalendars, signedIn},
		{get, "/v1/clubs/{club}/calendars/{calendar}", s.getCalendar, signedIn},
		{del, "/v1/clubs/{club}/calendars/{calendar}", s.revokeCalendar, signedIn},
		{get, "/v1/calendars/{club}/{link}", s.readCalendar, linked},
		{get, "/v1/clubs/{club}/lots", s.listLots, 0},
		{get, "/v1/clubs/{club}/lots/{lot}", s.getLot, figured | explained},
		{get, "/v1/clubs/{club}/lots/{lot}/lineage", s.getLotLineage, figured | explained | published},
		{get, "/v1/clubs/{club}/lots/{lot}/overlap/{other}", s.getLotOverlap, figured},
		{get, "/v1/clubs/{club}/reports/seasons/current", s.getCurrentSeason, figured | explained | published},
		{get, "/v1/clubs/{club}/reports/seasons/{season}", s.getSeason, figured | explained | published},
		{get, "/v1/clubs/{club}/bins/labels.pdf", s.printBinLabels, 0},
		{get, "/v1/clubs/{club}/bins/{bin}/label.svg", s.drawBinLabel, 0},
		{get, "/v1/clubs/{club}/bins/{bin}/label.pdf", s.printBinLabel, 0},
		{get, "/v1/clubs/{club}/batches/{batch}/label.svg", s.drawBatchLabel, 0},
		{get, "/v1/clubs/{club}/batches/{batch}/label.pdf", s.printBatchLabel, 0},
		{get, "/v1/clubs/{club}/labels/{label}", s.getLabelled, 0},
		{get, "/v1/clubs/{club}/reports/castings.svg", s.drawCastings, figured | published},
		{get, "/v1/clubs/{club}/reports/feed.svg", s.drawFeed, figured | published},
		{get, "/v1/clubs/{club}/cultures/{culture}/stock.svg", s.drawCulture, figured | published},
		{get, "/v1/clubs/{club}/lots/{lot}/lineage.svg", s.drawLineage, figured | published},
		{get, "/v1/clubs/{club}/lots/{lot}/provenance.pdf", s.printProvenance, figured},
		{get, "/v1/clubs/{club}/members/{member}/statements/{season}", s.getStatement, signedIn | figured | explained},
		{get, "/v1/clubs/{club}/reports/materials-balance", s.getMaterialsBalance, figured | explained},
		{get, "/v1/clubs/{club}/bins/{bin}/exposure", s.getBinExposure, 0},
		{get, "/v1/clubs/{club}/batches/{batch}/exposure", s.getBatchExposure, 0},
		{get, "/v1/clubs/{club}/lots/{lot}/exposure", s.getLotExposure, 0},
		{get, "/v1/clubs/{club}/receipts/{receipt}/exposure", s.getReceiptExposure, 0},
		{get, "/v1/clubs/{club}/lots/{lot}/upstream", s.listUpstreamLots, 0},
		{get, "/v1/clubs/{club}/lots/{lot}/downstream", s.listDownstreamLots, 0},

		{post, "/v1/clubs/{club}/records", s.addRecords, figured},
		{post, "/v1/clubs/{club}/undo", s.undo, 0},
		{get, "/v1/clubs/{club}/audit-entries", s.listAuditEntries, signedIn},
		{post, "/v1/clubs/{club}/imports", s.importRecords, signedIn | big | csv},
		{get, "/v1/clubs/{club}/exports/book.json", s.exportDocument, signedIn},
		{get, "/v1/clubs/{club}/exports/book.zip", s.exportArchive, signedIn},
		{get, "/v1/clubs/{club}/exports/club.jsonl.gz", s.exportClub, signedIn},
		{get, "/v1/clubs/{club}/exports/{file}", s.exportTable, signedIn},
	}
}

func (s *Server) exchangeRoutes() []route {
	return []route{
		{post, "/v1/clubs/{club}/offers", s.addOffer, exchanged},
		{get, "/v1/clubs/{club}/offers", s.listOffers, 0},
		{get, "/v1/clubs/{club}/offers/{offer}", s.getOffer, 0},
		{patch, "/v1/clubs/{club}/offers/{offer}", s.changeOffer, exchanged},
		{del, "/v1/clubs/{club}/offers/{offer}", s.withdrawOffer, exchanged},
		{get, "/v1/clubs/{club}/feed", s.getFeed, 0},
		{post, "/v1/clubs/{club}/transfers", s.proposeTransfer, exchanged},
		{get, "/v1/clubs/{club}/transfers", s.listTransfers, 0},
		{get, "/v1/clubs/{club}/transfers/{transfer}", s.getTransfer, figured | explained},
		{post, "/v1/clubs/{club}/transfers/{transfer}/accept", s.acceptTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/decline", s.declineTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/cancel", s.cancelTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/dispatch", s.dispatchTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/receive", s.receiveTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/settle", s.settleTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/fail", s.failTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/replace", s.replaceTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/waive", s.waiveTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/repayments", s.repayTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/forgive", s.forgiveTransfer, exchanged},
		{post, "/v1/clubs/{club}/transfers/{transfer}/claims", s.claimTransfer, exchanged},
		{del, "/v1/clubs/{club}/transfers/{transfer}/contact", s.forgetContact, exchanged},
	}
}

func (rt route) has(f flags) bool { return rt.flags&f != 0 }

// versioned tells whether the route is part of the interface proper, whose
// callers are counted.
func (rt route) versioned() bool { return strings.HasPrefix(rt.path, "/v1/") }

// media lists the types that the route's body may have.
func (rt route) media() []string {
	if rt.has(csv) {
		return []string{"multipart/form-data", "application/zip", "text/csv", "application/json"}
	}
	if rt.method == patch {
		return []string{"application/merge-patch+json"}
	}
	return []string{"application/json"}
}

// caching is the Cache-Control header of the route's answers.
func (rt route) caching() string {
	switch {
	case rt.has(secret):
		return "no-store"
	case rt.has(kept):
		return "public, max-age=300"
	case rt.has(public):
		return "no-cache"
	default:
		return "private, no-cache"
	}
}
