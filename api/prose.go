package api

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// columns is how wide a plain text may be.
const columns = 80

// paper is a plain text in the making.
type paper struct{ strings.Builder }

// line writes a line as it is.
func (p *paper) line(text string) { _, _ = p.WriteString(text + "\n") }

// heading starts a section.
func (p *paper) heading(format string, a ...any) {
	p.line("")
	p.say("%s", strings.ToUpper(fmt.Sprintf(format, a...)))
}

// say writes a paragraph.
func (p *paper) say(format string, a ...any) { p.wrap("", "", fmt.Sprintf(format, a...)) }

// item writes a paragraph with a dash before it.
func (p *paper) item(format string, a ...any) { p.wrap("- ", "  ", fmt.Sprintf(format, a...)) }

// wrap breaks text at spaces so that no line is too long, where words allow.
func (p *paper) wrap(first, rest, text string) {
	line, width := first, utf8.RuneCountInString(first)
	begun := false
	for _, word := range words(text, columns-len(first)) {
		n := utf8.RuneCountInString(word)
		switch {
		case !begun:
		case width+1+n > columns:
			p.line(line)
			line, width = rest, utf8.RuneCountInString(rest)
		default:
			line, width = line+" ", width+1
		}
		line, width, begun = line+word, width+n, true
	}
	p.line(line)
}

// words are the words of a text, cut where one is longer than a line.
func words(text string, most int) []string {
	var out []string
	for _, word := range strings.Fields(plain(text)) {
		for part := range slices.Chunk([]rune(word), most) {
			out = append(out, string(part))
		}
	}
	return out
}

// plain takes control characters other than white space out of what people
// wrote.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && !unicode.IsSpace(r) {
			return -1
		}
		return r
	}, text)
}

// column is one column of a table.
type column struct {
	head   string
	number bool // stands to the right
	cells  []string
}

const (
	indent      = "  "
	gap         = "  "
	leastColumn = 8 // what a column of text is never cut below
)

// table writes columns beside each other; where they are too wide, the widest
// columns of text are cut.
func (p *paper) table(cols ...column) {
	widths := make([]int, len(cols))
	total := len(indent) + len(gap)*(len(cols)-1)
	for i, c := range cols {
		for _, cell := range append([]string{c.head}, c.cells...) {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
		total += widths[i]
	}
	for ; total > columns; total-- {
		w := widest(cols, widths)
		if widths[w] <= leastColumn {
			break
		}
		widths[w]--
	}
	for row := -1; row < len(cols[0].cells); row++ {
		var b strings.Builder
		for i, c := range cols {
			cell := c.head
			if row >= 0 {
				cell = c.cells[row]
			}
			b.WriteString(gap + c.fit(cell, widths[i]))
		}
		p.line(strings.TrimRight(indent+strings.TrimPrefix(b.String(), gap), " "))
	}
}

// widest returns the widest column of text.
func widest(cols []column, widths []int) int {
	best := 0
	for i, c := range cols {
		if !c.number && (cols[best].number || widths[i] > widths[best]) {
			best = i
		}
	}
	return best
}

// fit makes a cell as wide as its column.
func (c column) fit(cell string, width int) string {
	n := utf8.RuneCountInString(cell)
	if n > width {
		return string([]rune(cell)[:width-1]) + "…"
	}
	if c.number {
		return strings.Repeat(" ", width-n) + cell
	}
	return cell + strings.Repeat(" ", width-n)
}

// text is a column of words.
func text[T any](head string, rows []T, cell func(T) string) column {
	c := column{head: head}
	for _, r := range rows {
		c.cells = append(c.cells, plain(cell(r)))
	}
	return c
}

// masses is a column of masses in kg or pounds, each to the same decimal, so
// that the largest has three digits that count.
func masses[T any](head string, in unit.System, rows []T, mass func(T) unit.Mass) column {
	large := func(r T) float64 { return unit.Of(mass(r).Kilograms(), "kg", "").In(in).Value }
	var most float64
	for _, r := range rows {
		most = max(most, math.Abs(large(r)))
	}
	decimals := min(3, max(1, decimalsFor(most, 3)))
	c := column{head: head + ", " + massWord(in), number: true}
	for _, r := range rows {
		c.cells = append(c.cells, fixed(large(r), decimals))
	}
	return c
}

// massWord is what a text calls the unit of its masses.
func massWord(in unit.System) string {
	if in == unit.USCustomary {
		return "lb"
	}
	return "kg"
}

// figures is a column of figures with so many decimals, a dash where there is
// none.
func figures[T any](head string, decimals int, rows []T, figure func(T) unit.Figure) column {
	c := column{head: head, number: true}
	for _, r := range rows {
		cell := "-"
		if f := figure(r); f.Known {
			cell = fixed(f.Value, decimals)
		}
		c.cells = append(c.cells, cell)
	}
	return c
}

// fixed writes v with so many decimals; what is too small to show isn't shown
// as nothing.
func fixed(v float64, decimals int) string {
	out := strconv.FormatFloat(v, 'f', decimals, 64)
	least := strconv.FormatFloat(math.Pow10(-decimals), 'f', decimals, 64)
	switch shown, err := strconv.ParseFloat(out, 64); {
	case err != nil || shown != 0:
		return out
	case v == 0:
		return "0"
	case v < 0:
		return ">-" + least
	}
	return "<" + least
}

// rounded writes v with so many decimals, and no sign before nothing.
func rounded(v float64, decimals int) string {
	out := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(out, "-0.") == "" {
		return strings.TrimPrefix(out, "-")
	}
	return out
}

// decimalsFor returns how many decimals v needs for n digits that count; it is
// negative where there are more before the point.
func decimalsFor(v float64, n int) int {
	if v == 0 {
		return 0
	}
	_, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', n-1, 64), "e")
	e, err := strconv.Atoi(exponent)
	if err != nil {
		return 0
	}
	return n - 1 - e
}

// digits writes v with n digits that count, and all that stand before the
// point.
func digits(v float64, n int) string {
	return strconv.FormatFloat(v, 'f', max(0, decimalsFor(v, n)), 64)
}

// weight writes a mass in kg, or in g below one kg, or else in pounds and
// ounces, with three digits.
func weight(m unit.Mass, in unit.System) string {
	small := "g"
	if in == unit.USCustomary {
		small = "oz"
	}
	large := unit.Of(m.Kilograms(), "kg", "").In(in).Value
	if math.Abs(large) < 1-1e-5 { // one pound is 453,592 mg and a bit
		return digits(unit.Of(m.Grams(), "g", "").In(in).Value, 3) + " " + small
	}
	return digits(large, 3) + " " + massWord(in)
}

// percent writes parts of a whole.
func percent(parts, whole int64) string {
	p := 100 * float64(parts) / float64(whole)
	switch {
	case parts < whole && p > 99.5:
		return "over 99 %"
	case parts > 0 && p < 0.5:
		return "under 1 %"
	}
	return strconv.FormatFloat(p, 'f', 0, 64) + " %"
}

// count writes a number with the right form of a word.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// listed joins words as a sentence does.
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// spokenDay writes the day of t as people say it.
func spokenDay(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("2 January 2006")
}

// money writes an amount of minor units in its currency.
func money(minor int64, currency string) string {
	decimals, ok := minorDigits[currency]
	if !ok {
		decimals = 2
	}
	sign, whole := "", strconv.FormatInt(minor, 10)
	if minor < 0 {
		sign, whole = "-", whole[1:]
	}
	if n := decimals + 1 - len(whole); n > 0 {
		whole = strings.Repeat("0", n) + whole
	}
	if decimals == 0 {
		return sign + whole + " " + currency
	}
	point := len(whole) - decimals
	return sign + whole[:point] + "." + whole[point:] + " " + currency
}

// minorDigits is how many decimals a currency has where it isn't two (ISO
// 4217).
var minorDigits = map[string]int{
	"BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "ISK": 0, "JPY": 0, "KMF": 0, "KRW": 0, "PYG": 0, "RWF": 0,
	"UGX": 0, "VND": 0, "VUV": 0, "XAF": 0, "XOF": 0, "XPF": 0,
	"BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3,
	"CLF": 4, "UYW": 4,
}

// named looks a thing up by its id; what has no name is called by other.
func named[K ~string](names map[K]string, id, other string) string {
	if name, ok := names[K(id)]; ok {
		return name
	}
	return other
}

// binName is what the club calls a bin.
func binName(n service.Names, id service.BinID) string { return n.Bins[id].Name }
