package qr_test

import (
	"errors"
	"testing"

	"lumbricary.example/api/qr"

	"pgregory.net/rapid"
)

// The first is the example of the specification of ULIDs, whose text is that of
// the same bits: published.
func TestAnIDHasOneShortForm(t *testing.T) {
	t.Parallel()
	for id, short := range map[string]string{
		"01563e3a-b5d3-d676-4c61-efb99302bd5b": "01ARZ3NDEKTSV4RRFFQ69G5FAV",
		"00000000-0000-0000-0000-000000000000": "00000000000000000000000000",
		"ffffffff-ffff-ffff-ffff-ffffffffffff": "7ZZZZZZZZZZZZZZZZZZZZZZZZZ",
	} {
		if got, err := qr.Short(id); got != short || err != nil {
			t.Errorf("%s is %s, %v; want %s", id, got, err, short)
		}
		if got, err := qr.ID(short); got != id || err != nil {
			t.Errorf("%s is %s, %v; want %s", short, got, err, id)
		}
	}
}

func TestAShortFormIsReadAsPeopleCopyIt(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"01arz3ndektsv4rrffq69g5fav", "O1AR-Z3ND EKTS-V4RR FFQ6-9G5F AV", "OIARZ3NDEKTSV4RRFFQ69G5FAV"} {
		if got, err := qr.ID(text); got != "01563e3a-b5d3-d676-4c61-efb99302bd5b" || err != nil {
			t.Errorf("%s is %s, %v", text, got, err)
		}
	}
}

func TestWhatIsNoIDIsRefused(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "01ARZ3NDEKTSV4RRFFQ69G5FA", "01ARZ3NDEKTSV4RRFFQ69G5FAVV", "8ZZZZZZZZZZZZZZZZZZZZZZZZZ", "U1ARZ3NDEKTSV4RRFFQ69G5FAV", "é"} {
		if got, err := qr.ID(text); !errors.Is(err, qr.ErrShort) {
			t.Errorf("%q is %q, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "0156", "zz563e3a-b5d3-d676-4c61-efb99302bd5b", "01563e3a-b5d3-d676-4c61-efb99302bd5bff"} {
		if got, err := qr.Short(text); !errors.Is(err, qr.ErrID) {
			t.Errorf("%q is %q, %v", text, got, err)
		}
	}
}

func TestEveryIDComesBackAndItsCodeIsSmall(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.StringMatching(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`).Draw(t, "id")
		short, err := qr.Short(id)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := qr.ID(short); back != id || err != nil {
			t.Fatalf("%s came back as %s, %v", id, back, err)
		}
		modules, err := qr.Modules(short)
		if err != nil || len(modules) != 25+8 { // version 2, and 4 light modules on each side
			t.Fatalf("%d modules: %v", len(modules), err)
		}
	})
}
