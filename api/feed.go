package api

import (
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

// feedOf is the feed of a club's news at an address; base is the address below
// which its offers and reports are read.
func feedOf(n service.News, self, base string) Feed {
	out := Feed{
		Version: "https://jsonfeed.org/version/1.1", Title: n.Club.Name, FeedURL: self, Language: "en",
		Description: "What the members offer, and what past seasons came to", Items: []FeedItem{},
	}
	for _, o := range n.Offers {
		at := base + "/offers/" + string(o.ID)
		out.Items = append(out.Items, FeedItem{at, at, "Offered: " + o.What, offerText(o, n.Names), o.CreatedAt, []string{"offer"}})
	}
	for _, s := range n.Seasons {
		at := base + "/reports/seasons/" + s.Period.Code
		out.Items = append(out.Items, FeedItem{at, at, s.Period.Name, seasonNewsText(s, n.Club.Units), s.Period.To.UTC(), []string{"season"}})
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
		return o.What + "."
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
	body, err := encode(feedOf(news, base+"/feed", base))
	return answer{status: http.StatusOK, raw: body, media: "application/feed+json"}, err
}
