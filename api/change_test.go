package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// etag is the entity tag of what is at the path.
func etag(t *testing.T, c apitest.Club, path string) string {
	t.Helper()
	return c.Get(path).Want(200).Header.Get("ETag")
}

func TestEveryNounChangesByAMergePatch(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	feeding := c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":"2026-04-20","note":"x","items":[{"material":%q,"quantity":{"value":2,"unit":"L"}}]}`, c.tote, c.scraps)).Want(201).ID()
	bucket := bucket(c)
	check := c.ana.Post("/checks", `{"bin":"`+c.tote+`","temperature":{"value":68,"unit":"[degF]"},"leachate":{"value":2,"unit":"L"},"ph":7,"pests":["mites"]}`).Want(201).ID()
	for path, x := range map[string]struct {
		patch, pointer string
		want           any
	}{
		"/sites/" + c.theCellar:  {`{"name":"Vault"}`, "/name", "Vault"},
		"/bins/" + c.tote:        {`{"depth_cm":30}`, "/depth_cm", 30},
		"/materials/" + c.scraps: {`{"moisture_pct":null}`, "/moisture_pct", nil},
		"/measures/" + bucket:    {`{"name":"Red bucket"}`, "/name", "Red bucket"},
		"/cultures/" + c.culture: {`{"note":"from the mole"}`, "/note", "from the mole"},
		"/origins/" + c.origin:   {`{"culture":null}`, "/culture", nil},
		"/batches/" + c.batch:    {`{"mesh_mm":4}`, "/mesh_mm", 4},
		"/feedings/" + feeding:   {`{"note":null,"placement":"pocket"}`, "/placement", "pocket"},
		"/checks/" + check:       {`{"ph":6.5}`, "/ph", 6.5},
	} {
		before := c.ana.Get(path).Want(200)
		a := c.ana.Patch(path, before.Header.Get("ETag"), x.patch).Want(200).Is(x.pointer, x.want)
		after := c.ana.Get(path).Want(200)
		if after.Body != a.Body || after.Header.Get("ETag") != a.Header.Get("ETag") {
			t.Errorf("%s: changed to %s %s, shown as %s %s", path, a.Header.Get("ETag"), a.Body, after.Header.Get("ETag"), after.Body)
		}
		for name, v := range before.Value("").(map[string]any) {
			if !strings.Contains(x.patch, `"`+name+`"`) {
				a.Is("/"+name, v)
			}
		}
	}
}

func TestAPatchThatChangesNothingLeavesTheVersion(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	feeding := c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"items":[{"material":%q,"quantity":{"value":0.1,"unit":"[lb_av]"},"moisture_pct":81.3}]}`, c.tote, c.scraps)).Want(201).ID()
	check := c.ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-05-01","temperature":{"value":71,"unit":"[degF]"},"leachate":{"value":1,"unit":"[gal_us]"}}`).Want(201).ID()
	for _, path := range []string{"/sites/" + c.theCellar, "/bins/" + c.tote, "/materials/" + c.scraps, "/measures/" + bucket(c), "/cultures/" + c.culture, "/origins/" + c.origin, "/batches/" + c.batch, "/feedings/" + feeding, "/checks/" + check} {
		tag := etag(t, c.ana, path)
		c.ana.Patch(path, tag, `{}`).Want(200).Has("ETag", tag)
	}
}

func TestAChangeNeedsTheTagOfWhatWasRead(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	path := "/sites/" + c.theCellar
	tag := etag(t, c.ana, path)
	blind := c.ana.With("Content-Type", "application/merge-patch+json")
	blind.Do("PATCH", path, strings.NewReader(`{"name":"Vault"}`)).Problem(428, "precondition-required")
	c.ana.Do("DELETE", path, nil).Problem(428, "precondition-required")
	for _, other := range []string{`"1-0000000000000000"`, "W/" + tag, strings.Trim(tag, `"`), `""`} {
		c.ana.Patch(path, other, `{"name":"Vault"}`).Problem(412, "stale")
		c.ana.Delete(path, other).Problem(412, "stale")
	}
	c.ana.Patch(path, `"other", `+tag, `{"name":"Vault"}`).Want(200)
	c.ana.Patch(path, tag, `{"name":"Cave"}`).Problem(412, "stale")
	c.ana.Patch(path, "*", `{"name":"Cave"}`).Want(200).Is("/name", "Cave")
	c.ana.Get(path).Is("/name", "Cave")
}

func TestAPatchIsReadStrictly(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	path := "/bins/" + c.tote
	c.ana.With("If-Match", "*").Do("PATCH", path, strings.NewReader(`{}`)).Problem(415, "unsupported-media-type")
	c.ana.With("If-Match", "*").With("Content-Type", "application/json").Do("PATCH", path, strings.NewReader(`{}`)).Problem(415, "unsupported-media-type")
	for patch, x := range map[string]struct {
		status        int
		code, pointer string
	}{
		``:                                {400, "malformed", ""},
		`{"depth_cm":`:                    {400, "malformed", ""},
		`[]`:                              {400, "malformed", ""},
		`null`:                            {400, "malformed", ""},
		`{"colour":"red"}`:                {400, "malformed", "/colour"},
		`{"colour":null}`:                 {400, "malformed", "/colour"},
		`{"name":"a","name":"b"}`:         {400, "malformed", "/name"},
		`{"depth_cm":"deep"}`:             {400, "malformed", "/depth_cm"},
		`{"name":null}`:                   {422, "invalid", "/name"},
		`{"started":null}`:                {422, "invalid", "/started"},
		`{"created_at":null}`:             {422, "invalid", "/created_at"},
		`{"id":"` + c.wedge + `"}`:        {422, "invalid", "/id"},
		`{"depth_cm":-1,"kind":"bucket"}`: {422, "invalid", "/kind"},
	} {
		c.ana.Patch(path, "*", patch).Problem(x.status, x.code, x.pointer)
	}
	c.ana.Patch(path, "*", `{"name":"Tub"}`).Want(200).Is("/name", "Tub")
	c.ana.Patch("/bins/"+c.wedge, "*", `{"name":"Tub"}`).Problem(409, "bin-name-taken")
}

func TestWhoMayAddMayChangeAndOnlyStewardsGiveToOthers(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	reader := c.ana.Join("rui", "reader")
	c.ben.Patch("/bins/"+c.shed, "*", `{"note":"mine"}`).Want(200)
	c.ben.Patch("/bins/"+c.shed, "*", `{"keeper":"`+c.anaID+`"}`).Problem(403, "forbidden")
	c.ben.Patch("/bins/"+c.tote, "*", `{"note":"hers"}`).Problem(403, "forbidden")
	c.ben.Delete("/bins/"+c.tote, "*").Problem(403, "forbidden")
	c.ben.Patch("/cultures/"+c.culture, "*", `{"note":"x"}`).Problem(403, "forbidden")
	reader.Patch("/materials/"+c.scraps, "*", `{"note":"x"}`).Problem(403, "forbidden")
	c.ana.Patch("/bins/"+c.shed, "*", `{"keeper":"`+c.anaID+`","stand_ins":["`+c.benID+`"]}`).Want(200).Is("/keeper", c.anaID)
	c.ben.Patch("/bins/"+c.shed, "*", `{"note":"not mine"}`).Problem(403, "forbidden")
	c.ben.Post("/checks", `{"bin":"`+c.shed+`"}`).Want(201)
}

func TestAnotherClubsThingCanNotBeChanged(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	eve := c.SignUp("eve").Found("hill")
	const none = "/sites/0197aaaa-0000-7000-8000-00000000000f"
	path := "/sites/" + c.theCellar
	sameProblem(t, eve.Patch(path, "*", `{"name":"x"}`), eve.Patch(none, "*", `{"name":"x"}`))
	sameProblem(t, eve.Delete(path, "*"), eve.Delete(none, "*"))
	sameProblem(t, c.ana.As(eve.Person).Delete(path, "*"), eve.In("nowhere").Delete(path, "*"))
	eve.Patch(path, "*", `{"name":"x"}`).Problem(404, "site-not-found")
	eve.Patch("/bins/x", "*", `{}`).Problem(404, "bin-not-found")
}

func TestABinMovesAndRetiresWithItsBookAtZero(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	attic := c.ana.Post("/sites", `{"name":"Attic"}`).Want(201).ID()
	path := "/bins/" + c.tote
	c.ana.Patch(path, "*", `{"site":"`+attic+`"}`).Want(200).Is("/site", attic)
	c.ana.Patch(path, "*", `{"site":"`+c.anaID+`"}`).Problem(422, "invalid", "/site")
	c.ana.Patch(path, "*", `{"started":"2026-01-01"}`).Problem(422, "invalid", "/started")
	c.ana.Patch(path, "*", `{"retired":"2026-04-30"}`).Problem(409, "bin-stocked", "/retired")
	loss := move(c.ana, "loss", "2026-04-20", `"cause":"lost-bin",`, `"from_bin":"`+c.tote+`","quantity":{"value":100,"unit":"%"}`).Want(201).ID()
	c.ana.Patch(path, "*", `{"retired":"2026-04-01"}`).Problem(422, "invalid", "/retired")
	c.ana.Patch(path, "*", `{"retired":"2026-04-21","retired_why":"frost"}`).Want(200).Is("/retired", "2026-04-21").Is("/retired_precision", "day")
	c.ana.Post("/checks", `{"bin":"`+c.tote+`"}`).Problem(422, "invalid", "/at")
	c.ana.Post("/movements/"+loss+"/reversal", `{"reason":"they live"}`).Problem(409, "bin-retired")
	move(c.ana, "stocking", "2026-03-01", `"to_bin":"`+c.tote+`",`, `"origin":"`+c.origin+`","quantity":{"value":1,"unit":"g"}`).Problem(409, "bin-retired")
	c.ana.Patch(path, "*", `{"retired":null,"retired_why":null}`).Want(200).Is("/retired", nil)
	c.ana.Post("/movements/"+loss+"/reversal", `{"reason":"they live"}`).Want(201)
}

func TestAnOriginAndItsCultureKeepTheirSpeciesOnceTheyHaveStock(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	fresh := c.ana.Post("/origins", `{"name":"Wood","kind":"wild","species":"eisenia-fetida"}`).Want(201).ID()
	c.ana.Patch("/origins/"+fresh, "*", `{"species":"eisenia-andrei"}`).Want(200)
	c.ana.Patch("/origins/"+fresh, "*", `{"culture":"`+c.culture+`"}`).Problem(422, "invalid", "/culture")
	c.ana.Patch("/cultures/"+c.culture, "*", `{"species":"eisenia-andrei"}`).Problem(422, "invalid", "/species")
	c.ana.Patch("/origins/"+c.origin, "*", `{"species":"eisenia-andrei","culture":null}`).Problem(422, "invalid", "/species")
	c.ana.Patch("/origins/"+c.origin, "*", `{"culture":null}`).Want(200)
	c.ana.Patch("/cultures/"+c.culture, "*", `{"species":"eisenia-andrei"}`).Want(200)
	c.ana.Patch("/origins/"+fresh, "*", `{"culture":"`+c.culture+`"}`).Want(200).Is("/culture", c.culture)
}

func TestWhatNothingNamesIsRemovedAndAllElseStays(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		ana := apitest.On(t, store).SignUp("ana")
		club := ana.Found("harbour")
		site := club.Post("/sites", cellar).Want(201).ID()
		bin := club.Post("/bins", `{"name":"Tote","kind":"tote","site":"`+site+`","started":"2026-01-01"}`).Want(201).ID()
		material := club.Post("/materials", `{"name":"Scraps","kind":"feed"}`).Want(201).ID()
		culture := club.Post("/cultures", `{"name":"Reds","species":"eisenia-fetida"}`).Want(201).ID()
		origin := club.Post("/origins", `{"name":"Farm","kind":"supplier","species":"eisenia-fetida","culture":"`+culture+`"}`).Want(201).ID()
		batch := club.Post("/batches", `{"lot_number":"A","product":"castings"}`).Want(201).ID()
		club.Post("/feedings", fmt.Sprintf(`{"bin":%q,"items":[{"material":%q,"quantity":{"value":1,"unit":"kg"}}]}`, bin, material)).Want(201)
		move(club, "stocking", "2026-02-01", `"to_bin":"`+bin+`",`, `"origin":"`+origin+`","quantity":{"value":1,"unit":"kg"}`).Want(201)
		club.Post("/harvests", fmt.Sprintf(`{"bin":%q,"castings":{"value":1,"unit":"kg"},"batch":%q}`, bin, batch)).Want(201)
		for _, path := range []string{"/sites/" + site, "/bins/" + bin, "/materials/" + material, "/cultures/" + culture, "/origins/" + origin, "/batches/" + batch} {
			club.Delete(path, etag(t, club, path)).Problem(409, "in-use")
			club.Get(path).Want(200)
		}
		hill := ana.Found("hill")
		unused := things(t, hill)
		for _, noun := range []string{"bin", "site", "material", "origin", "culture"} {
			a := hill.Delete(unused[noun], etag(t, hill, unused[noun])).Want(204).Has("ETag", "").Has("Content-Type", "")
			if a.Body != "" {
				t.Errorf("%s: %s", noun, a.Body)
			}
			hill.Get(unused[noun]).Problem(404, noun+"-not-found")
		}
	})
}

func TestTwoChangesAtOnceLoseNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		club := apitest.On(t, store).SignUp("ana").Found("harbour")
		path := "/sites/" + club.Post("/sites", cellar).Want(201).ID()
		tag := etag(t, club, path)
		answers := make([]*apitest.Answer, 8)
		var together sync.WaitGroup
		for i := range answers {
			together.Go(func() { answers[i] = club.Patch(path, tag, fmt.Sprintf(`{"note":"note %d"}`, i)) })
		}
		together.Wait()
		taken := 0
		for _, a := range answers {
			switch a.Status {
			case http.StatusOK:
				taken++
				if got := club.Get(path).Body; got != a.Body {
					t.Errorf("taken as %s, shown as %s", a.Body, got)
				}
			case http.StatusPreconditionFailed:
			default:
				t.Errorf("%d: %s", a.Status, a.Body)
			}
		}
		if taken != 1 {
			t.Errorf("%d of them were taken", taken)
		}
	})
}

func TestWhatPostsIsReversedNotChanged(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	id := c.ana.Get("/movements").Want(200).Text("/items/0/id")
	for _, path := range []string{"/movements/" + id, "/harvests/" + id, "/censuses/" + id} {
		for _, a := range []*apitest.Answer{c.ana.Patch(path, "*", `{"note":"x"}`), c.ana.Delete(path, "*")} {
			a.Problem(405, "method-not-allowed")
			if !strings.Contains(a.Text("/detail"), "/reversal") {
				t.Errorf("%s doesn't say how to reverse", a.Body)
			}
		}
	}
	if detail := c.ana.Do("DELETE", "/lots/"+id, nil).Problem(405, "method-not-allowed").Text("/detail"); strings.Contains(detail, "reverse") {
		t.Error(detail)
	}
}
