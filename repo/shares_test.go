package repo

import (
	"fmt"
	"reflect"
	"testing"

	"lumbricary.example/service/lineage"

	"pgregory.net/rapid"
)

func TestSharesComeBackFromTheirRowAsTheyWere(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var shares lineage.Shares
		for range rapid.IntRange(0, 8).Draw(t, "origins") {
			shares = append(shares, lineage.Share{
				Origin: rapid.OneOf(
					rapid.StringMatching(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`),
					rapid.StringMatching(`[0-9A-F]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`),
					rapid.Just(lineage.Unknown), rapid.StringN(1, 40, 200),
				).Draw(t, "origin"),
				Parts: rapid.Int64Range(1, lineage.One).Draw(t, "parts"),
			})
		}
		got := origins{}.shares(sharesToBytes(shares))
		if !reflect.DeepEqual(got, shares) {
			t.Fatalf("got %v; want %v", got, shares)
		}
	})
}

func TestARowOfSharesThatIsCutShortHoldsNone(t *testing.T) {
	t.Parallel()
	row := sharesToBytes(lineage.Pure(lineage.Unknown))
	for n := range len(row) {
		if got := (origins{}).shares(row[:n]); got != nil {
			t.Errorf("%d bytes: %v", n, got)
		}
	}
}

func TestAShareOfAnOriginTakes22Bytes(t *testing.T) {
	t.Parallel()
	if got := len(sharesToBytes(lineage.Pure(fmt.Sprintf("00000000-0000-7000-8000-%012d", 1)))); got != 22 {
		t.Errorf("%d bytes", got)
	}
}
