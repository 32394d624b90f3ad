package service

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service/unit"
)

// nouns are an empty record of everything that the audit tells of.
func nouns() []any {
	return []any{
		Club{},
		Member{},
		Invitation{},
		APIKey{},
		Site{},
		Bin{},
		Material{},
		Culture{},
		Origin{},
		Batch{},
		Feeding{},
		Check{},
		Census{},
		Harvest{},
		Movement{},
	}
}

// texts lists the paths of the plain texts in a type, as the audit names them.
func texts(t reflect.Type, path string) []string {
	switch t.Kind() { //nolint:exhaustive // the rest holds no text
	case reflect.Pointer, reflect.Slice:
		return texts(t.Elem(), path)
	case reflect.String:
		if t == reflect.TypeFor[string]() {
			return []string{path}
		}
	case reflect.Struct:
		if slices.Contains([]reflect.Type{reflect.TypeFor[time.Time](), reflect.TypeFor[Moment](), reflect.TypeFor[unit.Measure]()}, t) {
			return nil
		}
		var out []string
		for i := range t.NumField() {
			out = append(out, texts(t.Field(i).Type, strings.TrimPrefix(path+"."+memberName(t.Field(i)), "."))...)
		}
		return out
	}
	return nil
}

func TestTheAuditTellsNoTextButThoseThatAreListed(t *testing.T) {
	t.Parallel()
	w := &work{zone: time.UTC}
	for _, empty := range nouns() {
		noun := nounOf(empty)
		has := texts(reflect.TypeOf(empty), "")
		for _, open := range openTexts[noun] {
			if !slices.Contains(has, open) {
				t.Errorf("a %s has no text %s; it has %v", noun, open, has)
			}
		}
		full := reflect.New(reflect.TypeOf(empty)).Elem()
		fillTexts(full)
		told, err := w.testimony(noun, full.Interface()).text()
		if err != nil {
			t.Fatal(err)
		}
		if got, want := strings.Count(told, "secret"), len(openTexts[noun]); got != want {
			t.Errorf("of a %s %d texts are told, want %d: %s", noun, got, want, told)
		}
	}
}

// fillTexts writes a text into each plain text of a value, and one element into
// each list.
func fillTexts(v reflect.Value) {
	switch v.Kind() { //nolint:exhaustive // the rest holds no text
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fillTexts(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fillTexts(v.Index(0))
	case reflect.String:
		if v.Type() == reflect.TypeFor[string]() {
			v.SetString("secret")
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type() != reflect.TypeFor[time.Time]() && v.Type() != reflect.TypeFor[unit.Measure]() {
				fillTexts(v.Field(i))
			}
		}
	}
}

func TestAnAccountAndAHashAreNeverTold(t *testing.T) {
	t.Parallel()
	w := &work{zone: time.UTC}
	for _, v := range []any{
		Member{ID: "m", Account: "account-1", Name: "Ines", Role: Steward},
		APIKey{ID: "k", Name: "probe", Hash: "hash-1", Scopes: []Scope{ScopeRead}},
		Invitation{ID: "i", Email: "ines@example.org", Name: "Ines", CodeHash: "hash-1", Role: Keeper},
	} {
		told, err := w.testimony(nounOf(v), v).text()
		if err != nil || strings.Contains(told, "-1") || strings.Contains(told, "nes") || !strings.Contains(told, "e") {
			t.Errorf("%s, %v", told, err)
		}
	}
}

func TestWhatIsToldHasTheWiresNamesAndUnits(t *testing.T) {
	t.Parallel()
	w := &work{zone: time.UTC}
	warm, wet := unit.Celsius(20), unit.Percent(70)
	told, err := w.testimony("check", Check{
		ID: "c", Bin: "b", At: Moment{Time: time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC), Precision: ToTheDay},
		Temperature: &warm, Moisture: &wet, WormsAt: WormsAtLid, Version: 3,
	}).text()
	var got map[string]any
	if err := json.Unmarshal([]byte(told), &got); err != nil {
		t.Fatal(err)
	}
	want := map[string]any{"bin": "b", "at": "2026-05-01", "temperature_c": 20.0, "moisture_pct": 70.0, "worms_at": "lid"}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
}

func TestAChangeNamesTheMembersThatDiffer(t *testing.T) {
	t.Parallel()
	w := &work{zone: time.UTC}
	old := Bin{ID: "b", Name: "Tote", DepthCM: 30, Note: "dry", StandIns: []MemberID{"m"}}
	changed := Bin{ID: "b", Name: "Tote", DepthCM: 40, Note: "wet", StandIns: []MemberID{}, Surface: 0.5}
	got := differing(w.testimony("bin", old), w.testimony("bin", changed))
	if want := []string{"depth_cm", "note", "stand_ins", "surface_m2"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := differing(w.testimony("bin", old), w.testimony("bin", old)); len(got) != 0 {
		t.Errorf("the same differs in %v", got)
	}
}
