package picture

import (
	"math"
	"slices"
)

// Columns are sums of periods, in one panel or in several one below the other,
// which share the periods and the scale: as tall is as much.
type Columns struct {
	Words
	Slots  []Slot // the periods, in order
	Panels []Panel
}

// Slot is one period.
type Slot struct {
	Name  string // as "Summer"
	Short string // written where there is no room for names, as "Sum"
	Group string // what follows each other with the same is grouped, as the year
	SoFar bool   // isn't over yet
}

// Panel is one row of columns.
type Panel struct {
	Heading string
	Bars    []Bar // one a slot
}

// Bar is the sum of a period. One that isn't known is drawn as a gap.
type Bar struct {
	Value float64
	Known bool
	Label string // the value in words
}

// tone is the class of the n-th panel.
func tone(n int) string {
	if n%2 == 0 {
		return "first"
	}
	return "second"
}

// hatching is what gaps are filled with.
const hatching = `<defs><pattern id="gap-lines" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="hatch" x1="0" y1="0" x2="0" y2="6"/></pattern></defs>
`

const (
	panelHeight  = 240
	leastPanel   = 60
	panelHeading = 34
)

// Draw draws the columns in that width.
func (c Columns) Draw(width float64) []byte {
	d := &drawing{width: width}
	down := d.heading(c.Words)
	if len(c.Slots) > 0 {
		d.body.WriteString(hatching)
		down = c.panels(d, down)
	}
	d.height = d.notes(c.Words, down+6)
	return d.finish(c.Words)
}

// grid is where the slots of a panel stand.
type grid struct {
	left, slot   float64
	scale        scale
	perUnit      float64 // how tall one of the unit is
	base, height float64
}

// fits tells whether all slots have room for their names.
func (g grid) fits(slots []Slot, name func(Slot) string) bool {
	return !slices.ContainsFunc(slots, func(s Slot) bool { return widthOf(name(s), 12, false) > g.slot-2 })
}

func (g grid) middle(i int) float64 { return g.left + g.slot*(float64(i)+0.5) }

func (c Columns) panels(d *drawing, down float64) float64 {
	s := scaleTo(c.most())
	left := margin + s.room() + 8
	g := grid{left: left, slot: (d.width - margin - left) / float64(len(c.Slots)), scale: s, perUnit: panelHeight / s.top}
	for i, p := range c.Panels {
		g.height = max(leastPanel, scaledTop(p, s)*g.perUnit)
		down += panelHeading
		if i > 0 {
			down += margin
		}
		d.say(spot{margin, down - 14}, "strong "+tone(i), p.Heading)
		down += g.height
		g.base = down
		p.draw(d, g, c.Slots, tone(i))
	}
	return c.periods(d, g, down)
}

// most is the largest of all bars.
func (c Columns) most() float64 {
	most := 0.0
	for _, p := range c.Panels {
		most = max(most, p.most())
	}
	return most
}

func (p Panel) most() float64 {
	most := 0.0
	for _, b := range p.Bars {
		if b.Known {
			most = max(most, b.Value)
		}
	}
	return most
}

// scaledTop is how far up the scale a panel reaches.
func scaledTop(p Panel, s scale) float64 {
	return min(s.top, math.Ceil(p.most()/s.step-1e-9)*s.step)
}

// draw draws a panel.
func (p Panel) draw(d *drawing, g grid, slots []Slot, tone string) {
	right := g.left + g.slot*float64(len(slots))
	for _, t := range g.scale.ticks(g.height / g.perUnit) {
		y := g.base - t*g.perUnit
		class := "grid"
		if t == 0 {
			class = "base"
		}
		d.line(class, spot{g.left, y}, spot{right, y})
		d.say(spot{g.left - 6, y + 4}, "axis end", g.scale.word(t))
	}
	wide := min(56, max(1, g.slot*0.7))
	for i, b := range p.Bars {
		x := g.middle(i) - wide/2
		switch {
		case !b.Known:
			d.box("gap", spot{g.left + g.slot*float64(i), g.base - g.height}, g.slot, g.height)
		case slots[i].SoFar:
			d.box("bar so-far "+tone, spot{x, g.base - b.Value*g.perUnit}, wide, b.Value*g.perUnit)
		default:
			d.box("bar "+tone, spot{x, g.base - b.Value*g.perUnit}, wide, b.Value*g.perUnit)
		}
	}
	p.labels(d, g)
}

// labels writes the values above the columns: all where there is room, else
// those of the tallest and the last.
func (p Panel) labels(d *drawing, g grid) {
	const size = 12
	fit, tallest, last := true, -1, -1
	for i, b := range p.Bars {
		if !b.Known {
			continue
		}
		fit = fit && widthOf(b.Label, size, false) <= g.slot
		if tallest < 0 || b.Value > p.Bars[tallest].Value {
			tallest = i
		}
		last = i
	}
	reached := math.Inf(-1)
	for i, b := range p.Bars {
		if !b.Known || b.Value == 0 && !fit || !fit && i != tallest && i != last {
			continue
		}
		half := widthOf(b.Label, size, false) / 2
		x := min(max(g.middle(i), g.left+half), d.width-margin/2-half)
		if !fit && i == last && i != tallest && x-half < reached {
			continue // the tallest stands beside it
		}
		reached = x + half + 4
		d.say(spot{x, g.base - b.Value*g.perUnit - 5}, "label middle over", b.Label)
	}
}

// periods writes the names of the slots, where there is room, and of their
// groups.
func (c Columns) periods(d *drawing, g grid, base float64) float64 {
	const size = 12
	for _, name := range []func(Slot) string{func(s Slot) string { return s.Name }, func(s Slot) string { return s.Short }} {
		if !g.fits(c.Slots, name) {
			continue
		}
		base += leading
		for i, s := range c.Slots {
			d.say(spot{g.middle(i), base - 3}, "axis middle", name(s))
		}
		break
	}
	base += 4
	reached := math.Inf(-1)
	for i, s := range c.Slots {
		if i > 0 && c.Slots[i-1].Group == s.Group {
			continue
		}
		x := g.left + g.slot*float64(i)
		wide := widthOf(s.Group, size, false)
		if x < reached || x+wide > d.width-margin/2 {
			continue
		}
		d.line("base", spot{x, base - 2}, spot{x, base + leading - 2})
		d.say(spot{x + 4, base + leading - 5}, "axis", s.Group)
		reached = x + wide + 14
	}
	return base + leading
}
