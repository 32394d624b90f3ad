package main

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func lived(t *testing.T, p plan) *club {
	t.Helper()
	c, err := newClub(p)
	if err != nil {
		t.Fatal(err)
	}
	c.run()
	return c
}

func TestTheFilesAreWhatTheGeneratorWrites(t *testing.T) {
	t.Parallel()
	for _, p := range []plan{harbour(), lagoon()} {
		files, err := filesOf(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			have, err := os.ReadFile(filepath.Join("..", p.dir, f.name))
			if err != nil {
				t.Error(err)
			} else if !bytes.Equal(have, f.bytes) {
				t.Errorf("%s/%s is not what is generated: run the generator", p.dir, f.name)
			}
		}
	}
}

func TestTwoRunsWriteTheSameBytes(t *testing.T) {
	t.Parallel()
	one, err := filesOf(lagoon())
	if err != nil {
		t.Fatal(err)
	}
	two, err := filesOf(lagoon())
	if err != nil {
		t.Fatal(err)
	}
	for i := range one {
		if !bytes.Equal(one[i].bytes, two[i].bytes) {
			t.Errorf("%s differs", one[i].name)
		}
	}
}

func TestEveryRowHasAsManyCellsAsTheHeader(t *testing.T) {
	t.Parallel()
	files, err := filesOf(harbour())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files[1:] {
		rows, err := csv.NewReader(bytes.NewReader(f.bytes)).ReadAll()
		if err != nil {
			t.Errorf("%s: %v", f.name, err)
		}
		if len(rows) < 2 {
			t.Errorf("%s is empty", f.name)
		}
	}
}

func TestEachKeeperClosesAWindowInBothAutumns(t *testing.T) {
	t.Parallel()
	c := lived(t, harbour())
	for _, s := range []struct {
		year    int
		without []string // whose bins began too late
	}{{2025, []string{priya}}, {2026, nil}} {
		from := time.Date(s.year, time.September, 1, 0, 0, 0, 0, c.zone)
		closed := map[string]bool{}
		for _, r := range c.book.harvests.rows {
			if r.cells["full"] == "true" && !r.at.Before(from) && r.at.Before(from.AddDate(0, 3, 0)) {
				closed[c.bed(r.cells["bin"]).keeper] = true
			}
		}
		for _, b := range c.beds {
			if !closed[b.keeper] && !slices.Contains(s.without, b.keeper) {
				t.Errorf("autumn %d: no full harvest of %s", s.year, b.keeper)
			}
		}
	}
}

func TestThePantryToteTellsNothingToComputeFrom(t *testing.T) {
	t.Parallel()
	c := lived(t, harbour())
	for _, table := range []*table{c.book.harvests, c.book.censuses, c.book.checks} {
		for _, r := range table.rows {
			if r.cells["bin"] == "Pantry Tote" && (table.name != "checks" || r.cells["leftover_pct"]+r.cells["leftovers"] != "") {
				t.Errorf("%s: %v", table.name, r.cells)
			}
		}
	}
}

func TestTheStoryNamesEveryBin(t *testing.T) {
	t.Parallel()
	story, err := os.ReadFile(filepath.Join("..", "story.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range append(harbour().bins, lagoon().bins...) {
		if !strings.Contains(string(story), b.name) {
			t.Errorf("%s is not in the story", b.name)
		}
	}
}

func TestMistakesInTheTablesAreFound(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*club){
		"a bin that isn't there":  func(c *club) { c.book.feedings.rows[0].cells["material"] = "gravel" },
		"a name twice":            func(c *club) { c.book.sites.rows[1].cells["name"] = c.book.sites.rows[0].cells["name"] },
		"an id twice":             func(c *club) { c.book.checks.rows[1].cells["id"] = c.book.checks.rows[0].cells["id"] },
		"a word unknown":          func(c *club) { c.book.harvests.rows[0].cells["method"] = "shovel" },
		"a record too early":      func(c *club) { c.book.checks.rows[0].at = c.dayOf(c.from).AddDate(-1, 0, 0) },
		"a record too late":       func(c *club) { c.book.checks.rows[0].at = c.dayOf(c.to).AddDate(0, 0, 2) },
		"a stranger's record":     func(c *club) { c.book.checks.rows[0].cells["by"] = "Kenneth Osei-Ward" },
		"a unit without quantity": func(c *club) { c.book.harvests.rows[0].cells["quantity"] = "" },
		"a split between keepers": func(c *club) { c.book.movements.rows[3].cells["kind"] = "split" },
		"too few members":         func(c *club) { c.book.members.rows = c.book.members.rows[:3] },
		"leftovers of no feeding": func(c *club) { c.book.checks.rows[9].cells["leftovers"] = "nothing:50" },
		"another species' origin": func(c *club) { c.book.origins.rows[0].cells["species"] = reds },
		"stock of other species":  func(c *club) { c.book.movements.rows[0].cells["species"] = reds },
		"a reversal of no entry":  func(c *club) { c.book.movements.add(c.today, cells{"id": "x", "kind": "reversal"}) },
		"a hand-over to nobody":   func(c *club) { c.book.movements.add(c.today, cells{"id": "x", "kind": "hand-over"}) },
		"an id that isn't told":   func(c *club) { c.book.checks.rows[0].cells["id"] = "" },
		"a reader's record": func(c *club) {
			c.people[slices.IndexFunc(c.people, func(p person) bool { return p.name == "Malia Tuiasau" })].role = "reader"
		},
		"records beyond the count": func(c *club) { c.asked["records"] = [2]int{1, 2} },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := lived(t, lagoon())
			if trouble := c.verify(); len(trouble) > 0 {
				t.Fatal(trouble)
			}
			spoil(c)
			if len(c.verify()) == 0 {
				t.Error("nothing found")
			}
		})
	}
}

func TestBooksBelowNothingAreFound(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*club, cells){
		"worms": func(c *club, _ cells) { c.book.movements.rows[0].cells["quantity"] = "0.1" },
		"castings": func(_ *club, use cells) {
			use["quantity"], use["unit"], use["moisture_pct"] = "900", "[lb_av]", "50"
		},
		"a share of nothing": func(_ *club, use cells) {
			use["from_batch"], use["from_bin"], use["quantity"], use["unit"] = "", "Nowhere", "10", "%"
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := lived(t, lagoon())
			if trouble := c.replay(); len(trouble) > 0 {
				t.Fatal(trouble)
			}
			i := slices.IndexFunc(c.book.movements.rows, func(r row) bool { return r.cells["kind"] == "use" })
			c.book.censuses.rows = nil
			spoil(c, c.book.movements.rows[i].cells)
			if len(c.replay()) == 0 {
				t.Error("nothing found")
			}
		})
	}
}

func TestARetiredBinThatHoldsWormsIsFound(t *testing.T) {
	t.Parallel()
	c := lived(t, harbour())
	c.book.movements.rows = slices.DeleteFunc(c.book.movements.rows, func(r row) bool { return r.cells["cause"] == "lost-bin" })
	if trouble := c.replay(); len(trouble) != 1 || !strings.HasPrefix(trouble[0], "Flood Street Tote is retired") {
		t.Errorf("found %q", trouble)
	}
}

func TestIdsAreOfVersionSevenAndTellTheTime(t *testing.T) {
	t.Parallel()
	at := time.UnixMilli(0x0123456789ab)
	id := newChance(1).uuid(at)
	if len(id) != 36 || id[:8]+id[9:13] != "0123456789ab" || id[14] != '7' || !strings.ContainsRune("89ab", rune(id[19])) {
		t.Errorf("id %s", id)
	}
}

func TestWormsGrowOnFeedAndDwindleWithout(t *testing.T) {
	t.Parallel()
	feed := harbour().stuffs[0]
	for _, fed := range []bool{true, false} {
		b := &bed{binPlan: binPlan{surface: 1}, most: 4, yield: 0.5, worms: []pop{{reds, 1}}}
		for range 60 {
			if fed {
				b.heap = append(b.heap, portion{what: feed, dry: 0.08, left: 0.08})
			}
			b.live(20)
		}
		if grown := b.stock() > 1; grown != fed {
			t.Errorf("fed %v: %.2f kg from 1 kg", fed, b.stock())
		}
	}
}

func TestDryMatterBecomesCastingsByTheYield(t *testing.T) {
	t.Parallel()
	b := &bed{binPlan: binPlan{surface: 1}, most: 4, yield: 0.5, worms: []pop{{reds, 1}}}
	b.heap = []portion{{what: harbour().stuffs[0], dry: 1, left: 1}}
	b.live(20)
	if gone := 1 - b.heap[0].left; gone <= 0 || b.castings < 0.4999*gone || b.castings > 0.5001*gone {
		t.Errorf("%.3f kg gone, %.3f kg castings", gone, b.castings)
	}
}
