package service

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode"

	"lumbricary.example/service/unit"
)

// testimony is what the audit holds of a record: of each member its value, and
// of one that may be personal or secret only that it is there.
type testimony struct {
	open   map[string]any // what may be told
	closed map[string]any // what is compared and never told
}

// openTexts are the members that are texts and yet no personal value. Every
// other text that isn't a word or an id of the domain is kept out of the audit,
// so that a new note or name is, before anybody thinks of it.
var openTexts = map[string][]string{
	"club":       {"handle", "name", "time_zone", "currency", "allowed_origins"},
	"site":       {"name"},
	"bin":        {"name"},
	"material":   {"name", "feedstock"},
	"measure":    {"name"},
	"culture":    {"name"},
	"batch":      {"lot_number"},
	"batch-step": {"parameter", "unit"},
	"movement":   {"currency", "lines.basis", "lines.mean_basis", "postings.account.ref", "postings.origin"},
	"harvest":    {"worms.basis", "worms.mean_basis"},
	"census":     {"warnings"},
	"transfer": {
		"due", "price.unit", "price.currency", "deal.proposer", "deal.waivers", "deal.legs.giver", "deal.legs.receiver",
		"deal.legs.goods.from.ref", "legs.agreed.basis", "legs.agreed.mean_basis",
	},
	"offer": {"until", "price.unit", "price.currency"},
}

// untold are the fields that an entry says elsewhere, or that follow from it.
var untold = []string{"ID", "Version", "CreatedAt", "Recorded", "ReversedBy"}

// testimony reads a record; none, where v is nil.
func (w *work) testimony(noun string, v any) testimony {
	t := testimony{map[string]any{}, map[string]any{}}
	if v == nil {
		return t
	}
	r := reflect.ValueOf(v)
	for i := range r.NumField() {
		f := r.Type().Field(i)
		if slices.Contains(untold, f.Name) || isNothing(r.Field(i)) {
			continue
		}
		name := memberName(f)
		t.closed[name] = r.Field(i).Interface()
		if told, ok := (telling{noun, w.zone}).value(name, r.Field(i)); ok {
			t.open[name] = told
		}
	}
	return t
}

// isNothing tells whether a value is zero or an empty list.
func isNothing(v reflect.Value) bool { return v.IsZero() || v.Kind() == reflect.Slice && v.Len() == 0 }

// text is the testimony as a JSON object; empty where there is no record.
// Errors: those of package json.
func (t testimony) text() (string, error) {
	if len(t.closed) == 0 {
		return "", nil
	}
	text, err := json.Marshal(t.open)
	return string(text), err
}

// differing lists the members that are not the same in both, in order.
func differing(a, b testimony) []string {
	var out []string
	for name, v := range a.closed {
		if !reflect.DeepEqual(v, b.closed[name]) {
			out = append(out, name)
		}
	}
	for name := range b.closed {
		if _, both := a.closed[name]; !both {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// telling turns the values of a noun into what the audit tells of them.
type telling struct {
	noun string
	zone *time.Location
}

// value is what is told of a value at the path of its names; false: nothing.
func (t telling) value(path string, v reflect.Value) (any, bool) {
	switch x := v.Interface().(type) {
	case Moment:
		return x.In(t.zone), !x.Time.IsZero()
	case time.Time:
		return x, !x.IsZero()
	case unit.Measure:
		return map[string]any{"value": x.Value, "unit": x.Unit}, x.Unit != ""
	case AccountID:
		return nil, false
	case string:
		return x, x != "" && slices.Contains(openTexts[t.noun], path)
	}
	switch v.Kind() { //nolint:exhaustive // all others are words and numbers
	case reflect.Pointer:
		if v.IsNil() {
			return nil, false
		}
		return t.value(path, v.Elem())
	case reflect.Slice:
		return t.list(path, v)
	case reflect.Struct:
		return t.object(path, v)
	case reflect.String:
		return v.Interface(), v.Len() > 0
	}
	return v.Interface(), true
}

func (t telling) list(path string, v reflect.Value) (any, bool) {
	var out []any
	for i := range v.Len() {
		if told, ok := t.value(path, v.Index(i)); ok {
			out = append(out, told)
		}
	}
	return out, len(out) > 0
}

func (t telling) object(path string, v reflect.Value) (any, bool) {
	out := map[string]any{}
	for i := range v.NumField() {
		name := memberName(v.Type().Field(i))
		if told, ok := t.value(path+"."+name, v.Field(i)); ok {
			out[name] = told
		}
	}
	return out, len(out) > 0
}

// unitOf are the endings of the names of numbers, by type.
var unitOf = map[reflect.Type]string{
	reflect.TypeFor[unit.Area]():    "_m2",
	reflect.TypeFor[unit.Mass]():    "_mg",
	reflect.TypeFor[unit.Volume]():  "_l",
	reflect.TypeFor[unit.Percent](): "_pct",
	reflect.TypeFor[unit.Celsius](): "_c",
}

// memberName is a field's name in snake_case, with the unit of its number:
// DepthCM is depth_cm, a Surface in square metres surface_m2.
func memberName(f reflect.StructField) string {
	var b strings.Builder
	letters := []rune(f.Name)
	for i, c := range letters {
		small := i+1 < len(letters) && unicode.IsLower(letters[i+1])
		if unicode.IsUpper(c) && i > 0 && (unicode.IsLower(letters[i-1]) || small) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(c))
	}
	kind := f.Type
	if kind.Kind() == reflect.Pointer {
		kind = kind.Elem()
	}
	name, ending := b.String(), unitOf[kind]
	if strings.HasSuffix(name, ending) {
		return name
	}
	return name + ending
}

// nounOf is what the audit calls the noun of a record: bin for a Bin, unless it
// says another.
func nounOf(v any) string {
	if n, ok := v.(interface{ noun() string }); ok {
		return n.noun()
	}
	name := memberName(reflect.StructField{Name: reflect.TypeOf(v).Name(), Type: reflect.TypeOf(v)})
	return strings.ReplaceAll(name, "_", "-")
}

// idOf is the id of a record.
func idOf(v any) string { return reflect.ValueOf(v).FieldByName("ID").String() }
