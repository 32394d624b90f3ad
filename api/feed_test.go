package api_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/mmcdole/gofeed"
)

func TestTheFeedTellsOffersAndPastSeasonsAndNoPerson(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.ana.Post("/offers", `{"what":"Castings"}`).Want(201)
	red := c.ben.Post("/offers", `{"what":"Red worms, bed-run","species":"eisenia-fetida","quantity":{"value":300,"unit":"g"},
		"terms":["sale","swap"],"price":{"unit_minor":4000,"unit":"kg","currency":"EUR"},"until":"2026-06-02","note":"ask ben after four"}`).Want(201).ID()
	gone := c.ana.Post("/offers", `{"what":"Gone"}`).Want(201).ID()
	c.ana.Delete("/offers/"+gone, "*").Want(200)
	a := c.ben.Get("/feed").Want(200).Has("Content-Type", "application/feed+json").Is("/version", "https://jsonfeed.org/version/1.1")
	for _, person := range []string{"ana", "ben", c.anaID, c.benID, "after four"} {
		if strings.Contains(a.Body, person) {
			t.Errorf("%s is in the feed: %s", person, a.Body)
		}
	}
	f, err := gofeed.NewParser().Parse(bytes.NewReader([]byte(a.Body)))
	if err != nil || f.FeedType != "json" || f.Title != "harbour" || f.FeedLink != "https://worms.example/v1/clubs/harbour/feed" {
		t.Fatalf("%+v, %v", f, err)
	}
	want := [][2]string{
		{"Offered: Red worms, bed-run", "tiger worm, 300 g, sale or swap, 40.00 EUR a kg, until 2026-06-02."},
		{"Offered: Castings", "Castings."},
		{"Winter 2025/26", "3 bins ate 10.0 kg and gave 4.00 kg of castings. 1.00 kg of worms stood in the books at the end."},
	}
	if len(f.Items) != len(want) {
		t.Fatalf("%s", a.Body)
	}
	for i, item := range f.Items {
		if item.Title != want[i][0] || item.Content != want[i][1] || item.PublishedParsed == nil {
			t.Errorf("%q, %q at %v", item.Title, item.Content, item.PublishedParsed)
		}
	}
	if link := "https://worms.example/v1/clubs/harbour/offers/" + red; f.Items[0].GUID != link || f.Items[0].Link != link {
		t.Errorf("%+v", f.Items[0])
	}
	c.ben.With("If-None-Match", a.Header.Get("ETag")).Get("/feed").Want(304)
}
