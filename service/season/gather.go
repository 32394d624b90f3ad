package season

import (
	"maps"
	"slices"
	"time"
)

// key is what rows are told apart and ordered by.
type key [3]string

// gathered is the facts of one key, in the order given.
type gathered[T any] struct {
	key key
	of  []T
}

// gather sorts facts into rows, in the order of their keys.
func gather[T any](facts []T, by func(T) key) []gathered[T] {
	rows := map[key][]T{}
	for _, f := range facts {
		k := by(f)
		rows[k] = append(rows[k], f)
	}
	var out []gathered[T]
	for _, k := range slices.SortedFunc(maps.Keys(rows), func(a, b key) int { return slices.Compare(a[:], b[:]) }) {
		out = append(out, gathered[T]{k, rows[k]})
	}
	return out
}

// within returns the facts dated inside p.
func within[T any](facts []T, p Period, at func(T) time.Time) []T {
	var out []T
	for _, f := range facts {
		if p.Contains(at(f)) {
			out = append(out, f)
		}
	}
	return out
}

// distinct returns the ids once each, sorted.
func distinct(ids []string) []string { return slices.Compact(slices.Sorted(slices.Values(ids))) }
