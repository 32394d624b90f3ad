package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api"
	"lumbricary.example/api/apitest"
	"lumbricary.example/repo/repotest"

	"github.com/gin-gonic/gin"
)

// entry is an audit entry as it is answered.
type entry struct {
	At, Member, Action, Noun string
	APIKey                   *string `json:"api_key"`
	Record                   *string
	Changed                  []string
	Before, After            map[string]any
}

// entries are all audit entries that a query finds, the newest first.
func entries(t *testing.T, c apitest.Club, query string) []entry {
	t.Helper()
	var all []entry
	for path := "/audit-entries?limit=100" + query; path != ""; {
		var page struct {
			Items      []entry
			NextCursor *string `json:"next_cursor"`
		}
		c.Get(path).Want(200).Into(&page)
		all = append(all, page.Items...)
		path = ""
		if page.NextCursor != nil {
			path = "/audit-entries?limit=100" + query + "&cursor=" + *page.NextCursor
		}
	}
	return all
}

// change is a call that changes so many records. It returns the call when what
// it needs is there.
type change struct {
	records int
	ready   func(c *harbour) func() *apitest.Answer
}

// one is a change of one record by a POST.
func one(path, body string) change {
	return change{1, func(c *harbour) func() *apitest.Answer {
		return func() *apitest.Answer { return c.ana.Post(c.named(path), c.named(body)) }
	}}
}

// patches is a merge patch of a record.
func patches(path, patch string) change {
	return change{1, func(c *harbour) func() *apitest.Answer {
		return func() *apitest.Answer { return c.ana.Patch(c.named(path), "*", c.named(patch)) }
	}}
}

// removes is the removal of what is added first.
func removes(path, body string) change {
	return change{1, func(c *harbour) func() *apitest.Answer {
		id := c.ana.Post(c.named(path), c.named(body)).Want(201).ID()
		return func() *apitest.Answer { return c.ana.Delete(path+"/"+id, "*") }
	}}
}

// after is a POST at a path below what is added first.
func after(path, body, below, then string) change {
	return change{1, func(c *harbour) func() *apitest.Answer {
		id := c.ana.Post(c.named(path), c.named(body)).Want(201).ID()
		return func() *apitest.Answer { return c.ana.Post(path+"/"+id+below, c.named(then)) }
	}}
}

// named puts the ids of the harbour in the place of their names.
func (c *harbour) named(text string) string {
	return strings.NewReplacer(
		"TOTE", c.tote, "WEDGE", c.wedge, "SHED", c.shed, "SCRAPS", c.scraps, "ORIGIN", c.origin, "CULTURE", c.culture,
		"BATCH", c.batch, "CELLAR", c.theCellar, "BEN", c.benID, "ANA", c.anaID,
	).Replace(text)
}

const (
	someFeeding  = `{"bin":"TOTE","at":"2026-04-20","note":"hush hush","items":[{"material":"SCRAPS","quantity":{"value":1,"unit":"kg"}}]}`
	someReceipt  = `{"material":"SCRAPS","from":"hush hush","net":{"value":9,"unit":"kg"},"rejected_why":"hush hush","heat_treatment":{"what":"hush hush","hours":1}}`
	someAnalysis = `{"batch":"BATCH","kind":"analysis","parameter":"E. coli","value":10,"method":"hush hush","laboratory":"hush hush","note":"hush hush"}`
	someCheck    = `{"bin":"TOTE","at":"2026-04-20","note":"hush hush","cover":"hush hush","pests":["hush hush"]}`
	someLoss     = `{"kind":"loss","cause":"dead","note":"hush hush","lines":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}`
	someWebhook  = `{"name":"hush hush","url":"https://hush.example/hush","events":["member.left"]}`
	somebody     = `{"email":"hush@example.org","name":"hush hush","role":"reader"}`
)

// changes are the calls that change a club's records, by method and route. A
// route that isn't here fails the test.
func changes() map[string]change {
	return map[string]change{
		"PATCH ":                                 patches("", `{"units":"us"}`),
		"POST /members":                          one("/members", `{"name":"hush hush 1","role":"keeper"}`),
		"POST /members/{}/role":                  one("/members/BEN/role", `{"role":"steward"}`),
		"POST /members/{}/public-name":           {1, agreeing},
		"POST /members/{}/removal":               {3, leaving},
		"POST /members/{}/erasure":               {5, forgetting},
		"POST /erasures":                         {2, reapplying},
		"POST /invitations":                      one("/invitations", somebody),
		"POST /invitations/accept":               {2, joining},
		"POST /invitations/{}/revocation":        after("/invitations", somebody, "/revocation", `{}`),
		"POST /api-keys":                         one("/api-keys", `{"name":"hush hush","scopes":["read"]}`),
		"DELETE /api-keys/{}":                    removes("/api-keys", `{"name":"hush hush","scopes":["read"]}`),
		"POST /calendars":                        one("/calendars", `{"name":"hush hush"}`),
		"DELETE /calendars/{}":                   removes("/calendars", `{"name":"hush hush"}`),
		"POST /webhooks":                         one("/webhooks", someWebhook),
		"PATCH /webhooks/{}":                     {1, patchOf("/webhooks", someWebhook, `{"url":"https://hush.example/other"}`)},
		"DELETE /webhooks/{}":                    removes("/webhooks", someWebhook),
		"POST /webhooks/{}/rotation":             after("/webhooks", someWebhook, "/rotation", `{}`),
		"POST /webhooks/{}/replay":               {0, replaying("/replay")},
		"POST /webhooks/{}/deliveries/{}/replay": {0, replaying("/deliveries/DELIVERY/replay")},
		"POST /sites":                            one("/sites", `{"name":"Attic","address":"hush hush","note":"hush hush"}`),
		"PATCH /sites/{}":                        patches("/sites/CELLAR", `{"address":"hush hush"}`),
		"DELETE /sites/{}":                       removes("/sites", `{"name":"Shed roof"}`),
		"POST /bins":                             one("/bins", `{"name":"Tub","kind":"tote","site":"CELLAR","note":"hush hush"}`),
		"PATCH /bins/{}":                         patches("/bins/WEDGE", `{"depth_cm":40,"note":"hush hush"}`),
		"DELETE /bins/{}":                        removes("/bins", `{"name":"Pot","kind":"other","site":"CELLAR"}`),
		"POST /materials":                        one("/materials", `{"name":"Straw","kind":"bedding","note":"hush hush"}`),
		"PATCH /materials/{}":                    patches("/materials/SCRAPS", `{"moisture_pct":70}`),
		"DELETE /materials/{}":                   removes("/materials", `{"name":"Sand","kind":"amendment"}`),
		"POST /measures":                         one("/measures", `{"name":"Bucket","volume":{"value":10,"unit":"L"},"note":"hush hush"}`),
		"PATCH /measures/{}":                     {1, patchOf("/measures", `{"name":"Jar","volume":{"value":1,"unit":"L"}}`, `{"tare":{"value":400,"unit":"g"}}`)},
		"DELETE /measures/{}":                    removes("/measures", `{"name":"Cup","tare":{"value":90,"unit":"g"}}`),
		"POST /cultures":                         one("/cultures", `{"name":"Greys","species":"eisenia-andrei","note":"hush hush"}`),
		"PATCH /cultures/{}":                     patches("/cultures/CULTURE", `{"note":"hush hush"}`),
		"DELETE /cultures/{}":                    removes("/cultures", `{"name":"Blues","species":"eisenia-andrei"}`),
		"POST /cultures/{}/merge":                after("/cultures", `{"name":"Harbor line","species":"eisenia-fetida"}`, "/merge", `{"into":"CULTURE"}`),
		"POST /cultures/{}/unmerge":              {1, unmerging},
		"POST /origins":                          one("/origins", `{"name":"hush hush","kind":"supplier","species":"eisenia-andrei"}`),
		"PATCH /origins/{}":                      patches("/origins/ORIGIN", `{"name":"hush hush farm"}`),
		"DELETE /origins/{}":                     removes("/origins", `{"name":"Wood","kind":"wild","species":"eisenia-andrei"}`),
		"POST /batches":                          one("/batches", `{"lot_number":"2026-B","product":"castings","note":"hush hush"}`),
		"PATCH /batches/{}":                      patches("/batches/BATCH", `{"mesh_mm":4}`),
		"DELETE /batches/{}":                     removes("/batches", `{"lot_number":"2026-C","product":"castings"}`),
		"POST /turnouts":                         one("/turnouts", `{"households":38}`),
		"PATCH /turnouts/{}":                     {1, patchOf("/turnouts", `{"households":38}`, `{"volunteer_hours":12.5}`)},
		"DELETE /turnouts/{}":                    removes("/turnouts", `{"households":38}`),
		"POST /receipts":                         one("/receipts", someReceipt),
		"PATCH /receipts/{}":                     {1, patchOf("/receipts", someReceipt, `{"rejected":{"value":200,"unit":"g"},"from":"hush hush hush"}`)},
		"DELETE /receipts/{}":                    removes("/receipts", someReceipt),
		"POST /batch-steps":                      one("/batch-steps", someAnalysis),
		"PATCH /batch-steps/{}":                  {1, patchOf("/batch-steps", someAnalysis, `{"value":11,"note":"hush"}`)},
		"DELETE /batch-steps/{}":                 removes("/batch-steps", someAnalysis),
		"POST /reworks":                          {1, screening},
		"POST /feedings":                         one("/feedings", someFeeding),
		"PATCH /feedings/{}":                     {1, patchOf("/feedings", someFeeding, `{"note":"hush hush hush"}`)},
		"DELETE /feedings/{}":                    removes("/feedings", someFeeding),
		"POST /checks":                           one("/checks", someCheck),
		"PATCH /checks/{}":                       {1, patchOf("/checks", someCheck, `{"ph":7,"cover":"hush"}`)},
		"DELETE /checks/{}":                      removes("/checks", someCheck),
		"POST /closing":                          one("/closing", `{"until":"2020-01-01","reason":"hush hush"}`),
		"POST /bins/{}/dispose":                  {3, disposing},
		"POST /quarantines":                      one("/quarantines", somewhere),
		"PATCH /quarantines/{}":                  {1, patchOf("/quarantines", past("2026-03-01"), `{"until":"2026-03-20"}`)},
		"DELETE /quarantines/{}":                 removes("/quarantines", past("2026-02-01")),
		"POST /quarantines/{}/release":           after("/quarantines", `{"bin":"SHED","at":"2026-04-01"}`, "/release", `{"outcome":"sound","note":"hush hush"}`),
		"POST /identifications":                  {1, telling},
		"PATCH /identifications/{}":              {1, tellingThen(http.MethodPatch)},
		"DELETE /identifications/{}":             {1, tellingThen(http.MethodDelete)},
		"POST /contacts":                         one("/contacts", someContact),
		"PATCH /contacts/{}":                     {1, patchOf("/contacts", someContact, `{"what":"bedding"}`)},
		"DELETE /contacts/{}":                    removes("/contacts", someContact),
		"POST /clearings":                        one("/clearings", someClearing),
		"PATCH /clearings/{}":                    {1, patchOf("/clearings", someClearing, `{"how":"hush hush hush"}`)},
		"DELETE /clearings/{}":                   removes("/clearings", someClearing),
		"POST /censuses":                         one("/censuses", `{"bin":"TOTE","species":"eisenia-fetida","note":"hush hush","estimate":{"value":900,"unit":"g"},"low":{"value":850,"unit":"g"},"high":{"value":950,"unit":"g"}}`),
		"POST /harvests":                         one("/harvests", `{"bin":"TOTE","castings":{"value":1,"unit":"kg"},"batch":"BATCH","note":"hush hush"}`),
		"POST /movements":                        one("/movements", `{"kind":"hand-over","party":"hush hush","terms":"sale","price_minor":100,"currency":"EUR","lines":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}`),
		"POST /movements/{}/reversal":            after("/movements", someLoss, "/reversal", `{"reason":"hush hush"}`),
		"POST /records":                          {3, records},
		"POST /undo":                             {1, undoing},
		"POST /imports":                          one("/imports?dry_run=false", `{"sites":[{"name":"Loft","address":"hush hush"}],"materials":[{"name":"Husks","kind":"bedding"}]}`),
	}
}

const (
	someContact  = `{"bins":["TOTE","SHED"],"at":"2026-04-20","what":"tools","note":"hush hush"}`
	someClearing = `{"bin":"TOTE","at":"2026-04-20","how":"hush hush","note":"hush hush"}`
)

// agreeing is Ben's agreement to be shown by name, which nobody gives for him.
func agreeing(c *harbour) func() *apitest.Answer {
	return func() *apitest.Answer {
		return c.ben.Post("/members/"+c.benID+"/public-name", `{"public_name":"hush hush"}`)
	}
}

const somewhere = `{"bin":"WEDGE","at":"2026-04-20","reason":"hush hush","note":"hush hush"}`

// unmerging takes the merge of a culture without origins back.
func unmerging(c *harbour) func() *apitest.Answer {
	id := c.ana.Post("/cultures", `{"name":"Harbour lines","species":"eisenia-fetida"}`).Want(201).ID()
	c.ana.Post("/cultures/"+id+"/merge", c.named(`{"into":"CULTURE"}`)).Want(200)
	return func() *apitest.Answer { return c.ana.Post("/cultures/"+id+"/unmerge", "") }
}

// past is a quarantine that ended on the day on which it began.
func past(day string) string {
	return `{"bin":"SHED","at":"` + day + `","released":"` + day + `","outcome":"treated","reason":"hush hush"}`
}

// disposing gives up a bin with worms that is in quarantine.
func disposing(c *harbour) func() *apitest.Answer {
	id := c.ana.Post("/bins", c.named(`{"name":"Tin","kind":"other","site":"CELLAR","started":"2026-04-01"}`)).Want(201).ID()
	move(c.ana, "stocking", "2026-04-02", `"to_bin":"`+id+`",`, `"origin":"`+c.origin+`","quantity":{"value":5,"unit":"g"}`).Want(201)
	c.ana.Post("/quarantines", `{"bin":"`+id+`","at":"2026-04-02"}`).Want(201)
	return func() *apitest.Answer {
		return c.ana.Post("/bins/"+id+"/dispose", `{"at":"2026-04-03","cause":"write-off","why":"hush hush"}`)
	}
}

// telling identifies the worms of the bin Tote.
func telling(c *harbour) func() *apitest.Answer {
	lot := c.ana.Get("/lots?bin=" + c.tote).Want(200).Text("/items/0/id")
	return func() *apitest.Answer {
		return c.ana.Post("/identifications", `{"lot":"`+lot+`","species":"eisenia-andrei","method":"dna","identified_by":"hush hush","note":"hush hush"}`)
	}
}

func tellingThen(method string) func(c *harbour) func() *apitest.Answer {
	return func(c *harbour) func() *apitest.Answer {
		id := telling(c)().Want(201).ID()
		return func() *apitest.Answer {
			if method == http.MethodPatch {
				return c.ana.Patch("/identifications/"+id, "*", `{"specimens":3}`)
			}
			return c.ana.Delete("/identifications/"+id, "*")
		}
	}
}

func patchOf(path, body, patch string) func(c *harbour) func() *apitest.Answer {
	return func(c *harbour) func() *apitest.Answer {
		id := c.ana.Post(path, c.named(body)).Want(201).ID()
		return func() *apitest.Answer { return c.ana.Patch(path+"/"+id, "*", patch) }
	}
}

// leaving removes a member with a bin and an API key.
func leaving(c *harbour) func() *apitest.Answer {
	zoe := c.ana.Join("zoe", "keeper")
	zoe.Post("/bins", c.named(`{"name":"Zoe","kind":"bag","site":"CELLAR"}`)).Want(201)
	zoe.Post("/api-keys", `{"name":"hush hush","scopes":["read"]}`).Want(201)
	id := zoe.MemberID()
	return func() *apitest.Answer { return c.ana.Post("/members/"+id+"/removal", c.named(`{"to":"ANA"}`)) }
}

// forgetting erases a member with an invitation, a bin and an API key.
func forgetting(c *harbour) func() *apitest.Answer {
	lil := c.ana.Join("lil", "keeper")
	lil.Post("/bins", c.named(`{"name":"Lil","kind":"bag","site":"CELLAR"}`)).Want(201)
	lil.Post("/api-keys", `{"name":"hush hush","scopes":["read"]}`).Want(201)
	id := lil.MemberID()
	return func() *apitest.Answer {
		return c.ana.Post("/members/"+id+"/erasure", c.named(`{"to":"ANA","confirm":"lil"}`))
	}
}

// reapplying erases a member as if a restore had brought the name back.
func reapplying(c *harbour) func() *apitest.Answer {
	id := c.ana.Post("/members", `{"name":"hush hush 3","role":"keeper"}`).Want(201).ID()
	return func() *apitest.Answer { return c.ana.Post("/erasures", `{"members":["`+id+`"]}`) }
}

// joining accepts an invitation: it is used, and there is a member.
func joining(c *harbour) func() *apitest.Answer {
	p := c.SignUp("kim")
	code := c.ana.Post("/invitations", `{"email":"kim@example.org","name":"hush hush 2","role":"reader"}`).Want(201).Text("/code")
	return func() *apitest.Answer { return c.ana.As(p).Post("/invitations/accept", `{"code":"`+code+`"}`) }
}

func records(c *harbour) func() *apitest.Answer {
	return func() *apitest.Answer {
		return c.ana.Post("/records", c.named(`{"checks":[`+someCheck+`,`+someCheck+`],"movements":[`+someLoss+`]}`))
	}
}

// screening screens a batch that is filled first.
func screening(c *harbour) func() *apitest.Answer {
	fine := filled(c)
	return func() *apitest.Answer {
		return c.ana.Post("/reworks", c.named(`{"kind":"screening","note":"hush hush","from":[{"batch":"BATCH"}],"into":[{"batch":"`+fine+`"}]}`))
	}
}

func undoing(c *harbour) func() *apitest.Answer {
	c.ana.Post("/checks", c.named(someCheck)).Want(201)
	return func() *apitest.Answer { return c.ana.Post("/undo", `{}`) }
}

// changing lists the routes of a club that change something, with {} for every
// parameter, as changes has them.
func changing(t *testing.T) []string {
	t.Helper()
	engine, ok := (&api.Server{}).Handler().(interface{ Routes() gin.RoutesInfo })
	if !ok {
		t.Fatal("the handler doesn't list its routes")
	}
	var out []string
	for _, r := range engine.Routes() {
		path, inClub := strings.CutPrefix(r.Path, "/v1/clubs/:club")
		if inClub && slices.Contains([]string{http.MethodPost, http.MethodPatch, http.MethodPut, http.MethodDelete}, r.Method) {
			out = append(out, r.Method+" "+regexp.MustCompile(`:\w+`).ReplaceAllString(path, "{}"))
		}
	}
	slices.Sort(out)
	return out
}

func TestEveryChangeLeavesOneEntryForEachRecordAndNothingPersonal(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	all := changes()
	maps.Copy(all, transferChanges())
	routes := changing(t)
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if !slices.Contains(routes, name) {
			t.Errorf("no route is %q", name)
		}
	}
	for _, name := range routes {
		ch, ok := all[name]
		if !ok {
			t.Errorf("say in changes how %q changes records", name)
			continue
		}
		call := ch.ready(c)
		before := len(entries(t, c.ana, ""))
		if a := call(); a.Status >= 300 {
			t.Fatalf("%s: %d %s", name, a.Status, a.Body)
		}
		made := entries(t, c.ana, "")
		made = made[:len(made)-before]
		if len(made) != ch.records {
			t.Errorf("%s left %d entries, want %d: %+v", name, len(made), ch.records, made)
		}
		seen := map[string]bool{}
		for _, e := range made {
			if e.Record != nil && seen[e.Noun+*e.Record] {
				t.Errorf("%s left two entries of a record: %+v", name, made)
			}
			if e.Record != nil {
				seen[e.Noun+*e.Record] = true
			}
			if len(e.Changed) == 0 {
				t.Errorf("%s changed nothing: %+v", name, e)
			}
		}
	}
	text := c.ana.Get("/audit-entries?limit=100").Want(200).Body
	for _, private := range []string{"hush", "ana@", "@example.org", "Green Farm", `"ana"`, `"ben"`, `"zoe"`, `"lil"`} {
		if strings.Contains(text, private) {
			t.Errorf("%s is in the audit: %s", private, text)
		}
	}
}

func TestARefusedOrRepeatedCallLeavesNoEntry(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	before := len(entries(t, c.ana, ""))
	c.ana.Post("/checks", c.named(`{"bin":"TOTE","ph":70}`)).Problem(422, "invalid")
	c.ana.Post("/imports?dry_run=true", `{"sites":[{"name":"Loft"}]}`).Want(200)
	c.ana.Patch("/bins/"+c.tote, "*", `{"name":"Wedge"}`).Problem(409, "bin-name-taken")
	c.ana.Patch("/bins/"+c.tote, "*", `{"name":"Tote"}`).Want(200)
	for range 2 {
		c.ana.With("Idempotency-Key", "k-1").Post("/sites", `{"name":"Attic"}`).Want(201)
	}
	if after := len(entries(t, c.ana, "")); after != before+1 {
		t.Errorf("%d entries, then %d", before, after)
	}
}

func TestAnEntrySaysWhoDidWhat(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.Clock.Move(time.Minute)
	c.ana.Patch("/bins/"+c.shed, "*", `{"depth_cm":40,"note":"wet"}`).Want(200)
	made := c.ana.Post("/api-keys", `{"name":"probe","scopes":["record"]}`).Want(201)
	c.ana.WithKey(made.Text("/key")).Post("/checks", `{"bin":"`+c.tote+`","ph":7,"temperature":{"value":20,"unit":"Cel"}}`).Want(201)
	got := entries(t, c.ana, "")
	check, bin := got[0], got[2]
	if *check.APIKey != made.ID() || check.Member != c.anaID || check.Noun != "check" || check.Action != "add" || check.Before != nil ||
		check.After["ph"] != 7.0 || check.After["temperature_c"] != 20.0 || check.After["bin"] != c.tote {
		t.Errorf("%+v", check)
	}
	if bin.At != "2026-05-01T08:01:00Z" || *bin.Record != c.shed || bin.Action != "change" || !slices.Equal(bin.Changed, []string{"depth_cm", "note"}) ||
		bin.Before["depth_cm"] != nil || bin.After["depth_cm"] != 40.0 || bin.After["name"] != "Shed" || bin.After["note"] != nil || bin.APIKey != nil {
		t.Errorf("%+v", bin)
	}
}

func TestTheAuditIsFilteredAndForStewardsAlone(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.Clock.Move(time.Minute)
	check := c.ben.Post("/checks", `{"bin":"`+c.shed+`"}`).Want(201).ID()
	c.ben.Delete("/checks/"+check, "*").Want(200)
	c.ben.Get("/audit-entries").Problem(403, "forbidden")
	for query, want := range map[string]int{
		"&noun=check": 2, "&record=" + check: 2, "&noun=bin&member=" + c.benID: 0, "&noun=check&member=" + c.benID: 2,
		"&from=2026-05-01T08:01:00Z": 2, "&noun=bin&to=2026-05-01T08:01:00Z": 3, "&noun=worm": 0,
	} {
		if got := entries(t, c.ana, query); len(got) != want {
			t.Errorf("%s finds %d, want %d", query, len(got), want)
		}
	}
	c.ana.Get("/audit-entries?bin="+c.tote).Problem(400, "malformed", "?bin")
	c.ana.Get("/audit-entries?limit=1").Want(200).Is("/items/0/action", "void").Is("/items/0/record", check)
}

// private are the texts of a book that are nobody else's business.
func private(book string) []string {
	var tree any
	if err := json.Unmarshal([]byte(book), &tree); err != nil {
		return nil
	}
	found := map[string]bool{}
	var walk func(table string, v any)
	walk = func(table string, v any) {
		switch v := v.(type) {
		case []any:
			for _, item := range v {
				walk(table, item)
			}
		case map[string]any:
			for name, item := range v {
				text, isText := item.(string)
				own := slices.Contains([]string{"note", "address", "party", "reason", "retired_why", "cover"}, name) || table == "members" && name == "name"
				if isText && own && text != "" {
					found[text] = true
				}
				walk(name, item)
			}
		}
	}
	walk("", tree)
	return slices.Sorted(maps.Keys(found))
}

func TestTheDemoClubsAuditHoldsNothingPersonal(t *testing.T) {
	t.Parallel()
	_, club := inNovember(t, repotest.SQLite(t), "lagoon")
	media, body := form(t, lagoon(t))
	bring(club, "?dry_run=false", media, body).Want(201)
	got := entries(t, club, "&noun=book")
	if len(got) != 1 || got[0].Action != "import" || got[0].After["bins"] == nil || len(entries(t, club, "")) != 1 {
		t.Fatalf("%+v", got)
	}
	for _, noun := range []string{"sites", "bins", "materials", "measures", "cultures", "origins", "batches", "feedings", "checks"} {
		for _, item := range club.Get("/" + noun + "?limit=100").Want(200).Value("/items").([]any) {
			path := fmt.Sprintf("/%s/%s", noun, item.(map[string]any)["id"])
			club.Patch(path, "*", `{"note":"a note from now on"}`).Want(200)
		}
	}
	for _, item := range club.Get("/movements?kind=hand-over&limit=100").Want(200).Value("/items").([]any) {
		club.Post(fmt.Sprintf("/movements/%s/reversal", item.(map[string]any)["id"]), `{"reason":"a reason from now on"}`)
	}
	secrets := append(private(club.Get("/exports/book.json").Want(200).Body), "from now on", "@example")
	if len(secrets) < 20 {
		t.Fatalf("only %d texts to look for", len(secrets))
	}
	for _, e := range entries(t, club, "") {
		text, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range secrets {
			quoted, _ := json.Marshal(s)
			if strings.Contains(string(text), string(quoted)) || len(s) > 12 && strings.Contains(string(text), s) {
				t.Errorf("%q is in %s", s, text)
			}
		}
	}
}
