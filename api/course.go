package api

import (
	"fmt"
	"strings"
	"time"

	"lumbricary.example/api/picture"
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// drawCastings draws the castings of the last seasons.
//
//	@Summary		Draw the castings of the last seasons
//	@Description	Columns as SVG, light or dark as the reader's screen, with a text alternative: what was harvested in each season, or quarter where the club counts by them; a gap where nothing is on record. To an API key for figures as to all others.
//	@ID				drawCastings
//	@Tags			reports
//	@Produce		image/svg+xml
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			seasons			query		int		false	"how many, this one included"	minimum(1)	maximum(60)	default(12)
//	@Param			width			query		int		false	"pixels"	minimum(320)	maximum(1600)	default(720)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reports/castings.svg [get]
func (s *Server) drawCastings(r *request) (answer, error) {
	set, err := r.settings(setting{"seasons", 1, 60, 12}, pictureWidth())
	if err != nil {
		return answer{}, err
	}
	c, err := s.Reports.Seasons(r.ctx, r.actor(), set["seasons"])
	if err != nil {
		return answer{}, err
	}
	p := coursePicture{c, r.units()}
	return pictureAnswer(p.castings().Draw(float64(set["width"]))), r.err
}

// drawFeed draws feed against castings over the months.
//
//	@Summary		Draw feed against castings, month by month
//	@Description	Columns as SVG, light or dark as the reader's screen, with a text alternative: what was fed in each month, without bedding, and below it what was harvested, to the same scale; a gap where nothing is on record. To an API key for figures as to all others.
//	@ID				drawFeed
//	@Tags			reports
//	@Produce		image/svg+xml
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			months			query		int		false	"how many, this one included"	minimum(1)	maximum(120)	default(24)
//	@Param			width			query		int		false	"pixels"	minimum(320)	maximum(1600)	default(720)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/reports/feed.svg [get]
func (s *Server) drawFeed(r *request) (answer, error) {
	set, err := r.settings(setting{"months", 1, 120, 24}, pictureWidth())
	if err != nil {
		return answer{}, err
	}
	c, err := s.Reports.Months(r.ctx, r.actor(), set["months"])
	if err != nil {
		return answer{}, err
	}
	p := coursePicture{c, r.units()}
	return pictureAnswer(p.feed().Draw(float64(set["width"]))), r.err
}

// coursePicture is what was fed and harvested, to be drawn in a system of units.
type coursePicture struct {
	service.Courses
	in unit.System
}

func (p coursePicture) castings() picture.Columns {
	c := p.columns("Castings by season", "season", seasonSlot)
	c.Panels = []picture.Panel{p.panel("Castings harvested, wet", castingsOf)}
	return c
}

func (p coursePicture) feed() picture.Columns {
	c := p.columns("Feed and castings by month", "month", monthSlot)
	c.Panels = []picture.Panel{p.panel("Fed, wet, without bedding", fedOf), p.panel("Castings harvested, wet", castingsOf)}
	c.Text = strings.Replace(c.Text, "Columns", "Two rows of columns to the same scale", 1)
	return c
}

func fedOf(r service.CourseRow) unit.Mass      { return r.Fed }
func castingsOf(r service.CourseRow) unit.Mass { return r.Castings }

// panel is a row of columns, with their sum.
func (p coursePicture) panel(heading string, mass func(service.CourseRow) unit.Mass) picture.Panel {
	var most, all float64
	for _, r := range p.Rows {
		most, all = max(most, kilos(mass(r), p.in)), all+kilos(mass(r), p.in)
	}
	decimals := min(3, max(0, decimalsFor(most, 3)))
	out := picture.Panel{Heading: fmt.Sprintf("%s: %s %s in all", heading, fixed(all, decimals), massWord(p.in))}
	for _, r := range p.Rows {
		v := kilos(mass(r), p.in)
		out.Bars = append(out.Bars, picture.Bar{Value: v, Known: r.Recorded, Label: fixed(v, decimals)})
	}
	return out
}

// columns are the periods, and all that is said of them.
func (p coursePicture) columns(title, period string, slot func(service.CourseRow) picture.Slot) picture.Columns {
	c := picture.Columns{Words: picture.Words{Title: title, Under: p.Club.Name}}
	if len(p.Rows) == 0 {
		c.Text = title + " of " + p.Club.Name + ": nothing is on record yet."
		c.Notes = []string{"Nothing is on record yet."}
		return c
	}
	first, last := p.Rows[0], p.Rows[len(p.Rows)-1]
	c.Under += " · " + first.Period.Name
	if len(p.Rows) > 1 {
		c.Under += " to " + last.Period.Name
	}
	c.Under += " · " + massWord(p.in)
	gaps := false
	for _, r := range p.Rows {
		c.Slots = append(c.Slots, slot(r))
		gaps = gaps || !r.Recorded
	}
	if gaps {
		c.Notes = append(c.Notes, "Hatched: nothing is on record for that "+period+", which isn't the same as none.")
	}
	if last.SoFar {
		c.Notes = append(c.Notes, "Pale: "+last.Period.Name+" isn't over.")
	}
	c.Text = title + " of " + p.Club.Name + ". Columns in " + massWord(p.in) + ", from 0. " + p.told(period)
	return c
}

// told tells every row in words.
func (p coursePicture) told(period string) string {
	var out []string
	for _, r := range p.Rows {
		name := r.Period.Name
		if r.SoFar {
			name += ", so far"
		}
		switch {
		case !r.Recorded:
			out = append(out, name+": nothing on record.")
		case period == "season":
			out = append(out, name+": castings "+weight(r.Castings, p.in)+".")
		default:
			out = append(out, name+": fed "+weight(r.Fed, p.in)+", castings "+weight(r.Castings, p.in)+".")
		}
	}
	return strings.Join(out, " ")
}

// seasonSlot is a season in the year that it belongs to.
func seasonSlot(r service.CourseRow) picture.Slot {
	year, name, _ := strings.Cut(r.Period.Code, "-")
	name = strings.ToUpper(name[:1]) + name[1:]
	return picture.Slot{Name: name, Short: name[:min(3, len(name))], Group: year, SoFar: r.SoFar}
}

func monthSlot(r service.CourseRow) picture.Slot {
	name, year, _ := strings.Cut(r.Period.Name, " ")
	return picture.Slot{Name: name, Short: name[:3], Group: year, SoFar: r.SoFar}
}

// drawCulture draws how much of a culture there was.
//
//	@Summary		Draw a culture's stock over time
//	@Description	A stair as SVG, light or dark as the reader's screen, with a text alternative: what descends from the culture's origins in all bins together, by the book, and what censuses found, with their 95 % intervals. A census counts some of the bins; of the others the picture takes the book. To an API key for figures the culture has a label for a name.
//	@ID				drawCulture
//	@Tags			cultures
//	@Produce		image/svg+xml
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			culture			path		string	true	"id of the culture"
//	@Param			width			query		int		false	"pixels"	minimum(320)	maximum(1600)	default(720)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures/{culture}/stock.svg [get]
func (s *Server) drawCulture(r *request) (answer, error) {
	set, err := r.settings(pictureWidth())
	if err != nil {
		return answer{}, err
	}
	c, err := s.Reports.CultureCourse(r.ctx, r.actor(), service.CultureID(r.param("culture")))
	if err != nil {
		return answer{}, err
	}
	p := culturePicture{c, r.units()}
	return pictureAnswer(p.course().Draw(float64(set["width"]))), r.err
}

// culturePicture is the course of a culture, to be drawn in a system of units.
type culturePicture struct {
	service.CultureCourse
	in unit.System
}

func (p culturePicture) course() picture.Course {
	title := "Stock of " + p.Culture.Name
	c := picture.Course{Words: picture.Words{Title: title, Under: p.Club.Name}}
	if len(p.Levels) == 0 {
		c.Text = title + ", " + p.Club.Name + ": no stock of it is on record."
		c.Notes = []string{"No stock of this culture is on record."}
		return c
	}
	zone := p.Club.Zone()
	for _, l := range p.Levels {
		c.Steps = append(c.Steps, picture.Level{At: l.At, Value: kilos(l.Mass, p.in)})
	}
	now := p.Levels[len(p.Levels)-1].Mass
	c.Until, c.EndLabel = p.AsOf.In(zone), weight(now, p.in)
	c.Heading = "In all bins, by the book, " + massWord(p.in)
	c.Under = fmt.Sprintf("%s · now %s in %s", p.Club.Name, weight(now, p.in), count(p.Bins, "bin", "bins"))
	for _, x := range p.Censuses {
		c.Estimates = append(c.Estimates, picture.Estimate{At: x.At, Value: kilos(x.Mass, p.in), Low: kilos(x.Low, p.in), High: kilos(x.High, p.in)})
	}
	if n := len(p.Censuses); n > 0 {
		last := p.Censuses[n-1]
		c.Found = fmt.Sprintf("By censuses, with the 95 %% interval of what was counted; last on %s in %s: %s",
			spokenDay(last.At, zone), count(last.Bins, "bin", "bins"), weight(last.Mass, p.in))
		c.Notes = []string{"An interval is of the bins that were counted that day alone; the others stand as booked."}
	}
	c.Text = title + ", " + p.Club.Name + ". A line from 0, in " + massWord(p.in) + ". " + p.told(zone)
	return c
}

// told tells the beginning, the most, and every census in words.
func (p culturePicture) told(zone *time.Location) string {
	first, most, last := p.Levels[0], p.Levels[0], p.Levels[len(p.Levels)-1]
	for _, l := range p.Levels {
		if l.Mass > most.Mass {
			most = l
		}
	}
	out := fmt.Sprintf("It began on %s with %s, was at its most on %s with %s, and is %s now.", spokenDay(first.At, zone),
		weight(first.Mass, p.in), spokenDay(most.At, zone), weight(most.Mass, p.in), weight(last.Mass, p.in))
	for _, x := range p.Censuses {
		out += fmt.Sprintf(" Census on %s of %s: %s in all, between %s and %s.", spokenDay(x.At, zone), count(x.Bins, "bin", "bins"), weight(x.Mass, p.in), weight(x.Low, p.in), weight(x.High, p.in))
	}
	return out
}
