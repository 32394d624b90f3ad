package api_test

import (
	"archive/zip"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/api/sheet/sheettest"
	"lumbricary.example/repo/repotest"
)

// typed is in every name, note and other text that the members of newPress
// typed, but for the name of the club.
const typed = "quillmark"

// tablesTyped are the tables in which it must be found.
var tablesTyped = []string{
	"accounts", "api_keys", "batches", "bins", "censuses", "checks", "cultures", "feedings", "harvests", "invitations", "materials", "measures",
	"members", "movements", "origins", "sites", "receipts", "batch_steps", "reworks", "quarantines", "identifications", "contacts", "clearings", "offers", "transfers",
}

// newPress is a club with one of everything, two keepers, and a club's key for
// the figures alone.
func newPress(t *testing.T, url string) (w *world, site apitest.Club) {
	t.Helper()
	p := apitest.On(t, open(t, url))
	c := &harbour{Program: p, ana: p.SignUp("quillmark-ana").Found("harbour")}
	c.ben = c.ana.Join("quillmark-ben", "keeper")
	c.anaID, c.benID = c.ana.MemberID(), c.ben.MemberID()
	add := func(path, body string) string {
		t.Helper()
		body = strings.NewReplacer("NOTE", `"note":"Quillmark's note"`, "CELLAR", c.theCellar, "TOTE", c.tote, "SHED", c.shed, "SCRAPS", c.scraps, "ORIGIN", c.origin, "BATCH", c.batch, "CULTURE", c.culture, "BEN", c.benID).Replace(body)
		return c.ana.Post(path, body).Want(http.StatusCreated).ID()
	}
	c.theCellar = add("/sites", `{"name":"Quillmark's cellar","address":"7 Quillmark Row",NOTE}`)
	c.tote = add("/bins", `{"name":"Quillmark's tote","kind":"tote","site":"CELLAR","surface_m2":0.5,"started":"2025-12-01",NOTE}`)
	c.shed = add("/bins", `{"name":"Quillmark's shed","kind":"bag","site":"CELLAR","keeper":"BEN","stand_ins":["BEN"],"surface_m2":0.5,"started":"2025-12-01",NOTE}`)
	add("/bins", `{"name":"Quillmark's old one","kind":"bag","site":"CELLAR","started":"2025-12-01","retired":"2026-03-15","retired_why":"Quillmark sat on it"}`)
	c.scraps = add("/materials", `{"name":"Quillmark's scraps","kind":"feed","moisture_pct":80,"density_g_per_l":500,NOTE}`)
	grounds := add("/materials", `{"name":"Quillmark's coffee","feedstock":"coffee-grounds",NOTE}`)
	measure := add("/measures", `{"name":"Quillmark's bucket","volume":{"value":10,"unit":"L"},"tare":{"value":500,"unit":"g"},NOTE}`)
	c.culture = add("/cultures", `{"name":"Quillmark line","species":"eisenia-fetida",NOTE}`)
	c.origin = add("/origins", `{"name":"Quillmark Farm","kind":"supplier","species":"eisenia-fetida","culture":"CULTURE",NOTE}`)
	c.batch = add("/batches", `{"lot_number":"QUILLMARK-1","product":"castings",NOTE}`)
	movement := add("/movements", `{"kind":"stocking","at":"2025-12-02","to_bin":"TOTE","lines":[{"origin":"ORIGIN","quantity":{"value":1,"unit":"kg"}}],NOTE}`)
	add("/feedings", `{"bin":"TOTE","at":"2025-12-10","items":[{"material":"SCRAPS","quantity":{"value":10,"unit":"kg"}}],NOTE}`)
	add("/harvests", `{"bin":"TOTE","at":"2026-02-20","full":true,"castings":{"value":4,"unit":"kg"},"batch":"BATCH",NOTE}`)
	check := add("/checks", `{"bin":"TOTE","at":"2026-03-01","leftover_pct":0,"pests":["Quillmark's mites"],"cover":"Quillmark's cardboard",NOTE}`)
	feeding := add("/feedings", `{"bin":"TOTE","at":"2026-03-02","items":[{"material":"SCRAPS","quantity":{"value":12,"unit":"kg"}},{"material":"`+grounds+`","quantity":{"value":1,"unit":"kg"}}],NOTE}`)
	add("/movements", `{"kind":"hand-over","at":"2026-03-20","to_bin":"SHED","terms":"sale","price_minor":987654,"currency":"EUR","lines":[{"from_bin":"TOTE","quantity":{"value":25,"unit":"%"}}],NOTE}`)
	add("/movements", `{"kind":"hand-over","at":"2026-03-21","party":"Quillmark & Sons","terms":"sale","price_minor":987654,"currency":"EUR","lines":[{"from_bin":"TOTE","quantity":{"value":50,"unit":"g"}}],NOTE}`)
	add("/movements", `{"kind":"loss","at":"2026-04-01","cause":"dead","lines":[{"from_bin":"SHED","quantity":{"value":20,"unit":"g"}}],NOTE}`)
	wrong := add("/movements", `{"kind":"loss","at":"2026-04-02","cause":"dead","lines":[{"from_bin":"TOTE","quantity":{"value":20,"unit":"g"}}]}`)
	add("/movements/"+wrong+"/reversal", `{"reason":"Quillmark counted twice"}`)
	census := add("/censuses", `{"bin":"TOTE","species":"eisenia-fetida","at":"2026-04-10","samples":[{"stratum":"quillmark","area":{"value":100,"unit":"cm2"},"worms":24},{"stratum":"quillmark","area":{"value":100,"unit":"cm2"},"worms":30}],NOTE}`)
	harvest := add("/harvests", `{"bin":"TOTE","at":"2026-04-20","full":true,"castings":{"value":5,"unit":"kg"},"batch":"BATCH",NOTE}`)
	invitation := add("/invitations", `{"email":"quillmark@example.org","name":"Dot Quillmark","role":"keeper"}`)
	apiKey := add("/api-keys", `{"name":"Quillmark's phone","scopes":["read"]}`)
	site = c.ana.WithKey(c.ana.Post("/api-keys", `{"name":"Quillmark's website","owner":"club","role":"reader","scopes":["figures"]}`).Want(http.StatusCreated).Text("/key"))
	lot := c.ana.Get("/lots?bin=" + c.shed).Want(http.StatusOK).Text("/items/0/id")
	fine := add("/batches", `{"lot_number":"QUILLMARK-2","product":"screened",NOTE}`)
	receipt := add("/receipts", `{"material":"SCRAPS","at":"2026-03-10","from":"Quillmark's Café","net":{"value":5,"unit":"kg"},"rejected":{"value":1,"unit":"kg"},"rejected_why":"Quillmark's forks",NOTE}`)
	step := add("/batch-steps", `{"batch":"BATCH","kind":"drying","at":"2026-04-21","moisture_pct":40,NOTE}`)
	rework := add("/reworks", `{"kind":"screening","at":"2026-04-22","from":[{"batch":"BATCH","quantity":{"value":1,"unit":"kg"}}],"into":[{"batch":"`+fine+`"}],NOTE}`)
	quarantine := add("/quarantines", `{"bin":"SHED","at":"2026-04-20","reason":"Quillmark saw mites",NOTE}`)
	identification := add("/identifications", `{"lot":"`+lot+`","species":"eisenia-andrei","method":"dna","identified_by":"Quillmark Institute",NOTE}`)
	contact := add("/contacts", `{"bins":["TOTE","SHED"],"at":"2026-04-23","what":"tools",NOTE}`)
	clearing := add("/clearings", `{"bin":"SHED","at":"2026-04-24","how":"Quillmark's steam",NOTE}`)
	offer := add("/offers", `{"what":"Quillmark's worms",NOTE}`)
	transfer := add("/transfers", `{"terms":"sale","done":true,"at":"2026-04-24","party":"Quillmark Fair","contact":{"text":"quillmark@example.org","purpose":"Quillmark asked","until":"2030-01-01"},"price":{"total_minor":987654,"currency":"EUR"},"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":5,"unit":"g"}}]}],NOTE}`)
	webhook, delivery := hooked(c)
	calendar := c.ana.Post("/calendars", `{"name":"Quillmark's phone"}`).Want(201).ID()
	return &world{harbour: c, t: t, things: map[string]string{
		"turnout": add("/turnouts", `{"at":"2026-04-01","households":38,"volunteer_hours":12.5}`), "receipt": receipt, "batch_step": step, "rework": rework, "quarantine": quarantine, "identification": identification, "contact": contact, "clearing": clearing, "offer": offer, "transfer": transfer,
		"member": c.benID, "site": c.theCellar, "bin": c.tote, "material": c.scraps, "measure": measure, "culture": c.culture, "origin": c.origin,
		"batch": c.batch, "feeding": feeding, "check": check, "harvest": harvest, "movement": movement, "lot": lot, "other": lot, "census": census,
		"invitation": invitation, "api_key": apiKey, "season": "2026-spring", "file": "bins.csv", "species": "eisenia-fetida", "code": "forbidden", "label": code(t, c.tote),
		"calendar": calendar, "link": "lbc_none", "webhook": webhook, "delivery": delivery,
	}}, site
}

// personal are the texts that a key for the figures must never read: what was
// typed, prices, and the ids of the club's members and their accounts.
func (w *world) personal() []string {
	out := []string{typed, "987654", "9,876.54", "9876.54", w.ana.Absolute().Get("/v1/me").Want(http.StatusOK).ID()}
	for _, m := range w.ana.Get("/members?limit=100").Want(http.StatusOK).Value("/items").([]any) {
		out = append(out, m.(map[string]any)["id"].(string))
	}
	return out
}

func TestAKeyForTheFiguresReadsNothingPersonalByAnyOperation(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		w, site := newPress(t, url)
		rows := dump(t, url)
		for _, table := range tablesTyped {
			if !slices.ContainsFunc(rows, func(row string) bool {
				return strings.HasPrefix(row, table+": ") && strings.Contains(strings.ToLower(row), typed)
			}) {
				t.Errorf("nothing was typed into %s", table)
			}
		}
		personal := w.personal()
		if len(personal) < 8 {
			t.Fatalf("only %v are personal", personal)
		}
		seen := func(what string, a *apitest.Answer) {
			for _, text := range personal {
				if strings.Contains(strings.ToLower(a.Body), text) {
					t.Errorf("%s shows %s: %s", what, text, a.Body)
				}
			}
		}
		for _, op := range operations(t) {
			a := w.ask(op, site, "harbour", w.things)
			seen(op.id, a)
			if op.inClub() && a.Status == http.StatusOK {
				path := strings.NewReplacer("{lot}", w.things["lot"], "{culture}", w.things["culture"], "{season}", w.things["season"]).Replace(strings.TrimPrefix(op.path, "/v1/clubs/{club}"))
				seen(op.id+" as text", site.With("Accept", "text/plain").Get(path+"?units=us").Want(http.StatusOK))
				if strings.Contains(path, "/seasons/") {
					for _, format := range []string{"csv", "xlsx", "pdf"} {
						a := site.Get(path + "?format=" + format).Want(http.StatusOK)
						a.Body = legible(t, format, a.Body)
						seen(op.id+" as "+format, a)
					}
				}
				if strings.HasSuffix(path, ".svg") {
					continue
				}
				seen(op.id+" explained", site.Get(path+"?explain=all").Want(http.StatusOK))
				seen(op.id+" explained as text", site.With("Accept", "text/plain").Get(path+"?explain=all").Want(http.StatusOK))
			}
		}
	})
}

func TestAKeyForTheFiguresReadsTheFiguresOfTheBook(t *testing.T) {
	t.Parallel()
	w, site := newPress(t, repotest.SQLiteURL(t))
	const spring = "/reports/seasons/2026-spring"
	book, figures := key(w.ana, `["read"]`).Get(spring).Want(http.StatusOK), site.Get(spring).Want(http.StatusOK)
	for _, same := range []string{"/total", "/species", "/stock", "/changes", "/moved", "/avoided", "/period", "/cultures/0/bins", "/cultures/0/members", "/cultures/0/copies/0/share", "/bins/0/yields"} {
		figures.Is(same, book.Value(same))
	}
	figures.Is("/money_shown", false).Is("/transfers/0/money", []any{})
	if n := len(figures.Value("/members").([]any)); n != 2 {
		t.Errorf("%d keepers have lines", n)
	}
	if !slices.ContainsFunc(figures.Value("/materials").([]any), func(m any) bool { return m.(map[string]any)["name"] == "Coffee grounds" }) {
		t.Errorf("a material isn't called as the reference table calls it: %s", figures.Body)
	}
	lineage := "/lots/" + w.things["lot"] + "/lineage"
	shares, known := site.Get(lineage).Want(http.StatusOK), w.ana.Get(lineage).Want(http.StatusOK)
	for _, same := range []string{"/origins/0/share", "/origins/0/kind", "/origins/0/origin", "/cultures/0/share", "/custody/1/mass_g", "/custody/1/terms", "/effective_sources"} {
		shares.Is(same, known.Value(same))
	}
	shares.Is("/custody/1/note", nil).Is("/custody/0/member", shares.Value("/custody/1/from_member"))
	keeper := shares.Value("/member")
	if !slices.ContainsFunc(figures.Value("/members").([]any), func(m any) bool { return m.(map[string]any)["id"] == keeper.(map[string]any)["id"] }) {
		t.Errorf("%v of the lineage is nobody in the report", keeper)
	}
}

func TestAKeyForTheFiguresIsToldWhichScopeItLacks(t *testing.T) {
	t.Parallel()
	c := kept(t)
	const spring = "/reports/seasons/2026-spring"
	alone := key(c.ana, `["figures"]`)
	if a := alone.Get("/members").Problem(http.StatusForbidden, "forbidden"); !strings.Contains(a.Text("/detail"), "the scope read") {
		t.Error(a.Body)
	}
	alone.Get("").Problem(http.StatusForbidden, "forbidden")
	if a := key(c.ana, `["record"]`).Get(spring).Problem(http.StatusForbidden, "forbidden"); !strings.Contains(a.Text("/detail"), "the scope figures") {
		t.Error(a.Body)
	}
}

func TestWithTheScopeReadAKeyReadsNamesWhateverElseItHas(t *testing.T) {
	t.Parallel()
	c := kept(t)
	const spring = "/reports/seasons/2026-spring"
	read := key(c.ana, `["read"]`).Get(spring).Want(http.StatusOK)
	read.Is("/members/0/name", "ana").Is("/bins/0/name", "Tote")
	if both := key(c.ana, `["figures","read"]`).Get(spring).Want(http.StatusOK); both.Body != read.Body {
		t.Errorf("with figures besides: %s", both.Body)
	}
	priced := key(c.ana, `["figures","transfer"]`).Get(spring).Want(http.StatusOK)
	priced.Is("/money_shown", false).Is("/transfers/0/money", []any{})
	key(c.ana, `["read","transfer"]`).Get(spring).Want(http.StatusOK).Is("/money_shown", true)
}

// legible is what a person can read of a file.
func legible(t *testing.T, format, body string) string {
	t.Helper()
	switch format {
	case "pdf":
		return sheettest.Text(t, []byte(body))
	case "xlsx":
		z, err := zip.NewReader(strings.NewReader(body), int64(len(body)))
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for _, f := range z.File {
			r, err := f.Open()
			if err == nil {
				_, err = io.Copy(&b, r)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		return b.String()
	}
	return body
}
