package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api"
	"lumbricary.example/api/apitest"
	"lumbricary.example/repo/repotest"
)

// publicPaths are the addresses of what a club may publish, below the club's.
func (c *harbour) publicPaths() []string {
	lot := c.ana.Get("/bins/" + c.tote + "/stock").Want(http.StatusOK).Text("/stock/0/lot")
	return []string{"", "/season", "/season?period=2026-spring", "/offers", "/cultures/" + c.culture + "/lineage", "/lots/" + lot + "/lineage"}
}

// publishing publishes all that a club can.
func (c *harbour) publishing() {
	c.ana.Patch("", "*", `{"publish_season":true,"publish_offers":true}`).Want(http.StatusOK)
	c.ana.Patch("/cultures/"+c.culture, "*", `{"name":"Harbour reds","published":true}`).Want(http.StatusOK)
}

// anybody asks for what a club publishes, without credentials.
func (c *harbour) anybody(path string) *apitest.Answer {
	return c.Get("/v1/public/clubs/harbour" + path)
}

func TestAClubThatPublishesNothingIsLikeNone(t *testing.T) {
	t.Parallel()
	c := kept(t)
	for _, path := range c.publicPaths() {
		hidden := c.anybody(path).Problem(http.StatusNotFound, "not-published")
		sameProblem(t, hidden, c.Get("/v1/public/clubs/nowhere"+path))
		sameProblem(t, hidden, c.Get("/v1/public/clubs/%20"+path))
	}
}

func TestAClubPublishesWhatItsStewardsChoseAndNothingElse(t *testing.T) {
	t.Parallel()
	c := kept(t)
	settings := func(season, offers, culture bool) {
		t.Helper()
		c.ana.Patch("", "*", `{"publish_season":`+text(season)+`,"publish_offers":`+text(offers)+`}`).Want(http.StatusOK)
		c.ana.Patch("/cultures/"+c.culture, "*", `{"published":`+text(culture)+`}`).Want(http.StatusOK)
	}
	paths := c.publicPaths()
	for _, chosen := range [][3]bool{{true, false, false}, {false, true, false}, {false, false, true}, {false, false, false}} {
		settings(chosen[0], chosen[1], chosen[2])
		for i, open := range []bool{chosen[0] || chosen[1] || chosen[2], chosen[0], chosen[0], chosen[1], chosen[2], chosen[2]} {
			if open {
				c.anybody(paths[i]).Want(http.StatusOK)
			} else {
				sameProblem(t, c.anybody(paths[i]), c.Get("/v1/public/clubs/nowhere"+paths[i]))
			}
		}
	}
	settings(false, false, true)
	c.anybody("").Is("/season", false).Is("/offers", false).Is("/cultures/0/name", "Harbour line").Is("/cultures/0/species/id", "eisenia-fetida")
	sameProblem(t, c.anybody("/cultures/0197aaaa-0000-7000-8000-00000000000f/lineage"), c.Get("/v1/public/clubs/nowhere"))
	sameProblem(t, c.anybody("/lots/0197aaaa-0000-7000-8000-00000000000f/lineage"), c.Get("/v1/public/clubs/nowhere"))
}

func text(b bool) string { return map[bool]string{true: "true", false: "false"}[b] }

func TestOnlyAStewardWhoSignedInPublishes(t *testing.T) {
	t.Parallel()
	c := kept(t)
	machine := key(c.ana, `["read","record","transfer"]`)
	for _, who := range []apitest.Club{c.ben, machine} {
		who.Patch("", "*", `{"publish_season":true}`).Problem(http.StatusForbidden, "forbidden")
		who.Patch("/cultures/"+c.culture, "*", `{"published":true}`).Problem(http.StatusForbidden, "forbidden")
		who.Post("/cultures", `{"name":"Greys","species":"eisenia-andrei","published":true}`).Problem(http.StatusForbidden, "forbidden")
	}
	machine.Patch("/cultures/"+c.culture, "*", `{"note":"kept by a machine"}`).Want(http.StatusOK)
	c.ana.Patch("/cultures/"+c.culture, "*", `{"published":true}`).Want(http.StatusOK).Is("/published", true)
	machine.Patch("/cultures/"+c.culture, "*", `{"published":false}`).Problem(http.StatusForbidden, "forbidden")
	if e := entries(t, c.ana, "&noun=culture")[0]; !slices.Equal(e.Changed, []string{"published"}) || e.After["published"] != true {
		t.Errorf("%+v", e)
	}
}

func TestWhatIsPublishedTravelsWithTheBookAndAgreementsDoNot(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	c.ben.Post("/members/"+c.benID+"/public-name", `{"public_name":"Ben of the shed"}`).Want(http.StatusOK)
	book := c.ana.Get("/exports/book.json").Want(http.StatusOK)
	if strings.Contains(book.Body, "of the shed") {
		t.Error("an agreement travels with the book")
	}
	hill := c.SignUp("eve").Found("hill")
	hill.Post("/imports?dry_run=false", book.Body).Want(http.StatusCreated)
	hill.Get("/cultures").Want(http.StatusOK).Is("/items/0/name", "Harbour reds").Is("/items/0/published", true)
	c.Get("/v1/public/clubs/hill/season").Problem(http.StatusNotFound, "not-published")
}

func TestNothingThatMembersTypedIsInAnyPublicAnswer(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		w, _ := newPress(t, url)
		w.ana.Post("/offers", `{"what":"Quillmark's castings","batch":"`+w.batch+`","note":"Quillmark's note"}`).Want(http.StatusCreated)
		w.publishing()
		rows := dump(t, url)
		for _, table := range tablesTyped {
			if !slices.ContainsFunc(rows, func(row string) bool {
				return strings.HasPrefix(row, table+": ") && strings.Contains(strings.ToLower(row), typed)
			}) {
				t.Errorf("nothing was typed into %s", table)
			}
		}
		personal := w.personal()
		asked := 0
		for _, op := range operations(t) {
			if !strings.HasPrefix(op.path, "/v1/public/") {
				continue
			}
			asked++
			for _, who := range []apitest.Club{apitest.Person{Caller: w.Caller}.In("harbour"), w.ana} {
				a := w.ask(op, who, "harbour", w.things).Want(http.StatusOK)
				for _, text := range personal {
					if strings.Contains(strings.ToLower(a.Body), text) {
						t.Errorf("%s shows %s: %s", op.id, text, a.Body)
					}
				}
			}
		}
		if asked < 5 {
			t.Errorf("only %d public operations", asked)
		}
	})
}

func TestAPublishedSeasonHasTheFiguresOfTheClubsReport(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	report := c.ana.Get("/reports/seasons/2026-spring").Want(http.StatusOK)
	shown := c.anybody("/season?period=2026-spring").Want(http.StatusOK)
	for mine, theirs := range map[string]string{
		"/feed_g": "/total/sums/feed_g", "/castings_g": "/total/sums/castings_g", "/bins": "/total/bins", "/yield": "/total/yields/wet",
		"/rate": "/total/rate", "/stock": "/stock", "/period": "/period", "/transfers/0/mass_g": "/transfers/0/mass_g",
	} {
		shown.Is(mine, report.Value(theirs))
	}
	shown.Is("/keepers", 2).Is("/months/0/month", "2026-03").Is("/months/0/feed_g", 12000).Is("/months/0/castings_g", 0).
		Is("/months/1/month", "2026-04").Is("/months/1/castings_g", 5000).Is("/months/2/month", "2026-05").Is("/club/name", "harbour")
	if n := len(shown.Value("/months").([]any)); n != 3 {
		t.Errorf("%d months", n)
	}
	c.anybody("/season?period=2025-12").Want(http.StatusOK).Is("/months/0/bedding_g", 5000).Is("/months/0/feed_g", 10000)
	c.anybody("/season").Want(http.StatusOK).Is("/period/code", "2026-spring")
	if us := c.anybody("/season?units=us").Want(http.StatusOK); us.Value("/rate/unit") == "" {
		t.Error(us.Body)
	}
	for _, code := range []string{"2026-W14", "2026-03-01..2026-03-02", "soon"} {
		c.anybody("/season?period="+code).Problem(http.StatusUnprocessableEntity, "period")
	}
}

func TestASeasonThatHasJustBegunShowsTheOneBefore(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	c.Clock.Move(40 * 24 * 3600 * 1e9) // into June
	c.anybody("/season").Want(http.StatusOK).Is("/period/code", "2026-spring").Is("/empty", false)
	c.anybody("/season?period=2026-summer").Want(http.StatusOK).Is("/empty", true).Is("/months/0/month", "2026-06")
}

func TestALineageTellsMonthMassAndKeeperByPseudonym(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	l := c.anybody("/cultures/" + c.culture + "/lineage").Want(http.StatusOK)
	l.Is("/culture/name", "Harbour reds").Is("/bins", 3).Is("/keepers", 2).Is("/cut", false).Is("/origins/0/kind", "supplier").
		Is("/steps/0/month", "2025-12").Is("/steps/0/kind", "stocking").Is("/steps/0/mass_g", 1000).Is("/steps/0/share", 1).
		Is("/steps/0/parents/0/origin", l.Value("/origins/0/id")).Is("/steps/1/kind", "split").Is("/steps/1/mass_g", 200).
		Is("/steps/1/parents/0/lot", l.Value("/steps/0/lot")).Is("/steps/2/kind", "hand-over").Is("/steps/2/month", "2026-03").
		Is("/steps/2/from_keeper", l.Value("/steps/0/keeper")).Is("/steps/2/stands_g", 180)
	for _, hidden := range []string{"ana", "ben", "Green Farm", "Tote", "2026-03-20", "1500", c.anaID, c.benID} {
		if strings.Contains(l.Body, hidden) {
			t.Errorf("it shows %s: %s", hidden, l.Body)
		}
	}
	lot := c.anybody("/lots/" + l.Text("/steps/2/lot") + "/lineage").Want(http.StatusOK)
	lot.Is("/share", 1).Is("/cultures/0/name", "Harbour reds").Is("/steps/0", l.Value("/steps/0")).Is("/steps/1", l.Value("/steps/2"))
}

func TestALotThatIsOfOtherCulturesInGoodPartIsNotShown(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	other := c.ana.Post("/origins", `{"name":"Dale","kind":"supplier","species":"eisenia-fetida"}`).Want(http.StatusCreated).ID()
	move(c.ana, "stocking", "2026-04-25", `"to_bin":"`+c.wedge+`",`, `"origin":"`+other+`","quantity":{"value":1,"unit":"kg"}`).Want(http.StatusCreated)
	mixed := c.ana.Get("/bins/" + c.wedge + "/stock").Want(http.StatusOK).Text("/stock/0/lot")
	c.anybody("/lots/"+mixed+"/lineage").Problem(http.StatusNotFound, "not-published")
	c.anybody("/cultures/"+c.culture+"/lineage").Want(http.StatusOK).Is("/bins", 2)
	if l := c.anybody("/cultures/" + c.culture + "/lineage"); strings.Contains(l.Body, mixed) {
		t.Error(l.Body)
	}
}

func TestOffersAreShownByWhatTheBookKnowsOfThem(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	c.ben.Post("/offers", `{"what":"Call Ben","species":"eisenia-fetida","bin":"`+c.shed+`","quantity":{"value":100,"unit":"g"},"terms":["swap"],"note":"after four"}`).Want(http.StatusCreated)
	c.ana.Post("/offers", `{"what":"Call Ana","batch":"`+c.batch+`","terms":["sale"],"price":{"unit_minor":500,"unit":"kg","currency":"EUR"},"until":"2026-06-30"}`).Want(http.StatusCreated)
	gone := c.ana.Post("/offers", `{"what":"Old ones"}`).Want(http.StatusCreated).ID()
	c.ana.Delete("/offers/"+gone, "*").Want(http.StatusOK)
	o := c.anybody("/offers").Want(http.StatusOK)
	o.Is("/items/0/what", "Castings").Is("/items/0/product", "castings").Is("/items/0/price/unit_minor", 500).Is("/items/0/until", "2026-06-30").Is("/items/0/species", nil)
	o.Is("/items/1/species/id", "eisenia-fetida").Is("/items/1/quantity/value", 100).Is("/items/1/terms", []string{"swap"}).Is("/items/1/since", "2026-05-01")
	if n := len(o.Value("/items").([]any)); n != 2 || strings.Contains(o.Body, "Call") {
		t.Error(o.Body)
	}
	if cautions := o.Value("/cautions").([]any); len(cautions) != 2 || !strings.Contains(cautions[0].(string), "released") {
		t.Error(cautions)
	}
}

func TestThePublicFeedTellsWhatIsPublishedAndNothingElse(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.ben.Post("/offers", `{"what":"Call Ben","species":"eisenia-fetida","bin":"`+c.shed+`","terms":["swap"]}`).Want(http.StatusCreated)
	c.anybody("/feed.json").Problem(http.StatusNotFound, "not-published")
	c.ana.Patch("", "*", `{"publish_season":true}`).Want(http.StatusOK)
	if feed := c.anybody("/feed.json").Want(http.StatusOK); strings.Contains(feed.Body, "Offered") {
		t.Error(feed.Body)
	}
	c.ana.Patch("", "*", `{"publish_offers":true}`).Want(http.StatusOK)
	feed := c.anybody("/feed.json").Want(http.StatusOK)
	feed.Is("/version", "https://jsonfeed.org/version/1.1").Is("/items/0/title", "Offered: tiger worm").Is("/items/0/tags", []string{"offer"})
	if strings.Contains(feed.Body, "Ben") {
		t.Error(feed.Body)
	}
}

func TestAMemberIsShownByNameWhileTheyAgreeToIt(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	c.ben.Post("/offers", `{"what":"Reds from the shed"}`).Want(http.StatusCreated)
	shown := func() string { return c.anybody("/offers").Want(http.StatusOK).Text("/items/0/keeper/name") }
	pseudonym := shown()
	name := "/members/" + c.benID + "/public-name"
	for _, other := range []apitest.Club{c.ana, key(c.ben, `["read","record","transfer"]`)} {
		other.Post(name, `{"public_name":"Ben"}`).Problem(http.StatusForbidden, "forbidden")
	}
	c.ben.Post(name, `{"public_name":" Ben"}`).Problem(http.StatusUnprocessableEntity, "invalid", "/public_name")
	c.ben.Post(name, `{"public_name":"Ben of the shed"}`).Want(http.StatusOK).Is("/public_name", "Ben of the shed").Is("/name", "ben")
	if shown() != "Ben of the shed" {
		t.Error(shown())
	}
	c.anybody("/offers").Is("/items/0/what", "Reds from the shed")
	c.anybody("/cultures/"+c.culture+"/lineage").Want(http.StatusOK).Is("/steps/2/keeper/name", "Ben of the shed")
	if e := entries(t, c.ana, "&noun=member")[0]; !slices.Equal(e.Changed, []string{"public_name"}) || strings.Contains(strings.ToLower(c.ana.Get("/audit-entries").Body), "of the shed") {
		t.Errorf("%+v", e)
	}
	c.ben.Get("/members/"+c.benID+"/personal-data").Want(http.StatusOK).Is("/member/public_name", "Ben of the shed")
	c.ben.Post(name, `{"public_name":null}`).Want(http.StatusOK).Is("/public_name", nil)
	if shown() != pseudonym {
		t.Errorf("%s was %s", shown(), pseudonym)
	}
	c.anybody("/offers").Is("/items/0/what", "Surplus")
}

func TestALeaverIsShownByNameNoMore(t *testing.T) {
	t.Parallel()
	for way, leave := range map[string]func(*harbour){
		"removal": func(c *harbour) {
			c.ana.Post("/members/"+c.benID+"/removal", `{"to":"`+c.anaID+`"}`).Want(http.StatusOK).Is("/public_name", nil)
		},
		"erasure": func(c *harbour) {
			c.ana.Post("/members/"+c.benID+"/erasure", `{"to":"`+c.anaID+`","confirm":"ben"}`).Want(http.StatusOK).Is("/member/public_name", nil)
		},
		"the account's erasure": func(c *harbour) {
			c.ben.Absolute().Post("/v1/me/erasure", `{"passphrase":"`+apitest.Passphrase+`"}`).Want(http.StatusOK)
			c.ana.Get("/members/"+c.benID).Want(http.StatusOK).Is("/public_name", nil)
		},
	} {
		t.Run(way, func(t *testing.T) {
			t.Parallel()
			c := kept(t)
			c.publishing()
			c.ben.Post("/members/"+c.benID+"/public-name", `{"public_name":"Ben of the shed"}`).Want(http.StatusOK)
			leave(c)
			if l := c.anybody("/cultures/" + c.culture + "/lineage").Want(http.StatusOK); strings.Contains(l.Body, "of the shed") {
				t.Error(l.Body)
			}
		})
	}
}

func TestPublicAnswersAreForEveryPageAndCacheAndAskNobodyWhoTheyAre(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.publishing()
	for _, path := range c.publicPaths() {
		a := c.anybody(path).Want(http.StatusOK).Has("Cache-Control", "public, max-age=300").Has("Access-Control-Allow-Origin", "*")
		whole := "/v1/public/clubs/harbour" + path
		for _, credentials := range []string{"Bearer rubbish", "Bearer " + c.ana.Token, "Basic YTpi"} {
			if b := c.With("Authorization", credentials).With("Origin", stranger).Get(whole).Want(http.StatusOK); b.Body != a.Body {
				t.Errorf("%s reads %s", credentials, b.Body)
			}
		}
		again := c.With("If-None-Match", a.Header.Get("ETag")).Get(whole).Want(http.StatusNotModified)
		again.Has("Cache-Control", "public, max-age=300").Has("Access-Control-Allow-Origin", "*")
	}
}

func TestPublicCallsAreCountedByAddressInAllClubsTogether(t *testing.T) {
	t.Parallel()
	c, _ := throttled(t, api.Limits{Calls: api.Allowance{PerMinute: 1, Burst: 2}})
	ask := func(from, club string) *apitest.Answer {
		return c.With("X-Forwarded-For", from).Get("/v1/public/clubs/" + club)
	}
	ask("203.0.113.7", "harbour").Want(http.StatusNotFound)
	ask("203.0.113.7", "hill").Want(http.StatusNotFound)
	ask("203.0.113.7", "dale").Problem(http.StatusTooManyRequests, "limited")
	ask("198.51.100.7", "dale").Want(http.StatusNotFound)
}
