package exchange_test

import (
	"testing"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

func TestWhatIsOwedIsWhatWasLentLessWhatIsBackOrForgiven(t *testing.T) {
	t.Parallel()
	l := exchange.Lent{Lent: 390 * unit.Gram, Returned: 350 * unit.Gram, Forgiven: 15 * unit.Gram}
	f := l.Working("/debts/0/mass_g", working.Record{Kind: "transfer", ID: "t"})
	if v, err := f.Again(working.TheValue); err != nil || v != 25 || f.Result.Value != 25 || l.Owed() != 25*unit.Gram {
		t.Errorf("%v (%v), shown as %v", v, err, f.Result.Value)
	}
	if line := f.Working()[0]; line.Text != "390 g - 350 g - 15 g" {
		t.Error(line.Text)
	}
}
