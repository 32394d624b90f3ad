package api

import (
	"net/url"
	"slices"
	"strconv"
	"time"

	"lumbricary.example/service"
)

const (
	defaultLimit = 50
	maxLimit     = 100
)

// listing is what a call of a list asks for.
type listing struct {
	service.Query
	scope  string     // what cursors of this list are bound to
	values url.Values // the parameters without limit and cursor
}

// query reads the parameters of a list: limit, cursor, and those of the filters
// bin, member, species, material, batch, kind, terms, noun, record, lot, name, merged, state, voided, open, from, to, order, since and direction that the list has.
// Errors: ErrMalformed for an unknown or repeated parameter or a bad value,
// ErrCursor.
func (r *request) query(filters ...string) (listing, error) {
	values, err := url.ParseQuery(r.gin.Request.URL.RawQuery)
	if err != nil {
		return listing{}, service.ErrMalformed.With("the query can't be read").Because(err)
	}
	q := listing{Query: service.Query{Webhook: service.WebhookID(r.param("webhook"))}, values: values}
	var faults service.Faults
	for _, name := range sortedKeys(values) {
		r.parameter(&q.Query, &faults, filters, name)
	}
	if len(faults) > 0 {
		return listing{}, unreadable(faults)
	}
	if r.err != nil {
		return listing{}, r.err
	}
	q.Limit = limitOf(values.Get("limit"))
	cursor := values.Get("cursor")
	values.Del("limit")
	values.Del("cursor")
	q.scope = r.path() + "?" + values.Encode()
	if cursor != "" {
		q.After, err = r.server.place(q.scope, cursor)
	}
	return q, err
}

// parameter reads one parameter into the query.
func (r *request) parameter(q *service.Query, faults *service.Faults, filters []string, name string) {
	given := r.gin.Request.URL.Query()[name]
	text := given[0]
	filter := slices.Contains(filters, name)
	switch {
	case name == "units" && r.route.has(figured): // see checkUnits
	case name == "explain" && r.route.has(explained): // see checkExplain
	case name != "limit" && name != "cursor" && !filter:
		faults.Add("?"+name, "unknown", "this list has no such parameter")
	case len(given) > 1:
		faults.Add("?"+name, "repeated", "give this parameter once")
	case !storable(text):
		faults.Add("?"+name, "format", "this can't be read")
	case name == "limit":
		if n := limitOf(text); n < 1 || n > maxLimit {
			faults.Add("?limit", "range", "use a whole number from 1 to %d", maxLimit)
		}
	case filter:
		r.filter(q, faults, name, text)
	}
}

// filter sets the filter of that name.
func (r *request) filter(q *service.Query, faults *service.Faults, name, text string) {
	switch name {
	case "voided":
		q.Voided = isTrue(faults, name, text)
	case "merged":
		q.Merged = isTrue(faults, name, text)
	case "open":
		if isTrue(faults, name, text) {
			q.OpenOn = r.server.Now().In(r.zone()).Format(time.DateOnly)
		}
	case "from", "since":
		q.From = r.instant(faults, name, text)
	case "to":
		q.To = r.instant(faults, name, text)
	case "order":
		q.Newest = isSecond(faults, name, text, "oldest", "newest")
	case "direction":
		q.Newest = isSecond(faults, name, text, "forward", "back")
	default:
		only(q, faults, name, text)
	}
}

// only sets the filter of that name, which is an id or a word.
func only(q *service.Query, faults *service.Faults, name, text string) {
	switch name {
	case "bin":
		q.Bin = service.BinID(text)
	case "member":
		q.Member = service.MemberID(text)
	case "species":
		q.Species = service.SpeciesID(text)
	case "material":
		q.Material = service.MaterialID(text)
	case "batch":
		q.Batch = service.BatchID(text)
	case "kind", "terms", "noun":
		q.Kind = text
	case "state":
		if q.Webhook != "" {
			q.Kind = deliveryState(faults, text)
		}
	case "record", "lot":
		q.Record = text
	case "name":
		q.Name = text
	}
}

// instant reads an RFC 3339 time, or a date, which means its first instant in
// the club's time zone.
func (r *request) instant(faults *service.Faults, name, text string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		t, err = time.ParseInLocation(time.DateOnly, text, r.zone())
	}
	if err != nil {
		faults.Add("?"+name, "format", "give an RFC 3339 time or a date")
	}
	return t.UTC()
}

// isTrue reads a yes or no.
func isTrue(faults *service.Faults, name, text string) bool {
	if text != "true" && text != "false" {
		faults.Add("?"+name, "type", "use true or false")
	}
	return text == "true"
}

// isSecond reads the second of two words, or the first.
func isSecond(faults *service.Faults, name, text, first, second string) bool {
	if text != first && text != second {
		faults.Add("?"+name, "unknown", "use %s or %s", first, second)
	}
	return text == second
}

// limitOf reads a limit; 0 is a bad one.
func limitOf(text string) int {
	if text == "" {
		return defaultLimit
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0
	}
	return n
}

func sortedKeys(values url.Values) []string {
	var names []string
	for name := range values {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}
