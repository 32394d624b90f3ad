package due

import (
	"slices"

	"lumbricary.example/service/unit"
)

// Club is what is known of a club on a day.
type Club struct {
	Today       string
	Rules       Rules
	Bins        []Bin
	Steps       []Step
	Loans       []Loan
	Quarantines []Quarantine
	Cultures    []Culture
	Analyses    []Analysis
}

// Step is a step that a transfer waits for.
type Step struct {
	Transfer string
	Leg      string // empty: of the whole transfer
	Verb     string
	Member   string // whose it is
	Sides    []string
	Since    string // the day of the step before
	Expires  string // the day on which what is promised expires; empty: nothing does
	Goods    []Good
}

// Good is a mass of a commodity.
type Good struct {
	Commodity string // species, castings, or empty for material
	Mass      unit.Mass
}

// Loan is what is still owed of a loan by a day.
type Loan struct {
	Transfer string
	Sides    []string
	Lent     string // day
	Due      string // day
	Owed     []Good
}

// Quarantine is one that is open and has a planned end.
type Quarantine struct {
	ID     string
	Bin    string
	Owners []string
	Began  string // day
	Until  string // day
}

// Culture is where copies of a culture live.
type Culture struct {
	ID      string
	Bins    int
	Sites   int
	Keepers []string
}

// Analysis is a laboratory's of a batch that is still in store.
type Analysis struct {
	ID        string
	Batch     string
	Parameter string
	By        string // the member who recorded it
	Taken     string // day
	Expires   string // day; empty: never
}

// List returns what is due up to a day, and what is overdue, in the order of
// days.
func (c Club) List(until string) []Item {
	all := slices.Concat(c.bins(), c.steps(), c.promises(), c.loans(), c.quarantines(), c.backups(), c.analyses())
	return sorted(slices.DeleteFunc(all, func(i Item) bool { return i.Day > until }))
}

// steps are due from the day of the step before.
func (c Club) steps() []Item {
	var out []Item
	for _, s := range c.Steps {
		out = append(out, Item{
			Kind: TransferStep, Day: s.Since, Since: s.Since, Members: []string{s.Member}, Record: s.Transfer, Part: s.Leg, Verb: s.Verb,
			Figure: days(between(s.Since, c.Today), "records"), Limit: unit.None("d", "no-limit"),
		})
	}
	return out
}

// promises warns of those that expire soon.
func (c Club) promises() []Item {
	var out []Item
	for _, s := range c.Steps {
		if s.Expires == "" || c.Rules.PromiseWarnDays == 0 || after(c.Today, c.Rules.PromiseWarnDays) < s.Expires {
			continue
		}
		for _, g := range s.Goods {
			out = append(out, Item{
				Kind: PromiseExpires, Day: s.Expires, Since: s.Since, Members: s.Sides, Record: s.Transfer, Part: s.Leg + "." + g.Commodity, Commodity: g.Commodity,
				Figure: unit.Of(g.Mass.Grams(), "g", "promised"), Limit: unit.None("g", "no-limit"),
			})
		}
	}
	return out
}

func (c Club) loans() []Item {
	var out []Item
	for _, l := range c.Loans {
		for _, g := range l.Owed {
			out = append(out, Item{
				Kind: LoanDue, Day: l.Due, Since: l.Lent, Members: l.Sides, Record: l.Transfer, Part: g.Commodity, Commodity: g.Commodity,
				Figure: unit.Of(g.Mass.Grams(), "g", "outstanding"), Limit: unit.Of(0, "g", "agreed"),
			})
		}
	}
	return out
}

func (c Club) quarantines() []Item {
	var out []Item
	for _, q := range c.Quarantines {
		out = append(out, Item{
			Kind: QuarantineEnds, Day: q.Until, Since: q.Began, Members: q.Owners, Bin: q.Bin, Record: q.ID,
			Figure: days(between(q.Began, c.Today), "records"), Limit: days(between(q.Began, q.Until), "planned"),
		})
	}
	return out
}

// backups finds the cultures that too few bins or sites keep alive.
func (c Club) backups() []Item {
	var out []Item
	for _, x := range c.Cultures {
		item := Item{Kind: BackupMissing, Day: c.Today, Members: x.Keepers, Record: x.ID}
		switch {
		case x.Bins < c.Rules.BackupBins:
			item.Figure, item.Limit = unit.Of(float64(x.Bins), "{bins}", "lineage"), unit.Of(float64(c.Rules.BackupBins), "{bins}", "rule")
		case x.Sites < c.Rules.BackupSites:
			item.Figure, item.Limit = unit.Of(float64(x.Sites), "{sites}", "lineage"), unit.Of(float64(c.Rules.BackupSites), "{sites}", "rule")
		default:
			continue
		}
		out = append(out, item)
	}
	return out
}

// analyses warns of those that expire soon or have expired, unless the same was
// looked for again later.
func (c Club) analyses() []Item {
	newest := map[[2]string]Analysis{}
	for _, a := range c.Analyses {
		what := [2]string{a.Batch, a.Parameter}
		if a.Taken >= newest[what].Taken {
			newest[what] = a
		}
	}
	var out []Item
	for _, a := range newest {
		if a.Expires == "" || c.Rules.AnalysisWarnDays == 0 || after(c.Today, c.Rules.AnalysisWarnDays) < a.Expires {
			continue
		}
		out = append(out, Item{
			Kind: AnalysisExpires, Day: a.Expires, Since: a.Taken, Members: []string{a.By}, Record: a.ID, Batch: a.Batch, Parameter: a.Parameter,
			Figure: days(between(c.Today, a.Expires), "records"), Limit: days(c.Rules.AnalysisWarnDays, "rule"),
		})
	}
	return out
}
