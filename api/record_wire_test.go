package api

import (
	"math"
	"testing"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// settledAt is a use-case's part in a round trip: a record's moment is read.
func settledAt[N, T, W any](in func(N) T, at func(*T) *service.Moment, out func(T, *time.Location) W) func(N) W {
	return func(n N) W {
		v := in(n)
		*at(&v) = settled(*at(&v))
		return out(v, time.UTC)
	}
}

// metricCensus shows a census to a metric club.
func metricCensus(c service.Census, zone *time.Location) Census {
	return censusOf(c, zone, unit.Metric)
}

func TestWhatIsSentOfARecordComesBack(t *testing.T) {
	t.Parallel()
	goesRound(t, NewBatch{}, func(n NewBatch) Batch { return batchOf(n.batch()) })
	goesRound(t, NewFeeding{}, settledAt(NewFeeding.feeding, func(f *service.Feeding) *service.Moment { return &f.At }, feedingOf), "items")
	bare := func(n NewCheck) service.Check { n.Temperature, n.Leachate = nil, nil; return n.check() }
	goesRound(t, NewCheck{}, settledAt(bare, func(c *service.Check) *service.Moment { return &c.At }, checkOf), "temperature", "leachate")
	uncounted := func(n NewCensus) service.Census { n.Samples = nil; return n.census() }
	goesRound(t, NewCensus{}, settledAt(uncounted, func(c *service.Census) *service.Moment { return &c.At }, metricCensus),
		"samples", "estimate", "low", "high")
	goesRound(t, NewHarvest{}, settledAt(NewHarvest.harvest, func(h *service.Harvest) *service.Moment { return &h.At }, harvestOf), "worms", "put_back")
	goesRound(t, NewMovement{}, settledAt(NewMovement.movement, func(m *service.Movement) *service.Moment { return &m.At }, movementOf), "lines", "material")
	goesRound(t, NewReversal{}, func(n NewReversal) Movement { return movementOf(n.movement(), time.UTC) })
	goesRound(t, NewLine{}, func(n NewLine) Line { return linesOf([]service.Line{n.line()})[0] })
	goesRound(t, NewWorms{}, func(n NewWorms) Line { return linesOf([]service.Line{n.line()})[0] })
	goesRound(t, NewFeedingItem{}, func(n NewFeedingItem) FeedingItem {
		return feedingOf(NewFeeding{Items: []NewFeedingItem{n}}.feeding(), time.UTC).Items[0]
	})
	goesRound(t, NewSample{}, func(n NewSample) Sample {
		n.Area = Quantity{1, "m2"}
		return metricCensus(NewCensus{Samples: []NewSample{n}}.census(), time.UTC).Samples[0]
	}, "area", "mass")
	goesRound(t, CensusFigure{}, func(f CensusFigure) CensusFigure {
		return *metricCensus(NewCensus{Estimate: &f.Estimate, Low: &f.Low, High: &f.High}.census(), time.UTC).Typed
	})
}

func TestNothingOfARecordIsForgotten(t *testing.T) {
	t.Parallel()
	inUTC(t, feedingOf, "Version")
	inUTC(t, checkOf, "Version")
	inUTC(t, metricCensus, "Version", "CV")
	inUTC(t, harvestOf, "Version")
	inUTC(t, movementOf)
	showsAll(t, batchOf, "Version")
	showsAll(t, recordedOf)
	showsAll(t, func(l service.Line) Line { return linesOf([]service.Line{l})[0] }, "Booked")
	showsAll(t, func(it service.FeedingItem) FeedingItem {
		return feedingOf(service.Feeding{Items: []service.FeedingItem{it}}, time.UTC).Items[0]
	})
	showsAll(t, func(s service.Sample) Sample {
		return metricCensus(service.Census{Samples: []service.Sample{s}}, time.UTC).Samples[0]
	})
	showsAll(t, func(l service.Leftover) Leftover {
		return checkOf(service.Check{Leftovers: []service.Leftover{l}}, time.UTC).Leftovers[0]
	})
	showsAll(t, lotOf, "OpenedSeq")
}

func inUTC[T, W any](t *testing.T, out func(T, *time.Location) W, except ...string) {
	t.Helper()
	showsAll(t, func(v T) W { return out(v, time.UTC) }, except...)
}

func TestAMassOutOfRangeStaysSo(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		given *Quantity
		want  unit.Mass
	}{
		{nil, 0},
		{&Quantity{1.5, "kg"}, 1500 * unit.Gram},
		{&Quantity{-1, "kg"}, -1},
		{&Quantity{1e9, "kg"}, unit.MaxMass + 1},
	} {
		if got := massOrNone(c.given); got != c.want {
			t.Errorf("%v is %d mg, want %d", c.given, got, c.want)
		}
	}
	if got := asRead(Quantity{200, "Cel"}.measure().Temperature()); !math.IsNaN(float64(got)) {
		t.Errorf("200 °C is read as %v", got)
	}
}

func TestAFigureThatCannotBeHadIsNullWithItsReason(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		given unit.Figure
		want  string
	}{
		{unit.None("kg", "no-feed"), `{"value":null,"low":null,"high":null,"level":null,"unit":"kg","basis":null,"reason":"no-feed","flags":[]}`},
		{unit.Of(0, "kg", "recorded"), `{"value":0,"low":null,"high":null,"level":null,"unit":"kg","basis":"recorded","reason":null,"flags":[]}`},
		{
			unit.Of(2, "kg", "by-eye").Within(0, 3, 0.95).Flag("x"),
			`{"value":2,"low":0,"high":3,"level":0.95,"unit":"kg","basis":"by-eye","reason":null,"flags":["x"]}`,
		},
	} {
		got, err := encode(figureOf(c.given, unit.Metric))
		if err != nil || string(got) != c.want {
			t.Errorf("%+v is %s, %v", c.given, got, err)
		}
	}
}

func TestASharesNumberIsExactInTwelveDecimals(t *testing.T) {
	t.Parallel()
	for parts, want := range map[int64]string{
		1_000_000_000_000: "1", 333_333_333_333: "0.333333333333", 999_999_999_999: "0.999999999999", 1: "1e-12", 625_000_000_000: "0.625",
	} {
		if got, err := encode(share(parts)); err != nil || string(got) != want {
			t.Errorf("%d parts are %s, want %s", parts, got, want)
		}
	}
}
