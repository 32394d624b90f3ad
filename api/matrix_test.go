package api_test

import (
	"encoding/json"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/openapi"
	"lumbricary.example/service"
)

// need is what an operation asks of who calls.
type need struct {
	action service.Action
	mine   bool   // asked about the caller's own thing; else about Ana's
	late   bool   // refused by another 4xx: the right is one fault of several, or asked last
	body   string // in place of the contract's example
}

// everybody is what no right is needed for: it is public, or a person's own.
const everybody service.Action = ""

// needs says of every operation which right it needs. An operation that isn't
// here fails the test: whoever adds one says who may call it.
func needs() map[string]need {
	all := map[string]need{
		"changeClub": {action: service.ChangeClub}, "addMember": {action: service.AddMember},
		"changeRole": {action: service.ChangeRole}, "removeMember": {action: service.RemoveMember},
		"getPersonalData": {action: service.ExportPersonal}, "eraseMember": {action: service.EraseMember},
		"setPublicName": {action: service.SetPublicName},
		"listErasures":  {action: service.ReviewErasures}, "reapplyErasures": {action: service.ReviewErasures},
		"addInvitation": {action: service.AddMember}, "listInvitations": {action: service.SeeInvitations},
		"revokeInvitation": {action: service.AddMember}, "listAuditEntries": {action: service.ReadAudit},
		"addAPIKey": {action: service.MakeKey, mine: true, body: `{"name":"n","scopes":["read"]}`}, "listAPIKeys": {action: service.SeeKey, mine: true},
		"getAPIKey": {action: service.SeeKey}, "revokeAPIKey": {action: service.RevokeKey},
		"addCalendar": {action: service.LinkCalendar, mine: true, body: `{"name":"n"}`}, "listCalendars": {action: service.EndCalendar, mine: true},
		"getCalendar": {action: service.EndCalendar}, "revokeCalendar": {action: service.EndCalendar},
		"addWebhook": {action: service.KeepWebhooks, body: `{"name":"n","url":"https://club.example/","events":["offer.made"]}`}, "listWebhooks": {action: service.KeepWebhooks},
		"getWebhook": {action: service.KeepWebhooks}, "changeWebhook": {action: service.KeepWebhooks, body: `{"name":"m"}`}, "removeWebhook": {action: service.KeepWebhooks},
		"rotateWebhook": {action: service.KeepWebhooks}, "listDeliveries": {action: service.KeepWebhooks}, "replayDelivery": {action: service.KeepWebhooks},
		"replayWebhook": {action: service.KeepWebhooks, body: `{"since":"2026-05-01"}`},
		"importRecords": {action: service.ImportRecords}, "exportDocument": {action: service.ExportRecords},
		"exportArchive": {action: service.ExportRecords}, "exportClub": {action: service.ExportRecords}, "exportTable": {action: service.ExportRecords},

		"addSite": {action: service.AddSite, mine: true, body: `{"name":"Attic"}`}, "changeSite": {action: service.AddSite, body: `{"note":"dry"}`},
		"removeSite": {action: service.AddSite}, "addBin": {action: service.AddBin}, "changeBin": {action: service.AddBin, body: `{"note":"dry"}`},
		"removeBin":   {action: service.AddBin},
		"addMaterial": {action: service.AddMaterial}, "changeMaterial": {action: service.AddMaterial, body: `{"note":"dry"}`},
		"addMeasure": {action: service.AddMaterial, body: `{"name":"Jar","volume":{"value":1,"unit":"L"}}`}, "changeMeasure": {action: service.AddMaterial, body: `{"note":"dry"}`}, "removeMeasure": {action: service.AddMaterial},
		"removeMaterial": {action: service.AddMaterial}, "addCulture": {action: service.AddCulture},
		"changeCulture": {action: service.AddCulture, body: `{"note":"dry"}`}, "removeCulture": {action: service.AddCulture},
		"mergeCulture": {action: service.AddCulture}, "unmergeCulture": {action: service.AddCulture},
		"addOrigin": {action: service.AddOrigin}, "changeOrigin": {action: service.AddOrigin, body: `{"note":"dry"}`},
		"removeOrigin": {action: service.AddOrigin}, "addBatch": {action: service.UseCastings},
		"changeBatch": {action: service.UseCastings, body: `{"note":"dry"}`}, "removeBatch": {action: service.UseCastings},

		"closeBooks": {action: service.CloseBooks, body: `{"until":"2020-01-01"}`}, "disposeBin": {action: service.AddBin},
		"addQuarantine": {action: service.RecordOnBin, body: `{"bin":"BIN","reason":"mites"}`}, "changeQuarantine": {action: service.RecordOnBin, body: `{"note":"dry"}`},
		"voidQuarantine": {action: service.RecordOnBin}, "releaseQuarantine": {action: service.RecordOnBin, body: `{"outcome":"sound"}`},
		"addIdentification": {action: service.RecordOnBin}, "changeIdentification": {action: service.RecordOnBin, body: `{"note":"dry"}`},
		"voidIdentification": {action: service.RecordOnBin},
		"addContact":         {action: service.RecordOnBin, body: `{"bins":["BIN","WEDGE"],"what":"tools"}`}, "changeContact": {action: service.RecordOnBin, body: `{"note":"dry"}`},
		"voidContact": {action: service.RecordOnBin}, "addClearing": {action: service.RecordOnBin, body: `{"bin":"BIN","how":"scalded"}`},
		"changeClearing": {action: service.RecordOnBin, body: `{"note":"dry"}`}, "voidClearing": {action: service.RecordOnBin},
		"addTurnout":    {action: service.RecordTurnout, mine: true, body: `{"households":38}`},
		"changeTurnout": {action: service.RecordTurnout, body: `{"households":40}`}, "voidTurnout": {action: service.RecordTurnout},
		"addReceipt":    {action: service.RecordReceipt, mine: true, body: `{"material":"MATERIAL","net":{"value":1,"unit":"kg"}}`},
		"changeReceipt": {action: service.RecordReceipt, body: `{"note":"dry"}`}, "voidReceipt": {action: service.RecordReceipt},
		"addBatchStep":    {action: service.UseCastings, body: `{"batch":"BATCH","kind":"drying","moisture_pct":40}`},
		"changeBatchStep": {action: service.UseCastings, body: `{"note":"dry"}`}, "voidBatchStep": {action: service.UseCastings},
		"addRework": {action: service.UseCastings, body: `{"kind":"screening","from":[{"batch":"BATCH"}],"into":[{"batch":"FINE"}]}`},

		"addFeeding": {action: service.RecordOnBin}, "changeFeeding": {action: service.RecordOnBin, body: `{"note":"dry"}`},
		"voidFeeding": {action: service.RecordOnBin},
		"addCheck":    {action: service.RecordOnBin, body: `{"bin":"BIN","moisture_pct":70}`},
		"changeCheck": {action: service.RecordOnBin, body: `{"note":"dry"}`}, "voidCheck": {action: service.RecordOnBin},
		"addCensus":  {action: service.RecordOnBin, body: `{"bin":"BIN","species":"eisenia-fetida","estimate":{"value":1,"unit":"kg"},"low":{"value":0.8,"unit":"kg"},"high":{"value":1.2,"unit":"kg"}}`},
		"addHarvest": {action: service.RecordOnBin, body: `{"bin":"BIN","castings":{"value":1,"unit":"kg"},"batch":"BATCH"}`},
		"addMovement": {
			action: service.RecordOnBin,
			body:   `{"kind":"loss","cause":"dead","lines":[{"from_bin":"BIN","quantity":{"value":1,"unit":"g"}}]}`,
		},
		"reverseMovement": {action: service.ReverseEntry},
		"addRecords":      {action: service.RecordOnBin, late: true, body: `{"checks":[{"bin":"BIN","moisture_pct":70}]}`},
		"getStatement":    {action: service.ReadStatement},
		"undo":            {action: service.RecordOnBin, mine: true, late: true, body: `{}`},

		"addOffer": {action: service.Offering, body: `{"member":"ANA","what":"Worms"}`}, "changeOffer": {action: service.Offering, body: `{"note":"dry"}`},
		"withdrawOffer":   {action: service.Offering},
		"proposeTransfer": {action: service.Exchange, body: `{"terms":"gift","party":"Rosa","legs":[{"giver":"ANA","goods":[{"from_bin":"BIN","quantity":{"value":1,"unit":"g"}}]}]}`},
		"acceptTransfer":  {action: service.Exchange, body: `{}`}, "declineTransfer": {action: service.Exchange, body: `{}`},
		"cancelTransfer": {action: service.Exchange, body: `{}`}, "dispatchTransfer": {action: service.Exchange, body: `{}`},
		"receiveTransfer": {action: service.Exchange, late: true, body: `{}`},
		"settleTransfer":  {action: service.Exchange, late: true, body: `{"reason":"weighed again","came":[{}]}`},
		"failTransfer":    {action: service.Exchange, body: `{}`},
		"replaceTransfer": {action: service.Exchange, body: `{"goods":[{"from_bin":"BIN","quantity":{"value":1,"unit":"g"}}]}`},
		"waiveTransfer":   {action: service.Exchange, body: `{}`},
		"repayTransfer":   {action: service.Exchange, body: `{"goods":[{"from_bin":"BIN","quantity":{"value":1,"unit":"g"}}]}`},
		"forgiveTransfer": {action: service.Exchange, body: `{}`},
		"claimTransfer":   {action: service.Exchange, late: true, body: `{"note":"dead","goods":[{"species":"eisenia-fetida","quantity":{"value":1,"unit":"g"}}]}`},
		"forgetContact":   {action: service.Exchange},
	}
	for _, id := range []string{
		"getClub", "listMembers", "getMember", "listSites", "getSite", "listBins", "getBin", "getBinStock", "listBinTimeline", "getBinRate",
		"getBinYield", "listMaterials", "getMaterial", "listMeasures", "getMeasure", "listCultures", "getCulture", "listOrigins", "getOrigin", "listBatches", "getBatch",
		"listFeedings", "getFeeding", "listChecks", "getCheck", "listCensuses", "getCensus", "listHarvests", "getHarvest",
		"listMovements", "getMovement", "listOffers", "getOffer", "listTransfers", "getTransfer", "listQuarantines", "getQuarantine", "listIdentifications", "getIdentification", "listContacts", "getContact", "listClearings", "getClearing", "getBinExposure", "getBatchExposure", "getLotExposure", "getReceiptExposure", "listLateEntries", "listLots", "getLot", "getLotOverlap", "listUpstreamLots", "listDownstreamLots",
		"listTurnouts", "getTurnout", "listReceipts", "getReceipt", "listBatchSteps", "getBatchStep", "listReworks", "getRework", "getMaterialsBalance", "listDue", "listBinDue", "getFeed", "getBatchBalance", "getBatchComposition",
		"printBinLabels", "drawBinLabel", "printBinLabel", "drawBatchLabel", "printBatchLabel", "getLabelled", "printProvenance",
	} {
		all[id] = need{action: service.ReadBook}
	}
	for _, id := range []string{"getLotLineage", "getCurrentSeason", "getSeason", "drawCastings", "drawFeed", "drawCulture", "drawLineage"} {
		all[id] = need{action: service.ReadFigures}
	}
	for _, id := range []string{
		"getLive", "getReady", "getProblem", "getKeys", "signUp", "signIn", "getMe", "getMyPersonalData", "eraseAccount", "foundClub", "acceptInvitation",
		"refreshSession", "listSessions", "endSession", "endSessions", "changePassphrase", "requestRecovery", "recoverAccount",
		"listSpecies", "getSpecies", "listFeedstocks", "readCalendar",
		"getPublication", "getPublishedSeason", "listPublishedOffers", "getPublishedFeed", "getCultureLineage", "getStarterLineage",
	} {
		all[id] = need{action: everybody}
	}
	return all
}

// operation is one of the contract.
type operation struct {
	need
	id, method, path string
	media            string // of its body
	example          any
	public           bool
	keys             [][]string // scopes of the API keys that may call it; nil: no key may
}

func (o operation) inClub() bool { return strings.HasPrefix(o.path, "/v1/clubs/{club}") }

// operations reads the contract; what removes comes last. An operation that
// needs says nothing of fails the test.
func operations(t *testing.T) []operation {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string `json:"operationId"`
			Security    []map[string][]string
			RequestBody struct {
				Content map[string]struct{ Example any }
			}
		}
	}
	if err := json.Unmarshal(openapi.Document(), &doc); err != nil {
		t.Fatal(err)
	}
	rows, last := needs(), []operation(nil)
	var all []operation
	for _, path := range slices.Sorted(maps.Keys(doc.Paths)) {
		for _, method := range slices.Sorted(maps.Keys(doc.Paths[path])) {
			item := doc.Paths[path][method]
			row, ok := rows[item.OperationID]
			if !ok {
				t.Errorf("say in needs who may call %s", item.OperationID)
			}
			delete(rows, item.OperationID)
			op := operation{need: row, id: item.OperationID, method: strings.ToUpper(method), path: path}
			op.public = item.Security != nil && len(item.Security) == 0
			for _, way := range item.Security {
				if scopes, ok := way["apiKey"]; ok {
					op.keys = append(op.keys, scopes)
				}
			}
			for _, media := range slices.Sorted(maps.Keys(item.RequestBody.Content)) {
				if op.media == "" || strings.HasSuffix(media, "json") {
					op.media, op.example = media, item.RequestBody.Content[media].Example
				}
			}
			if method == "delete" {
				last = append(last, op)
			} else {
				all = append(all, op)
			}
		}
	}
	for id := range rows {
		t.Errorf("the contract has no operation %s", id)
	}
	return append(all, last...)
}

// world is a club with one of everything, all Ana's, and who may call it.
type world struct {
	*harbour
	t                *testing.T
	cyd, eve         apitest.Club // a reader; another club's steward
	expired, garbage apitest.Club
	public           apitest.Club
	fine             string            // a batch of screened castings
	things           map[string]string // ids by the name of a path's parameter
	keys             map[string]apitest.Club
	requests         int
}

func newWorld(t *testing.T) *world {
	t.Helper()
	w := &world{harbour: kept(t), t: t, keys: map[string]apitest.Club{}}
	w.cyd, w.eve = w.ana.Join("cyd", "reader"), w.SignUp("eve").Found("hill")
	screening, fine := screened(w.harbour)
	w.fine = fine
	first := func(list string) string { return w.ana.Get(list).Want(http.StatusOK).Text("/items/0/id") }
	w.things = map[string]string{
		"member": w.anaID, "site": w.theCellar, "bin": w.tote, "material": w.scraps, "measure": w.ana.Post("/measures", `{"name":"Bucket","volume":{"value":10,"unit":"L"},"tare":{"value":500,"unit":"g"}}`).Want(http.StatusCreated).ID(), "culture": w.culture, "origin": w.origin,
		"batch": w.batch, "feeding": first("/feedings?bin=" + w.tote), "check": first("/checks?bin=" + w.tote), "harvest": first("/harvests"),
		"movement": first("/movements"), "lot": first("/lots?bin=" + w.tote), "other": first("/lots?bin=" + w.wedge),
		"census":     w.ana.Post("/censuses", `{"bin":"`+w.tote+`","species":"eisenia-fetida","estimate":{"value":1,"unit":"kg"},"low":{"value":0.8,"unit":"kg"},"high":{"value":1.2,"unit":"kg"}}`).Want(http.StatusCreated).ID(),
		"turnout":    w.ana.Post("/turnouts", `{"households":38}`).Want(http.StatusCreated).ID(),
		"receipt":    w.ana.Post("/receipts", `{"material":"`+w.scraps+`","net":{"value":5,"unit":"kg"}}`).Want(http.StatusCreated).ID(),
		"batch_step": w.ana.Post("/batch-steps", `{"batch":"`+w.batch+`","kind":"drying","moisture_pct":40}`).Want(http.StatusCreated).ID(),
		"rework":     screening,
		"invitation": invite(t, w.ana, `{"email":"dot@example.org","name":"Dot","role":"keeper"}`).ID(),
		"api_key":    w.ana.Post("/api-keys", `{"name":"hers","scopes":["read"]}`).Want(http.StatusCreated).ID(),
		"calendar":   w.ana.Post("/calendars", `{"name":"hers"}`).Want(http.StatusCreated).ID(),
		"quarantine": w.ana.Post("/quarantines", `{"bin":"`+w.wedge+`","at":"2026-04-20"}`).Want(http.StatusCreated).ID(),
		"contact":    w.ana.Post("/contacts", `{"bins":["`+w.tote+`","`+w.wedge+`"],"what":"tools"}`).Want(http.StatusCreated).ID(),
		"clearing":   w.ana.Post("/clearings", `{"bin":"`+w.wedge+`","how":"scalded"}`).Want(http.StatusCreated).ID(),
		"offer":      w.ana.Post("/offers", `{"what":"Worms to spare"}`).Want(http.StatusCreated).ID(),
		"transfer":   w.ana.Post("/transfers", w.named(`{"terms":"gift","party":"Rosa","contact":{"text":"rosa@example.org","purpose":"tracing","until":"2030-01-01"},"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`)).Want(http.StatusCreated).ID(),
		"season":     "2026-spring", "file": "bins.csv", "species": "eisenia-fetida", "code": "forbidden", "label": code(t, w.tote), "link": "lbc_none",
	}
	w.things["webhook"], w.things["delivery"] = hooked(w.harbour)
	w.things["identification"] = w.ana.Post("/identifications", `{"lot":"`+w.things["lot"]+`","species":"eisenia-andrei","method":"dna"}`).Want(http.StatusCreated).ID()
	w.expired = w.ana
	w.Clock.Move(16 * time.Minute) // and everybody signs in again
	w.ana, w.ben, w.cyd = w.SignIn("ana").In("harbour"), w.SignIn("ben").In("harbour"), w.SignIn("cyd").In("harbour")
	w.eve = w.SignIn("eve").In("hill")
	w.public = apitest.Person{Caller: w.Caller}.In("harbour")
	w.garbage = w.public.WithKey("rubbish")
	for _, scopes := range []string{`["record","transfer"]`, `["read","transfer"]`, `["read","record","transfer"]`, `["read"]`, `["record"]`, `["read","record"]`, `["figures"]`, `["figures","record","transfer"]`} {
		w.keys[scopes] = key(w.ana, scopes)
	}
	return w
}

var parameter = regexp.MustCompile(`\{(\w+)\}`)

// ask calls the operation in the caller's club, with ids by the names of their
// parameters.
func (w *world) ask(op operation, as apitest.Club, club string, things map[string]string) *apitest.Answer {
	w.t.Helper()
	path := parameter.ReplaceAllStringFunc(op.path, func(p string) string {
		name := strings.Trim(p, "{}")
		if name == "club" {
			return club
		}
		id, ok := things[name]
		if !ok {
			w.t.Fatalf("%s: the world has no %s", op.id, name)
		}
		return id
	})
	c := as.Absolute()
	if op.media != "" {
		c = c.With("Content-Type", op.media)
	}
	if op.method == http.MethodPatch || op.method == http.MethodDelete {
		c = c.With("If-Match", "*")
	}
	w.requests++
	a := c.Do(op.method, path, strings.NewReader(w.body(op)))
	if a.Status >= http.StatusInternalServerError {
		w.t.Errorf("%s: %d %s", op.id, a.Status, a.Body)
	}
	return a
}

// body is what the row or the contract gives, with the ids of real things.
func (w *world) body(op operation) string {
	if op.need.body != "" {
		return strings.NewReplacer("BIN", w.tote, "WEDGE", w.wedge, "BATCH", w.batch, "MATERIAL", w.scraps, "FINE", w.fine, "ANA", w.anaID).Replace(op.need.body)
	}
	if text, ok := op.example.(string); ok || op.example == nil {
		return text
	}
	body, err := json.Marshal(w.real(op.example))
	if err != nil {
		w.t.Fatal(err)
	}
	return string(body)
}

// real takes ids of the example's own away and puts those of real things where
// it names others.
func (w *world) real(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for name, item := range v {
			noun := strings.TrimPrefix(strings.TrimPrefix(name, "from_"), "to_")
			noun = map[string]string{"keeper": "member", "owner": "member", "to": "member", "worms_to": "bin"}[noun] + map[bool]string{true: noun}[w.things[noun] != ""]
			_, text := item.(string)
			switch {
			case name == "id" || name == "stand_ins":
			case text && w.things[noun] != "" && noun != "species":
				out[name] = w.things[noun]
			default:
				out[name] = w.real(item)
			}
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, item := range v {
			out[i] = w.real(item)
		}
		return out
	}
	return v
}

// made is the things' names with ids that nobody has.
func (w *world) made() map[string]string {
	out := maps.Clone(w.things)
	for name, id := range out {
		if len(id) == 36 {
			out[name] = "0197aaaa-0000-7000-8000-00000000000f"
		}
	}
	return out
}

func TestEveryOperationLetsInWhoMayCallItAndNobodyElse(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	for _, op := range operations(t) {
		switch {
		case op.public:
			w.asksNobody(op)
		case op.inClub():
			w.needsSomebody(op, w.public, w.expired, w.garbage)
			w.hidesFromStrangers(op)
			w.bindsKeys(op)
			w.bindsRole(op, w.cyd, service.Member{ID: "cyd", Role: service.Reader})
			w.bindsRole(op, w.ben, service.Member{ID: "ben", Role: service.Keeper})
		default:
			w.needsSomebody(op, w.public, w.expired, w.garbage, w.keys[`["read","record","transfer"]`])
		}
	}
	t.Logf("%d calls", w.requests)
}

// asksNobody sees that a public operation asks nobody to sign in, whatever they
// show.
func (w *world) asksNobody(op operation) {
	for _, as := range []apitest.Club{w.public, w.expired, w.garbage} {
		if a := w.ask(op, as, "harbour", w.things); strings.Contains(a.Body, "/problems/sign-in") || strings.Contains(a.Body, "/problems/token-expired") {
			w.t.Errorf("%s is public and answers %d %s", op.id, a.Status, a.Body)
		}
	}
}

// needsSomebody sees that callers whom nobody knows are asked to sign in.
func (w *world) needsSomebody(op operation, callers ...apitest.Club) {
	for i, as := range callers {
		a := w.ask(op, as, "harbour", w.things)
		if a.Status != http.StatusUnauthorized || a.Header.Get("WWW-Authenticate") == "" {
			w.t.Errorf("%s answers caller %d, whom nobody knows, with %d %s", op.id, i, a.Status, a.Body)
		}
	}
}

// hidesFromStrangers sees that another club's steward can't tell the club from
// none, nor its things from none in a club of her own; and neither can a key.
func (w *world) hidesFromStrangers(op operation) {
	there, nowhere := w.ask(op, w.eve, "harbour", w.things), w.ask(op, w.eve, "nowhere", w.things)
	sameProblem(w.t, there, nowhere)
	if there.Status < http.StatusBadRequest || there.Status == http.StatusForbidden {
		w.t.Errorf("%s answers a stranger with %d %s", op.id, there.Status, there.Body)
	}
	every := w.keys[`["read","record","transfer"]`]
	sameProblem(w.t, w.ask(op, every, "hill", w.things), w.ask(op, every, "nowhere", w.things))
	names := parameter.FindAllString(op.path, -1)
	if len(names) < 2 || len(w.things[strings.Trim(names[len(names)-1], "{}")]) != 36 {
		return
	}
	theirs := w.ask(op, w.eve, "hill", w.things)
	sameProblem(w.t, theirs, w.ask(op, w.eve, "hill", w.made()))
	if theirs.Status < http.StatusBadRequest {
		w.t.Errorf("%s gives a stranger %d %s", op.id, theirs.Status, theirs.Body)
	}
}

// bindsKeys sees that the contract asks of a key what the table of rights does,
// and that a steward's key without that gets nothing.
func (w *world) bindsKeys(op operation) {
	want := string(service.ScopeOf(op.action))
	named := slices.ContainsFunc(op.keys, func(scopes []string) bool { return slices.Contains(scopes, want) })
	if op.action != everybody && (want == "") != (op.keys == nil) || want != "" && !named {
		w.t.Errorf("%s: the contract wants a key for %v, the table of rights for %q", op.id, op.keys, want)
	}
	without := map[string]string{
		"figures": `["record","transfer"]`, "read": `["figures","record","transfer"]`, "record": `["read","transfer"]`, "transfer": `["read","record"]`, "": `["read","record","transfer"]`,
	}[want]
	w.refused(op, w.keys[without], "a key for "+without)
	if op.method == http.MethodGet && op.keys != nil {
		w.answers(op, `["read"]`)
	}
	if want == "figures" {
		w.answers(op, `["figures"]`)
	} else {
		w.refused(op, w.keys[`["figures"]`], "a key for figures alone")
	}
}

// answers sees that a steward's key with these scopes is enough.
func (w *world) answers(op operation, scopes string) {
	if a := w.ask(op, w.keys[scopes], "harbour", w.things); a.Status >= http.StatusBadRequest {
		w.t.Errorf("%s answers a key for %s with %d %s", op.id, scopes, a.Status, a.Body)
	}
}

// bindsRole sees that a member gets what the table of rights says, on things of
// Ana's.
func (w *world) bindsRole(op operation, as apitest.Club, who service.Member) {
	owner := service.MemberID("ana")
	if op.mine {
		owner = who.ID
	}
	if op.action != everybody && !who.May(op.action, owner) {
		w.refused(op, as, string(who.Role))
		return
	}
	if a := w.ask(op, as, "harbour", w.things); a.Status == http.StatusForbidden || a.Status == http.StatusUnauthorized {
		w.t.Errorf("%s answers a %s with %d %s", op.id, who.Role, a.Status, a.Body)
	}
}

// refused sees that the caller is told no: by a right, unless other faults are
// told first, or there is nothing that they may see.
func (w *world) refused(op operation, as apitest.Club, name string) {
	a := w.ask(op, as, "harbour", w.things)
	switch {
	case a.Status == http.StatusForbidden:
	case a.Status == http.StatusUnauthorized && op.action == everybody:
	case a.Status == http.StatusNotFound && (op.action == service.SeeKey || op.action == service.RevokeKey || op.action == service.EndCalendar):
	case a.Status >= http.StatusBadRequest && a.Status < http.StatusInternalServerError && op.late:
	default:
		w.t.Errorf("%s answers %s with %d %s", op.id, name, a.Status, a.Body)
	}
}
