package service

import (
	"context"
	"time"

	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// News is what a club tells of itself: what its members offer, and what its past
// seasons came to. It names no member and holds no note.
type News struct {
	Club    Club
	Offers  []Offer // that stand today, the newest first; without members and notes
	Seasons []SeasonNews
	Names   Names
}

// SeasonNews is what a past season came to.
type SeasonNews struct {
	Period   season.Period
	Bins     int
	Fed      unit.Mass // wet, without bedding
	Castings unit.Mass // wet, less what was put back
	Worms    unit.Mass // by the book at its end
}

// newsSeasons is how many past seasons the news goes back.
const newsSeasons = 4

// News returns the club's news as its members read it. Errors: ErrClubNotFound,
// ErrForbidden.
func (s Reports) News(ctx context.Context, a Actor) (News, error) {
	return read(ctx, s.Desk, a, func(w *work) (News, error) { return w.news(true, true) })
}

// news gathers what the club tells of itself, whoever reads it: of its offers, of
// its seasons.
func (w *work) news(offers, seasons bool) (out News, err error) {
	out.Club = w.Club
	if out.Names, err = w.names(); err != nil {
		return out, err
	}
	if offers {
		if out.Offers, err = w.standingOffers(); err != nil {
			return out, err
		}
	}
	for i := range out.Offers {
		out.Offers[i].Member, out.Offers[i].Note = "", ""
	}
	if seasons {
		out.Seasons, err = w.pastSeasons()
	}
	return out, err
}

// pastSeasons tells the seasons that have ended, the newest first, back to one in
// which nothing is on record.
func (w *work) pastSeasons() ([]SeasonNews, error) {
	current, err := w.period("")
	if err != nil {
		return nil, err
	}
	var out []SeasonNews
	for p := w.seasonBefore(current); len(out) < newsSeasons; p = w.seasonBefore(p) {
		r, err := w.reported(p)
		if err != nil {
			return nil, err
		}
		if r.report.Empty {
			break
		}
		total := r.report.Total
		out = append(out, SeasonNews{p, total.Bins, total.Fed.FeedWet, total.Fed.CastingsWet, total.Stock.End})
	}
	return out, nil
}

// seasonBefore is the season or quarter before a period.
func (w *work) seasonBefore(p season.Period) season.Period {
	last := p.From.Add(-time.Second)
	if w.Club.SeasonBy == ByQuarters {
		return season.QuarterAt(last, w.calendar())
	}
	return season.At(last, w.calendar())
}
