package service

import (
	"errors"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

const (
	maxNameRunes = 80
	maxNoteRunes = 2000
)

// checkName notes a fault unless name has 1 to 80 printable characters and no
// white space at its ends.
func checkName(faults *Faults, pointer, name string) {
	n := utf8.RuneCountInString(name)
	switch {
	case n == 0:
		faults.Add(pointer, "required", "give a name")
	case n > maxNameRunes || name != strings.TrimSpace(name) || strings.ContainsFunc(name, unicode.IsControl):
		faults.Add(pointer, "format", "a name has 1 to %d printable characters and no space at its ends", maxNameRunes)
	}
}

// checkNote notes a fault when a free text is too long or holds what no text
// does: NUL and other control characters than line ends and tabs.
func checkNote(faults *Faults, pointer, note string) {
	odd := func(r rune) bool { return unicode.IsControl(r) && !strings.ContainsRune("\n\r\t", r) }
	if utf8.RuneCountInString(note) > maxNoteRunes || strings.ContainsFunc(note, odd) {
		faults.Add(pointer, "format", "a text has at most %d characters, and no control characters but line ends and tabs", maxNoteRunes)
	}
}

// checkWord notes a fault unless word is one of words; the empty word passes if
// it is among them.
func checkWord[T ~string](faults *Faults, pointer string, word T, words ...T) {
	if slices.Contains(words, word) {
		return
	}
	var list []string
	for _, w := range words {
		if w != "" {
			list = append(list, string(w))
		}
	}
	code := "unknown"
	if word == "" {
		code = "required"
	}
	faults.Add(pointer, code, "use one of %s", strings.Join(list, ", "))
}

// checkRange notes a fault when v is given and lies outside low to high.
func checkRange[T ~float64](faults *Faults, pointer string, v *T, low, high T) {
	if v != nil && (math.IsNaN(float64(*v)) || *v < low || *v > high) {
		faults.Add(pointer, "range", "use a number from %v to %v", float64(low), float64(high))
	}
}

// checkRef notes a fault when what the request refers to isn't there or doesn't
// fit: an id of another club looks like one that isn't there. A failure of ours
// ends the request; see Faults.Err.
func checkRef(faults *Faults, pointer string, err error) {
	if e, ok := errors.AsType[*Error](err); ok && e.Kind != Internal && e.Kind != Unavailable {
		faults.Add(pointer, e.Code, "%s", e.Detail)
	} else if err != nil {
		*faults = append(*faults, FieldError{Pointer: pointer, cause: err})
	}
}
