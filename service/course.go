package service

import (
	"context"
	"math"
	"slices"
	"time"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// Courses is what was fed and harvested in periods that follow each other.
type Courses struct {
	Club Club
	Rows []CourseRow // oldest first, from the first period with anything on record
}

// CourseRow is one period.
type CourseRow struct {
	Period   season.Period
	Fed      unit.Mass // wet, without bedding
	Castings unit.Mass // wet, less what was put back
	Recorded bool      // feed, castings or stock are on record there; else neither mass is known
	SoFar    bool      // the period isn't over
}

// Seasons returns what was fed and harvested in the last n seasons, or quarters
// where the club counts by them. Errors: ErrClubNotFound, ErrForbidden.
func (s Reports) Seasons(ctx context.Context, a Actor, n int) (Courses, error) {
	return figures(ctx, s.Desk, a, func(w *work) (Courses, error) {
		at := season.At
		if w.Club.SeasonBy == ByQuarters {
			at = season.QuarterAt
		}
		return w.courses(n, at)
	})
}

// Months returns what was fed and harvested in the last n months. Errors:
// ErrClubNotFound, ErrForbidden.
func (s Reports) Months(ctx context.Context, a Actor, n int) (Courses, error) {
	return figures(ctx, s.Desk, a, func(w *work) (Courses, error) { return w.courses(n, season.MonthAt) })
}

// courses adds up the totals of the last n periods.
func (w *work) courses(n int, at func(time.Time, season.Calendar) season.Period) (Courses, error) {
	out := Courses{Club: w.Club}
	of, months := map[string]int{}, []string(nil)
	for p := at(w.now, w.calendar()); len(out.Rows) < n; p = at(p.From.Add(-time.Hour), w.calendar()) {
		for _, m := range p.Months(w.calendar()) {
			of[m] = len(out.Rows)
			months = append(months, m)
		}
		out.Rows = append(out.Rows, CourseRow{Period: p, SoFar: w.now.Before(p.To)})
	}
	slices.Sort(months)
	totals, err := w.Totals.List(months[0], months[len(months)-1])
	if err != nil {
		return out, err
	}
	materials, err := index(w.Materials, func(m Material) (MaterialID, Material) { return m.ID, m })
	for _, t := range totals {
		out.Rows[of[t.Month]].add(t, materials)
	}
	for len(out.Rows) > 0 && !out.Rows[len(out.Rows)-1].Recorded {
		out.Rows = out.Rows[:len(out.Rows)-1]
	}
	slices.Reverse(out.Rows)
	return out, err
}

// add adds a total of one of the period's months.
func (r *CourseRow) add(t Total, materials map[MaterialID]Material) {
	if t.Records == 0 {
		return // all of it was taken back
	}
	r.Recorded = true
	switch t.Kind {
	case TotalFed, TotalFedMeasured:
		if kind := materials[t.Material].Kind; kind != BeddingMaterial && kind != AmendmentMaterial {
			r.Fed += t.Mass
		}
	case TotalHarvested, TotalHarvestMeasured:
		r.Castings += t.Mass
	case TotalPutBack, TotalLeftovers, TotalStock, TotalCastings, TotalMoney:
	}
}

// CultureCourse is how much of a culture's stock there was, moment by moment,
// and what censuses found.
type CultureCourse struct {
	Club     Club
	Culture  Culture
	AsOf     time.Time
	Levels   []lineage.Level // all bins together, by the book; what was under way doesn't count
	Censuses []CultureCensus // oldest first, those of a local day as one
	Bins     int             // that it stands in now
}

// CultureCensus is what the censuses of a day say of all of the culture: of the
// bins that were counted then what they found, of the others the book.
type CultureCensus struct {
	At              time.Time
	Mass, Low, High unit.Mass
	Bins            int // that were counted
}

// CultureCourse returns how much of a culture there was until now. Errors:
// ErrClubNotFound, ErrForbidden, ErrCultureNotFound.
func (s Reports) CultureCourse(ctx context.Context, a Actor, id CultureID) (CultureCourse, error) {
	return figures(ctx, s.Desk, a, func(w *work) (out CultureCourse, err error) {
		out.Club, out.AsOf = w.Club, w.now
		if out.Culture, err = w.Cultures.Get(id); err != nil {
			return out, err
		}
		course, err := w.courseOf(out.Culture)
		if err != nil {
			return out, err
		}
		out.Levels = course.Levels()
		if out.Bins, err = w.binsWith(course, out.Culture.Species); err != nil {
			return out, err
		}
		censuses, err := w.standingCensuses(out.Culture.Species)
		out.Censuses = censused(course, out.Levels, censuses, w.zone)
		return out, err
	})
}

// courseOf reads what the course of a culture follows from.
func (w *work) courseOf(c Culture) (lineage.Course, error) {
	origins, err := w.Origins.List(Query{})
	if err != nil {
		return lineage.Course{}, err
	}
	its := map[string]bool{}
	for _, o := range origins {
		if o.Culture == c.ID {
			its[string(o.ID)] = true
		}
	}
	lots, err := w.Lots.List(Query{Species: c.Species})
	if err != nil {
		return lineage.Course{}, err
	}
	bare := make([]lineage.Lot, len(lots))
	for i, l := range lots {
		bare[i] = l.Lot
	}
	entries, err := w.Movements.Entries()
	return lineage.Follow(entries, bare, its), err
}

// binsWith counts the bins in which there is some of a course now.
func (w *work) binsWith(c lineage.Course, s SpeciesID) (int, error) {
	bins, err := w.Bins.List(Query{})
	n := 0
	for _, b := range bins {
		p := lineage.Place{Bin: string(b.ID), Species: string(s)}
		if lineage.PartOf(c.Book(p, w.now), c.Parts(p, w.now)) > 0 {
			n++
		}
	}
	return n, err
}

// standingCensuses reads the censuses of a species that weren't taken back.
func (w *work) standingCensuses(s SpeciesID) ([]Census, error) {
	all, err := w.Censuses.List(Query{Species: s})
	if err != nil {
		return nil, err
	}
	ids := make([]string, len(all))
	for i, c := range all {
		ids[i] = string(c.Movement)
	}
	by, err := byID(w.Movements.Some, ids, func(m Movement) string { return string(m.ID) })
	return slices.DeleteFunc(all, func(c Census) bool { return by[string(c.Movement)].ReversedBy != "" }), err
}

// censused puts what censuses found in the place of the book. The intervals of a
// day are added as those of independent errors: the squares of their distances.
func censused(c lineage.Course, levels []lineage.Level, censuses []Census, zone *time.Location) []CultureCensus {
	var out []CultureCensus
	down, up := 0.0, 0.0
	for _, x := range censuses {
		p := lineage.Place{Bin: string(x.Bin), Species: string(x.Species)}
		parts := c.Parts(p, x.At.Time)
		if parts == 0 {
			continue
		}
		day := x.At.Time.In(zone).Format(time.DateOnly)
		if n := len(out); n == 0 || out[n-1].At.In(zone).Format(time.DateOnly) != day {
			out, down, up = append(out, CultureCensus{}), 0, 0
		}
		last := &out[len(out)-1]
		found := lineage.PartOf(x.Mass, parts)
		if last.Bins++; last.Bins == 1 {
			last.Mass = levelAt(levels, x.At.Time)
		} else {
			last.Mass += levelAt(levels, x.At.Time) - levelAt(levels, last.At)
		}
		last.At = x.At.Time
		last.Mass += found - lineage.PartOf(c.Book(p, x.At.Time), parts)
		down = math.Hypot(down, float64(found-lineage.PartOf(x.Low, parts)))
		up = math.Hypot(up, float64(lineage.PartOf(x.High, parts)-found))
		last.Low, last.High = max(0, last.Mass-unit.Mass(down)), last.Mass+unit.Mass(up)
	}
	return out
}

// levelAt is the level at the end of a moment.
func levelAt(levels []lineage.Level, at time.Time) unit.Mass {
	i, _ := slices.BinarySearchFunc(levels, at, func(l lineage.Level, at time.Time) int {
		if l.At.After(at) {
			return 1
		}
		return -1
	})
	if i == 0 {
		return 0
	}
	return levels[i-1].Mass
}
