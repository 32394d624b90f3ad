package picture_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/picture"
	"lumbricary.example/api/picture/layers"
)

// element is an element of a picture.
type element struct {
	XMLName  xml.Name
	Attrs    []xml.Attr `xml:",any,attr"`
	Text     string     `xml:",chardata"`
	Children []element  `xml:",any"`
}

func (e element) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (e element) number(t *testing.T, name string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(e.attr(name), 64)
	if err != nil {
		t.Fatalf("%s of %s: %v", name, e.XMLName.Local, err)
	}
	return v
}

// parsed reads a picture, which must be one XML document.
func parsed(t *testing.T, svg []byte) element {
	t.Helper()
	var root element
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimSpace(svg)))
	if err := d.Decode(&root); err != nil {
		t.Fatalf("%v: %s", err, svg)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		t.Fatalf("something follows the picture: %v", err)
	}
	return root
}

// all lists the elements with a name that have a class; any for "".
func (e element) all(name, class string) []element {
	var out []element
	if e.XMLName.Local == name && (class == "" || slices.Contains(strings.Fields(e.attr("class")), class)) {
		out = append(out, e)
	}
	for _, c := range e.Children {
		out = append(out, c.all(name, class)...)
	}
	return out
}

func texts(all []element) []string {
	var out []string
	for _, e := range all {
		out = append(out, e.Text)
	}
	return out
}

func seasons(n int) picture.Columns {
	names := []string{"Winter", "Spring", "Summer", "Autumn"}
	c := picture.Columns{Words: picture.Words{Title: "Castings by season", Under: "Harbour Worm Club · kg", Text: "Castings."}}
	var bars []picture.Bar
	for i := range n {
		name := names[i%4]
		c.Slots = append(c.Slots, picture.Slot{Name: name, Short: name[:3], Group: strconv.Itoa(2012 + i/4), SoFar: i == n-1})
		v := float64((i*37)%91) / 2
		bars = append(bars, picture.Bar{Value: v, Known: i%7 != 3, Label: strconv.FormatFloat(v, 'f', 1, 64)})
	}
	c.Panels = []picture.Panel{{Heading: "Castings, wet", Bars: bars}}
	return c
}

func course() picture.Course {
	day := func(n int) time.Time { return time.Date(2025, 3, 10, 12, 0, 0, 0, time.UTC).AddDate(0, 0, n) }
	return picture.Course{
		Words:   picture.Words{Title: "Stock of Red worms, harbour line", Under: "Harbour Worm Club · now 1.70 kg in 3 bins", Text: "Stock.", Notes: []string{"Bins that weren't counted stand as booked."}},
		Heading: "In all bins, by the book, kg", Found: "By censuses, with 95 % intervals", Until: day(620), EndLabel: "1.70 kg",
		Steps:     []picture.Level{{day(0), 0.5}, {day(90), 0.9}, {day(91), 0.8}, {day(240), 1.4}, {day(400), 0}, {day(430), 1.1}, {day(500), 1.7}},
		Estimates: []picture.Estimate{{day(120), 0.85, 0.7, 1.1}, {day(300), 1.3, 1, 1.9}, {day(520), 1.75, 1.5, 2.1}},
	}
}

func graph(lots int) picture.Graph {
	g := picture.Graph{Words: picture.Words{Title: "Where the red worms in Terrace Tote came from", Under: "Harbour Worm Club", Text: "Lineage."}}
	g.Nodes = []picture.Node{
		{Kind: picture.Root, Name: "Σκουληκοφάρμα της Νέας Ιωνίας και του Αγίου Δημητρίου", Lines: []string{"origin: supplier", "60 % of this lot"}},
		{Kind: picture.Root, Name: "Черви <script>alert(1)</script> & сыновья", Lines: []string{"origin: wild", "40 % of this lot"}},
	}
	for i := range lots {
		n := picture.Node{Kind: picture.Ordinary, Name: "Bin " + strconv.Itoa(i+1), Lines: []string{"Anna-Theodora Papadimitriou-Oikonomou", "500 g · 1 Mar 2026"}}
		if i == lots-1 {
			n.Kind = picture.Goal
		}
		g.Nodes = append(g.Nodes, n)
		at := i + 2
		g.Edges = append(g.Edges, picture.Edge{From: max(i*7%max(1, at-1), at-9), To: at, Label: "250 g"})
		if i > 2 {
			g.Edges = append(g.Edges, picture.Edge{From: at - 2, To: at, Label: "90.0 g", Stays: i%3 == 0})
		}
	}
	return g
}

func drawn(t *testing.T, g picture.Graph) []byte {
	t.Helper()
	svg, err := g.Draw(720)
	if err != nil {
		t.Fatal(err)
	}
	return svg
}

// TestPicturesAreAsDrawnBefore compares with pictures that were looked at, light
// and dark. UPDATE_GOLDEN=1 writes them anew.
func TestPicturesAreAsDrawnBefore(t *testing.T) {
	t.Parallel()
	for name, svg := range map[string][]byte{
		"seasons.svg": seasons(12).Draw(720), "course.svg": course().Draw(720), "graph.svg": drawn(t, graph(9)),
	} {
		path := filepath.Join("testdata", name)
		if os.Getenv("UPDATE_GOLDEN") != "" {
			if err := os.WriteFile(path, svg, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(svg, want) {
			t.Errorf("%s is drawn otherwise; look at it, then write it with UPDATE_GOLDEN=1", name)
		}
	}
}

func TestAPictureTellsWhatItShowsToWhoCannotSeeIt(t *testing.T) {
	t.Parallel()
	for _, svg := range [][]byte{seasons(4).Draw(720), course().Draw(720), drawn(t, graph(5))} {
		root := parsed(t, svg)
		if root.XMLName.Local != "svg" || root.attr("role") != "img" || root.attr("aria-labelledby") != "picture-title picture-text" {
			t.Errorf("the picture is %v", root.Attrs)
		}
		if title := root.Children[0]; title.XMLName.Local != "title" || title.attr("id") != "picture-title" || title.Text == "" {
			t.Errorf("the title is %+v", title)
		}
		if text := root.Children[1]; text.XMLName.Local != "desc" || text.attr("id") != "picture-text" || text.Text == "" {
			t.Errorf("the text is %+v", text)
		}
		if n := bytes.Count(svg, []byte("prefers-color-scheme: dark")); n != 1 {
			t.Errorf("%d styles for the dark", n)
		}
		if bytes.Contains(svg, []byte("href")) || len(root.all("script", "")) > 0 {
			t.Error("the picture fetches or runs something")
		}
	}
}

func TestWhatPeopleWroteIsTextInAPicture(t *testing.T) {
	t.Parallel()
	const name = `<script>alert("1")</script> & 'co' ]]>` + "\x00\x1b"
	const shown = "<script>alert(\"1\")</script> & 'co' ]]>\ufffd\ufffd"
	c := seasons(4)
	c.Words = picture.Words{Title: name, Under: name, Text: name, Notes: []string{name}}
	c.Panels[0].Heading, c.Panels[0].Bars[0].Label, c.Slots[0].Name, c.Slots[0].Group = name, name, name, name
	root := parsed(t, c.Draw(1600))
	if root.Children[0].Text != shown || root.Children[1].Text != shown {
		t.Errorf("title %q, text %q", root.Children[0].Text, root.Children[1].Text)
	}
	if n := len(slices.DeleteFunc(texts(root.all("text", "")), func(s string) bool { return s != shown })); n < 5 {
		t.Errorf("%d texts of what was written: %q", n, texts(root.all("text", "")))
	}
	g := graph(3)
	g.Nodes[0] = picture.Node{Kind: picture.Root, Name: "<b>", Lines: []string{"</text><script/>"}, Tip: name}
	g.Edges[0].Label = "<i>"
	root = parsed(t, drawn(t, g))
	for _, want := range []string{"<b>", "</text><script/>", "<i>"} {
		if !slices.Contains(texts(root.all("text", "")), want) {
			t.Errorf("no text %q", want)
		}
	}
	if len(root.all("script", "")) > 0 {
		t.Error("a name became an element")
	}
}

func TestColumnsStandOnZeroAndGapsAreNoColumns(t *testing.T) {
	t.Parallel()
	for _, n := range []int{1, 2, 12, 60} {
		root := parsed(t, seasons(n).Draw(720))
		bars, gaps := root.all("rect", "bar"), root.all("rect", "gap")
		unknown := 0
		for _, b := range seasons(n).Panels[0].Bars {
			if !b.Known {
				unknown++
			}
		}
		if len(gaps) != unknown || len(bars) != n-unknown {
			t.Errorf("%d periods, %d unknown: %d columns and %d gaps", n, unknown, len(bars), len(gaps))
		}
		base := root.all("line", "base")[0].number(t, "y1")
		for _, b := range bars {
			if foot := b.number(t, "y") + b.number(t, "height"); foot < base-0.11 || foot > base+0.11 {
				t.Errorf("a column ends at %v, the base line is at %v", foot, base)
			}
		}
		if axis := texts(root.all("text", "axis")); axis[0] != "0" {
			t.Errorf("the scale begins at %s", axis[0])
		}
	}
}

func TestAsTallIsAsMuchInEveryPanel(t *testing.T) {
	t.Parallel()
	c := seasons(3)
	c.Panels = []picture.Panel{
		{Heading: "Fed", Bars: []picture.Bar{{40, true, "40"}, {20, true, "20"}, {0, false, ""}}},
		{Heading: "Castings", Bars: []picture.Bar{{10, true, "10"}, {0, true, "0"}, {5, true, "5"}}},
	}
	bars := parsed(t, c.Draw(720)).all("rect", "bar")
	if len(bars) != 5 {
		t.Fatalf("%d columns", len(bars))
	}
	perUnit := bars[0].number(t, "height") / 40
	for i, v := range []float64{40, 20, 10, 0, 5} {
		if h := bars[i].number(t, "height"); h < v*perUnit-0.1 || h > v*perUnit+0.1 {
			t.Errorf("%v is %v tall", v, h)
		}
	}
}

func TestACourseShowsEveryEstimateAboveZero(t *testing.T) {
	t.Parallel()
	c := course()
	root := parsed(t, c.Draw(720))
	if n := len(root.all("circle", "dot")); n != len(c.Estimates)+1 { // one in the heading
		t.Errorf("%d dots", n)
	}
	base := root.all("line", "base")[0].number(t, "y1")
	for _, s := range root.all("line", "span") {
		if y := s.number(t, "y1"); y > base+0.1 {
			t.Errorf("an interval reaches below zero: %v", y)
		}
	}
	if axis := texts(root.all("text", "axis")); axis[0] != "0.0" {
		t.Errorf("the scale begins at %s", axis[0])
	}
	if len(root.all("path", "course")) != 1 {
		t.Error("there is no line")
	}
}

func TestAPictureOfNothingSaysSo(t *testing.T) {
	t.Parallel()
	words := picture.Words{Title: "Castings", Text: "Nothing.", Notes: []string{"Nothing is on record yet."}}
	for _, svg := range [][]byte{picture.Columns{Words: words}.Draw(320), picture.Course{Words: words}.Draw(320)} {
		root := parsed(t, svg)
		if got := texts(root.all("text", "")); !slices.Contains(got, "Nothing is on record yet.") || len(root.all("line", "")) > 1 {
			t.Errorf("drawn as %s", svg)
		}
	}
	zero := seasons(1)
	zero.Panels[0].Bars[0] = picture.Bar{0, true, "0"}
	if axis := texts(parsed(t, zero.Draw(320)).all("text", "axis")); axis[0] != "0" {
		t.Errorf("the scale of nothing is %v", axis)
	}
}

func TestAGraphShowsEveryNodeAndNoneCoversAnother(t *testing.T) {
	t.Parallel()
	for _, lots := range []int{1, 9, 60, 198} {
		g := graph(lots)
		root := parsed(t, drawn(t, g))
		var boxes []element
		for _, kind := range []string{"node", "root", "goal", "rest"} {
			boxes = append(boxes, root.all("rect", kind)...)
		}
		if len(boxes) != lots+2 || len(root.all("path", "way")) != len(g.Edges) {
			t.Errorf("%d lots: %d boxes and %d edges", lots, len(boxes), len(root.all("path", "way")))
		}
		width, height := root.number(t, "width"), root.number(t, "height")
		for i, a := range boxes {
			x, y, w, h := a.number(t, "x"), a.number(t, "y"), a.number(t, "width"), a.number(t, "height")
			if x < 0 || y < 0 || x+w > width || y+h > height {
				t.Errorf("a node lies outside at %v, %v", x, y)
			}
			for _, b := range boxes[i+1:] {
				bx, by := b.number(t, "x"), b.number(t, "y")
				if x < bx+b.number(t, "width") && bx < x+w && y < by+b.number(t, "height") && by < y+h {
					t.Errorf("%d lots: nodes at %v, %v and %v, %v cover each other", lots, x, y, bx, by)
				}
			}
		}
	}
}

func TestTheSameGraphIsDrawnAlikeAndACircleIsRefused(t *testing.T) {
	t.Parallel()
	if !bytes.Equal(drawn(t, graph(60)), drawn(t, graph(60))) {
		t.Error("two drawings of one graph differ")
	}
	g := graph(3)
	g.Edges = append(g.Edges, picture.Edge{From: 4, To: 1})
	if _, err := g.Draw(720); !isOrder(err) {
		t.Errorf("a circle is drawn: %v", err)
	}
}

func isOrder(err error) bool {
	_, ok := errors.AsType[*layers.OrderError](err)
	return ok
}
