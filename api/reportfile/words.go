package reportfile

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"lumbricary.example/service/unit"
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

// decimals is how many decimals a column shows: where it is by digits, as many
// as this figure needs for three that count, two at most.
func (c Column) decimals(f unit.Figure) int {
	if c.Decimals != Digits {
		return c.Decimals
	}
	v := math.Abs(f.Value)
	switch {
	case v == math.Trunc(v) || v >= 100:
		return 0
	case v >= 10:
		return 1
	}
	return 2
}

// Dash stands where there is no figure.
const Dash = "–"

// shown is a figure as it is printed.
func (c Column) shown(f unit.Figure) string {
	if !f.Known {
		return Dash
	}
	d := c.decimals(f)
	out := fixed(f.Value, d)
	if c.Interval && f.Level > 0 {
		out += " (" + fixed(f.Low, d) + Dash + fixed(f.High, d) + ")"
	}
	return out
}

// fixed writes v with so many decimals and a real minus; what is too small to
// show isn't shown as nothing.
func fixed(v float64, decimals int) string {
	out := strconv.FormatFloat(v, 'f', decimals, 64)
	if v != 0 && strings.Trim(out, "-0.") == "" {
		least := strconv.FormatFloat(math.Pow10(-decimals), 'f', decimals, 64)
		if v < 0 {
			return ">−" + least
		}
		return "<" + least
	}
	if v == 0 {
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
