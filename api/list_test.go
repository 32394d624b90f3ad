package api_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

// names walks through a list and returns the names on each page.
func names(t *testing.T, c apitest.Club, path string, between func(page int)) (pages [][]string) {
	t.Helper()
	for path != "" {
		a := c.Get(path).Want(http.StatusOK)
		var p struct {
			Items []struct{ Name string }
			Next  *string `json:"next_cursor"`
		}
		a.Into(&p)
		var page []string
		for _, item := range p.Items {
			page = append(page, item.Name)
		}
		pages = append(pages, page)
		between(len(pages))
		path = ""
		if p.Next != nil {
			link := a.Header.Get("Link")
			if !strings.HasPrefix(link, "<https://worms.example/v1/clubs/harbour/sites?") || !strings.HasSuffix(link, `>; rel="next"`) {
				t.Fatalf("Link: %s", link)
			}
			next, err := url.Parse(strings.TrimSuffix(strings.TrimPrefix(link, "<"), `>; rel="next"`))
			if err != nil || next.Query().Get("cursor") != *p.Next {
				t.Fatalf("Link: %s, next_cursor %s", link, *p.Next)
			}
			path = "/sites?" + next.RawQuery
		} else {
			a.Has("Link", "")
		}
	}
	return pages
}

func addSites(t *testing.T, c apitest.Club, from, to int) {
	t.Helper()
	for i := from; i < to; i++ {
		c.Post("/sites", fmt.Sprintf(`{"id":"01970000-0000-7000-9000-%012d","name":"site %d"}`, i, i)).Want(http.StatusCreated)
	}
}

func TestAListIsReadPageByPage(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	addSites(t, club, 0, 6)
	for query, want := range map[string]string{
		"":          "[[site 0 site 1 site 2 site 3 site 4 site 5]]",
		"?limit=4":  "[[site 0 site 1 site 2 site 3] [site 4 site 5]]",
		"?limit=3":  "[[site 0 site 1 site 2] [site 3 site 4 site 5]]",
		"?limit=6":  "[[site 0 site 1 site 2 site 3 site 4 site 5]]",
		"?limit=99": "[[site 0 site 1 site 2 site 3 site 4 site 5]]",
	} {
		if got := fmt.Sprint(names(t, club, "/sites"+query, func(int) {})); got != want {
			t.Errorf("%s: %s", query, got)
		}
	}
}

func TestAListStaysInOrderWhileOthersAdd(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	addSites(t, club, 10, 16)
	pages := names(t, club, "/sites?limit=2", func(page int) {
		if page <= 3 {
			addSites(t, club, page, page+1)       // before what has been read
			addSites(t, club, 20+page, 20+page+1) // after all
		}
	})
	if got := fmt.Sprint(pages); got != "[[site 10 site 11] [site 12 site 13] [site 14 site 15] [site 21 site 22] [site 23]]" {
		t.Error(got)
	}
}

func TestAnEmptyListHasItemsAndNoCursor(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	if got := club.Get("/sites").Want(http.StatusOK).Body; got != `{"items":[],"next_cursor":null}` {
		t.Error(got)
	}
}

func TestACursorBelongsToItsList(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	ana := c.SignUp("ana")
	club, other := ana.Found("harbour"), ana.Found("hill")
	addSites(t, club, 0, 3)
	addSites(t, other, 0, 3)
	cursor := club.Get("/sites?limit=1").Text("/next_cursor")
	club.Get("/sites?cursor=" + cursor).Want(http.StatusOK)
	other.Get("/sites?cursor="+cursor).Problem(http.StatusBadRequest, "cursor")
	club.Get("/bins?cursor="+cursor).Problem(http.StatusBadRequest, "cursor")
	for _, bad := range []string{"x", cursor + "A", cursor[1:], strings.ToUpper(cursor), "%00"} {
		a := club.Get("/sites?cursor=" + bad).Want(http.StatusBadRequest)
		if code := a.Text("/type"); code != "/problems/cursor" && bad != "%00" {
			t.Errorf("%s: %s", bad, code)
		}
	}
}

func TestTheParametersOfAListAreChecked(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	for query, pointer := range map[string]string{
		"limit=0": "?limit", "limit=101": "?limit", "limit=x": "?limit", "limit=1&limit=2": "?limit",
		"colour=red": "?colour", "bin=x": "?bin", "limit=%ff": "?limit",
	} {
		club.Get("/sites?"+query).Problem(http.StatusBadRequest, "malformed", pointer)
	}
	club.Get("/sites?limit=1;x").Problem(http.StatusBadRequest, "malformed")
}

func TestAListThatDidNotChangeIsNotSentAgain(t *testing.T) {
	t.Parallel()
	club := apitest.New(t).SignUp("ana").Found("harbour")
	tag := club.Get("/sites").Header.Get("ETag")
	seen := club.With("If-None-Match", tag)
	if a := seen.Get("/sites").Want(http.StatusNotModified); a.Body != "" || !strings.HasPrefix(tag, "W/") {
		t.Errorf("%s %q", tag, a.Body)
	}
	addSites(t, club, 0, 1)
	seen.Get("/sites").Want(http.StatusOK)
}
