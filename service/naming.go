package service

import (
	"encoding/json"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"time"
)

// personal is the texts by which a person is known, each with what stands in its
// place from now on.
type personal []swap

type swap struct {
	find    *regexp.Regexp // the text, in any case, at the start of a word
	instead string
}

// add adds a text; none, and one that stands for itself, adds nothing.
func (p *personal) add(text, instead string) {
	if text = strings.TrimSpace(text); text == "" || text == instead {
		return
	}
	find := regexp.MustCompile(`(?i)(^|[^\pL\pN])` + regexp.QuoteMeta(text))
	*p = append(*p, swap{find, instead})
}

// in tells whether a text names the person.
func (p personal) in(text string) bool {
	return slices.ContainsFunc(p, func(s swap) bool { return s.find.MatchString(text) })
}

// replaced is the text with what stands in the place of the person.
func (p personal) replaced(text string) string {
	for _, s := range p {
		text = s.find.ReplaceAllString(text, "${1}"+strings.ReplaceAll(s.instead, "$", "$$"))
	}
	return text
}

// redacted is a JSON text whose strings name the person no more. One that
// doesn't, and what isn't JSON, comes back as it is.
func (p personal) redacted(text string) string {
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	var v any
	if len(p) == 0 || d.Decode(&v) != nil {
		return text
	}
	told, changed := p.without(v)
	if !changed {
		return text
	}
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(told); err != nil {
		return text
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// without is a JSON value whose strings name the person no more, and whether
// that is another.
func (p personal) without(v any) (_ any, changed bool) {
	switch v := v.(type) {
	case string:
		text := p.replaced(v)
		return text, text != v
	case []any:
		for i, item := range v {
			told, other := p.without(item)
			v[i], changed = told, changed || other
		}
	case map[string]any:
		for name, item := range v {
			told, other := p.without(item)
			v[name], changed = told, changed || other
		}
	}
	return v, changed
}

// Mention is a record whose free texts name a person.
type Mention struct {
	Noun    string
	Record  string
	Members []string // that name the person
	Fixed   bool     // append-only: they stay
}

// fixedTexts are the nouns whose texts no call changes.
var fixedTexts = []string{"movement", "census", "harvest", "rework", "transfer", "late-entry", "api-key", "calendar"}

// mentions lists the records of the club whose free texts name the person.
// Errors: the store's.
func (w *work) mentions(p personal) (out []Mention, err error) {
	if len(p) == 0 {
		return nil, nil
	}
	whole := Query{Voided: true}
	for _, look := range []func() error{
		looking(&out, p, w.Sites, Query{}), looking(&out, p, w.Bins, Query{}), looking(&out, p, w.Materials, Query{}),
		looking(&out, p, w.Cultures, Query{}), looking(&out, p, w.Origins, Query{}), looking(&out, p, w.Batches, Query{}),
		looking(&out, p, w.Receipts, whole), looking(&out, p, w.BatchSteps, whole), looking(&out, p, w.Reworks, Query{}),
		looking(&out, p, w.Feedings, whole), looking(&out, p, w.Checks, whole), looking(&out, p, w.Censuses, Query{}),
		looking(&out, p, w.Quarantines, whole), looking(&out, p, w.Identifications, whole), looking(&out, p, w.Contacts, whole), looking(&out, p, w.Clearings, whole), looking(&out, p, w.LateEntries, Query{}),
		looking(&out, p, w.Harvests, Query{}), looking(&out, p, w.Movements, Query{}), looking(&out, p, w.APIKeys, Query{}),
		looking(&out, p, w.Transfers, Query{}), looking(&out, p, w.Offers, Query{}), looking(&out, p, w.Calendars, Query{}), looking(&out, p, w.Webhooks, Query{}),
	} {
		if err := look(); err != nil {
			return nil, err
		}
	}
	if members := p.membersOf(w.Club); len(members) > 0 {
		out = append(out, Mention{"club", idOf(w.Club), members, false})
	}
	return out, nil
}

// looking returns the search through one noun.
func looking[T any, K ~string](out *[]Mention, p personal, of reader[T, K], q Query) func() error {
	return func() error {
		all, err := of.List(q)
		for _, v := range all {
			if members := p.membersOf(v); len(members) > 0 {
				noun := nounOf(v)
				*out = append(*out, Mention{noun, idOf(v), members, slices.Contains(fixedTexts, noun)})
			}
		}
		return err
	}
}

// membersOf lists the members of a record whose free texts name the person. A
// Go string is free text; words and ids have types of their own.
func (p personal) membersOf(record any) (out []string) {
	r := reflect.ValueOf(record)
	for i := range r.NumField() {
		if p.within(r.Field(i)) {
			out = append(out, memberName(r.Type().Field(i)))
		}
	}
	return out
}

func (p personal) within(v reflect.Value) bool {
	if v.Type() == reflect.TypeFor[string]() {
		return p.in(v.String())
	}
	if v.Type() == reflect.TypeFor[time.Time]() {
		return false
	}
	switch v.Kind() { //nolint:exhaustive // all others are words and numbers
	case reflect.Pointer:
		return !v.IsNil() && p.within(v.Elem())
	case reflect.Slice:
		for i := range v.Len() {
			if p.within(v.Index(i)) {
				return true
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if p.within(v.Field(i)) {
				return true
			}
		}
	}
	return false
}
