// Package picture draws what the book tells as SVG: columns over periods, a
// course over time, a graph in layers, and labels. A picture stands alone in an
// <img>: it has its own colours, light and dark, a text alternative, and no
// script and no address that anything is fetched from. The same data give the
// same bytes. The package does no I/O and reads no clock.
package picture

import (
	"bytes"
	"encoding/xml"
	"math"
	"strconv"
)

// Media is the media type of pictures.
const Media = "image/svg+xml; charset=utf-8"

// Words are what a picture says of itself.
type Words struct {
	Title string // also its heading
	Under string // a line below the heading
	Text  string // the text alternative: all that the picture shows, in sentences
	Notes []string
}

// drawing is an SVG in the making. Everything written into it is escaped.
type drawing struct {
	body          bytes.Buffer
	width, height float64
}

// num writes a length with at most one decimal.
func num(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }

// num2 is num with two decimals.
func num2(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64) }

// open begins an element with attributes: names and values in turn.
func (d *drawing) open(name string, attrs ...string) { d.start(name, ">", attrs) }

// empty writes an element without content.
func (d *drawing) empty(name string, attrs ...string) { d.start(name, "/>", attrs) }

func (d *drawing) start(name, end string, attrs []string) {
	d.body.WriteString("<" + name)
	for i := 0; i+1 < len(attrs); i += 2 {
		d.body.WriteString(" " + attrs[i] + `="`)
		d.escape(attrs[i+1])
		d.body.WriteByte('"')
	}
	d.body.WriteString(end)
}

func (d *drawing) shut(name string) { d.body.WriteString("</" + name + ">\n") }

// escape writes text; what XML can't hold becomes U+FFFD. A buffer takes
// everything, so there is no error.
func (d *drawing) escape(text string) { _ = xml.EscapeText(&d.body, []byte(text)) }

// element writes an element that holds text alone.
func (d *drawing) element(name, text string, attrs ...string) {
	d.open(name, attrs...)
	d.escape(text)
	d.shut(name)
}

// say writes text at a place, in the style of a class.
func (d *drawing) say(at spot, class, text string) {
	d.element("text", text, "class", class, "x", num(at.x), "y", num(at.y))
}

func (d *drawing) line(class string, from, to spot) {
	d.empty("line", "class", class, "x1", num(from.x), "y1", num(from.y), "x2", num(to.x), "y2", num(to.y))
	d.body.WriteByte('\n')
}

func (d *drawing) box(class string, at spot, width, height float64) {
	d.empty("rect", "class", class, "x", num(at.x), "y", num(at.y), "width", num(width), "height", num(height))
	d.body.WriteByte('\n')
}

// spot is a point of a drawing.
type spot struct{ x, y float64 }

// The space around a drawing, and the lines of text in it.
const (
	margin   = 16
	leading  = 18 // of ordinary text
	textSize = 13
	headSize = 17
)

// heading writes title and the line below it, broken where they are too wide,
// and returns how far they reach down.
func (d *drawing) heading(w Words) (down float64) {
	down = margin
	for _, line := range wrapped(w.Title, d.width-2*margin, headSize, true, 2) {
		down += 22
		d.say(spot{margin, down - 6}, "head", line)
	}
	for _, line := range wrapped(w.Under, d.width-2*margin, textSize, false, 3) {
		down += leading
		d.say(spot{margin, down - 4}, "quiet", line)
	}
	return down
}

// notes writes what is to be said below a picture and returns how far it
// reaches down.
func (d *drawing) notes(w Words, down float64) float64 {
	for _, note := range w.Notes {
		for _, line := range wrapped(note, d.width-2*margin, textSize, false, 4) {
			down += leading
			d.say(spot{margin, down - 4}, "quiet", line)
		}
	}
	return down + margin
}

// finish returns the whole document, to be seen on a screen or printed.
func (d *drawing) finish(w Words) []byte {
	return d.document(w, style, "width", num(d.width), "height", num(d.height))
}

// printed returns the whole document in its size on paper.
func (d *drawing) printed(w Words) []byte {
	return d.document(w, labelStyle, "width", num(d.width/labelUnit)+"mm", "height", num(d.height/labelUnit)+"mm")
}

func (d *drawing) document(w Words, style string, size ...string) []byte {
	whole := drawing{}
	whole.open("svg", append([]string{
		"xmlns", "http://www.w3.org/2000/svg", "role", "img", "aria-labelledby", "picture-title picture-text",
		"viewBox", "0 0 " + num(d.width) + " " + num(d.height),
	}, size...)...)
	whole.body.WriteByte('\n')
	whole.element("title", w.Title, "id", "picture-title")
	whole.element("desc", w.Text, "id", "picture-text")
	whole.body.WriteString("<style>" + style + "</style>\n")
	whole.box("paper", spot{}, d.width, d.height)
	whole.body.Write(d.body.Bytes())
	whole.shut("svg")
	return whole.body.Bytes()
}
