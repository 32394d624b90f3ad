package service

import (
	"slices"
	"testing"
)

func TestANameIsFoundAtTheStartOfAWordInAnyCase(t *testing.T) {
	t.Parallel()
	var p personal
	p.add("Ana", "former member 1")
	p.add("", "nothing")
	for text, want := range map[string]string{
		"ANA's tote": "former member 1's tote", "by Ana": "by former member 1", "banana": "banana", "Anas Kiste": "former member 1s Kiste", "": "",
	} {
		if got := p.replaced(text); got != want || p.in(text) != (want != text) {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

func TestAKeptAnswerIsRedactedAndElseStaysByteByByte(t *testing.T) {
	t.Parallel()
	var p personal
	p.add(`Ana "A" <Lima>`, "former member $1")
	const told = `{"n":1.50,"items":[{"name":"Ana \"A\" <Lima>"}]}`
	if got, want := p.redacted(told), `{"items":[{"name":"former member $1"}],"n":1.50}`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	for _, text := range []string{`{ "z":1, "a":"Ana" }`, "no JSON: Ana", ""} {
		if got := p.redacted(text); got != text {
			t.Errorf("%q became %q", text, got)
		}
	}
}

func TestEveryFreeTextOfARecordIsLookedAtAndNoWordOrID(t *testing.T) {
	t.Parallel()
	var p personal
	p.add("Ana", "former member 1")
	check := Check{ID: "Ana", Bin: "Ana", Note: "Ana", Cover: "of Ana", Pests: []string{"mites", "Ana's"}, Squeeze: "Ana"}
	if got := p.membersOf(check); !slices.Equal(got, []string{"pests", "cover", "note"}) {
		t.Errorf("%v", got)
	}
	if got := p.membersOf(Movement{Party: "Ana", Reason: "Ana", Lines: []Line{{Basis: "Ana"}}}); !slices.Equal(got, []string{"lines", "party", "reason"}) {
		t.Errorf("%v", got)
	}
}
