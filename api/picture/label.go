package picture

import "strings"

// Label is what is stuck on a bin or a bag. It is printed, so it is dark on
// white on every screen.
type Label struct {
	Name    string
	Lines   []string
	Small   string   // at the foot, as cautions
	Code    string   // in letters, as people type it where the code can't be read
	Modules [][]bool // of the QR code, by rows, with its light border
}

// A label in its units, of which four are a millimetre.
const (
	labelUnit   = 4
	labelWidth  = 90 * labelUnit
	labelHeight = 47 * labelUnit
	codeSide    = 34 * labelUnit
	labelPad    = 3 * labelUnit
)

// labelStyle is the style of labels.
const labelStyle = `
svg { font: 11.5px "Noto Sans", "DejaVu Sans", "Segoe UI", Roboto, Arial, sans-serif; }
.paper { fill: #fff; stroke: #bbb; }
.name { font-size: 18px; font-weight: 700; }
.small { font-size: 8.5px; }
.typed { font-size: 9px; font-family: "DejaVu Sans Mono", Consolas, monospace; text-anchor: middle; }
`

// Draw draws the label in its size, 90 by 47 millimetres.
func (l Label) Draw() []byte {
	d := &drawing{width: labelWidth, height: labelHeight}
	left, wide := float64(labelPad), float64(labelWidth-codeSide-2*labelPad)
	y := float64(labelPad)
	for _, line := range wrapped(l.Name, wide, 18, true, 2) {
		y += 20
		d.say(spot{left, y}, "name", line)
	}
	y += 3
	small := wrapped(l.Small, labelWidth-2*labelPad, 8.5, false, 3)
	for _, line := range l.Lines {
		for _, part := range wrapped(line, wide, 11.5, false, 2) {
			if y += 15; y < labelHeight-labelPad-11*float64(len(small)) {
				d.say(spot{left, y}, "line", part)
			}
		}
	}
	for i, line := range small {
		d.say(spot{left, labelHeight - labelPad + 2 - 11*float64(len(small)-1-i)}, "small", line)
	}
	d.code(l, spot{labelWidth - codeSide - labelPad/2, labelPad / 2})
	return d.printed(Words{Title: "Label of " + l.Name, Text: strings.Join(append(append([]string{l.Name}, l.Lines...), l.Small, "Code "+l.Code), ". ")})
}

// code draws the QR code, as runs of dark modules, with its letters below.
func (d *drawing) code(l Label, at spot) {
	side := codeSide / float64(len(l.Modules))
	var path strings.Builder
	for y, row := range l.Modules {
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x > from {
				path.WriteString("M" + num2(float64(from)*side+at.x) + " " + num2(float64(y)*side+at.y) + "h" + num2(float64(x-from)*side) + "v" + num2(side) + "h" + num2(-float64(x-from)*side) + "z")
			}
		}
	}
	d.empty("path", "shape-rendering", "crispEdges", "d", path.String())
	for i, part := range []string{l.Code[:len(l.Code)/2], l.Code[len(l.Code)/2:]} {
		d.say(spot{at.x + codeSide/2, at.y + codeSide + float64(i)*10}, "typed", part)
	}
}
