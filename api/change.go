package api

import (
	"net/http"
	"strings"

	"lumbricary.example/service"
)

// change decodes a merge patch, changes the record that the caller saw, and
// answers with it. Errors: those of guard, patched and the use-case.
func (n noun[T, K, N, W]) change(r *request) (answer, error) {
	v, err := n.seen(r)
	if err != nil {
		return answer{}, err
	}
	current, err := n.current(v)
	if err != nil {
		return answer{}, err
	}
	given, err := patched[N](r.body, current)
	if err != nil {
		return answer{}, err
	}
	out, err := n.shelf.Change(r.ctx, r.actor(), K(r.param(n.name)), n.head(v).version, n.in(given))
	if err != nil {
		return answer{}, repointed(err, n.named)
	}
	return n.changed(r, out)
}

// remove voids or removes the record that the caller saw. Errors: those of guard
// and of the use-case.
func (n noun[T, K, N, W]) remove(r *request) (answer, error) {
	v, err := n.seen(r)
	if err != nil {
		return answer{}, err
	}
	out, err := n.shelf.Remove(r.ctx, r.actor(), K(r.param(n.name)), n.head(v).version)
	if err != nil || !n.voids {
		return answer{status: http.StatusNoContent}, err
	}
	return n.changed(r, out)
}

func (n noun[T, K, N, W]) changed(r *request, v T) (answer, error) {
	body := n.out(v)
	return answer{status: http.StatusOK, version: n.head(v).version, body: body}, r.err
}

// seen is the record that the path names, if it is as the caller saw it. Errors:
// those of the use-case, of guard, and r.err.
func (n noun[T, K, N, W]) seen(r *request) (T, error) {
	v, err := n.shelf.Get(r.ctx, r.actor(), K(r.param(n.name)))
	if err != nil {
		return v, err
	}
	body, err := encode(n.out(v))
	if err != nil {
		return v, err
	}
	if r.err != nil {
		return v, r.err
	}
	return v, r.guard(tag(n.head(v).version, body))
}

// current is a record as it is shown, with what is sent by another name or in
// another form.
func (n noun[T, K, N, W]) current(v T) (*node, error) {
	body, err := encode(n.out(v))
	if err != nil {
		return nil, err
	}
	tree, _, err := parse(body)
	if err == nil && n.resent != nil {
		n.resent(tree)
	}
	return tree, err
}

// guard compares the call's If-Match with the entity tag of what there is, by
// the strong comparison of RFC 9110, section 13.1.1; * stands for whatever there
// is. Errors: ErrUnguarded without an If-Match, ErrStale.
func (r *request) guard(etag string) error {
	header := strings.Join(r.gin.Request.Header.Values("If-Match"), ",")
	if strings.TrimSpace(header) == "" {
		return service.ErrUnguarded
	}
	for item := range strings.SplitSeq(header, ",") {
		item = strings.TrimSpace(item)
		if item == "*" || item == etag && !strings.HasPrefix(etag, "W/") {
			return nil
		}
	}
	return service.ErrStale
}
