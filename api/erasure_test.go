package api_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// quay is a club with a keeper whose name, e-mail address and address stand in
// every place that has one.
type quay struct {
	*apitest.Program
	url                            string
	ana, bea                       apitest.Club
	anaID, beaID                   string
	tub, pot, cellar, loft         string
	fed, sold, lot, stocking, note string
	given, offered, lent, scalded  string
}

// beasOwn are the personal values.
var beasOwn = []string{"Beatrix Quill", "beatrix@example.org", "Rope Walk"}

func newQuay(t *testing.T, url string) *quay {
	t.Helper()
	q := &quay{Program: apitest.On(t, open(t, url)), url: url}
	q.ana = q.SignUp("ana").Found("harbour")
	p := q.SignUp("beatrix")
	invited := `{"email":"beatrix@example.org","name":"Beatrix Quill","role":"keeper"}`
	invite(t, q.ana, invited)
	code := invite(t, q.ana, invited).Text("/code")
	q.bea = q.ana.As(p)
	q.bea.Post("/invitations/accept", `{"code":"`+code+`"}`).Want(200)
	q.anaID, q.beaID = q.ana.MemberID(), q.bea.MemberID()
	q.cellar = q.bea.With("Idempotency-Key", "k-1").Post("/sites", `{"name":"Cellar","address":"7 Rope Walk"}`).Want(201).ID()
	q.loft = q.bea.Post("/sites", `{"name":"Loft","address":"9 Rope Walk"}`).Want(201).ID()
	q.ana.Patch("/sites/"+q.loft, "*", `{"owner":"`+q.anaID+`"}`).Want(200)
	bin := func(who apitest.Club, name string) string {
		return who.Post("/bins", `{"name":"`+name+`","kind":"tote","site":"`+q.cellar+`","surface_m2":0.5,"started":"2025-12-01"}`).Want(201).ID()
	}
	q.tub, q.pot = bin(q.bea, "Tub"), bin(q.ana, "Pot")
	origin := q.ana.Post("/origins", `{"name":"Green Farm","kind":"supplier","species":"eisenia-fetida"}`).Want(201).ID()
	scraps := q.ana.Post("/materials", `{"name":"Scraps","kind":"feed","moisture_pct":80}`).Want(201).ID()
	q.stocking = move(q.bea, "stocking", "2025-12-02", `"to_bin":"`+q.tub+`",`, `"origin":"`+origin+`","quantity":{"value":1,"unit":"kg"}`).Want(201).ID()
	q.fed = q.bea.With("Idempotency-Key", "k-2").Post("/feedings", `{"bin":"`+q.tub+`","at":"2026-03-02","note":"by BEATRIX QUILL","items":[{"material":"`+scraps+`","quantity":{"value":1,"unit":"kg"}}]}`).Want(201).ID()
	q.note = q.bea.Post("/checks", `{"bin":"`+q.tub+`","at":"2026-04-20","ph":7,"note":"all well"}`).Want(201).ID()
	q.sold = move(q.bea, "hand-over", "2026-04-01", `"to_bin":"`+q.pot+`","terms":"sale","price_minor":1500,"currency":"EUR","note":"from Beatrix Quill",`,
		`"from_bin":"`+q.tub+`","quantity":{"value":100,"unit":"g"}`).Want(201).ID()
	q.lot = q.ana.Get("/lots?bin=" + q.pot).Want(200).Text("/items/0/id")
	q.given = q.ana.Post("/transfers", `{"terms":"gift","party":"Sister of Beatrix Quill","legs":[{"goods":[{"from_bin":"`+q.pot+`","quantity":{"value":1,"unit":"g"}}]}]}`).Want(201).ID()
	q.offered = q.ana.Post("/offers", `{"what":"Worms","note":"as Beatrix Quill had them"}`).Want(201).ID()
	q.bea.Post("/offers", `{"what":"Castings"}`).Want(201)
	q.lent = q.ana.Post("/contacts", `{"bins":["`+q.tub+`","`+q.pot+`"],"at":"2026-04-20","what":"tools","note":"lent by Beatrix Quill"}`).Want(201).ID()
	q.scalded = q.ana.Post("/clearings", `{"bin":"`+q.pot+`","at":"2026-04-21","how":"Beatrix Quill scalded it"}`).Want(201).ID()
	q.bea.Post("/transfers", `{"terms":"gift","legs":[{"receiver":"`+q.anaID+`","goods":[{"from_bin":"`+q.tub+`","quantity":{"value":1,"unit":"g"}}]}]}`).Want(201)
	q.bea.Post("/members/"+q.beaID+"/public-name", `{"public_name":"Beatrix Quill of the quay"}`).Want(200)
	q.bea.Post("/api-keys", `{"name":"Beatrix Quill's phone","scopes":["read"]}`).Want(201)
	q.bea.Post("/calendars", `{"name":"Beatrix Quill's calendar"}`).Want(201)
	return q
}

// open opens the database at url until the test ends.
func open(t *testing.T, url string) *repo.Store {
	t.Helper()
	s, err := repo.Open(t.Context(), url, repo.Options{Connections: 8})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// raw opens the database at url past every guard.
func raw(t *testing.T, url string) (db *sql.DB, tables string) {
	t.Helper()
	driver, tables := "sqlite", `SELECT name FROM sqlite_master WHERE type = 'table'`
	if strings.Contains(url, "://") {
		driver, tables = "pgx", `SELECT table_name FROM information_schema.tables WHERE table_schema = 'public'`
	}
	db, err := sql.Open(driver, url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db, tables
}

// dump is every row of every table of the database, as table and text.
func dump(t *testing.T, url string) (out []string) {
	t.Helper()
	db, tables := raw(t, url)
	for _, table := range columns(t, db, tables) {
		for _, row := range columns(t, db, `SELECT * FROM "`+table+`"`) {
			out = append(out, table+": "+row)
		}
	}
	if len(out) < 20 {
		t.Fatalf("only %d rows were dumped", len(out))
	}
	return out
}

// columns is each row that a query finds, as text.
func columns(t *testing.T, db *sql.DB, query string) (out []string) {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		values, places := make([]any, len(names)), make([]any, len(names))
		for i := range values {
			places[i] = &values[i]
		}
		if err := rows.Scan(places...); err != nil {
			t.Fatal(err)
		}
		out = append(out, strings.Trim(fmt.Sprintln(values...), "\n"))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// naming is the rows of the dump in which a personal value stands, in any case.
func (q *quay) naming(t *testing.T, url string) []string {
	t.Helper()
	return slices.DeleteFunc(dump(t, url), func(row string) bool {
		return !slices.ContainsFunc(beasOwn, func(v string) bool { return strings.Contains(strings.ToLower(row), strings.ToLower(v)) })
	})
}

func (q *quay) erase(who apitest.Club) *apitest.Answer {
	return who.With("Idempotency-Key", "erase").Post("/members/"+q.beaID+"/erasure", `{"to":"`+q.anaID+`","confirm":"Beatrix Quill"}`)
}

func TestAMemberExportsWhatConcernsThem(t *testing.T) {
	t.Parallel()
	q := newQuay(t, repotest.SQLiteURL(t))
	path := "/members/" + q.beaID + "/personal-data"
	got := q.bea.Get(path).Want(200)
	got.Is("/member/name", "Beatrix Quill").Is("/invitations/1/email", "beatrix@example.org").Is("/invitations/1/code", nil)
	got.Is("/api_keys/0/name", "Beatrix Quill's phone").Is("/api_keys/0/key", nil).Is("/sites/0/address", "7 Rope Walk").Is("/bins/0/id", q.tub)
	got.Is("/movements/1/id", q.sold).Is("/movements/1/price_minor", 1500)
	for pointer, n := range map[string]int{"/invitations": 2, "/sites": 1, "/bins": 1, "/records": 4, "/movements": 2, "/transfers": 1, "/offers": 1, "/audit_entries": 14} {
		if items := got.Value(pointer).([]any); len(items) != n {
			t.Errorf("%s has %d items, want %d: %v", pointer, len(items), n, items)
		}
	}
	got.Is("/records/0/id", q.stocking).Is("/records/0/kind", "stocking").Is("/records/2/noun", "feeding").Is("/records/2/note", "by BEATRIX QUILL")
	q.ana.Get(path).Want(200).Is("/member/id", q.beaID)
	q.ana.Join("cyd", "reader").Get(path).Problem(403, "forbidden")
	key(q.ana, `["read","record","transfer"]`).Get(path).Problem(403, "forbidden")
	me := q.bea.Absolute().Get("/v1/me/personal-data").Want(200)
	me.Is("/account/email", "beatrix@example.org").Is("/sessions/0/current", true).Is("/memberships/0/member/id", q.beaID)
}

func TestAfterErasureNothingPersonalIsInAnyTableButListedNotes(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		q := newQuay(t, url)
		if n := len(q.naming(t, url)); n < 10 {
			t.Fatalf("only %d rows to blank", n)
		}
		q.ana.Post("/members/"+q.beaID+"/erasure", `{"to":"`+q.anaID+`","confirm":"Beatrix"}`).Problem(422, "invalid", "/confirm")
		done := q.erase(q.bea).Want(200).Is("/member/name", "former member 1").Is("/member/account", nil)
		if mentions := done.Value("/mentions").([]any); len(mentions) != 6 {
			t.Fatalf("%v", mentions)
		}
		done.Is("/mentions/0/noun", "feeding").Is("/mentions/0/id", q.fed).Is("/mentions/0/members", []string{"note"}).Is("/mentions/0/fixed", false)
		done.Is("/mentions/1/noun", "contact").Is("/mentions/1/id", q.lent).Is("/mentions/1/members", []string{"note"}).Is("/mentions/1/fixed", false)
		done.Is("/mentions/2/noun", "clearing").Is("/mentions/2/id", q.scalded).Is("/mentions/2/members", []string{"how"}).Is("/mentions/2/fixed", false)
		done.Is("/mentions/3/noun", "movement").Is("/mentions/3/id", q.sold).Is("/mentions/3/fixed", true)
		done.Is("/mentions/4/noun", "transfer").Is("/mentions/4/id", q.given).Is("/mentions/4/members", []string{"party"}).Is("/mentions/4/fixed", true)
		done.Is("/mentions/5/noun", "offer").Is("/mentions/5/id", q.offered).Is("/mentions/5/fixed", false)
		q.bea.Get("/bins").Problem(404, "club-not-found")
		q.bea.Absolute().Post("/v1/me/erasure", `{"passphrase":"`+apitest.Passphrase+`"}`).Want(200).Is("/memberships", 0)
		for _, row := range q.naming(t, url) {
			listed := map[string]string{"feedings": q.fed, "movements": q.sold, "transfers": q.given, "offers": q.offered, "contacts": q.lent, "clearings": q.scalded}
			if table, _, _ := strings.Cut(row, ": "); listed[table] == "" || !strings.Contains(row, listed[table]) {
				t.Errorf("a personal value is in %s", row)
			}
		}
		q.ana.Patch("/feedings/"+q.fed, "*", `{"note":"by a former member"}`).Want(200)
		q.ana.Patch("/contacts/"+q.lent, "*", `{"note":null}`).Want(200)
		q.ana.Patch("/clearings/"+q.scalded, "*", `{"how":"scalded"}`).Want(200)
		q.ana.Patch("/offers/"+q.offered, "*", `{"note":null}`).Want(200)
		if left := q.naming(t, url); len(left) != 2 {
			t.Errorf("only the movement's note and the transfer's party are left: %v", left)
		}
		q.ana.Get("/sites/"+q.cellar).Want(200).Is("/address", nil).Is("/owner", q.anaID)
	})
}

func TestErasureKeepsTotalsLineageAndWhoDidWhatById(t *testing.T) {
	t.Parallel()
	q := newQuay(t, repotest.SQLiteURL(t))
	pages := []string{"/lots/" + q.lot + "/lineage", "/bins/" + q.tub + "/stock", "/bins/" + q.tub + "/rate", "/movements", "/censuses", "/reports/seasons/2026-spring"}
	see := func() (out []string) {
		for _, path := range pages {
			out = append(out, strings.ReplaceAll(q.ana.Get(path).Want(200).Body, "former member 1", "Beatrix Quill"))
		}
		return out
	}
	q.ana.Patch("/bins/"+q.tub, "*", `{"keeper":"`+q.anaID+`"}`).Want(200) // as the erasure does
	before := see()
	q.erase(q.ana).Want(200)
	for i, body := range see() {
		if body != before[i] {
			t.Errorf("%s was\n%s and is\n%s", pages[i], before[i], body)
		}
	}
	last := entries(t, q.ana, "&noun=erasure")
	if len(last) != 1 || *last[0].Record != q.beaID || last[0].Member != q.anaID {
		t.Errorf("%+v", last)
	}
	q.ana.Get("/checks/"+q.note).Want(200).Is("/recorded/by", q.beaID)
}

func TestAnErasedMemberStaysErased(t *testing.T) {
	t.Parallel()
	q := newQuay(t, repotest.SQLiteURL(t))
	q.bea.Post("/members/"+q.anaID+"/erasure", `{"to":"`+q.beaID+`","confirm":"ana"}`).Problem(403, "forbidden")
	q.ana.Post("/members/"+q.anaID+"/erasure", `{"to":"`+q.beaID+`","confirm":"ana"}`).Problem(409, "last-steward")
	q.erase(q.ana).Want(200)
	q.erase(q.ana).Want(200).Has("Idempotency-Replayed", "true")
	q.ana.Get("/sites/"+q.cellar).Want(200).Is("/address", nil)
	q.ana.Post("/invitations", `{"email":"beatrix@example.org","member":"`+q.beaID+`"}`).Problem(409, "member-left")
	q.ana.Get("/erasures").Want(200).Is("/items/0/member", q.beaID).Is("/items/0/erased_at", "2026-05-01T08:00:00Z").Is("/items/0/erased_by", q.anaID)
	count := len(entries(t, q.ana, ""))
	q.ana.Post("/erasures", `{"members":["`+q.beaID+`"]}`).Want(200).Is("/erased/0/member/name", "former member 1").Is("/erased/0/mentions", []any{})
	if again := len(entries(t, q.ana, "")); again != count {
		t.Errorf("erasing again left %d entries", again-count)
	}
	q.ana.Post("/erasures", `{"members":["`+q.anaID+`","`+q.tub+`"]}`).Problem(422, "invalid", "/members/0", "/members/1")
	q.ana.Post("/members", `{"name":"former member 2","role":"reader"}`).Want(201)
	cyd := q.ana.Join("cyd", "reader").MemberID()
	q.ana.Post("/members/"+cyd+"/erasure", `{"to":"`+q.anaID+`","confirm":"cyd"}`).Want(200).Is("/member/name", "former member 3")
}

func TestAnAddressThatAMemberLeftBehindIsBlankedToo(t *testing.T) {
	t.Parallel()
	q := newQuay(t, repotest.SQLiteURL(t))
	q.ana.Post("/members/"+q.beaID+"/removal", `{"to":"`+q.anaID+`"}`).Want(200)
	q.ana.Patch("/sites/"+q.loft, "*", `{"address":"1 High Street"}`).Want(200)
	q.erase(q.ana).Want(200)
	q.ana.Get("/sites/"+q.cellar).Want(200).Is("/address", nil)
	q.ana.Get("/sites/"+q.loft).Want(200).Is("/address", "1 High Street")
}

func TestErasuresAreAppliedAgainAfterAnOlderCopyWasPutBack(t *testing.T) {
	t.Parallel()
	q := newQuay(t, repotest.SQLiteURL(t))
	older := filepath.Join(t.TempDir(), "older.db")
	db, _ := raw(t, q.url)
	if _, err := db.ExecContext(t.Context(), `VACUUM INTO ?`, older); err != nil {
		t.Fatal(err)
	}
	q.erase(q.ana).Want(200)
	member := q.ana.Get("/erasures").Want(200).Text("/items/0/member")

	back := apitest.On(t, open(t, older))
	for range 1000 {
		back.Server.NewID() // those of before are taken
	}
	ana := apitest.Person{Caller: back.Caller}.In("harbour").WithKey(q.ana.Token)
	ana.Get("/members/"+member).Want(200).Is("/name", "Beatrix Quill")
	for range 2 {
		ana.Post("/erasures", `{"members":["`+member+`"]}`).Want(200).Is("/erased/0/member/name", "former member 1")
	}
	for _, row := range q.naming(t, older) {
		free := slices.ContainsFunc([]string{q.fed, q.sold, q.given, q.offered, q.lent, q.scalded}, func(id string) bool { return strings.Contains(row, id) })
		if !free && !strings.HasPrefix(row, "accounts: ") {
			t.Errorf("a personal value is in %s", row)
		}
	}
}

func TestAnErasedAccountIsNobodysAndItsAddressIsFree(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		q := newQuay(t, url)
		me := q.bea.Absolute()
		account := me.Get("/v1/me").Want(200).ID()
		program := key(q.bea, `["read"]`)
		apitest.Person{Caller: me}.Found("hill")
		right := `{"passphrase":"` + apitest.Passphrase + `"}`
		me.Post("/v1/me/erasure", `{"passphrase":"not the right one"}`).Problem(422, "invalid", "/passphrase")
		if a := me.Post("/v1/me/erasure", right).Problem(409, "last-steward"); !strings.Contains(a.Text("/detail"), "hill") {
			t.Error(a.Body)
		}
		q.bea.Get("/bins").Want(200) // nothing was begun
		hill := q.bea.Elsewhere("hill")
		heir := q.ana.Elsewhere("hill")
		code := invite(t, hill, `{"email":"ana@example.org","name":"Ana","role":"steward"}`).Text("/code")
		heir.Post("/invitations/accept", `{"code":"`+code+`"}`).Want(200)

		me.Post("/v1/me/erasure", right).Want(200).Is("/sessions", 1).Is("/memberships", 2)
		me.Get("/v1/me").Problem(401, "session-ended")
		program.Get("/bins").Problem(401, "api-key-ended")
		q.Post("/v1/sessions", `{"email":"beatrix@example.org","passphrase":"`+apitest.Passphrase+`"}`).Problem(401, "credentials")
		q.ana.Get("/members/"+q.beaID).Want(200).Is("/account", nil).Is("/left_at", nil).Is("/name", "Beatrix Quill")
		for _, row := range dump(t, url) {
			linked := strings.Contains(row, account) && (strings.HasPrefix(row, "memberships: ") || strings.HasPrefix(row, "members: "))
			if linked || strings.Contains(row, "beatrix@example.org") {
				t.Errorf("the account or its e-mail address is in %s", row)
			}
		}
		fresh := q.SignUp("beatrix")
		fresh.Get("/v1/me").Want(200).Is("/memberships", []any{})
		fresh.In("harbour").Get("/bins").Problem(404, "club-not-found")
	})
}
