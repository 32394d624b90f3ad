package service

import (
	"context"
	"slices"
	"strings"

	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// PublishedSeason is what everybody may read of a season: the figures of the
// whole club, and nothing about a member, a site or a bin.
type PublishedSeason struct {
	Club    Club
	Report  season.Report
	Keepers int         // with bins that were kept in a part of the season
	Months  []MonthSums // up to this one
	Names   Names
}

// MonthSums is what was fed and harvested in a month, wet.
type MonthSums struct {
	Month    string // as 2026-07, in the club's zone
	Feed     unit.Mass
	Bedding  unit.Mass
	Castings unit.Mass
}

// Season returns the figures of a period that is made of whole months; an empty
// code means the season of today, or the one before as long as nothing happened in
// it. Errors: ErrNotPublished, ErrPeriod.
func (s Publications) Season(ctx context.Context, club, code string) (PublishedSeason, error) {
	return published(ctx, s.Desk, club, func(w *work) (PublishedSeason, error) {
		if !w.Club.PublishSeason {
			return PublishedSeason{}, ErrNotPublished
		}
		return w.publishedSeason(code)
	})
}

func (w *work) publishedSeason(code string) (out PublishedSeason, err error) {
	period, err := w.period(code)
	if err != nil {
		return out, err
	}
	months := period.Months(w.calendar())
	if months == nil {
		return out, ErrPeriod.With("give a period that is made of whole months, as 2026-autumn, 2026-Q3, 2026 or 2026-07").At("?period")
	}
	found, err := w.reported(period)
	if err != nil {
		return out, err
	}
	if code == "" && found.report.Empty {
		return w.publishedSeason(w.seasonBefore(period).Code)
	}
	blankMoney(&found.report)
	out = PublishedSeason{Club: w.Club, Report: found.report, Names: found.names}
	for _, l := range out.Report.ByMember {
		if l.Bins > 0 {
			out.Keepers++
		}
	}
	out.Months, err = w.monthly(months, out.Names)
	return out, err
}

// monthly adds up the months that have begun, from the monthly totals.
func (w *work) monthly(months []string, n Names) ([]MonthSums, error) {
	begun := months[:0:0]
	for _, m := range months {
		if m <= season.LocalMonth(w.now, w.zone) {
			begun = append(begun, m)
		}
	}
	totals, err := w.Totals.List(months[0], months[len(months)-1])
	out := make([]MonthSums, len(begun))
	for i, m := range begun {
		out[i].Month = m
	}
	for _, t := range totals {
		if i := slices.Index(begun, t.Month); i >= 0 {
			out[i].add(t, n)
		}
	}
	return out, err
}

// add counts a total of the month, if it is of what was fed or harvested. Grit and
// lime are no feed.
func (m *MonthSums) add(t Total, n Names) {
	kind := n.Materials[t.Material].Kind
	switch {
	case strings.HasPrefix(string(t.Kind), string(TotalHarvested)):
		m.Castings += t.Mass
	case !strings.HasPrefix(string(t.Kind), string(TotalFed)) || kind == AmendmentMaterial:
	case kind == BeddingMaterial:
		m.Bedding += t.Mass
	default:
		m.Feed += t.Mass
	}
}
