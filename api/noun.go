package api

import (
	"net/http"
	"net/url"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/working"
)

// head is what every record of a club has.
type head struct {
	id      string
	version int64     // 1 for what never changes
	at      time.Time // the moment of a dated record, by which its list is ordered
}

// noun is how a noun of a club is shown: N is a new one on the wire, W one on
// record.
type noun[T any, K ~string, N, W any] struct {
	name    string // of the path's parameter, as bin
	shelf   service.Shelf[T, K]
	in      func(N) T // nil: not added by callers
	out     func(T) W
	head    func(T) head
	filters []string                          // the parameters of its list; see query
	voids   bool                              // what is removed stays, as voided
	named   map[string]string                 // pointers of use-cases by what the wire calls the member
	explain func(T) ([]working.Figure, error) // says how its figures came about; nil: it has none
	resent  func(*node)                       // adds to what is shown what is sent by another name
}

// add decodes a new one, records it, and answers 201. A call that comes again
// with the same id and the same members is answered as the first was. Errors:
// those of decode and of the use-case.
func (n noun[T, K, N, W]) add(r *request) (answer, error) {
	given, err := decode[N](r)
	if err != nil {
		return answer{}, err
	}
	v, err := n.shelf.Add(r.ctx, r.actor(), n.in(given))
	if err != nil {
		return n.again(r, repointed(err, n.named))
	}
	return n.added(r, v)
}

// added is the answer that shows a new record. Errors: r.err.
func (n noun[T, K, N, W]) added(r *request, v T) (answer, error) {
	h, body := n.head(v), n.out(v)
	return answer{status: http.StatusCreated, location: r.path() + "/" + h.id, version: h.version, body: body}, r.err
}

// get answers with one. Errors: those of the use-case.
func (n noun[T, K, N, W]) get(r *request) (answer, error) {
	v, err := n.shelf.Get(r.ctx, r.actor(), K(r.param(n.name)))
	if err != nil {
		return answer{}, err
	}
	body := n.out(v)
	a := answer{status: http.StatusOK, version: n.head(v).version, body: &body}
	if n.explain == nil {
		return a, r.err
	}
	return r.explain(a, func() ([]working.Figure, error) { return n.explain(v) })
}

// list answers with a page. Errors: those of query and of the use-case.
func (n noun[T, K, N, W]) list(r *request) (answer, error) {
	q, err := r.query(n.filters...)
	if err != nil {
		return answer{}, err
	}
	more := q.Query
	more.Limit++ // one more tells whether there is a next page
	items, err := n.shelf.List(r.ctx, r.actor(), more)
	if err != nil {
		return answer{}, err
	}
	a := page(r, q, items, n.head, n.out)
	return a, r.err
}

// Page is a part of a list.
type Page[W any] struct {
	Items      []W     `json:"items" validate:"required"`
	NextCursor *string `json:"next_cursor" extensions:"x-nullable" validate:"required"` // null at the end
}

// page makes an answer of up to limit+1 items, and says how to go on.
func page[T, W any](r *request, q listing, items []T, head func(T) head, out func(T) W) answer {
	p := Page[W]{Items: make([]W, 0, len(items))}
	a := answer{status: http.StatusOK}
	if len(items) > q.Limit {
		items = items[:q.Limit]
		last := head(items[q.Limit-1])
		next := r.server.cursor(q.scope, service.Place{At: last.at, ID: last.id})
		p.NextCursor = &next
		a.link = r.nextLink(q, next)
	}
	for _, v := range items {
		p.Items = append(p.Items, out(v))
	}
	a.body = p
	return a
}

// nextLink is the Link header that leads to the next page (RFC 8288).
func (r *request) nextLink(q listing, cursor string) string {
	values := url.Values{"cursor": {cursor}}
	for name, v := range q.values {
		values[name] = v
	}
	if limit := r.gin.Query("limit"); limit != "" {
		values.Set("limit", limit)
	}
	return "<" + r.server.PublicURL + r.path() + "?" + values.Encode() + `>; rel="next"`
}

// orNull is v on the wire: null where it is nothing.
func orNull[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}

// timeOrNull is t on the wire: null where it is no time.
func timeOrNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
