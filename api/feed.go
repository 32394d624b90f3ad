package api

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// Feed is a JSON Feed 1.1 (https://www.jsonfeed.org/version/1.1/).
type Feed struct {
	Version     string     `json:"version" example:"https://jsonfeed.org/version/1.1" validate:"required"`
	Title       string     `json:"title" example:"Harbour Worm Club" validate:"required"`
	FeedURL     string     `json:"feed_url" example:"https://worms.example/v1/clubs/harbour/feed" format:"uri" validate:"required"`
	Description string     `json:"description" example:"What the members offer, and what past seasons came to" validate:"required"`
	Language    string     `json:"language" example:"en" validate:"required"`
	Items       []FeedItem `json:"items" validate:"required"` // the newest first
}

// FeedItem is one item of a feed.
type FeedItem struct {
	ID            string    `json:"id" example:"https://worms.example/v1/clubs/harbour/offers/01970000-0000-7000-8000-000000000060" validate:"required"`
	URL           string    `json:"url" example:"https://worms.example/v1/clubs/harbour/offers/01970000-0000-7000-8000-000000000060" format:"uri" validate:"required"`
	Title         string    `json:"title" example:"Offered: Red worms from the cellar, bed-run" validate:"required"`
	ContentText   string    `json:"content_text" example:"500 g, sale or swap, until 2026-06-30." validate:"required"`
	DatePublished time.Time `json:"date_published" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	Tags          []string  `json:"tags" example:"offer" enums:"offer,season" validate:"required"`
}

// places are the addresses of a feed, of an offer by its id, and of a season's
// report by its code.
type places struct {
	feed          string
	offer, season func(string) string
}

// feedOf is the feed of a club's news.
func feedOf(n service.News, at places) Feed {
	out := Feed{
		Version: "https://jsonfeed.org/version/1.1", Title: n.Club.Name, FeedURL: at.feed, Language: "en",
		Description: "What the members offer, and what past seasons came to", Items: []FeedItem{},
	}
	for _, o := range n.Offers {
		url := at.offer(string(o.ID))
		title := "Offered: " + cmp.Or(o.What, n.Names.Species[o.Species], "surplus")
		out.Items = append(out.Items, FeedItem{url, url, title, offerText(o, n.Names), o.CreatedAt, []string{"offer"}})
	}
	for _, s := range n.Seasons {
		url := at.season(s.Period.Code)
		out.Items = append(out.Items, FeedItem{url, url, s.Period.Name, seasonNewsText(s, n.Club.Units), s.Period.To.UTC(), []string{"season"}})
	}
	slices.SortStableFunc(out.Items, func(a, b FeedItem) int { return b.DatePublished.Compare(a.DatePublished) })
	return out
}

// offerText tells an offer in a sentence, without who offers.
func offerText(o service.Offer, names service.Names) string {
	var parts []string
	if o.Species != "" {
		parts = append(parts, names.Species[o.Species])
	}
	if q := o.Quantity; q.Unit != "" {
		parts = append(parts, fmt.Sprintf("%v %s", q.Value, q.Unit))
	}
	var terms []string
	for _, t := range o.Terms {
		terms = append(terms, string(t))
	}
	if len(terms) > 0 {
		parts = append(parts, strings.Join(terms, " or "))
	}
	if p := o.Price; p.UnitMinor != nil {
		parts = append(parts, money(*p.UnitMinor, p.Currency)+" a "+p.Unit)
	} else if p.TotalMinor != nil {
		parts = append(parts, money(*p.TotalMinor, p.Currency))
	}
	if o.Until != "" {
		parts = append(parts, "until "+o.Until)
	}
	if len(parts) == 0 {
		return cmp.Or(o.What, "Ask the club") + "."
	}
	return strings.Join(parts, ", ") + "."
}

// seasonNewsText tells a season in two sentences.
func seasonNewsText(s service.SeasonNews, in unit.System) string {
	return fmt.Sprintf("%s ate %s and gave %s of castings. %s of worms stood in the books at the end.",
		count(s.Bins, "bin", "bins"), weight(s.Fed, in), weight(s.Castings, in), weight(s.Worms, in))
}

// getFeed shows the club's feed.
//
//	@Summary		Show the club's feed
//	@Description	JSON Feed 1.1, for feed readers that can send a key: the offers that stand, and what the last four seasons came to. It names no member and holds no note.
//	@ID				getFeed
//	@Tags			offers
//	@Produce		application/feed+json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Feed
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/feed [get]
func (s *Server) getFeed(r *request) (answer, error) {
	news, err := s.Reports.News(r.ctx, r.actor())
	if err != nil {
		return answer{}, err
	}
	base := s.PublicURL + "/v1/clubs/" + news.Club.Handle
	return feedAnswer(news, places{
		base + "/feed",
		func(id string) string { return base + "/offers/" + id },
		func(code string) string { return base + "/reports/seasons/" + code },
	})
}

// getPublishedFeed shows what a club publishes as a feed.
//
//	@Summary		Follow what a club publishes
//	@Description	JSON Feed 1.1, for any feed reader, without credentials: the offers that stand and what the last four seasons came to, of these what the club publishes. It names no member. A club that publishes neither answers as one that isn't there.
//	@ID				getPublishedFeed
//	@Tags			public
//	@Produce		application/feed+json
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Feed
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500,503		{object}	Problem
//	@Router			/v1/public/clubs/{club}/feed.json [get]
func (s *Server) getPublishedFeed(r *request) (answer, error) {
	news, err := s.Publications.News(r.ctx, r.param("club"))
	if err != nil {
		return answer{}, err
	}
	base := s.PublicURL + "/v1/public/clubs/" + news.Club.Handle
	return feedAnswer(news, places{
		base + "/feed.json",
		func(id string) string { return base + "/offers#" + id },
		func(code string) string { return base + "/season?period=" + code },
	})
}

func feedAnswer(n service.News, at places) (answer, error) {
	body, err := encode(feedOf(n, at))
	return answer{status: http.StatusOK, raw: body, media: "application/feed+json"}, err
}
