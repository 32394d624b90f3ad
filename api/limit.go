package api

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"strconv"
	"sync"
	"time"

	"lumbricary.example/service"

	"golang.org/x/time/rate"
)

// Allowance is how many calls a caller has: a bucket of Burst calls, into which
// PerMinute calls flow. The zero value sets no limit.
type Allowance struct {
	PerMinute float64
	Burst     int
}

// Limits are the allowances of the service.
type Limits struct {
	Calls   Allowance // of a principal in a club; on public routes of an address
	Address Allowance // of an address, on routes that prove or set a passphrase
	Account Allowance // of an account from one address, on the same routes
}

// ReadLimits reads the limits from settings: CALLS_PER_MINUTE, CALLS_BURST,
// SIGN_INS_PER_MINUTE and SIGN_INS_BURST, 0 for no limit. An account from one
// address has a tenth of an address's sign-ins each minute. Errors: a setting
// that is no whole number.
func ReadLimits(setting func(string) string) (Limits, error) {
	var wrong error
	number := func(name string, or int) int {
		text := setting(name)
		if text == "" {
			return or
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 {
			wrong = errors.Join(wrong, fmt.Errorf("%s is %q; use a whole number", name, text))
		}
		return n
	}
	l := Limits{
		Calls:   Allowance{float64(number("CALLS_PER_MINUTE", 600)), number("CALLS_BURST", 120)},
		Address: Allowance{float64(number("SIGN_INS_PER_MINUTE", 30)), number("SIGN_INS_BURST", 60)},
	}
	l.Account = Allowance{l.Address.PerMinute / 10, (l.Address.Burst + 5) / 6}
	return l, wrong
}

// mostBuckets is how many callers a limiter remembers.
const mostBuckets = 100_000

// limiter keeps a bucket for each caller. A full bucket is like none, so that
// idle callers are forgotten. A nil limiter has no limit.
type limiter struct {
	name string
	of   Allowance
	now  func() time.Time

	mu      sync.Mutex
	buckets map[[sha256.Size]byte]*rate.Limiter
	swept   time.Time
}

func newLimiter(name string, of Allowance, now func() time.Time) *limiter {
	if of.PerMinute <= 0 || of.Burst <= 0 {
		return nil
	}
	return &limiter{name: name, of: of, now: now, buckets: map[[sha256.Size]byte]*rate.Limiter{}, swept: now()}
}

// standing is how a caller stands with a limiter after a call.
type standing struct {
	left  int           // calls left now
	reset time.Duration // until the bucket is full again
	wait  time.Duration // until the call would be let through; 0: it was
}

// take takes a call from the bucket of a caller, if it has one.
func (l *limiter) take(caller string) standing {
	key := sha256.Sum256([]byte(caller))
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	l.sweep(now)
	b := l.buckets[key]
	if b == nil {
		b = rate.NewLimiter(rate.Limit(l.of.PerMinute/60), l.of.Burst)
		l.buckets[key] = b
	}
	var s standing
	if r := b.ReserveN(now, 1); r.DelayFrom(now) > 0 {
		s.wait = r.DelayFrom(now)
		r.CancelAt(now)
	}
	left := max(0, b.TokensAt(now))
	s.left, s.reset = int(left), l.filling(float64(l.of.Burst)-left)
	return s
}

// filling is how long it takes for so many calls to flow in.
func (l *limiter) filling(calls float64) time.Duration {
	return time.Duration(calls / l.of.PerMinute * float64(time.Minute))
}

// sweep forgets the callers whose buckets are full, now and then, and anybody
// when there are too many.
func (l *limiter) sweep(now time.Time) {
	full := len(l.buckets) >= mostBuckets
	if !full && now.Sub(l.swept) < l.filling(float64(l.of.Burst)) {
		return
	}
	l.swept = now
	for key, b := range l.buckets {
		if b.TokensAt(now) >= float64(l.of.Burst) {
			delete(l.buckets, key)
		}
	}
	for key := range l.buckets {
		if len(l.buckets) < mostBuckets {
			return
		}
		delete(l.buckets, key)
	}
}

// limiters are the limiters of the service.
type limiters struct{ calls, address, account *limiter }

func newLimiters(of Limits, now func() time.Time) limiters {
	return limiters{
		calls:   newLimiter("calls", of.Calls, now),
		address: newLimiter("address", of.Address, now),
		account: newLimiter("account", of.Account, now),
	}
}

// spend takes a call from the caller's bucket and says in the headers how it
// stands (draft-ietf-httpapi-ratelimit-headers). Errors: ErrLimited.
func (r *request) spend(l *limiter, caller string) error {
	if l == nil {
		return nil
	}
	s := l.take(caller)
	h := r.gin.Writer.Header()
	h.Add("RateLimit-Policy", fmt.Sprintf("%q;q=%d;w=%d", l.name, l.of.Burst, seconds(l.filling(float64(l.of.Burst)))))
	h.Add("RateLimit", fmt.Sprintf("%q;r=%d;t=%d", l.name, s.left, seconds(s.reset)))
	if s.wait == 0 {
		return nil
	}
	limited := *service.ErrLimited
	limited.RetryAfter = s.wait
	return &limited
}

// seconds rounds up.
func seconds(d time.Duration) int { return int(math.Ceil(d.Seconds())) }

// pace holds the caller to its allowance of calls: the account or API key in
// the club of the path, on public routes the address. Health is for all to ask.
// Errors: ErrLimited.
func (r *request) pace() error {
	if !r.route.versioned() {
		return nil
	}
	if caller := string(r.account) + r.keyHash; caller != "" {
		return r.spend(r.server.limits.calls, caller+" "+r.param("club"))
	}
	return r.spend(r.server.limits.calls, r.addressPrefix())
}

// knock is called before a passphrase is hashed: by address, then by account
// and address, so that nobody is locked out by somebody elsewhere. Errors:
// ErrLimited.
func (r *request) knock(account string) error {
	from := r.addressPrefix()
	if err := r.spend(r.server.limits.address, from); err != nil || account == "" {
		return err
	}
	return r.spend(r.server.limits.account, service.NormalEmail(account)+" "+from)
}
