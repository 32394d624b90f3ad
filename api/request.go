package api

import (
	"context"
	"errors"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"github.com/gin-gonic/gin"
)

// The most that a body may have.
const (
	bodyLimit = 1 << 20
	bigLimit  = 16 << 20 // on routes marked big
)

// request is what a handler is given. The handler may run again, so all it does
// is to call a use-case with ctx and to return an answer.
type request struct {
	ctx     context.Context //nolint:containedctx // of the transaction, where a key makes the call happen once
	server  *Server
	gin     *gin.Context
	route   route
	account service.AccountID // empty on public routes, and where an API key calls
	session service.SessionID // that the access token came from
	keyHash string            // of the API key that calls
	late    string            // why it writes into closed books
	body    []byte
	local   *service.Custom // of the club, once it was asked for; see custom
	err     error           // of a look-up while converting; see custom
}

// run admits the caller, reads the body and calls the handler. Errors: those of
// admit, pace, checkUnits, checkExplain, lateReason, read, the handler.
func (r *request) run() (sent, error) {
	if err := r.admit(); err != nil {
		return sent{}, err
	}
	if err := r.pace(); err != nil {
		return sent{}, err
	}
	if err := r.checkUnits(); err != nil {
		return sent{}, err
	}
	if err := r.checkExplain(); err != nil {
		return sent{}, err
	}
	var err error
	if r.late, err = r.lateReason(); err != nil {
		return sent{}, err
	}
	if err := r.read(); err != nil {
		return sent{}, err
	}
	return r.once()
}

// admit finds out who calls, except on routes that are public or whose path says
// enough.
// Errors: ErrSignIn, ErrTokenExpired, ErrSessionEnded; ErrNoRoute for a path that no text can be.
func (r *request) admit() error {
	for _, p := range r.gin.Params {
		if !storable(p.Value) {
			return service.ErrNoRoute
		}
	}
	if r.route.has(public | linked) {
		return nil
	}
	scheme, token, _ := strings.Cut(r.gin.GetHeader("Authorization"), " ")
	if !strings.EqualFold(scheme, "Bearer") || token == "" {
		return service.ErrSignIn
	}
	if strings.HasPrefix(token, service.APIKeyPrefix) {
		return r.admitKey(token)
	}
	who, err := r.server.Sessions.Identify(r.ctx, strings.TrimSpace(token))
	r.account, r.session = who.Account, who.Session
	return err
}

// admitKey lets in an API key to the addresses of a club, whose books then tell
// whether it is one of theirs. Errors: ErrSignIn.
func (r *request) admitKey(key string) (err error) {
	if !r.route.inClub() {
		return service.ErrSignIn
	}
	r.keyHash, err = r.server.APIKeys.Identify(key)
	return err
}

// storable tells whether both databases can hold the text.
func storable(text string) bool { return utf8.ValidString(text) && !strings.ContainsRune(text, 0) }

// read reads the body, where the method has one. Errors: ErrUnsupported,
// ErrTooLarge, ErrMalformed when it breaks off.
func (r *request) read() error {
	if r.route.method == http.MethodGet || r.route.method == http.MethodDelete || r.route.has(bare) {
		return nil
	}
	media, _, err := mime.ParseMediaType(r.gin.GetHeader("Content-Type"))
	if err != nil || !slices.Contains(r.route.media(), media) {
		return service.ErrUnsupported.With("send %s", strings.Join(r.route.media(), ", "))
	}
	limit := int64(bodyLimit)
	if r.route.has(big) {
		limit = bigLimit
	}
	r.body, err = io.ReadAll(http.MaxBytesReader(r.gin.Writer, r.gin.Request.Body, limit))
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return service.ErrTooLarge.With("the body may have %d bytes", limit)
	}
	if err != nil {
		return service.ErrMalformed.With("the body broke off").Because(err)
	}
	return nil
}

// actor is who calls, in the club that the path names.
func (r *request) actor() service.Actor {
	return service.Actor{Account: r.account, Club: r.param("club"), KeyHash: r.keyHash, Late: r.late}
}

// param is a part of the path.
func (r *request) param(name string) string { return r.gin.Param(name) }

// path is the path as it was called.
func (r *request) path() string { return r.gin.Request.URL.EscapedPath() }

// custom is how the club reads its days and figures. It is looked up when first
// asked for; an error is kept in r.err, which the helpers of noun.go look at
// before they answer.
func (r *request) custom() service.Custom {
	if r.local == nil {
		custom, err := r.server.Clubs.Custom(r.ctx, r.actor())
		if err != nil {
			r.err, custom = errors.Join(r.err, err), service.Custom{Zone: time.UTC, Units: service.Metric}
		}
		r.local = &custom
	}
	return *r.local
}

// zone is the club's time zone, in which days are shown.
func (r *request) zone() *time.Location { return r.custom().Zone }

// units is the system that figures are shown in: what the call asks for, else
// the club's.
func (r *request) units() unit.System {
	if asked := r.gin.Query("units"); asked != "" {
		return unit.System(asked)
	}
	return r.custom().Units
}

// checkUnits looks whether a call of a route that answers figures asks for units
// that there are. Errors: ErrMalformed.
func (r *request) checkUnits() error {
	asked, ok := r.gin.GetQueryArray("units")
	if !ok || !r.route.has(figured) {
		return nil
	}
	var faults service.Faults
	switch {
	case len(asked) > 1:
		faults.Add("?units", "repeated", "give this parameter once")
	case !unit.System(asked[0]).Valid():
		faults.Add("?units", "unknown", "use metric or us")
	default:
		return nil
	}
	return unreadable(faults)
}

// inZone makes a conversion that needs the club's time zone one that doesn't.
func inZone[T, W any](r *request, out func(T, *time.Location) W) func(T) W {
	return func(v T) W { return out(v, r.zone()) }
}
