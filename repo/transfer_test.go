package repo_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// transferNoun's records go from the founder's first bin to the keeper.
func transferNoun() noun[service.Transfer, service.TransferID] {
	return noun[service.Transfer, service.TransferID]{
		of:   func(tx service.Tx) service.Records[service.Transfer, service.TransferID] { return tx.Transfers },
		made: transfer,
		edited: func(t service.Transfer) service.Transfer {
			t.Deal.Accepted, t.Deal.Legs, t.Claims, t.Steps = true, t.Deal.Legs[:1], nil, t.Steps[:1]
			t.Legs, t.Contact, t.Price = t.Legs[:1], service.Contact{}, service.Price{}
			return t
		},
		missing: service.ErrTransferNotFound,
	}
}

func transfer(n int) service.Transfer {
	leg, back := number("leg", n), number("back", n)
	return service.Transfer{
		ID: service.TransferID(number("transfer", n)), At: exactly(moment(n)),
		Deal: exchange.Deal{
			Terms: exchange.Loan, Proposer: string(keeper), Accepted: false, Expires: noon.Add(14 * 24 * time.Hour),
			Legs: []exchange.Leg{
				{ID: leg, Giver: string(founder), Receiver: string(keeper), State: exchange.Promised, Goods: []exchange.Good{{
					From: inBin(0), Commodity: journal.Worms(string(fetida)), Agreed: 250_000, Sent: 250_000,
					Came: exchange.Came{Received: 200_000, Dead: 20_000, WeightLost: -5_000, Missing: 25_000, Returned: 10_000},
				}}},
				{ID: back, Giver: string(keeper), Return: true, State: exchange.Reserved, Since: noon},
			},
			Waivers: []string{string(founder)}, Forgiven: []exchange.Amount{{Commodity: journal.Worms(string(fetida)), Mass: 5_000}},
		},
		Legs: []service.Leg{
			{
				ID: service.LegID(leg), ToBin: bin(2), Dispatch: "sent", Arrival: "came", SentAt: exactly(noon),
				CameAt: service.Moment{Time: noon, Precision: service.ToTheDay},
				Agreed: []service.Line{{
					FromBin: bin(0), Species: fetida, Typed: unit.Measure{Value: 500, Unit: "{worms}"}, SizeClass: quantity.BedRun,
					Mass: 250_000, Basis: quantity.Counted, Worms: 500, CV: 0.35, MeanMg: 500, MeanBasis: "species",
				}},
			},
			{ID: service.LegID(back), ToBatch: "spring", Agreed: []service.Line{{FromBatch: "spring", Castings: true}, {Origin: "fair"}}},
		},
		Party: "Rosa", Contact: service.Contact{Text: "12 Mole Lane", Purpose: "tracing", Until: "2031-05-01"},
		Price: service.Price{TotalMinor: ptr(int64(1250)), UnitMinor: ptr(int64(0)), Unit: "kg", Currency: "EUR"}, Due: "2026-09-01",
		Claims: []service.Claim{{Leg: service.LegID(leg), Species: fetida, Mass: 20_000, Note: "dead on arrival", At: noon, By: keeper}},
		Steps: []service.Step{
			{Verb: exchange.Propose, At: noon, By: keeper},
			{Verb: exchange.Accept, Leg: service.LegID(leg), At: noon, By: founder, For: keeper, Note: "by phone"},
		},
		Note: "for the school", Recorded: recorded(n), Version: 1,
	}
}

func offerNoun() noun[service.Offer, service.OfferID] {
	return noun[service.Offer, service.OfferID]{
		of: func(tx service.Tx) service.Records[service.Offer, service.OfferID] { return tx.Offers },
		made: func(n int) service.Offer {
			return service.Offer{
				ID: service.OfferID(number("offer", n)), Member: keeper, What: "red worms, bed-run", Species: fetida, Bin: bin(1),
				Quantity: unit.Measure{Value: 1, Unit: "kg"}, Terms: []service.Terms{service.Sale, service.Swap},
				Price: service.Price{UnitMinor: ptr(int64(4000)), Unit: "kg", Currency: "EUR"}, Until: "2026-06-01", Note: "in spring",
				CreatedAt: noon, Version: 1,
			}
		},
		edited: func(o service.Offer) service.Offer {
			o.Species, o.Bin, o.Batch, o.Terms, o.Withdrawn = "", "", "spring", nil, noon
			return o
		},
		missing: service.ErrOfferNotFound,
	}
}

func TestTransfersAreFoundByEitherSideByTermsAndWhileSomethingMayHappen(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		lapsed, sold, ended := transfer(1), transfer(2), transfer(3)
		lapsed.Deal.Expires = noon.Add(-time.Hour)
		sold.Deal.Terms, sold.Deal.Legs[0].Giver, sold.Deal.Legs[0].Receiver = exchange.Sale, string(keeper), ""
		ended.Deal.Ended = exchange.Cancelled
		update(t, s, harbour, func(tx service.Tx) error {
			return errors.Join(tx.Transfers.Insert(lapsed), tx.Transfers.Insert(sold), tx.Transfers.Insert(ended))
		})
		view(t, s, harbour, func(tx service.Tx) {
			for _, look := range []struct {
				what string
				q    service.Query
				want []service.TransferID
			}{
				{"the giver", service.Query{Member: founder}, []service.TransferID{lapsed.ID, ended.ID}},
				{"either side, oldest first", service.Query{Member: keeper}, []service.TransferID{lapsed.ID, sold.ID, ended.ID}},
				{"terms and a member", service.Query{Member: keeper, Kind: "sale"}, []service.TransferID{sold.ID}},
				{"a member and a bin, newest first", service.Query{Member: founder, Bin: bin(2), Newest: true}, []service.TransferID{ended.ID, lapsed.ID}},
				{"a bin that no leg names", service.Query{Bin: bin(3)}, nil},
				{"what may be open", service.Query{OpenOn: "2026-05-01"}, []service.TransferID{lapsed.ID, sold.ID}},
			} {
				found, err := tx.Transfers.List(look.q)
				if got := ids(found); err != nil || !slices.Equal(got, look.want) {
					t.Errorf("%s: %v, %v; want %v", look.what, got, err, look.want)
				}
			}
			open, err := tx.Transfers.Open()
			if got := ids(open); err != nil || !slices.Equal(got, []service.TransferID{lapsed.ID, sold.ID}) {
				t.Errorf("open: %v, %v", got, err)
			}
		})
	})
}

func ids(all []service.Transfer) []service.TransferID {
	var out []service.TransferID
	for _, t := range all {
		out = append(out, t.ID)
	}
	return out
}

func TestWhatATransferNamesStaysUntilNoLegNamesIt(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		one := transfer(1)
		update(t, s, harbour, func(tx service.Tx) error { return tx.Transfers.Insert(one) })
		drop := func() error {
			return s.Update(t.Context(), harbour, func(tx service.Tx) error {
				b, err := tx.Bins.Get(bin(2))
				must(t, err)
				return tx.Bins.Delete(b)
			})
		}
		if err := drop(); !errors.Is(err, service.ErrInUse) {
			t.Errorf("the bin that a leg goes to: %v; want ErrInUse", err)
		}
		one.Legs[0].ToBin = bin(3)
		update(t, s, harbour, func(tx service.Tx) error { return tx.Transfers.Update(one) })
		if err := drop(); err != nil {
			t.Errorf("a bin that no leg names any more: %v", err)
		}
		one.Version = 2
		update(t, s, harbour, func(tx service.Tx) error { return tx.Transfers.Delete(one) })
	})
}

func TestAnOfferStandsUntilItsDayOrUntilItIsWithdrawn(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		made := offerNoun().made
		dated, withdrawn, endless := made(1), made(2), made(3)
		withdrawn.Withdrawn, endless.Until = noon, ""
		update(t, s, harbour, func(tx service.Tx) error {
			return errors.Join(tx.Offers.Insert(dated), tx.Offers.Insert(withdrawn), tx.Offers.Insert(endless))
		})
		for day, want := range map[string][]service.OfferID{
			"2026-06-01": {dated.ID, endless.ID}, "2026-06-02": {endless.ID}, "": {dated.ID, withdrawn.ID, endless.ID},
		} {
			view(t, s, harbour, func(tx service.Tx) {
				found, err := tx.Offers.List(service.Query{OpenOn: day, Member: keeper, Species: fetida})
				var got []service.OfferID
				for _, o := range found {
					got = append(got, o.ID)
				}
				if err != nil || !slices.Equal(got, want) {
					t.Errorf("on %q: %v, %v; want %v", day, got, err, want)
				}
			})
		}
	})
}
