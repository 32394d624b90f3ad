package lineage_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

func shares(pairs ...any) lineage.Shares {
	var out lineage.Shares
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, lineage.Share{Origin: pairs[i].(string), Parts: int64(pairs[i+1].(int))})
	}
	return out
}

func total(s lineage.Shares) (sum int64) {
	for _, x := range s {
		sum += x.Parts
	}
	return sum
}

// near reports whether got is want to nine decimals.
func near(got, want float64) bool { return math.Abs(got-want) <= 1e-9 }

func TestStockOfOneOriginIsAllOfIt(t *testing.T) {
	t.Parallel()
	if got := lineage.Pure("A"); !slices.Equal(got, shares("A", lineage.One)) {
		t.Errorf("got %v", got)
	}
	if got := lineage.Pure(""); !slices.Equal(got, shares("unknown", lineage.One)) {
		t.Errorf("of no known origin: %v", got)
	}
}

// By definition (computed): 2 kg of A and 3 kg of half A, half B give 0.7 A and
// 0.3 B, with 1/(0.7² + 0.3²) = 1.724137931 effective sources.
func TestAMixIsWeightedByMass(t *testing.T) {
	t.Parallel()
	got, err := lineage.Mix([]lineage.Part{
		{Mass: 3 * unit.Kilogram, Shares: shares("A", lineage.One/2, "B", lineage.One/2)},
		{Mass: 2 * unit.Kilogram, Shares: lineage.Pure("A")},
	})
	if err != nil || !slices.Equal(got, shares("A", 7*lineage.One/10, "B", 3*lineage.One/10)) {
		t.Errorf("got %v, %v", got, err)
	}
	if e := lineage.EffectiveSources(got); !near(e, 1.724137931) {
		t.Errorf("effective sources %v", e)
	}
}

func TestWhatIsLeftOfOneGoesToTheLargestRemainders(t *testing.T) {
	t.Parallel()
	third := lineage.One / 3
	for name, tt := range map[string]struct {
		mass []unit.Mass // of pure c, b, a
		want lineage.Shares
	}{
		"a tie goes to the smaller id": {[]unit.Mass{1, 1, 1}, shares("a", third+1, "b", third, "c", third)},
		// 3/7 of One is 428,571,428,571 and 3/7; 2/7 of it 285,714,285,714 and 2/7.
		"the larger remainder first":       {[]unit.Mass{2, 2, 3}, shares("a", 428_571_428_572, "b", 285_714_285_714, "c", 285_714_285_714)},
		"what is less than a part is gone": {[]unit.Mass{0, 1, 3_000_000_000_000}, shares("a", lineage.One)},
	} {
		var parts []lineage.Part
		for i, origin := range []string{"c", "b", "a"} {
			parts = append(parts, lineage.Part{Mass: tt.mass[i], Shares: lineage.Pure(origin)})
		}
		got, err := lineage.Mix(parts)
		if err != nil || !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v, %v; want %v", name, got, err, tt.want)
		}
	}
}

func TestPartsThatCannotBeMixedAreRefused(t *testing.T) {
	t.Parallel()
	good := lineage.Part{Mass: 5, Shares: lineage.Pure("A")}
	for name, tt := range map[string]struct {
		parts []lineage.Part
		want  lineage.MixError
	}{
		"no parts":         {nil, lineage.MixError{Index: -1}},
		"no mass":          {[]lineage.Part{{Shares: lineage.Pure("A")}}, lineage.MixError{Index: -1}},
		"negative mass":    {[]lineage.Part{good, {Mass: -1, Shares: lineage.Pure("A")}}, lineage.MixError{Index: 1, Mass: -1, Sum: lineage.One}},
		"no shares":        {[]lineage.Part{good, {Mass: 1}}, lineage.MixError{Index: 1, Mass: 1}},
		"less than One":    {[]lineage.Part{{Mass: 1, Shares: shares("A", 7)}}, lineage.MixError{Mass: 1, Sum: 7}},
		"more than One":    {[]lineage.Part{{Mass: 1, Shares: shares("A", lineage.One, "B", 1)}}, lineage.MixError{Mass: 1, Sum: 1}},
		"a negative share": {[]lineage.Part{{Mass: 1, Shares: shares("A", -1, "B", lineage.One)}}, lineage.MixError{Mass: 1, Sum: -1}},
		"more than can be summed": {
			[]lineage.Part{{Mass: math.MaxInt64, Shares: lineage.Pure("A")}, good},
			lineage.MixError{Index: 1, Mass: 5, Sum: lineage.One},
		},
	} {
		_, err := lineage.Mix(tt.parts)
		if got, ok := errors.AsType[*lineage.MixError](err); !ok || *got != tt.want {
			t.Errorf("%s: %+v; want %+v", name, got, tt.want)
		}
	}
}

// drawShares draws whole shares of one to five origins, some unknown.
func drawShares(t *rapid.T) lineage.Shares {
	origins := []string{"a", "b", "c", "d", "unknown"}
	var out lineage.Shares
	left := int64(lineage.One)
	for _, o := range origins[rapid.IntRange(0, 4).Draw(t, "from"):4] {
		if p := rapid.Int64Range(0, left-1).Draw(t, "parts"); p > 0 {
			out = append(out, lineage.Share{Origin: o, Parts: p})
			left -= p
		}
	}
	return append(out, lineage.Share{Origin: "unknown", Parts: left})
}

func drawParts(t *rapid.T) []lineage.Part {
	n := rapid.IntRange(1, 6).Draw(t, "n")
	parts := make([]lineage.Part, n)
	for i := range parts {
		parts[i] = lineage.Part{Mass: unit.Mass(rapid.Int64Range(1, int64(unit.MaxMass)).Draw(t, "mass")), Shares: drawShares(t)}
	}
	return parts
}

func TestMixedSharesSumToOneInWhateverOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		parts := drawParts(t)
		got, err := lineage.Mix(parts)
		if err != nil || total(got) != lineage.One {
			t.Fatalf("got %v, %v", got, err)
		}
		if !slices.IsSortedFunc(got, func(a, b lineage.Share) int { return strings.Compare(a.Origin, b.Origin) }) {
			t.Fatalf("not sorted: %v", got)
		}
		shuffled := rapid.Permutation(parts).Draw(t, "order")
		if again, _ := lineage.Mix(shuffled); !slices.Equal(again, got) {
			t.Fatalf("in another order %v, not %v", again, got)
		}
	})
}

// An independent account of the same rounding in arbitrary precision.
func TestMixedSharesAreWithinOnePartOfTheExactMean(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		parts := drawParts(t)
		got, err := lineage.Mix(parts)
		if err != nil {
			t.Fatal(err)
		}
		mass, exact := new(big.Int), map[string]*big.Int{}
		for _, p := range parts {
			m := big.NewInt(int64(p.Mass))
			mass.Add(mass, m)
			for _, s := range p.Shares {
				if exact[s.Origin] == nil {
					exact[s.Origin] = new(big.Int)
				}
				exact[s.Origin].Add(exact[s.Origin], new(big.Int).Mul(m, big.NewInt(s.Parts)))
			}
		}
		for _, s := range got {
			floor := new(big.Int).Div(exact[s.Origin], mass).Int64()
			if s.Parts != floor && s.Parts != floor+1 {
				t.Fatalf("%s has %d parts, exactly %d and a bit", s.Origin, s.Parts, floor)
			}
		}
	})
}

func TestMixingStockWithItselfChangesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawShares(t)
		got, err := lineage.Mix([]lineage.Part{{Mass: 7, Shares: s}, {Mass: 1_000_003, Shares: s}})
		if err != nil || !slices.Equal(got, s) {
			t.Fatalf("got %v, %v; want %v", got, err, s)
		}
	})
}

// Lacy (1989), Zoo Biology 8: 111-123: contributions of 0.375, 0.375 and 0.25
// are 2.91 founder equivalents (seen in a transcription; more digits computed).
func TestEffectiveSourcesAreLacysFounderEquivalents(t *testing.T) {
	t.Parallel()
	eighth := lineage.One / 8
	for _, tt := range []struct {
		shares lineage.Shares
		want   float64
	}{
		{shares("A", 3*eighth, "B", 3*eighth, "C", 2*eighth), 2.909090909},
		{lineage.Pure("A"), 1},
		{shares("A", 2*eighth, "B", 2*eighth, "C", 2*eighth, "D", 2*eighth), 4},
		{nil, 0},
	} {
		if got := lineage.EffectiveSources(tt.shares); !near(got, tt.want) {
			t.Errorf("%v: %v, want %v", tt.shares, got, tt.want)
		}
	}
}

func TestEffectiveSourcesLieBetweenOneAndTheNumberOfOrigins(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawShares(t)
		if got := lineage.EffectiveSources(s); got < 1-1e-12 || got > float64(len(s))+1e-9 {
			t.Fatalf("%v has %v effective sources", s, got)
		}
	})
}

func TestTheShareOfACultureIsTheSumOfItsOrigins(t *testing.T) {
	t.Parallel()
	tenth := lineage.One / 10
	s := shares("A", tenth, "B", 2*tenth, "C", 3*tenth, "unknown", 4*tenth)
	if got := lineage.ShareOf(s, "C", "A", "X"); got != 0.4 {
		t.Errorf("A and C are %v", got)
	}
	if got := lineage.UnknownShare(s); got != 0.4 {
		t.Errorf("unknown is %v", got)
	}
	if got := lineage.UnknownShare(lineage.Pure("A")); got != 0 {
		t.Errorf("unknown in a known origin is %v", got)
	}
}

func ExampleMix() {
	s, err := lineage.Mix([]lineage.Part{
		{Mass: 300 * unit.Gram, Shares: lineage.Pure("harbour")},
		{Mass: 100 * unit.Gram, Shares: lineage.Pure("")},
	})
	fmt.Printf("%v %.3f %v\n", s, lineage.EffectiveSources(s), err)
	// Output: [{harbour 750000000000} {unknown 250000000000}] 1.600 <nil>
}
