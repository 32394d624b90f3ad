package picture

import (
	"strconv"
	"strings"
	"time"
)

// Course is a level over time, with estimates of it and their intervals.
type Course struct {
	Words
	Heading   string  // of the level
	Steps     []Level // in order of time; each lasts until the next
	Until     time.Time
	EndLabel  string // of the last level
	Found     string // heading of the estimates
	Estimates []Estimate
}

// Level is how much there is from a moment on.
type Level struct {
	At    time.Time
	Value float64
}

// Estimate is what was found at a moment.
type Estimate struct {
	At               time.Time
	Value, Low, High float64
}

// field is the part of a drawing that a course is drawn in.
type field struct {
	left, right, base float64
	from              time.Time
	perDay, perUnit   float64
}

func (f field) spot(at time.Time, value float64) spot {
	return spot{f.left + at.Sub(f.from).Hours()/24*f.perDay, f.base - value*f.perUnit}
}

// Draw draws the course in that width.
func (c Course) Draw(width float64) []byte {
	d := &drawing{width: width}
	down := d.heading(c.Words)
	if len(c.Steps) > 0 {
		down = c.draw(d, c.keys(d, down+8)+12)
	}
	d.height = d.notes(c.Words, down+6)
	return d.finish(c.Words)
}

// keys writes the headings, each beside what it names.
func (c Course) keys(d *drawing, down float64) float64 {
	const sample = 26
	down += leading
	d.line("course", spot{margin, down - 8}, spot{margin + sample - 6, down - 8})
	d.say(spot{margin + sample, down - 4}, "strong first", c.Heading)
	if len(c.Estimates) == 0 {
		return down
	}
	for _, line := range wrapped(c.Found, d.width-2*margin-sample, textSize, true, 3) {
		down += leading
		d.say(spot{margin + sample, down - 4}, "strong second", line)
	}
	mark(d, spot{margin + 10, down - 15}, spot{margin + 10, down - 9}, spot{margin + 10, down - 2})
	return down
}

func (c Course) most() float64 {
	most := 0.0
	for _, s := range c.Steps {
		most = max(most, s.Value)
	}
	for _, e := range c.Estimates {
		most = max(most, e.High)
	}
	return most
}

func (c Course) draw(d *drawing, down float64) float64 {
	s := scaleTo(c.most())
	f := field{left: margin + s.room() + 8, base: down + panelHeight, from: c.Steps[0].At, perUnit: panelHeight / s.top}
	f.right = d.width - margin - 10 - widthOf(c.EndLabel, 12, true)
	f.perDay = (f.right - f.left) / max(1, c.Until.Sub(f.from).Hours()/24)
	for _, t := range s.ticks(s.top) {
		y := f.base - t*f.perUnit
		class := "grid"
		if t == 0 {
			class = "base"
		}
		d.line(class, spot{f.left, y}, spot{f.right, y})
		d.say(spot{f.left - 6, y + 4}, "axis end", s.word(t))
	}
	c.time(d, f)
	c.steps(d, f)
	c.estimates(d, f)
	return f.base + leading + 4
}

// steps draws the level as a stair, of which a pixel shows the last step alone.
func (c Course) steps(d *drawing, f field) {
	var stair strings.Builder
	at := f.spot(c.Steps[0].At, c.Steps[0].Value)
	start := at
	stair.WriteString("M" + num(at.x) + " " + num(at.y))
	for i, s := range c.Steps[1:] {
		to := f.spot(s.At, s.Value)
		if i+2 < len(c.Steps) && int(f.spot(c.Steps[i+2].At, 0).x) == int(to.x) {
			continue
		}
		stair.WriteString("H" + num(to.x) + "V" + num(to.y))
		at = to
	}
	stair.WriteString("H" + num(f.right))
	d.empty("path", "class", "under", "d", stair.String()+"V"+num(f.base)+"H"+num(start.x)+"Z")
	d.empty("path", "class", "course", "d", stair.String())
	d.say(spot{f.right + 6, at.y + 4}, "label strong first", c.EndLabel)
}

// estimates draws what was found.
func (c Course) estimates(d *drawing, f field) {
	for _, e := range c.Estimates {
		mark(d, f.spot(e.At, e.High), f.spot(e.At, e.Value), f.spot(e.At, e.Low))
	}
}

// mark draws a dot in its interval.
func mark(d *drawing, high, at, low spot) {
	d.line("span", low, high)
	for _, end := range []spot{low, high} {
		d.line("span", spot{end.x - 4, end.y}, spot{end.x + 4, end.y})
	}
	d.empty("circle", "class", "dot", "cx", num(at.x), "cy", num(at.y), "r", "4")
	d.body.WriteByte('\n')
}

// time writes months or years below the base line.
func (c Course) time(d *drawing, f field) {
	zone := c.Until.Location()
	first := f.from.In(zone)
	months := monthsApart(f.perDay)
	since := 12*first.Year() + int(first.Month()) - 1
	at := time.Date(0, time.Month(since-since%months+1), 1, 0, 0, 0, 0, zone)
	for ; !at.After(c.Until); at = at.AddDate(0, months, 0) {
		x := f.spot(at, 0).x
		word := at.Format("Jan")
		if at.Month() == time.January || months >= 12 {
			word = strconv.Itoa(at.Year())
		}
		if x < f.left || x+widthOf(word, 12, false) > d.width-margin {
			continue
		}
		d.line("base", spot{x, f.base}, spot{x, f.base + 6})
		d.say(spot{x + 3, f.base + leading - 3}, "axis", word)
	}
}

// monthsApart is how many months lie between the words of a time axis: as few
// as leave room for them, and never so many that a year isn't named.
func monthsApart(perDay float64) int {
	const room, days = 44, 30.4
	for _, months := range []int{1, 3, 12, 24, 60, 120} {
		if float64(months)*days*perDay >= room {
			return months
		}
	}
	return 240
}
