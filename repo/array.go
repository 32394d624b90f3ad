package repo

// each returns f of every element, and nil for none.
func each[A, B any](as []A, f func(A) B) []B {
	var out []B
	for _, a := range as {
		out = append(out, f(a))
	}
	return out
}

// toArray returns s as a text column that holds a JSON array, "[]" for none.
func toArray[T any](s []T) string {
	if len(s) == 0 {
		return "[]"
	}
	return toJSON(s)
}

// fromArray undoes toArray; it returns nil for none.
func fromArray[T any](text string) []T {
	if s := fromJSON[[]T](text); len(s) > 0 {
		return s
	}
	return nil
}
