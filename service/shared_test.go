package service_test

import (
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// Two programs on one database: what one has written, late or not, the other reads
// at once.
func TestWhatIsWrittenInOneStoreIsReadInAnotherAtOnce(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		var houses [2]*house
		for i := range houses {
			store := must(repo.Open(t.Context(), url, repo.Options{}))(t)
			t.Cleanup(func() { _ = store.Close() })
			if i == 0 {
				houses[0] = newHouse(t, store)
				continue
			}
			other := *houses[0]
			d := houses[0].Desk
			other.store = store
			other.Service = service.New(&service.Desk{Store: store, Reference: d.Reference, Now: d.Now, NewID: d.NewID}, nil)
			houses[1] = &other
		}
		one, two := houses[0], houses[1]
		a, b := one.bin("A", one.bo.ID), one.bin("B", one.bo.ID)
		line := one.origin("line")
		first := one.stock(a, line, 1, "2026-03-01")
		one.move(split(a, b, 50, "%", "2026-03-20"))
		for day, h := range map[string][2]*house{"2026-03-02": {one, two}, "2026-03-03": {two, one}, "2026-03-04": {one, two}} {
			reads := func() service.LotLineage {
				return must(h[1].Reports.Lineage(t.Context(), h[1].ana, h[1].lot(b)))(t)
			}
			before := reads()
			late := h[0].stock(a, "", 1, day)
			if after := reads(); after.Lot.Shares[0].Parts >= before.Lot.Shares[0].Parts {
				t.Errorf("after a late entry of %s: %+v; before it %+v", day, after.Lot, before.Lot)
			}
			down := must(h[1].Reports.Downstream(t.Context(), h[1].ana, lotOpenedBy(h[1], first), service.Query{Limit: 10}))(t)
			if len(down) < 2 || down[len(down)-1].Parts != reads().Lot.Shares[0].Parts {
				t.Errorf("downstream after it: %+v", down)
			}
			must(h[0].Reverse(t.Context(), h[0].ana, late.ID, service.Movement{Reason: "mistyped"}))(t)
			if after := reads(); after.Lot.Shares[0] != before.Lot.Shares[0] {
				t.Errorf("after its reversal: %+v; want %+v", after.Lot.Shares, before.Lot.Shares)
			}
		}
	})
}

// lotOpenedBy returns the lot that a movement opened.
func lotOpenedBy(h *house, m service.Movement) service.LotID {
	h.Helper()
	for _, l := range must(h.Lots.List(h.Context(), h.ana, service.Query{}))(h.T) {
		if l.OpenedBy == string(m.ID) {
			return service.LotID(l.ID)
		}
	}
	h.Fatal("no lot was opened")
	return ""
}
