package api

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
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
	goesRound(t, NewBinContact{}, settledAt(NewBinContact.contact, func(c *service.BinContact) *service.Moment { return &c.At }, contactOf))
	goesRound(t, NewClearing{}, settledAt(NewClearing.clearing, func(c *service.Clearing) *service.Moment { return &c.At }, clearingOf))
	goesRound(t, NewOffer{}, func(n NewOffer) Offer { return offerOf(n.offer()) })
	goesRound(t, NewTransfer{}, settledAt(NewTransfer.transfer, func(v *service.Transfer) *service.Moment { return &v.At }, seenTransfer), "legs")
	goesRound(t, NewLeg{}, func(n NewLeg) Leg { return seenTransfer(NewTransfer{Legs: []NewLeg{n}}.transfer(), time.UTC).Legs[0] }, "goods")
	goesRound(t, NewGood{}, func(n NewGood) Good { return goodOf(n.line(), exchange.Good{}, false, false) })
	goesRound(t, NewPacked{}, func(n NewPacked) Good { return goodOf(n.line(), exchange.Good{}, false, false) })
	goesRound(t, NewAmount{}, func(n NewAmount) Good { return goodOf(amountLines([]NewAmount{n})[0], exchange.Good{}, false, false) })
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
	inUTC(t, contactOf, "Version")
	inUTC(t, clearingOf, "Version")
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
	showsAll(t, lotOf, "OpenedSeq", "Via")
	showsAll(t, offerOf, "Version")
	showsAll(t, priceOf)
	inUTC(t, seenTransfer, "Version")
	inUTC(t, func(l service.Leg, zone *time.Location) Leg { return legOf(l, twoGoods(), zone) })
	showsAll(t, func(l exchange.Leg) Leg { l.Goods = make([]exchange.Good, 2); return legOf(service.Leg{}, l, time.UTC) }, "ID", "Since", "Goods")
	showsAll(t, func(g exchange.Good) Good { return goodOf(service.Line{}, g, true, true) }, "From", "Commodity")
	showsAll(t, func(c exchange.Came) Good { return goodOf(service.Line{}, exchange.Good{Came: c}, true, true) })
	showsAll(t, func(c service.Claim) Claim {
		return seenTransfer(service.Transfer{Claims: []service.Claim{c}}, time.UTC).Claims[0]
	})
	showsAll(t, func(s service.Step) Step {
		return seenTransfer(service.Transfer{Steps: []service.Step{s}}, time.UTC).Steps[0]
	})
}

// seenTransfer shows a transfer, whose deal has the goods that were typed.
func seenTransfer(t service.Transfer, zone *time.Location) Transfer {
	for len(t.Deal.Legs) < len(t.Legs) {
		t.Deal.Legs = append(t.Deal.Legs, exchange.Leg{})
	}
	t.Deal.Legs = slices.Clone(t.Deal.Legs)
	for i := range t.Legs {
		t.Deal.Legs[i].Goods = make([]exchange.Good, len(t.Legs[i].Agreed))
	}
	return transferOf(service.TransferSeen{Transfer: t}, zone)
}

// twoGoods is a leg of a deal on its way.
func twoGoods() exchange.Leg {
	return exchange.Leg{State: exchange.UnderWay, Goods: make([]exchange.Good, 2)}
}

func TestWhatAStepTakesReachesTheUseCase(t *testing.T) {
	t.Parallel()
	for name, taken := range map[string]func() service.Stepping{
		"acceptance":  stepOf[NewAcceptance],
		"dispatch":    stepOf[NewDispatch],
		"arrival":     stepOf[NewArrival],
		"settlement":  stepOf[NewSettlement],
		"replacement": stepOf[NewReplacement],
		"repayment":   stepOf[NewRepayment],
		"forgiveness": stepOf[NewForgiveness],
		"claim":       stepOf[NewClaim],
		"leg":         stepOf[NewLegStep],
		"step":        stepOf[NewStep],
	} {
		want := map[string]string{
			"acceptance": "For Lines ToBin Note", "dispatch": "Leg For At Lines Note", "arrival": "Leg For At Came ToBin ToBatch GiveBack Note",
			"settlement": "Leg For Lines Came ToBin ToBatch Note", "replacement": "Leg For Lines Note", "repayment": "For At Lines ToBin ToBatch Done Note",
			"forgiveness": "For Lines Note", "claim": "Leg For Lines Note", "leg": "Leg For Note", "step": "For Note",
		}[name]
		var got []string
		v := reflect.ValueOf(taken())
		for i := range v.NumField() {
			if !v.Field(i).IsZero() {
				got = append(got, v.Type().Field(i).Name)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s takes %s, want %s", name, strings.Join(got, " "), want)
		}
	}
}

// stepOf is the step of a wire type with every member told.
func stepOf[N interface{ stepping() service.Stepping }]() service.Stepping {
	var given N
	n := 0
	fill(reflect.ValueOf(&given).Elem(), &n)
	return given.stepping()
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
