package api

import (
	"bytes"
	"encoding/json"
	"slices"
	"strconv"

	"lumbricary.example/service"
)

// nodeKind is a kind of JSON value, in the words of messages.
type nodeKind string

const (
	objectNode nodeKind = "an object"
	arrayNode  nodeKind = "an array"
	stringNode nodeKind = "a string"
	numberNode nodeKind = "a number"
	boolNode   nodeKind = "true or false"
	nullNode   nodeKind = "null"
)

// node is a JSON value.
type node struct {
	kind  nodeKind
	text  string   // of a string, number or boolean
	names []string // of an object's members, one for each item
	items []*node
}

// member returns the object's member of that name, or nil.
func (n *node) member(name string) *node {
	if i := slices.Index(n.names, name); i >= 0 {
		return n.items[i]
	}
	return nil
}

// item returns the array's item at i, or nil.
func (n *node) item(i int) *node {
	if i >= len(n.items) {
		return nil
	}
	return n.items[i]
}

// scan reads text that is known to be JSON as nodes, and notes what packages
// that read JSON pass over in silence.
type scan struct {
	*json.Decoder
	faults service.Faults
}

func newScan(body []byte) *scan {
	d := json.NewDecoder(bytes.NewReader(body))
	d.UseNumber()
	return &scan{Decoder: d}
}

// node reads one value.
func (s *scan) node(pointer string) *node {
	switch v := s.token().(type) {
	case json.Delim:
		if v == '{' {
			return s.object(pointer)
		}
		return s.array(pointer)
	case string:
		s.check(pointer, v)
		return &node{kind: stringNode, text: v}
	case json.Number:
		return &node{kind: numberNode, text: v.String()}
	case bool:
		return &node{kind: boolNode, text: strconv.FormatBool(v)}
	default:
		return &node{kind: nullNode}
	}
}

func (s *scan) object(pointer string) *node {
	n := &node{kind: objectNode}
	for s.More() {
		name, _ := s.token().(string)
		at := pointer + "/" + escape(name)
		if slices.Contains(n.names, name) {
			s.faults.Add(at, "repeated", "this member comes twice")
		}
		n.names = append(n.names, name)
		n.items = append(n.items, s.node(at))
	}
	s.token()
	return n
}

func (s *scan) array(pointer string) *node {
	n := &node{kind: arrayNode}
	for s.More() {
		n.items = append(n.items, s.node(pointer+"/"+strconv.Itoa(len(n.items))))
	}
	s.token()
	return n
}

// check notes text that no database can hold.
func (s *scan) check(pointer, text string) {
	if !storable(text) {
		s.faults.Add(pointer, "format", "a text can't have the character U+0000")
	}
}

// token returns the next token, or nil at the end.
func (s *scan) token() json.Token {
	t, err := s.Token()
	if err != nil {
		return nil
	}
	return t
}
