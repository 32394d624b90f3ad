package service

import (
	"context"
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/due"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// DueList is what is due, with what people read it by.
type DueList struct {
	Club  Club
	Today Day
	Until Day // the last day that was looked at
	Items []due.Item
	Names Names
	Lots  map[BatchID]string // lot numbers of the batches that items name
}

// DueAsk says what of the due list is asked for.
type DueAsk struct {
	Bin   BinID // of one bin; empty: of all
	Whole bool  // of the whole club, for stewards; else what is the caller's
	Days  int   // how far ahead
}

// MaxDueDays is how many days ahead the due list looks at most.
const MaxDueDays = 366

// Due returns what is due up to so many days ahead, and what is overdue: the
// caller's, the whole club's or a bin's. Errors: ErrClubNotFound, ErrForbidden,
// ErrBinNotFound, ErrInvalid.
func (s Reports) Due(ctx context.Context, a Actor, ask DueAsk) (DueList, error) {
	return read(ctx, s.Desk, a, func(w *work) (DueList, error) { return w.dueList(ask) })
}

func (w *work) dueList(ask DueAsk) (out DueList, err error) {
	if ask.Days < 0 || ask.Days > MaxDueDays {
		var faults Faults
		faults.Add("?days", "range", "look 0 to %d days ahead", MaxDueDays)
		return out, faults.Err()
	}
	if ask.Whole {
		if err := w.may(ReviewDue); err != nil {
			return out, err
		}
	}
	if ask.Bin != "" {
		if _, err := w.Bins.Get(ask.Bin); err != nil {
			return out, err
		}
	}
	if out.Names, err = w.names(); err != nil {
		return out, err
	}
	out.Club, out.Today = w.Club, Day(w.today())
	out.Until = w.dayOf(w.now.AddDate(0, 0, ask.Days))
	club, err := w.dueFacts(out.Names, ask.Bin)
	if err != nil {
		return out, err
	}
	out.Items = slices.DeleteFunc(club.List(string(out.Until)), func(i due.Item) bool {
		return ask.Bin != "" && i.Bin != string(ask.Bin) || ask.Bin == "" && !ask.Whole && !i.Of(string(w.who.ID))
	})
	out.Lots, err = index(w.Batches, func(b Batch) (BatchID, string) { return b.ID, b.LotNumber })
	return out, err
}

// dayOf is the day of a time in the club's zone.
func (w *work) dayOf(t time.Time) Day { return Day(t.In(w.zone).Format(time.DateOnly)) }

// dueFacts reads what the due list follows from: of one bin, or of the whole
// club when bin is empty.
func (w *work) dueFacts(names Names, bin BinID) (due.Club, error) {
	out := due.Club{Today: w.today(), Rules: w.Club.Due}
	for _, fill := range []func(*due.Club, Names, BinID) error{w.dueBins, w.dueTransfers, w.dueQuarantines, w.dueCultures, w.dueAnalyses} {
		if err := fill(&out, names, bin); err != nil {
			return out, err
		}
	}
	return out, nil
}

// How many of a bin's newest records the due list looks at.
const (
	dueChecks   = 20
	dueFeedings = 30
	dueGaps     = 10 // intervals between feedings
)

func (w *work) dueBins(out *due.Club, names Names, only BinID) error {
	stocks, err := w.Movements.StockAt(time.Time{})
	if err != nil {
		return err
	}
	for _, id := range slices.Sorted(maps.Keys(names.Bins)) {
		b := names.Bins[id]
		if !b.Retired.Time.IsZero() || only != "" && id != only {
			continue
		}
		seen, err := w.dueBin(b, total(stocks[id]))
		if err != nil {
			return err
		}
		out.Bins = append(out.Bins, seen)
	}
	return nil
}

func (w *work) dueBin(b Bin, stock unit.Mass) (out due.Bin, err error) {
	out = due.Bin{ID: string(b.ID), Started: w.dateOf(b.Started), Surface: b.Surface, Stock: stock}
	for _, m := range b.Owners() {
		out.Owners = append(out.Owners, string(m))
	}
	if stock <= 0 {
		return out, nil
	}
	newest := Query{Bin: b.ID, Newest: true, Limit: dueChecks}
	checks, err := w.Checks.List(newest)
	for _, c := range checks {
		out.Checks = append(out.Checks, due.Check{
			Day: w.dateOf(c.At), Temperature: c.Temperature, Moisture: c.Moisture, Squeezed: c.Squeeze != "", Dry: c.Squeeze == SqueezeDry,
		})
	}
	if err != nil {
		return out, err
	}
	newest.Limit = dueFeedings
	feedings, err := w.Feedings.List(newest)
	for _, f := range feedings {
		if day := w.dateOf(f.At); len(out.Fed) <= dueGaps && !slices.Contains(out.Fed, day) {
			out.Fed = append(out.Fed, day)
		}
	}
	if err != nil {
		return out, err
	}
	return out, w.dueSpans(b.ID, &out)
}

// dueSpans finds the last harvest and census that stand, where the club has
// spans for them.
func (w *work) dueSpans(bin BinID, out *due.Bin) error {
	q := Query{Bin: bin, Newest: true, Limit: dueChecks}
	if w.Club.Due.HarvestEveryDays > 0 {
		all, err := w.Harvests.List(q)
		if err != nil {
			return err
		}
		if out.Harvest, err = newestStanding(w, all, func(h Harvest) (MovementID, Moment) { return MovementID(h.ID), h.At }); err != nil {
			return err
		}
	}
	if w.Club.Due.CensusEveryDays == 0 {
		return nil
	}
	all, err := w.Censuses.List(q)
	if err != nil {
		return err
	}
	out.Census, err = newestStanding(w, all, func(c Census) (MovementID, Moment) { return c.Movement, c.At })
	return err
}

// newestStanding is the day of the first record whose movement wasn't reversed.
func newestStanding[T any](w *work, records []T, of func(T) (MovementID, Moment)) (string, error) {
	for _, r := range records {
		id, at := of(r)
		m, err := w.Movements.Get(id)
		if err != nil {
			return "", err
		}
		if m.ReversedBy == "" {
			return w.dateOf(at), nil
		}
	}
	return "", nil
}

// dateOf is the day of a moment in the club's zone.
func (w *work) dateOf(m Moment) string { return string(w.dayOf(m.Time)) }

func (w *work) dueTransfers(out *due.Club, _ Names, only BinID) error {
	if only != "" {
		return nil
	}
	open, err := w.Transfers.Open()
	for _, t := range open {
		for _, a := range t.Deal.Awaits(w.now) {
			out.Steps = append(out.Steps, w.dueStep(t, a))
		}
		if owed := t.Deal.Outstanding(); len(owed) > 0 && t.Due != "" {
			loan := due.Loan{Transfer: string(t.ID), Sides: sidesOf(t.Deal), Lent: w.dateOf(t.At), Due: t.Due}
			for _, x := range owed {
				loan.Owed = append(loan.Owed, dueGood(x))
			}
			out.Loans = append(out.Loans, loan)
		}
	}
	return err
}

func (w *work) dueStep(t Transfer, a exchange.Await) due.Step {
	s := due.Step{Transfer: string(t.ID), Verb: string(a.Verb), Member: a.Member, Sides: sidesOf(t.Deal), Since: w.dateOf(t.At)}
	if n := len(t.Steps); n > 0 {
		s.Since = string(w.dayOf(t.Steps[n-1].At))
	}
	if a.Leg >= 0 {
		s.Leg = t.Deal.Legs[a.Leg].ID
	}
	for _, p := range t.Deal.Promises(string(t.ID), w.now) {
		if s.Leg == "" || p.Leg == s.Leg {
			s.Expires = string(w.dayOf(t.Deal.Expires))
			s.Goods = append(s.Goods, dueGood(exchange.Amount{Commodity: p.Commodity, Mass: p.Mass}))
		}
	}
	return s
}

func dueGood(a exchange.Amount) due.Good {
	if species, worms := a.Commodity.Species(); worms {
		return due.Good{Commodity: species, Mass: a.Mass}
	}
	return due.Good{Commodity: string(a.Commodity), Mass: a.Mass}
}

// sidesOf are the members of a deal.
func sidesOf(d exchange.Deal) []string {
	giver, receiver := d.Sides()
	return slices.DeleteFunc([]string{giver, receiver}, func(m string) bool { return m == "" })
}

func (w *work) dueQuarantines(out *due.Club, names Names, only BinID) error {
	all, err := w.Quarantines.List(Query{Bin: only})
	for _, q := range all {
		if !q.isOpen() || q.Until == "" {
			continue
		}
		item := due.Quarantine{ID: string(q.ID), Bin: string(q.Bin), Began: w.dateOf(q.At), Until: string(q.Until)}
		for _, m := range names.Bins[q.Bin].Owners() {
			item.Owners = append(item.Owners, string(m))
		}
		out.Quarantines = append(out.Quarantines, item)
	}
	return err
}

func (w *work) dueCultures(out *due.Club, names Names, only BinID) error {
	if only != "" {
		return nil
	}
	copies, err := w.copies(names)
	for _, id := range slices.Sorted(maps.Keys(names.Cultures)) {
		bins, sites, keepers := map[BinID]bool{}, map[SiteID]bool{}, map[string]bool{}
		for _, c := range copies {
			if c.Culture == id {
				b := names.Bins[c.Bin]
				bins[b.ID], sites[b.Site], keepers[string(b.Keeper)] = true, true, true
			}
		}
		out.Cultures = append(out.Cultures, due.Culture{ID: string(id), Bins: len(bins), Sites: len(sites), Keepers: slices.Sorted(maps.Keys(keepers))})
	}
	return err
}

// dueAnalyses reads those of the batches that are still in store.
func (w *work) dueAnalyses(out *due.Club, _ Names, only BinID) error {
	if only != "" {
		return nil
	}
	steps, err := w.BatchSteps.List(Query{Kind: string(Analysis)})
	if err != nil || len(steps) == 0 {
		return err
	}
	held, err := w.Movements.Held()
	for _, s := range steps {
		if held[journal.Book{Account: journal.Batch(string(s.Batch)), Commodity: journal.Castings}] > 0 {
			out.Analyses = append(out.Analyses, due.Analysis{
				ID: string(s.ID), Batch: string(s.Batch), Parameter: s.Parameter, By: string(s.Recorded.By), Taken: w.dateOf(s.At), Expires: string(s.Expires),
			})
		}
	}
	return err
}

// checkDueRules notes what is wrong with the thresholds of the due list.
func checkDueRules(faults *Faults, pointer string, r due.Rules) {
	for name, days := range map[string]int{
		"escape_look_days": r.EscapeLookDays, "first_check_days": r.FirstCheckDays, "check_every_days": r.CheckEveryDays,
		"harvest_every_days": r.HarvestEveryDays, "census_every_days": r.CensusEveryDays,
		"promise_warn_days": r.PromiseWarnDays, "analysis_warn_days": r.AnalysisWarnDays,
	} {
		if days < 0 || days > maxDueSpan {
			faults.Add(pointer+"/"+name, "range", "use 0 to %d days; 0 turns the rule off", maxDueSpan)
		}
	}
	for name, n := range map[string]int{"feeding_intervals": r.FeedingIntervals, "backup_bins": r.BackupBins, "backup_sites": r.BackupSites} {
		if n < 0 || n > dueGaps {
			faults.Add(pointer+"/"+name, "range", "use 0 to %d; 0 turns the rule off", dueGaps)
		}
	}
	checkRange(faults, pointer+"/hot_c", &r.HotC, 0, 60)
	checkRange(faults, pointer+"/dry_pct", &r.DryPct, 0, 100)
	checkRange(faults, pointer+"/full_kg_per_m2", &r.FullKgPerM2, 0, 100)
}

// maxDueSpan is the longest span of a rule.
const maxDueSpan = 3660
