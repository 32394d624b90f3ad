package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
)

// BookError lists what is wrong with the books of a club.
type BookError []string

// Error lists what is wrong, a line each.
func (e BookError) Error() string { return strings.Join(e, "\n") }

// verify returns what is wrong with the tables: references, names, times and
// who may write what. The masses are replay's.
func (c *club) verify() []string {
	v := &verifier{club: c, ids: map[string]string{}, fed: map[string]time.Time{}}
	for _, t := range append(c.book.nouns(), c.book.records()...) {
		v.names(t)
		v.uniqueIDs(t)
		v.words(t)
		v.pairs(t)
		v.references(t)
	}
	for _, t := range c.book.records() {
		for _, r := range t.sorted() {
			v.times(t.name, r)
			v.writer(t.name, r)
		}
	}
	v.counts()
	v.kinship()
	for _, r := range c.book.movements.rows {
		v.movement(r.cells)
	}
	for _, r := range c.book.checks.sorted() {
		v.leftovers(r)
	}
	for _, r := range c.book.quarantines.rows {
		v.quarantine(r)
	}
	return v.trouble
}

type verifier struct {
	*club
	ids     map[string]string // table by id
	fed     map[string]time.Time
	trouble []string
}

func (v *verifier) say(format string, args ...any) {
	v.trouble = append(v.trouble, fmt.Sprintf(format, args...))
}

// counts are those that were asked for. The rows of one record count once.
func (v *verifier) counts() {
	have := map[string]int{}
	for _, t := range append(v.book.nouns(), v.book.records()...) {
		ids := map[string]bool{}
		for _, r := range t.rows {
			ids[r.cells["id"]] = true
		}
		have[t.name] = len(ids)
	}
	for _, t := range v.book.records() {
		have["records"] += have[t.name]
	}
	for _, what := range slices.Sorted(maps.Keys(v.asked)) {
		if n, limits := have[what], v.asked[what]; n < limits[0] || n > limits[1] {
			v.say("%d %s, not %d to %d", n, what, limits[0], limits[1])
		}
	}
}

// pairs holds that a quantity has its unit, and a unit its quantity.
func (v *verifier) pairs(t *table) {
	for _, pair := range [][2]string{
		{"quantity", "unit"}, {"temperature", "temperature_unit"}, {"price_minor", "currency"}, {"worms_quantity", "worms_unit"}, {"estimate", "low"},
	} {
		if !slices.Contains(t.header, pair[0]) || !slices.Contains(t.header, pair[1]) {
			continue
		}
		for _, r := range t.rows {
			if (r.cells[pair[0]] == "") != (r.cells[pair[1]] == "") {
				v.say("%s: %s without %s or the other way, %v", t.name, pair[0], pair[1], r.at)
			}
		}
	}
}

// kinship holds that stock, origin and culture are of one species.
func (v *verifier) kinship() {
	species := map[string]string{}
	for _, r := range append(v.book.cultures.rows, v.book.origins.rows...) {
		if c := r.cells["culture"]; c != "" && species[c] != r.cells["species"] {
			v.say("origins: %s is of another species than %s", r.cells["name"], c)
		}
		species[r.cells["name"]] = r.cells["species"]
	}
	for _, r := range v.book.movements.rows {
		if o := r.cells["origin"]; o != "" && species[o] != r.cells["species"] {
			v.say("movements: %s is of another species than its stock", o)
		}
	}
}

// names of a noun are unique.
func (v *verifier) names(t *table) {
	seen := map[string]bool{}
	for _, column := range []string{"name", "lot_number"} {
		if !slices.Contains(t.header, column) {
			continue
		}
		for _, r := range t.rows {
			name := r.cells[column]
			if name == "" || seen[name] {
				v.say("%s: %q is empty or twice there", t.name, name)
			}
			seen[name] = true
		}
	}
}

// uniqueIDs holds ids unique but for records of several rows, whose rows agree.
func (v *verifier) uniqueIDs(t *table) {
	for _, r := range t.rows {
		id := r.cells["id"]
		several := t.name == "feedings" || t.name == "movements" || t.name == "transfers"
		if have, ok := v.ids[id]; id == "" || ok && (have != t.name || !several || r.cells["bin"]+r.cells["at"]+r.cells["kind"] != "") {
			v.say("%s: id %q is empty or twice there", t.name, id)
		}
		v.ids[id] = t.name
		if t.name == "feedings" {
			v.fed[id] = r.at
		}
	}
}

// vocabulary lists the words that a column may hold.
func vocabulary() map[string]string {
	return map[string]string{
		"members.role": "steward keeper reader", "materials.kind": "feed bedding amendment",
		"origins.kind":    "supplier wild certificate unknown",
		"bins.kind":       "tote bag tray-stack wedge windrow flow-through other",
		"batches.product": "vermicompost screened castings", "feedings.placement": "pocket trench scattered wrapped surface",
		"feedings.preparation": "fresh frozen pre-composted ground", "checks.squeeze": "dry drops stream",
		"feedings.unit": "kg g L [lb_av] [oz_av] [gal_us]", "checks.temperature_unit": "Cel [degF]",
		"checks.worms_at": "feed throughout walls lid bottom", "checks.ammonia": "true false", "checks.escape": "true false",
		"censuses.unit": "g kg [lb_av] [oz_av]", "censuses.apply": "true false", "harvests.full": "true false",
		"harvests.method": "light side-migration screen tray bottom hand", "harvests.unit": "g kg [lb_av] [oz_av]",
		"movements.kind":       "stocking split combine hand-over dispatch arrival loss use reversal",
		"movements.unit":       "g kg % L {worms} [lb_av] [oz_av] [qt_us]",
		"movements.size_class": "bed-run breeders bait-size juveniles unsorted",
		"movements.terms":      "sale swap gift loan", "transfers.terms": "sale swap gift loan", "transfers.state": "arrived",
		"quarantines.outcome": "sound treated disposed", "receipts.basis": "weighed estimated", "movements.cause": "dead lost-bin escaped write-off",
	}
}

// words holds columns to their vocabulary.
func (v *verifier) words(t *table) {
	all := vocabulary()
	for _, column := range t.header {
		words, ok := all[t.name+"."+column]
		if !ok {
			continue
		}
		for _, r := range t.rows {
			if cell := r.cells[column]; cell != "" && !slices.Contains(strings.Fields(words), cell) {
				v.say("%s: %s is %q", t.name, column, cell)
			}
		}
	}
}

// references holds that what a cell names is there.
func (v *verifier) references(t *table) {
	tables := map[string]*table{
		"bin": v.book.bins, "from_bin": v.book.bins, "to_bin": v.book.bins, "worms_to": v.book.bins, "site": v.book.sites,
		"giver": v.book.members, "receiver": v.book.members, "proposer": v.book.members, "released_by": v.book.members,
		"keeper": v.book.members, "by": v.book.members, "owner": v.book.members, "stand_ins": v.book.members,
		"material": v.book.materials, "origin": v.book.origins, "culture": v.book.cultures,
		"batch": v.book.batches, "from_batch": v.book.batches,
	}
	for _, column := range t.header {
		to, ok := tables[column]
		if !ok {
			continue
		}
		for _, r := range t.rows {
			for name := range strings.SplitSeq(r.cells[column], ";") {
				if name != "" && !to.has(name) {
					v.say("%s: no %s %q", t.name, column, name)
				}
			}
		}
	}
}

func (t *table) has(name string) bool {
	return slices.ContainsFunc(t.rows, func(r row) bool {
		return r.cells["name"] == name || r.cells["lot_number"] == name
	})
}

// times holds that a record lies in the life of its bins, and before the end
// of the story.
func (v *verifier) times(table string, r row) {
	if r.at.After(v.dayOf(v.to).AddDate(0, 0, 1)) {
		v.say("%s: %v is after the end", table, r.at)
	}
	for _, column := range []string{"bin", "from_bin", "to_bin", "worms_to"} {
		if r.cells[column] == "" {
			continue
		}
		b := v.bed(r.cells[column])
		if r.at.Before(b.started.Time) || !b.end.IsZero() && r.at.After(b.end.Time) {
			v.say("%s: %v is outside the life of %s", table, r.at, b.name)
		}
	}
}

// writer holds that records are by a keeper of the bin, somebody who stands in,
// or a steward.
func (v *verifier) writer(table string, r row) {
	by := r.cells["by"]
	i := slices.IndexFunc(v.people, func(p person) bool { return p.name == by })
	if by == "" || v.people[i].role == "steward" {
		return
	}
	if r.cells["kind"] == "arrival" {
		return // by who gets it
	}
	bin := r.cells["bin"] + r.cells["from_bin"]
	if bin == "" {
		bin = r.cells["to_bin"]
	}
	if v.people[i].role == "reader" {
		v.say("%s: %s only reads", table, by)
	}
	if bin == "" {
		return
	}
	if b := v.bed(bin); b.keeper != by && !slices.Contains(b.standIns, by) {
		v.say("%s: %s writes of %s", table, by, bin)
	}
}

// movement holds that splits stay with a keeper, hand-overs don't, and
// reversals have their entry.
func (v *verifier) movement(r cells) {
	from, to := r["from_bin"], r["to_bin"]
	switch {
	case r["kind"] == "reversal":
		if v.ids[r["reverses"]] != "movements" {
			v.say("movements: nothing to reverse at %s", r["reverses"])
		}
	case from != "" && to != "":
		same := v.bed(from).keeper == v.bed(to).keeper
		if same == (r["kind"] == "hand-over" || r["kind"] == "arrival") {
			v.say("movements: %s from %s to %s", r["kind"], from, to)
		}
	case r["kind"] == "hand-over" && r["party"] == "":
		v.say("movements: a hand-over to nobody")
	}
}

// leftovers are of feedings before the check.
func (v *verifier) leftovers(r row) {
	for part := range strings.SplitSeq(r.cells["leftovers"], ";") {
		if part == "" {
			continue
		}
		id, _, _ := strings.Cut(part, ":")
		if at, ok := v.fed[id]; !ok || !at.Before(r.at) {
			v.say("checks: leftovers of a feeding that wasn't given before %v", r.at)
		}
	}
}

// quarantine holds that nothing leaves a bin before it is released.
func (v *verifier) quarantine(q row) {
	end := v.dayOf(v.to).AddDate(1, 0, 0)
	if released := q.cells["released"]; released != "" {
		end = v.dayOf(released)
	}
	for _, t := range []*table{v.book.movements, v.book.harvests} {
		for _, r := range t.rows {
			out := r.cells["from_bin"]
			if t.name == "harvests" {
				out = r.cells["bin"]
			}
			if out == q.cells["bin"] && r.cells["kind"] != "loss" && r.at.After(q.at) && r.at.Before(end) {
				v.say("%s: %v is in the quarantine of %s", t.name, r.at, out)
			}
		}
	}
}
