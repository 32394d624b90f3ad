package api

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// decode reads the body as a W, and is strict about it: unknown and repeated
// members, other types, null for what has a value, and anything after the end
// are refused, each by its pointer. W is made of structs, slices, pointers,
// strings, numbers and booleans. In its tags, omitempty or a pointer makes a
// member optional, validate:"required" makes it needed, and units:"mass volume"
// says what a Quantity may measure.
//
// Errors: ErrMalformed for what can't be read; ErrInvalid where a needed member
// is missing or a unit isn't one.
func decode[W any](r *request) (W, error) { return decodeText[W](r.body) }

// decodeText is decode for a text. Errors: those of decode.
func decodeText[W any](body []byte) (W, error) {
	var w W
	tree, faults, err := parse(body)
	if err != nil {
		return w, err
	}
	m := matching{broken: faults}
	m.value("", reflect.TypeFor[W](), tree)
	if len(m.broken) > 0 {
		return w, unreadable(m.broken)
	}
	if err := m.refused.Err(); err != nil {
		return w, err
	}
	if err := json.Unmarshal(body, &w); err != nil {
		return w, service.ErrMalformed.Because(err)
	}
	return w, nil
}

func unreadable(faults service.Faults) error {
	e := *service.ErrMalformed
	e.Detail, e.Fields = "the request can't be read; see errors", faults
	return &e
}

// parse reads JSON as a tree and notes repeated members. Errors: ErrMalformed
// for a syntax error.
func parse(body []byte) (*node, service.Faults, error) {
	fault := func(format string, a ...any) error {
		var f service.Faults
		f.Add("", "syntax", format, a...)
		return unreadable(f)
	}
	switch {
	case len(body) == 0:
		return nil, nil, fault("the body is empty")
	case !utf8.Valid(body):
		return nil, nil, fault("the body isn't UTF-8")
	}
	var whole json.RawMessage
	if err := json.Unmarshal(body, &whole); err != nil {
		if e, ok := errors.AsType[*json.SyntaxError](err); ok {
			return nil, nil, fault("at byte %d: %s", e.Offset, e.Error())
		}
		return nil, nil, fault("this isn't JSON")
	}
	s := newScan(body)
	tree := s.node("")
	return tree, s.faults, nil
}

// matching compares a tree with a type.
type matching struct {
	broken, refused service.Faults
}

// value compares one value.
func (m *matching) value(pointer string, t reflect.Type, n *node) {
	if t.Kind() == reflect.Pointer {
		if n.kind == nullNode {
			return
		}
		t = t.Elem()
	}
	if n.kind != wanted(t) {
		m.broken.Add(pointer, "type", "give %s, not %s", wanted(t), n.kind)
		return
	}
	switch n.kind {
	case objectNode:
		m.object(pointer, t, n)
	case arrayNode:
		for i, item := range n.items {
			m.value(pointer+"/"+strconv.Itoa(i), t.Elem(), item)
		}
	case numberNode:
		if !fits(t, n.text) {
			m.broken.Add(pointer, "range", "%s is out of range or no whole number", n.text)
		}
	case stringNode, boolNode, nullNode:
	}
}

// nodeOf is the kind of node that each kind of type is read from; all others
// are numbers.
var nodeOf = map[reflect.Kind]nodeKind{
	reflect.Struct: objectNode, reflect.Slice: arrayNode, reflect.String: stringNode, reflect.Bool: boolNode,
}

// wanted is the kind of node that a type is read from.
func wanted(t reflect.Type) nodeKind {
	return cmp.Or(nodeOf[t.Kind()], numberNode)
}

// fits tells whether a number is one of the type.
func fits(t reflect.Type, text string) bool {
	if t.Kind() == reflect.Float64 {
		_, err := strconv.ParseFloat(text, 64)
		return err == nil
	}
	_, err := strconv.ParseInt(text, 10, t.Bits())
	return err == nil
}

// object compares the members of an object with the fields of a struct.
func (m *matching) object(pointer string, t reflect.Type, n *node) {
	seen := map[string]bool{}
	for i, name := range n.names {
		at := pointer + "/" + escape(name)
		f, ok := fieldOf(t, name)
		if !ok {
			m.broken.Add(at, "unknown", "there is no such member")
			continue
		}
		item := n.items[i]
		if item.kind == nullNode && optional(f) {
			continue
		}
		seen[name] = true
		m.value(at, f.Type, item)
		m.units(at, f, item)
	}
	for _, f := range reflect.VisibleFields(t) {
		if name := jsonName(f); f.Tag.Get("validate") == "required" && !seen[name] {
			m.refused.Add(pointer+"/"+name, "required", "give %s", name)
		}
	}
}

func fieldOf(t reflect.Type, name string) (reflect.StructField, bool) {
	fields := reflect.VisibleFields(t)
	i := slices.IndexFunc(fields, func(f reflect.StructField) bool { return !f.Anonymous && jsonName(f) == name })
	if i < 0 {
		return reflect.StructField{}, false
	}
	return fields[i], true
}

func jsonName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	return name
}

func optional(f reflect.StructField) bool {
	return f.Type.Kind() == reflect.Pointer || strings.HasSuffix(f.Tag.Get("json"), ",omitempty")
}

// escape writes a name as a part of a pointer (RFC 6901, section 3).
func escape(name string) string { return strings.NewReplacer("~", "~0", "/", "~1").Replace(name) }

// units checks the unit of a quantity against what its field may measure.
func (m *matching) units(pointer string, f reflect.StructField, n *node) {
	if f.Type != reflect.TypeFor[Quantity]() && f.Type != reflect.TypeFor[*Quantity]() {
		return
	}
	given := n.member("unit")
	dims := dimensions(f.Tag.Get("units"))
	if given == nil || given.kind != stringNode || slices.Contains(dims, unit.DimensionOf(given.text)) {
		return
	}
	m.refused.Add(pointer+"/unit", "unit", "use one of %s", strings.Join(unit.Codes(dims...), ", "))
}

// dimensions reads a units tag; an empty one means all.
func dimensions(tag string) []unit.Dimension {
	var dims []unit.Dimension
	for d := unit.DimMass; d <= unit.DimShare; d++ {
		if tag == "" || slices.Contains(strings.Fields(tag), d.String()) {
			dims = append(dims, d)
		}
	}
	if len(dims) == 0 {
		panic(fmt.Sprintf("api: %q names no dimension", tag))
	}
	return dims
}
