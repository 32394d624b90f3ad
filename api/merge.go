package api

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"

	"lumbricary.example/service"
)

// merge is what a merge patch makes of a target, which is nil where there is
// none (RFC 7396, section 2). The target stays as it is.
func merge(target, patch *node) *node {
	if patch.kind != objectNode {
		return patch
	}
	out := &node{kind: objectNode}
	if target != nil && target.kind == objectNode {
		out.names, out.items = slices.Clone(target.names), slices.Clone(target.items)
	}
	for i, name := range patch.names {
		if patch.items[i].kind == nullNode {
			out.drop(name)
		} else {
			out.set(name, merge(out.member(name), patch.items[i]))
		}
	}
	return out
}

// set gives the object a member, or the member another value.
func (n *node) set(name string, v *node) {
	if i := slices.Index(n.names, name); i >= 0 {
		n.items[i] = v
		return
	}
	n.names, n.items = append(n.names, name), append(n.items, v)
}

// drop takes a member from the object, if it has it.
func (n *node) drop(name string) {
	if i := slices.Index(n.names, name); i >= 0 {
		n.names, n.items = slices.Delete(n.names, i, i+1), slices.Delete(n.items, i, i+1)
	}
}

// write writes the value as JSON.
func (n *node) write(b *bytes.Buffer) {
	switch n.kind {
	case objectNode:
		b.WriteByte('{')
		for i, item := range n.items {
			if i > 0 {
				b.WriteByte(',')
			}
			quote(b, n.names[i])
			b.WriteByte(':')
			item.write(b)
		}
		b.WriteByte('}')
	case arrayNode:
		b.WriteByte('[')
		for i, item := range n.items {
			if i > 0 {
				b.WriteByte(',')
			}
			item.write(b)
		}
		b.WriteByte(']')
	case stringNode:
		quote(b, n.text)
	case nullNode:
		b.WriteString("null")
	case numberNode, boolNode:
		b.WriteString(n.text)
	}
}

// quote writes a text as JSON.
func quote(b *bytes.Buffer, text string) {
	quoted, _ := json.Marshal(text) //nolint:errchkjson // a text can always be encoded
	b.Write(quoted)
}

// patched is what a merge patch makes of a record that is shown as current, in
// the form in which one is sent. What is shown of a record but not sent can't be
// changed. Errors: ErrMalformed for what can't be read; ErrInvalid for a member
// that can't be changed; those of decode.
func patched[N any](body []byte, current *node) (none N, err error) {
	patch, broken, err := parse(body)
	if err != nil {
		return none, err
	}
	var refused service.Faults
	for _, name := range patch.names {
		_, sent := fieldOf(reflect.TypeFor[N](), name)
		switch {
		case sent && name != "id":
		case current.member(name) == nil:
			broken.Add("/"+escape(name), "unknown", "there is no such member")
		default:
			refused.Add("/"+escape(name), "fixed", "this can't be changed")
		}
	}
	if len(broken) > 0 {
		return none, unreadable(broken)
	}
	if err := refused.Err(); err != nil {
		return none, err
	}
	var text bytes.Buffer
	merge(sendable(reflect.TypeFor[N](), current), patch).write(&text)
	return decodeText[N](text.Bytes())
}

// sendable is what is shown cut down to what is sent as that type: without null,
// and without the members that the type hasn't.
func sendable(t reflect.Type, n *node) *node {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	out := *n
	switch {
	case n.kind == arrayNode && t.Kind() == reflect.Slice:
		out.items = nil
		for _, item := range n.items {
			out.items = append(out.items, sendable(t.Elem(), item))
		}
	case n.kind == objectNode && t.Kind() == reflect.Struct:
		out.names, out.items = nil, nil
		for i, name := range n.names {
			if f, ok := fieldOf(t, name); ok && n.items[i].kind != nullNode {
				out.set(name, sendable(f.Type, n.items[i]))
			}
		}
	}
	return &out
}
