// Package yields works out how much castings a bin gives for its feed.
//
// A yield is taken between two full harvests, since only then is what was fed
// also what was harvested. It is a ratio of sums: over several windows the
// castings are added and the feed is added, and ratios are never averaged.
package yields

import "lumbricary.example/service/unit"

const perKilogram = "kg/kg"

// Yields is castings per feed. Bedding turns to castings too, so each yield is
// given without and with bedding in the denominator.
type Yields struct {
	Wet            unit.Figure // kg wet castings per kg wet feed
	Dry            unit.Figure // kg dry matter of castings per kg dry matter of feed
	WetWithBedding unit.Figure // kg wet castings per kg wet feed and bedding
	DryWithBedding unit.Figure // kg dry matter of castings per kg dry matter of feed and bedding
}

// The bounds of a plausible dry yield. Above the first more solids came out
// than went in; about 50 ± 10 % of them leave as carbon dioxide, so that below
// the second castings were likely harvested without a record.
const (
	MostDry  = 1.0
	LeastDry = 0.2
)

// The flags of a dry yield.
const (
	// FlagNotConserved: more solids came out than went in. Likely missing:
	// feedings, a full harvest before the window that left castings behind, or
	// a truer moisture.
	FlagNotConserved = "mass-not-conserved"
	// FlagBeddingExplains stands beside FlagNotConserved when the yield with
	// bedding is plausible: no record need be missing.
	FlagBeddingExplains = "bedding-may-explain-it"
	// FlagLow: suspiciously few solids came out. Likely missing: a harvest, or
	// the harvest called full left much behind.
	FlagLow = "yield-suspiciously-low"
)

// Of returns the yields of the sums of a window:
//
//	wet = C / F    dry = C(1 − Mc) / F(1 − Mf)
//
// with C the wet castings and F the wet feed in kg, and Mc and Mf their
// moistures as a share of wet mass, applied record by record. Without feed there
// is none ("no-feed"); with a moisture missing there is no dry one
// ("moisture-unknown"). The basis of a dry yield names the least sure moisture
// in it, as "default-moisture". A dry yield outside LeastDry to MostDry is
// flagged.
func Of(s Sums) Yields {
	y := Yields{
		Wet:            wet(s.CastingsWet, s.FeedWet),
		WetWithBedding: wet(s.CastingsWet, s.FeedWet+s.BeddingWet),
		Dry:            dry(s.CastingsDry, s.FeedDry),
		DryWithBedding: dry(s.CastingsDry, s.FeedDry.plus(s.BeddingDry)),
	}
	if y.Dry.Value > MostDry && y.DryWithBedding.Known && y.DryWithBedding.Value <= MostDry {
		y.Dry = y.Dry.Flag(FlagBeddingExplains)
	}
	return y
}

// Ratio returns the yields over several windows, of one bin or many: the sum of
// the castings by the sum of the feed. Without a window there is none
// ("no-full-harvest").
func Ratio(ws []Window) Yields {
	if len(ws) == 0 {
		none := unit.None(perKilogram, "no-full-harvest")
		return Yields{none, none, none, none}
	}
	var s Sums
	for _, w := range ws {
		s = s.Plus(w.Sums)
	}
	return Of(s)
}

func wet(castings, feed unit.Mass) unit.Figure {
	if feed <= 0 {
		return unit.None(perKilogram, "no-feed")
	}
	return unit.Of(castings.Kilograms()/feed.Kilograms(), perKilogram, "recorded")
}

func dry(castings, feed Dry) unit.Figure {
	both := castings.plus(feed)
	switch {
	case castings.Unknown || feed.Unknown:
		return unit.None(perKilogram, "moisture-unknown")
	case feed.Mass <= 0:
		return unit.None(perKilogram, "no-feed")
	}
	f := unit.Of(castings.Mass.Kilograms()/feed.Mass.Kilograms(), perKilogram, both.Basis+"-moisture")
	switch {
	case f.Value > MostDry:
		return f.Flag(FlagNotConserved)
	case f.Value < LeastDry:
		return f.Flag(FlagLow)
	}
	return f
}
