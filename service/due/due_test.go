package due_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service/due"
	"lumbricary.example/service/unit"
)

const today = "2026-05-01"

// before is the day so many days before today.
func before(days int) string {
	d, _ := time.Parse(time.DateOnly, today)
	return d.AddDate(0, 0, -days).Format(time.DateOnly)
}

// a bin of half a square metre with half a kilogram of worms.
func bin(change func(*due.Bin)) due.Bin {
	b := due.Bin{ID: "b", Owners: []string{"ana", "ben"}, Started: before(200), Surface: 0.5, Stock: 500_000, Checks: []due.Check{{Day: before(1)}}}
	change(&b)
	return b
}

func of(rules due.Rules, bins ...due.Bin) due.Club {
	return due.Club{Today: today, Rules: rules, Bins: bins}
}

// told writes items as "kind day figure/limit".
func told(items []due.Item) string {
	var out []string
	for _, i := range items {
		out = append(out, fmt.Sprintf("%s %s %v/%v%s", i.Kind, i.Day, i.Figure.Value, i.Limit.Value, i.Figure.Unit))
	}
	return strings.Join(out, "; ")
}

func temperature(c float64) *unit.Celsius { t := unit.Celsius(c); return &t }

func moisture(p float64) *unit.Percent { m := unit.Percent(p); return &m }

func TestWhatIsDueOfABinFollowsFromItsRecords(t *testing.T) {
	t.Parallel()
	for name, x := range map[string]struct {
		change func(*due.Bin)
		want   string
	}{
		"a bin that was seen yesterday": {func(*due.Bin) {}, ""},
		"a bin that began today": {
			func(b *due.Bin) { b.Started, b.Checks = today, nil },
			"escape-look 2026-05-02 0/3d; first-check 2026-05-11 0/10d",
		},
		"three days later":                     {func(b *due.Bin) { b.Started, b.Checks = before(3), nil }, "escape-look 2026-04-29 3/3d; first-check 2026-05-08 3/10d"},
		"the first days are over":              {func(b *due.Bin) { b.Started, b.Checks = before(4), nil }, "first-check 2026-05-07 4/10d"},
		"a look in the first days is no check": {func(b *due.Bin) { b.Started, b.Checks = before(5), []due.Check{{Day: before(3)}} }, "first-check 2026-05-06 5/10d"},
		"a check after the first days is":      {func(b *due.Bin) { b.Started, b.Checks = before(9), []due.Check{{Day: before(2)}} }, ""},
		"a bin that never was checked":         {func(b *due.Bin) { b.Checks = nil }, "first-check 2025-10-23 200/10d"},
		"no check for longer than a month":     {func(b *due.Bin) { b.Checks = []due.Check{{Day: before(35)}} }, "check 2026-04-26 35/30d"},
		"as warm as worms can bear":            {func(b *due.Bin) { b.Checks[0].Temperature = temperature(30) }, "too-hot 2026-04-30 30/30Cel"},
		"less warm":                            {func(b *due.Bin) { b.Checks[0].Temperature = temperature(29.9) }, ""},
		"the last check that took one counts":  {func(b *due.Bin) { b.Checks = append(b.Checks, due.Check{Day: before(9), Temperature: temperature(31)}) }, "too-hot 2026-04-22 31/30Cel"},
		"drier than the club's limit":          {func(b *due.Bin) { b.Checks[0].Moisture = moisture(59.9) }, "too-dry 2026-04-30 59.9/60%"},
		"as dry as the limit":                  {func(b *due.Bin) { b.Checks[0].Moisture = moisture(60) }, ""},
		"dry to the hand, without a figure":    {func(b *due.Bin) { b.Checks[0].Squeezed, b.Checks[0].Dry = true, true }, "too-dry 2026-04-30 0/60%"},
		"a meter goes before the hand": {func(b *due.Bin) {
			b.Checks[0] = due.Check{Day: before(1), Moisture: moisture(70), Squeezed: true, Dry: true}
		}, ""},
		"denser than a pound to a square foot":  {func(b *due.Bin) { b.Stock = 2_500_000 }, "too-full 2026-05-01 5/4.88kg/m2"},
		"a bin whose surface nobody knows":      {func(b *due.Bin) { b.Stock, b.Surface = 2_500_000, 0 }, ""},
		"a bin without worms":                   {func(b *due.Bin) { b.Stock, b.Checks = 0, nil }, ""},
		"fed every week, and eight days ago":    {func(b *due.Bin) { b.Fed = []string{before(8), before(15), before(22), before(29)} }, "feeding 2026-04-30 8/7d"},
		"the median of an even number":          {func(b *due.Bin) { b.Fed = []string{before(6), before(10), before(13), before(22), before(23)} }, "feeding 2026-04-29 6/4d"},
		"fed too few times to have a custom":    {func(b *due.Bin) { b.Fed = []string{before(8), before(15), before(22)} }, ""},
		"a harvest where the club sets no span": {func(b *due.Bin) { b.Harvest, b.Census = before(400), before(400) }, ""},
	} {
		if got := told(of(due.Default(), bin(x.change)).List("2026-05-15")); got != x.want {
			t.Errorf("%s: %q, not %q", name, got, x.want)
		}
	}
}

func TestSpansOfHarvestAndCensusCountFromTheLastOrTheStart(t *testing.T) {
	t.Parallel()
	rules := due.Rules{HarvestEveryDays: 120, CensusEveryDays: 180}
	club := of(rules, bin(func(b *due.Bin) { b.Harvest = before(130) }))
	if got, want := told(club.List(today)), "census 2026-04-11 200/180d; harvest 2026-04-21 130/120d"; got != want {
		t.Errorf("%q, not %q", got, want)
	}
}

func TestARuleOfZeroIsOff(t *testing.T) {
	t.Parallel()
	worst := bin(func(b *due.Bin) {
		b.Started, b.Stock, b.Fed = before(2), 5_000_000, []string{before(9), before(10), before(11), before(12)}
		b.Checks = []due.Check{{Day: before(1), Temperature: temperature(50), Moisture: moisture(1)}}
	})
	club := of(due.Rules{}, worst)
	club.Cultures = []due.Culture{{ID: "c"}}
	club.Analyses = []due.Analysis{{ID: "a", Expires: today}}
	club.Steps = []due.Step{{Transfer: "t", Verb: "dispatch", Since: today, Expires: today, Goods: []due.Good{{Mass: 1}}}}
	if got := told(club.List("2030-01-01")); got != "transfer-step 2026-05-01 0/0d" {
		t.Errorf("%q", got)
	}
}

func TestWhatIsDueBesidesBins(t *testing.T) {
	t.Parallel()
	worms := []due.Good{{Commodity: "eisenia-fetida", Mass: 300_000}}
	sides := []string{"ana", "ben"}
	for name, x := range map[string]struct {
		club due.Club
		want string
	}{
		"a step, and a promise that expires soon": {
			due.Club{Steps: []due.Step{{Transfer: "t", Leg: "l", Verb: "dispatch", Member: "ana", Sides: sides, Since: before(11), Expires: "2026-05-04", Goods: worms}}},
			"transfer-step 2026-04-20 11/0d; promise-expires 2026-05-04 300/0g",
		},
		"a promise that lasts longer": {
			due.Club{Steps: []due.Step{{Transfer: "t", Verb: "accept", Since: today, Expires: "2026-05-05", Goods: worms}}},
			"transfer-step 2026-05-01 0/0d",
		},
		"a loan":       {due.Club{Loans: []due.Loan{{Transfer: "t", Lent: before(90), Due: before(1), Owed: worms}}}, "loan 2026-04-30 300/0g"},
		"a quarantine": {due.Club{Quarantines: []due.Quarantine{{ID: "q", Bin: "b", Began: before(20), Until: "2026-05-02"}}}, "quarantine 2026-05-02 20/21d"},
		"cultures":     {due.Club{Cultures: []due.Culture{{ID: "a", Bins: 1, Sites: 1}, {ID: "b", Bins: 2, Sites: 1}, {ID: "c", Bins: 2, Sites: 2}}}, "backup 2026-05-01 1/2{bins}; backup 2026-05-01 1/2{sites}"},
		"analyses, the newest of each": {due.Club{Analyses: []due.Analysis{
			{ID: "1", Batch: "b", Parameter: "lead", Taken: before(90), Expires: before(1)},
			{ID: "2", Batch: "b", Parameter: "lead", Taken: before(2), Expires: "2027-05-01"},
			{ID: "3", Batch: "b", Parameter: "zinc", Taken: before(90), Expires: "2026-05-15"},
			{ID: "4", Batch: "b", Parameter: "iron", Taken: before(9)},
		}}, "analysis-expires 2026-05-15 14/14d"},
	} {
		x.club.Today, x.club.Rules = today, due.Default()
		if got := told(x.club.List("2026-05-15")); got != x.want {
			t.Errorf("%s: %q, not %q", name, got, x.want)
		}
	}
}

func TestAKeyIsOfOneItemAloneAndStaysTheSame(t *testing.T) {
	t.Parallel()
	worms := []due.Good{{Commodity: "x", Mass: 1}, {Commodity: "y", Mass: 1}}
	club := due.Club{
		Today: today, Rules: due.Default(), Bins: []due.Bin{bin(func(b *due.Bin) { b.Started, b.Checks = today, nil })},
		Steps: []due.Step{{Transfer: "t", Leg: "1", Since: today, Expires: today, Goods: worms}, {Transfer: "t", Leg: "2", Since: today, Expires: today, Goods: worms}},
		Loans: []due.Loan{{Transfer: "t", Due: today, Owed: worms}}, Cultures: []due.Culture{{ID: "c"}},
	}
	keys := func() (out []string) {
		for _, i := range club.List("2026-06-01") {
			out = append(out, i.Key())
		}
		slices.Sort(out)
		return out
	}
	first := keys()
	if len(slices.Compact(slices.Clone(first))) != len(first) || len(first) != 11 {
		t.Errorf("%v", first)
	}
	if club.Today = "2026-05-02"; !slices.Equal(keys(), first) {
		t.Errorf("a day later: %v", keys())
	}
}

func TestEveryKindSaysWhatItRestsOn(t *testing.T) {
	t.Parallel()
	for _, k := range due.Kinds() {
		if due.Basis(k) == "" {
			t.Errorf("%s rests on nothing", k)
		}
	}
	if !strings.Contains(due.Basis(due.FirstCheck), "without a source") {
		t.Error("the first check is a custom, and doesn't say so")
	}
}
