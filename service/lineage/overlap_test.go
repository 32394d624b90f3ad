package lineage_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/lineage"

	"pgregory.net/rapid"
)

// Worked by hand: of a half each of Farm and Heap, and a lot of 30 % Heap, 20 %
// Fair, 50 % unknown, 30 % are common; 25 % unknown beside them are common at worst.
func TestOverlapIsTheSumOfTheSmallerSharesExactly(t *testing.T) {
	t.Parallel()
	const tenth = lineage.One / 10
	a := shares("farm", 5*tenth, "heap", 5*tenth)
	b := shares("fair", 2*tenth, "heap", 3*tenth, "unknown", 5*tenth)
	both, parts := lineage.Overlap(a, b)
	if want := []lineage.InCommon{{Origin: "heap", A: 5 * tenth, B: 3 * tenth, Parts: 3 * tenth}}; parts != 3*tenth || !slices.Equal(both, want) {
		t.Errorf("%v, %d", both, parts)
	}
	c := shares("farm", 1, "heap", lineage.One/4*3-1, "unknown", lineage.One/4)
	both, parts = lineage.Overlap(b, c)
	if fmt.Sprint(both) != "[{heap 300000000000 749999999999 300000000000} {unknown 500000000000 250000000000 250000000000}]" || parts != 550_000_000_000 {
		t.Errorf("%v, %d", both, parts)
	}
	if both, parts := lineage.Overlap(a, nil); both != nil || parts != 0 {
		t.Errorf("with nothing: %v, %d", both, parts)
	}
}

func TestOverlapIsTheSameBothWaysAndWholeWithItself(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lot := func(name string) lineage.Shares {
			left, out := int64(lineage.One), lineage.Shares{}
			for _, origin := range []string{"a", "b", "c"} {
				p := rapid.Int64Range(0, left).Draw(t, name+origin)
				out, left = append(out, lineage.Share{Origin: origin, Parts: p}), left-p
			}
			return append(out, lineage.Share{Origin: lineage.Unknown, Parts: left})
		}
		a, b := lot("first "), lot("second ")
		both, there := lineage.Overlap(a, b)
		_, back := lineage.Overlap(b, a)
		_, self := lineage.Overlap(a, a)
		if there != back || self != lineage.One || there < 0 || there > lineage.One || there == lineage.One && !slices.Equal(a, b) {
			t.Fatalf("%d, %d, %d", there, back, self)
		}
		for _, c := range both {
			if c.Parts != min(c.A, c.B) {
				t.Fatal(c)
			}
		}
	})
}

// pedigree is lots by id, each with the ids of its parents; the later in the
// alphabet, the newer.
func pedigree(parents map[string]string) map[string]lineage.Lot {
	out := map[string]lineage.Lot{}
	for id, of := range parents {
		l := lineage.Lot{ID: id, OpenedAt: time.Unix(int64(id[0]), 0)}
		for _, p := range of {
			l.Parents = append(l.Parents, lineage.Parent{Lot: string(p)})
		}
		out[id] = l
	}
	return out
}

func TestTheNearestCommonAncestorsAreThoseThatNoOtherDescendsFrom(t *testing.T) {
	t.Parallel()
	// a and b are stocked; c and d are mixed of both; e, f and g go on from there
	all := pedigree(map[string]string{"a": "", "b": "", "c": "ab", "d": "ab", "e": "c", "f": "cd", "g": "e", "h": "", "i": "gh"})
	some := func(ids []string) (out []lineage.Lot, _ error) {
		for _, id := range ids {
			if l, ok := all[id]; ok {
				out = append(out, l)
			}
		}
		return out, nil
	}
	for _, x := range []struct{ a, b, want string }{
		{"e", "f", "c 1 1"},
		{"g", "f", "c 2 1"},
		{"i", "f", "c 3 1"},
		{"c", "d", "b 1 1, a 1 1"}, // two, and neither nearer
		{"e", "d", "b 2 1, a 2 1"},
		{"g", "c", "c 2 0"}, // one descends from the other
		{"f", "f", "f 0 0"},
		{"i", "h", "h 1 0"},
		{"a", "b", ""},
		{"h", "f", ""},
	} {
		tell := func(a, b string, turned bool) (told string) {
			found, cut, err := lineage.Nearest(all[a], all[b], 100, some)
			for i, n := range found {
				if turned {
					n.A, n.B = n.B, n.A
				}
				told += map[bool]string{true: ", "}[i > 0] + fmt.Sprintf("%s %d %d", n.Lot.ID, n.A, n.B)
			}
			if cut || err != nil {
				t.Errorf("%s and %s: %v, %v", a, b, cut, err)
			}
			return told
		}
		if got, back := tell(x.a, x.b, false), tell(x.b, x.a, true); got != x.want || back != x.want {
			t.Errorf("%s and %s: %q and %q, not %q", x.a, x.b, got, back, x.want)
		}
	}
}

func TestTheSearchForAncestorsEndsWhereItIsTold(t *testing.T) {
	t.Parallel()
	all := pedigree(map[string]string{"a": "", "b": "a", "c": "a"})
	some := func([]string) ([]lineage.Lot, error) { return []lineage.Lot{all["a"]}, nil }
	if found, cut, err := lineage.Nearest(all["b"], all["c"], 2, some); len(found) > 0 || !cut || err != nil {
		t.Errorf("%v, %v, %v", found, cut, err)
	}
	none := func([]string) ([]lineage.Lot, error) { return nil, nil }
	if _, _, err := lineage.Nearest(all["b"], all["c"], 9, none); err == nil {
		t.Error("a missing lot isn't missed")
	}
	broken := errors.New("broken")
	if _, _, err := lineage.Nearest(all["b"], all["c"], 9, func([]string) ([]lineage.Lot, error) { return nil, broken }); !errors.Is(err, broken) {
		t.Error(err)
	}
}
