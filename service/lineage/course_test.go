package lineage_test

import (
	"maps"
	"slices"
	"testing"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

func followed(t *testing.T, c *club, origins ...string) lineage.Course {
	t.Helper()
	lots, _ := c.derive(t)
	its := map[string]bool{}
	for _, o := range origins {
		its[o] = true
	}
	return lineage.Follow(c.entries, slices.Collect(maps.Values(lots)), its)
}

func TestACourseFollowsWhatDescendsFromItsOriginsFromBinToBin(t *testing.T) {
	t.Parallel()
	c := &club{}
	c.stock("a", "mill", 1000)
	c.move("a", "b", 400)
	c.stock("b", "quay", 400) // half of b is of the mill
	c.lose("b", 200)
	c.send("a", "t1", 600) // what is under way counts nowhere
	c.reverse(c.stock("a", "mill", 50))
	course := followed(t, c, "mill")
	want := []lineage.Level{{day(1), 1000}, {day(4), 900}, {day(5), 300}}
	if got := course.Levels(); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := course.Parts(in("b"), day(3)); got != lineage.One/2 {
		t.Errorf("%d parts of b", got)
	}
	if got := course.Parts(in("b"), day(1)); got != 0 {
		t.Errorf("%d parts of b before there was any", got)
	}
	if got := course.Book(in("b"), day(4)); got != 600 {
		t.Errorf("the book of b is %v", got)
	}
	if course.Parts(in("c"), day(4)) != 0 || course.Book(in("c"), day(4)) != 0 {
		t.Error("something is in a bin that nobody named")
	}
	if got := followed(t, c).Levels(); len(got) != 0 {
		t.Errorf("no origins have a course of %v", got)
	}
}

func TestALevelIsThatOfTheEndOfItsMoment(t *testing.T) {
	t.Parallel()
	c := &club{}
	c.stock("a", "mill", 1000)
	c.stock("a", "quay", 1000)
	c.at(day(1))
	c.lose("a", 500)
	c.at(day(1))
	if got, want := followed(t, c, "mill").Levels(), []lineage.Level{{day(1), 750}}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestTheCoursesOfAllOriginsAddUpToTheBook(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c, books := &club{}, map[string]unit.Mass{}
		for range rapid.IntRange(1, 20).Draw(rt, "entries") {
			from, to := rapid.SampledFrom([]string{"a", "b", "c"}).Draw(rt, "from"), rapid.SampledFrom([]string{"a", "b", "c"}).Draw(rt, "to")
			m := unit.Mass(rapid.IntRange(1, 1000).Draw(rt, "mass"))
			if from == to || books[from] < m {
				c.stock(to, rapid.SampledFrom([]string{"mill", "quay"}).Draw(rt, "origin"), m)
			} else {
				c.move(from, to, m)
				books[from] -= m
			}
			books[to] += m
		}
		levels := followed(t, c, "mill", "quay").Levels()
		var all unit.Mass
		for _, m := range books {
			all += m
		}
		if got := levels[len(levels)-1].Mass; got != all {
			rt.Fatalf("%v of %v", got, all)
		}
	})
}

func TestContributionsGoToParentsByTheirMasses(t *testing.T) {
	t.Parallel()
	c := &club{}
	a := c.stock("a", "mill", 900)
	b := c.stock("b", "quay", 500)
	mixed := c.move("a", "b", 500)
	last := c.move("b", "d", 300)
	lots, _ := c.derive(t)
	var chain []lineage.Lot
	for _, id := range []string{lotOf(a, "a"), lotOf(b, "b"), lotOf(mixed, "b"), lotOf(last, "d")} {
		chain = append(chain, lots[id])
	}
	parts := lineage.Contributions(chain)
	for i, want := range []int64{lineage.One / 2, lineage.One / 2, lineage.One, lineage.One} {
		if got := parts[chain[i].ID]; got != want {
			t.Errorf("lot %d: %d parts, want %d", i, got, want)
		}
	}
	if got := lineage.Contributions(nil); len(got) != 0 {
		t.Errorf("nothing contributes %v", got)
	}
	if got := lineage.Contributions([]lineage.Lot{{ID: "x", Parents: []lineage.Parent{{Lot: "y"}}}}); len(got) != 1 {
		t.Errorf("a parent without a mass contributes: %v", got)
	}
}
