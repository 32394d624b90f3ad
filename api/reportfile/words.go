package reportfile

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// gathered is names under what they share, in the order met.
type gathered struct {
	order []string
	names map[string][]string
}

func (g *gathered) add(key, name string) {
	if g.names == nil {
		g.names = map[string][]string{}
	}
	if g.names[key] == nil {
		g.order = append(g.order, key)
	}
	g.names[key] = append(g.names[key], name)
}

// each passes what is shared with the names, which are of so many.
func (g *gathered) each(do func(key, names string), of int) {
	for _, key := range g.order {
		do(key, listed(g.names[key], of))
	}
}

func listed(names []string, of int) string {
	switch n := len(names); {
	case n == of && n > 1:
		return "all"
	case n > many:
		return strconv.Itoa(n) + " of " + strconv.Itoa(of)
	case n > 1:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return names[0]
}

// decimals is how many decimals a figure of a row is shown with: where the column
// is by digits, as many as the largest such figure of the row needs for three that
// count, two at most.
func (t Table) decimals(r Row, i int) int {
	if c := t.Columns[i]; c.Decimals != Digits {
		return c.Decimals
	}
	var most float64
	broken := false
	for j, c := range t.Columns {
		if f := r.Figures[j]; f.Known && c.Decimals == Digits {
			most = max(most, math.Abs(f.Value))
			broken = broken || f.Value != math.Trunc(f.Value)
		}
	}
	switch {
	case !broken || most >= 100:
		return 0
	case most >= 10:
		return 1
	}
	return 2
}

// Dash stands where there is no figure.
const Dash = "–"

// shown is a figure of a row as it is printed. Differences are those of what is
// printed, so that a reader finds no fault in them.
func (t Table) shown(r Row, i int) string {
	c, f, d := t.Columns[i], r.Figures[i], t.decimals(r, i)
	switch {
	case !f.Known:
		return Dash
	case c.Differs:
		return fixed(rounded(r.Figures[0].Value, d)-rounded(r.Figures[1].Value, d), d)
	case f.Value == 0 && f.Level == 0:
		return "0"
	}
	out := fixed(f.Value, d)
	if c.Interval && f.Level > 0 {
		out += " (" + fixed(f.Low, d) + Dash + fixed(f.High, d) + ")"
	}
	return out
}

func rounded(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(v*scale) / scale
}

// fixed writes v with so many decimals and a real minus; what is too small to
// show isn't shown as nothing.
func fixed(v float64, decimals int) string {
	out := strconv.FormatFloat(v, 'f', decimals, 64)
	if math.Abs(v) > 1e-9 && strings.Trim(out, "-0.") == "" {
		least := strconv.FormatFloat(math.Pow10(-decimals), 'f', decimals, 64)
		if v < 0 {
			return ">−" + least
		}
		return "<" + least
	}
	if strings.Trim(out, "-0.") == "" {
		out = strings.TrimPrefix(out, "-")
	}
	return strings.Replace(out, "-", "−", 1)
}

// printed lists the columns that are printed, by their places.
func (t Table) printed() []int {
	var out []int
	for i := range t.Columns {
		if !t.Columns[i].Aside {
			out = append(out, i)
		}
	}
	return slices.Clip(out)
}
