package service

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service/reference"
)

// underVeil are the members that are Go strings, or lists of them, and yet
// nothing that a keeper typed.
var underVeil = []string{
	"bin.started.text", "bin.retired.text", "material.feedstock", "measure.volume.unit", "measure.tare.unit",
	"feeding.at.text", "feeding.items.typed.unit", "check.at.text", "census.at.text", "census.typed.estimate.unit", "census.typed.low.unit", "census.typed.high.unit",
	"census.warnings", "harvest.at.text", "harvest.typed.unit", "harvest.worms.typed.unit", "harvest.worms.basis", "harvest.worms.mean_basis",
	"offer.quantity.unit", "offer.price.unit", "offer.price.currency", "offer.until", "identification.at.text", "receipt.at.text", "turnout.at.text", "total.total_key.month", "movement.at.text", "movement.lines.typed.unit", "movement.lines.basis", "movement.lines.mean_basis", "movement.postings.account.ref", "movement.postings.origin",
	"lot.lot.id", "lot.lot.place.bin", "lot.lot.place.species", "lot.lot.place.transit", "lot.lot.opened_by", "lot.lot.ended_by", "lot.lot.successor",
	"lot.lot.parents.lot", "lot.lot.via.lot", "lot.lot.via.origin", "lot.lot.parents.origin", "lot.lot.shares.origin",
}

// scribble puts a text into every string under v, whatever its type.
func scribble(v reflect.Value) {
	switch v.Kind() { //nolint:exhaustive // numbers stay
	case reflect.String:
		v.SetString("quillmark")
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		scribble(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		scribble(v.Index(0))
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type() != reflect.TypeFor[time.Time]() {
				scribble(v.Field(i))
			}
		}
	}
}

// legible lists the paths of the free texts and members' ids that are still as
// scribble wrote them.
func legible(path string, v reflect.Value) (out []string) {
	free := slices.Contains([]reflect.Type{reflect.TypeFor[string](), reflect.TypeFor[MemberID](), reflect.TypeFor[AccountID]()}, v.Type())
	switch v.Kind() { //nolint:exhaustive // numbers tell nothing
	case reflect.String:
		if free && strings.Contains(v.String(), "quillmark") {
			return []string{path}
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return legible(path, v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			out = append(out, legible(path, v.Index(i))...)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type() != reflect.TypeFor[time.Time]() {
				out = append(out, legible(path+"."+strings.TrimSuffix(memberName(v.Type().Field(i)), "_mg"), v.Field(i))...)
			}
		}
	}
	return out
}

// under is what can be read of a scribbled record under a veil.
func under[T any](show func(T) T) []string {
	var v T
	scribble(reflect.ValueOf(&v).Elem())
	return legible(nounOf(v), reflect.ValueOf(show(v)))
}

func TestNoTextThatAMemberTypedIsLegibleUnderAVeil(t *testing.T) {
	t.Parallel()
	v := veil{secret: []byte("secret"), club: "club"}
	desk := &Desk{Reference: &reference.Tables{}}
	all := slices.Concat(
		under(v.member), under(v.site), under(v.bin), under(func(m Material) Material { return v.material(m, desk) }), under(v.measure),
		under(v.culture), under(v.origin), under(v.feeding), under(v.check), under(v.census), under(v.harvest), under(v.movement), under(v.lot), under(v.identification), under(v.receipt), under(v.turnout), under(v.total), under(v.batch), under(v.offer),
	)
	for _, path := range all {
		if !slices.Contains(underVeil, path) {
			t.Errorf("%s is legible", path)
		}
	}
	for _, path := range underVeil {
		if !slices.Contains(all, path) {
			t.Errorf("%s is listed and isn't there", path)
		}
	}
}

func TestAPseudonymStaysInItsClubAndDatabase(t *testing.T) {
	t.Parallel()
	v := veil{secret: []byte("secret"), club: "harbour"}
	first := v.member(Member{ID: "m-1", Name: "Ana", Account: "a-1"})
	if again := v.member(Member{ID: "m-1", Name: "Ana Sol"}); again != first {
		t.Errorf("%+v is not %+v", again, first)
	}
	for name, other := range map[string]Member{
		"another member":          v.member(Member{ID: "m-2"}),
		"the same, another club":  veil{secret: []byte("secret"), club: "hill"}.member(Member{ID: "m-1"}),
		"the same, another store": veil{secret: []byte("other"), club: "harbour"}.member(Member{ID: "m-1"}),
	} {
		if other.ID == first.ID || other.Name == first.Name {
			t.Errorf("%s is %+v too", name, other)
		}
	}
	if nobody := v.pseudonym(""); nobody != "" {
		t.Errorf("nobody is %s", nobody)
	}
}

func TestWhoAgreedToBeShownIsShownByThePublicNameAndWithTheirWords(t *testing.T) {
	t.Parallel()
	v := veil{secret: []byte("secret"), club: "harbour", named: map[MemberID]string{"m-1": "Ana of the harbour"}}
	if m := v.member(Member{ID: "m-1", Name: "Ana Sol", PublicName: "Ana of the harbour"}); m.Name != "Ana of the harbour" || m.ID == "m-1" {
		t.Errorf("%+v", m)
	}
	if m := v.member(Member{ID: "m-2", Name: "Ben"}); !strings.HasPrefix(m.Name, "keeper ") {
		t.Errorf("%+v", m)
	}
	if hers, his := v.offer(Offer{Member: "m-1", What: "Reds", Note: "n"}), v.offer(Offer{Member: "m-2", What: "Reds", Note: "n"}); hers.What != "Reds" || his.What != "" || hers.Note+his.Note != "" {
		t.Errorf("%+v, %+v", hers, his)
	}
}
