package season_test

import (
	"reflect"
	"testing"

	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

func hands() []season.Movement {
	return []season.Movement{
		{ID: "m1", At: on("2026-09-10"), Kind: "hand-over", Species: "fetida", Mass: kg, From: "ann", To: "bob", Terms: "swap"},
		{ID: "m2", At: on("2026-09-11"), Kind: "hand-over", Species: "fetida", Mass: 2 * kg, From: "bob", Outside: true, Terms: "sale", Price: 4000, Currency: "GBP", SeenDead: 100 * unit.Gram},
		{ID: "m2", At: on("2026-09-11"), Kind: "hand-over", Mass: 3 * kg, From: "bob", Outside: true, Terms: "sale"},
		{ID: "m3", At: on("2026-09-12"), Kind: "hand-over", Species: "fetida", Mass: kg, From: "bob", Outside: true, Terms: "sale", Price: 1500, Currency: "EUR", Lost: 50 * unit.Gram},
		{ID: "m4", At: on("2026-09-13"), Kind: "hand-over", Species: "fetida", Mass: kg, From: "bob", Outside: true, Terms: "sale", Price: 500, Currency: "EUR"},
		{ID: "m5", At: on("2026-09-14"), Kind: "stocking", Species: "fetida", Mass: 5 * kg, To: "ann", Outside: true, Terms: "gift"},
		{ID: "m6", At: on("2026-09-15"), Kind: "loss", Species: "fetida", Mass: 300 * unit.Gram, From: "ann", SeenDead: 300 * unit.Gram},
		{ID: "m7", At: on("2026-12-01"), Kind: "loss", Species: "fetida", Mass: kg, From: "ann", SeenDead: kg},
	}
}

func deliveries() []season.Receipt {
	return []season.Receipt{
		{ID: "r1", At: on("2026-09-10"), Material: "scraps", Member: "ann", Net: 30 * kg, Rejected: 2 * kg, Residue: kg, Weighed: true},
		{ID: "r2", At: on("2026-09-17"), Material: "scraps", Member: "bob", Net: 10 * kg},
		{ID: "r3", At: on("2026-09-18"), Material: "cardboard", Member: "bob", Bedding: true, Net: 5 * kg, Rejected: kg},
		{ID: "r4", At: on("2026-08-31"), Material: "scraps", Member: "bob", Net: 99 * kg},
	}
}

func equal[T any](t *testing.T, what string, got, want T) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s:\n got %+v\nwant %+v", what, got, want)
	}
}

func TestTransfersAreToldApartByTermsWayAndCommodity(t *testing.T) {
	t.Parallel()
	f := autumn()
	f.Movements = hands()
	r := season.Recount(f)
	equal(t, "transfers", r.Transfers, []season.Transfer{
		{Terms: "gift", Way: season.In, Commodity: "fetida", Mass: 5 * kg, Records: []string{"m5"}},
		{Terms: "sale", Way: season.Out, Commodity: season.Castings, Mass: 3 * kg, Records: []string{"m2"}},
		{
			Terms: "sale", Way: season.Out, Commodity: "fetida", Mass: 4 * kg,
			Money: []season.Money{{Currency: "EUR", Minor: 2000}, {Currency: "GBP", Minor: 4000}}, Records: []string{"m2", "m3", "m4"},
		},
		{Terms: "swap", Way: season.Within, Commodity: "fetida", Mass: kg, Records: []string{"m1"}},
	})
	equal(t, "moved", r.Moved, []season.Moved{
		{Kind: "hand-over", Commodity: season.Castings, Mass: 3 * kg, Records: []string{"m2"}},
		{Kind: "hand-over", Commodity: "fetida", Mass: 5 * kg, Records: []string{"m1", "m2", "m3", "m4"}},
		{Kind: "loss", Commodity: "fetida", Mass: 300 * unit.Gram, Records: []string{"m6"}},
		{Kind: "stocking", Commodity: "fetida", Mass: 5 * kg, Records: []string{"m5"}},
	})
}

func TestATransferWithoutAnOutsidePartyStaysWithin(t *testing.T) {
	t.Parallel()
	f := autumn()
	f.Movements = []season.Movement{{ID: "m", At: on("2026-09-10"), Kind: "hand-over", Mass: kg, From: "ann", Terms: "gift"}}
	equal(t, "way", season.Recount(f).Transfers[0].Way, season.Within)
}

func TestAMembersExchangesSayWhatWasGivenAndGot(t *testing.T) {
	t.Parallel()
	f := autumn()
	f.Movements = hands()
	both := []season.Money{{Currency: "EUR", Minor: 2000}, {Currency: "GBP", Minor: 4000}}
	equal(t, "exchanges", season.Recount(f).Exchanges, []season.Exchange{
		{Terms: "gift", Commodity: "fetida", Gave: 5 * kg},
		{Terms: "sale", Commodity: season.Castings, Got: 3 * kg},
		{Terms: "sale", Commodity: "fetida", Got: 4 * kg, Paid: both},
		{Member: "ann", Terms: "gift", Commodity: "fetida", Got: 5 * kg},
		{Member: "ann", Terms: "swap", Commodity: "fetida", Gave: kg},
		{Member: "bob", Terms: "sale", Commodity: season.Castings, Gave: 3 * kg},
		{Member: "bob", Terms: "sale", Commodity: "fetida", Gave: 4 * kg, Earned: both},
		{Member: "bob", Terms: "swap", Commodity: "fetida", Got: kg},
	})
}

func TestLossesTellTheDeadFromTheMissing(t *testing.T) {
	t.Parallel()
	f := autumn()
	f.Movements = hands()
	equal(t, "losses", season.Recount(f).Losses, []season.Loss{
		{Member: "ann", Commodity: "fetida", SeenDead: 300 * unit.Gram, Records: []string{"m6"}},
		{Member: "bob", Commodity: "fetida", SeenDead: 100 * unit.Gram, Lost: 50 * unit.Gram, Records: []string{"m2", "m3"}},
	})
}

func TestDivertedIsWhatWasKeptOfTheFeedstock(t *testing.T) {
	t.Parallel()
	f := autumn()
	f.Receipts = deliveries()
	r := season.Recount(f).Received
	total := season.Intake{Net: 40 * kg, Rejected: 2 * kg, Residue: kg, Weighed: 30 * kg, Sure: 27 * kg, Bedding: 4 * kg}
	equal(t, "total", r.Total, total)
	if got := r.Total.Diverted(); got != 37*kg {
		t.Errorf("diverted %v", got)
	}
	near(t, "weighed", r.Total.WeighedShare(), 75, "%")
	near(t, "weighed of what was diverted", r.Total.DivertedShare(), 100*27.0/37, "%")
	equal(t, "materials", r.ByMaterial, []season.Intake{
		{Key: "cardboard", Bedding: 4 * kg},
		{Key: "scraps", Net: 40 * kg, Rejected: 2 * kg, Residue: kg, Weighed: 30 * kg, Sure: 27 * kg},
	})
	equal(t, "members", r.ByMember, []season.Intake{
		{Key: "ann", Net: 30 * kg, Rejected: 2 * kg, Residue: kg, Weighed: 30 * kg, Sure: 27 * kg},
		{Key: "bob", Net: 10 * kg, Bedding: 4 * kg},
	})
	missing(t, "cardboard weighed", r.ByMaterial[0].WeighedShare(), "nothing-received")
}
