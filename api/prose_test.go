package api

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

func TestANumberHasTheDigitsThatCount(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		v    float64
		n    int
		want string
	}{
		{0, 3, "0"},
		{1234.5, 3, "1234"},
		{123.4, 3, "123"},
		{12.34, 3, "12.3"},
		{9.996, 3, "10.0"},
		{0.0456, 2, "0.046"},
		{-3.21, 2, "-3.2"},
		{0.42, 2, "0.42"},
	} {
		if got := digits(c.v, c.n); got != c.want {
			t.Errorf("%v with %d digits is %s, want %s", c.v, c.n, got, c.want)
		}
	}
}

func TestWhatIsTooSmallToShowIsNotShownAsNothing(t *testing.T) {
	t.Parallel()
	for v, want := range map[float64]string{0: "0", 0.04: "<0.1", -0.04: ">-0.1", 0.06: "0.1", 12.34: "12.3"} {
		if got := fixed(v, 1); got != want {
			t.Errorf("%v is %s, want %s", v, got, want)
		}
	}
	for v, want := range map[float64]string{-0.004: "0.00", 0.004: "0.00", -0.5: "-0.50"} {
		if got := rounded(v, 2); got != want {
			t.Errorf("%v is %s, want %s", v, got, want)
		}
	}
}

func TestAMassIsWrittenInTheUnitThatFits(t *testing.T) {
	t.Parallel()
	for m, want := range map[unit.Mass]string{
		0: "0 g", 500: "0.500 g", 999_900: "1000 g", unit.Kilogram: "1.00 kg", 12_345 * unit.Gram: "12.3 kg", -2 * unit.Kilogram: "-2.00 kg",
	} {
		if got := weight(m, unit.Metric); got != want {
			t.Errorf("%d mg are %s, want %s", m, got, want)
		}
	}
}

func TestAMassIsWrittenInPoundsAndOunces(t *testing.T) {
	t.Parallel()
	for g, want := range map[float64]string{0: "0 oz", 28.349523125: "1.00 oz", 453.59237: "1.00 lb", 5443.10844: "12.0 lb", -907.18474: "-2.00 lb", 200: "7.05 oz"} {
		m, err := unit.MassOfGrams(max(g, -g), unit.Measure{})
		if err != nil {
			t.Fatal(err)
		}
		if g < 0 {
			m = -m
		}
		if got := weight(m, unit.USCustomary); got != want {
			t.Errorf("%v g are %s, want %s", g, got, want)
		}
	}
}

func TestMoneyHasTheDecimalsOfItsCurrency(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		minor    int64
		currency string
		want     string
	}{{1250, "EUR", "12.50 EUR"}, {5, "USD", "0.05 USD"}, {-5, "USD", "-0.05 USD"}, {1250, "JPY", "1250 JPY"}, {1250, "KWD", "1.250 KWD"}} {
		if got := money(c.minor, c.currency); got != c.want {
			t.Errorf("%d %s is %s, want %s", c.minor, c.currency, got, c.want)
		}
	}
}

func TestAShareIsNotRoundedToAllOrNothing(t *testing.T) {
	t.Parallel()
	for parts, want := range map[int64]string{0: "0 %", 1: "under 1 %", 625: "62 %", 999: "over 99 %", 1000: "100 %"} {
		if got := percent(parts, 1000); got != want {
			t.Errorf("%d of 1000 is %s, want %s", parts, got, want)
		}
	}
}

func TestNoParagraphIsWiderThanThePageOrLosesAWord(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		given := rapid.SliceOf(rapid.StringMatching(`[a-zÐ]{1,30}`)).Draw(t, "words")
		var p paper
		p.item("%s", strings.Join(given, " "))
		for line := range strings.Lines(p.String()) {
			if utf8.RuneCountInString(strings.TrimSuffix(line, "\n")) > columns {
				t.Fatalf("too wide: %q", line)
			}
		}
		if got := strings.Fields(strings.TrimPrefix(p.String(), "- ")); !slices.Equal(got, given) {
			t.Fatalf("%q became %q", given, got)
		}
	})
}

func TestATableCutsItsWidestWordsToFit(t *testing.T) {
	t.Parallel()
	var p paper
	rows := []int{0, 1}
	p.table(
		text("Name", rows, func(i int) string { return []string{strings.Repeat("n", 90), "short\x07"}[i] }),
		column{"Number", true, []string{"1", "10"}},
	)
	want := "  Name" + strings.Repeat(" ", 66) + "  Number\n" +
		"  " + strings.Repeat("n", 69) + "…       1\n" +
		"  short" + strings.Repeat(" ", 65) + "      10\n"
	if p.String() != want {
		t.Errorf("got\n%swant\n%s", p.String(), want)
	}
}

func TestEveryReasonAndFlagHasWords(t *testing.T) {
	t.Parallel()
	for _, flag := range []string{
		rates.FlagOutside, rates.FlagAbove, rates.FlagBelow, rates.FlagPerWorm, rates.FlagNoChange, rates.FlagBelowZero,
		rates.FlagConversionFalls, rates.FlagOverCustomary, yields.FlagNotConserved, yields.FlagBeddingExplains, yields.FlagLow,
	} {
		if flagWords[flag] == "" {
			t.Errorf("the flag %s has no words", flag)
		}
	}
	for _, reason := range []string{season.NoFullHarvest, season.NoLeftoverRecord, season.NoRecentCensus, season.FeedWithoutMoisture} {
		if missingWords[reason] == "" {
			t.Errorf("the missing record %s has no words", reason)
		}
	}
	for _, c := range season.Compare(season.Report{}, season.Report{Empty: true}).Changes {
		if changeWords[c.Name] == "" || reasonWords[c.By.Reason] == "" {
			t.Errorf("the change %s has no words", c.Name)
		}
	}
	for _, f := range []unit.Figure{
		rates.Of(rates.Input{}).Rate, yields.Ratio(nil).Wet, rates.Density(1, 0), season.Recount(season.Facts{}).Total.Rate.Figure,
	} {
		if reasonWords[f.Reason] == "" {
			t.Errorf("the reason %s has no words", f.Reason)
		}
	}
	if got := inWords(reasonWords, "new-reason"); got != "new reason" {
		t.Errorf("a code without words is %q", got)
	}
}
