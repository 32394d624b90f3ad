package season_test

import (
	"fmt"
	"time"

	"lumbricary.example/service/season"
	"lumbricary.example/service/yields"
)

func ExampleParse() {
	p, err := season.Parse("2026-winter", season.Calendar{})
	fmt.Println(p.Name, p.From.Format(time.DateOnly), p.To.Format(time.DateOnly), err)
	_, err = season.Parse("2025-W53", season.Calendar{})
	fmt.Println(err)
	// Output:
	// Winter 2025/26 2025-12-01 2026-03-01 <nil>
	// period "2025-W53": 2025 has the weeks W01 to W52; write it as one of 2026-autumn, 2026-Q3, 2026, 2026-07, 2026-W14, 2026-03-01..2026-05-31
}

func ExampleRecount() {
	r := season.Recount(autumn(cellar(), shed()))
	for _, l := range append(r.ByBin, r.Total) {
		fmt.Printf("%3s fed %v kg, yield %.2f, rate %.3f over %d bin\n", l.Key, l.Fed.FeedWet.Kilograms(), l.Yields.Wet.Value, l.Rate.Figure.Value, l.Rate.Bins)
	}
	for _, m := range r.Missing {
		fmt.Println(m.Bin, m.Reason)
	}
	// Output:
	//  b1 fed 50 kg, yield 0.45, rate 0.625 over 1 bin
	//  b2 fed 10 kg, yield 0.00, rate 0.000 over 0 bin
	//     fed 60 kg, yield 0.45, rate 0.625 over 1 bin
	// b1 feed-not-weighed
	// b1 harvest-not-measured
	// b2 no-full-harvest
	// b2 no-leftover-record
	// b2 no-recent-census
	// b2 feed-without-moisture
	// b2 feed-not-weighed
	// b2 no-check
}

func ExampleEmit() {
	scraps := season.MaterialLine{Key: "scraps", Fed: yields.Sums{FeedWet: 100 * kg}}
	food := func(string) season.Kind { return season.FoodWaste }
	e := season.Emit([]season.MaterialLine{scraps}, food, season.Factors{Landfilled: 0.68, Composted: 0.11})
	fmt.Printf("%.1f %s CO2e\n", e.Avoided.Value, e.Avoided.Unit)
	// Output: 62.8 kg CO2e
}
