package api

import (
	"strconv"

	"lumbricary.example/service"
)

// again answers a call that comes a second time with an id of the caller's
// choice, see request.again.
func (n noun[T, K, N, W]) again(r *request, conflict error) (answer, error) {
	return r.again(conflict, func(id string) (answer, error) {
		v, err := n.shelf.Get(r.ctx, r.actor(), K(id))
		if err != nil {
			return answer{}, err
		}
		return n.added(r, v)
	})
}

// again answers a call that comes a second time with an id of the caller's
// choice: as the first time when the record, which first answers with, shows
// every member as it was sent, else with the conflict that the use-case found.
// Errors: conflict, those of first.
func (r *request) again(conflict error, first func(id string) (answer, error)) (answer, error) {
	tree, _, err := parse(r.body)
	if err != nil || service.KindOf(conflict) != service.Conflict {
		return answer{}, conflict
	}
	id := tree.member("id")
	if id == nil || id.text == "" {
		return answer{}, conflict
	}
	a, err := first(id.text)
	if service.KindOf(err) == service.NotFound {
		return answer{}, conflict
	}
	if err != nil {
		return answer{}, err
	}
	body, err := encode(a.body)
	if err != nil {
		return answer{}, err
	}
	recorded, _, err := parse(body)
	if err != nil || !tree.within(recorded) {
		return answer{}, conflict
	}
	return a, nil
}

// within tells whether other has all that n has: null says nothing, and an
// object may have more members.
func (n *node) within(other *node) bool {
	switch {
	case n.kind == nullNode:
		return true
	case other == nil || n.kind != other.kind:
		return false
	case n.kind == numberNode:
		return sameNumber(n.text, other.text)
	case n.kind == arrayNode && len(n.items) != len(other.items):
		return false
	}
	for i, item := range n.items {
		match := other.item(i)
		if n.kind == objectNode {
			match = other.member(n.names[i])
		}
		if !item.within(match) {
			return false
		}
	}
	return n.text == other.text
}

func sameNumber(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	return errX == nil && errY == nil && x == y
}
