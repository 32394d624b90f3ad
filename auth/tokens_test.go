package auth_test

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"lumbricary.example/auth"
)

func TestATokenIsBelievedUntilItExpires(t *testing.T) {
	t.Parallel()
	key := newKey(t, 1, dawn())
	token, expires, err := issuer(dawn(), key).Issue(t.Context(), auth.Subject{Account: "ada", Session: "one"}, auth.MaxLifetime)
	if err != nil || !expires.Equal(dawn().Add(15*time.Minute)) {
		t.Fatalf("expires %v, %v", expires, err)
	}
	for _, moment := range []time.Time{dawn(), expires.Add(-time.Nanosecond)} {
		claims, err := issuer(moment, key).Verify(t.Context(), token)
		want := auth.Claims{ID: claims.ID, Subject: auth.Subject{Account: "ada", Session: "one"}, Issued: dawn(), Expires: expires}
		if err != nil || claims != want || claims.ID == "" {
			t.Errorf("at %v: %+v, %v", moment, claims, err)
		}
	}
	_, err = issuer(expires, key).Verify(t.Context(), token)
	mustBe(t, err, auth.ErrExpired)
	if errors.Is(err, auth.ErrInvalid) {
		t.Error("an expired token is also called invalid")
	}
}

func TestATokenOnTheWireIsAsTheStandardsSay(t *testing.T) {
	t.Parallel()
	parts := strings.Split(issue(t, issuer(dawn(), rfc8037Key(t))), ".")
	var header, claims map[string]any
	if err := errors.Join(json.Unmarshal(unbase64(t, parts[0]), &header), json.Unmarshal(unbase64(t, parts[1]), &claims)); err != nil {
		t.Fatal(err)
	}
	if len(header) != 3 || header["alg"] != "EdDSA" || header["typ"] != "at+jwt" || header["kid"] != rfc8037ID {
		t.Errorf("header %v", header)
	}
	for name, want := range map[string]any{
		"iss": "https://book.example", "sub": "ada", "sid": "one",
		"iat": float64(dawn().Unix()), "exp": float64(dawn().Unix() + 600),
	} {
		if claims[name] != want {
			t.Errorf("%s is %v, want %v", name, claims[name], want)
		}
	}
	if id, _ := claims["jti"].(string); len(id) != 22 || len(claims) != 7 { // 16 bytes in base64
		t.Errorf("claims %v", claims)
	}
}

func TestTimesOfATokenAreWholeSecondsAndNeverLate(t *testing.T) {
	t.Parallel()
	key := newKey(t, 1, dawn())
	_, expires, err := issuer(dawn().Add(900*time.Millisecond), key).Issue(t.Context(), auth.Subject{Account: "ada", Session: "one"}, 1900*time.Millisecond)
	if err != nil || !expires.Equal(dawn().Add(time.Second)) {
		t.Errorf("expires %v, %v", expires, err)
	}
}

func TestNoTwoTokensAreTheSame(t *testing.T) {
	t.Parallel()
	from := issuer(dawn(), newKey(t, 1, dawn()))
	from.Rand = nil // the machine's own
	one, other := issue(t, from), issue(t, from)
	if one == other {
		t.Error("two tokens are the same")
	}
}

func TestATokenIsForSomebodyAndForAWhile(t *testing.T) {
	t.Parallel()
	from := issuer(dawn(), newKey(t, 1, dawn()))
	for name, c := range map[string]struct {
		account string
		ttl     time.Duration
		want    error
	}{
		"nobody":          {"", time.Minute, auth.ErrAccount},
		"no time":         {"ada", 0, auth.ErrLifetime},
		"backwards":       {"ada", -time.Minute, auth.ErrLifetime},
		"under a second":  {"ada", time.Second - 1, auth.ErrLifetime},
		"over 15 minutes": {"ada", auth.MaxLifetime + 1, auth.ErrLifetime},
	} {
		token, _, err := from.Issue(t.Context(), auth.Subject{Account: c.account}, c.ttl)
		if token != "" || !errors.Is(err, c.want) {
			t.Errorf("%s: %q, %v", name, token, err)
		}
	}
}

func TestTheNewestKeyInUseSigns(t *testing.T) {
	t.Parallel()
	old, young := newKey(t, 1, dawn().Add(-time.Hour)), newKey(t, 2, dawn())
	gone := newKey(t, 3, dawn().Add(time.Hour))
	gone.Retired = dawn()
	for _, keys := range [][]auth.Key{{old, young, gone}, {gone, young, old}} {
		token := issue(t, issuer(dawn(), keys...))
		if _, err := issuer(dawn(), young).Verify(t.Context(), token); err != nil {
			t.Errorf("not signed by the newest: %v", err)
		}
	}
}

func TestOfTwoKeysMadeAtOnceTheSameOneSigns(t *testing.T) {
	t.Parallel()
	a, b := newKey(t, 1, dawn()), newKey(t, 2, dawn())
	if issue(t, issuer(dawn(), a, b)) != issue(t, issuer(dawn(), b, a)) {
		t.Error("the order of the list decides")
	}
}

func TestARetiredKeyVerifiesWhatItSignedAndNothingLater(t *testing.T) {
	t.Parallel()
	key := newKey(t, 1, dawn())
	retired := key
	retired.Retired = dawn()
	for after, want := range map[time.Duration]auth.Refusal{
		0: "", time.Minute: "", time.Minute + time.Second: auth.RefusedRetired,
	} {
		token := issue(t, issuer(dawn().Add(after), key)) // by a copy that hasn't heard
		_, err := issuer(dawn().Add(2*time.Minute), retired, newKey(t, 2, dawn())).Verify(t.Context(), token)
		if got := refusal(err); got != want {
			t.Errorf("%v after retiring: %v, want %q", after, err, want)
		}
	}
}

func TestWithoutAKeyInUseNothingIsSigned(t *testing.T) {
	t.Parallel()
	retired := newKey(t, 1, dawn())
	retired.Retired = dawn()
	for _, from := range []auth.Issuer{issuer(dawn()), issuer(dawn(), retired)} {
		_, _, err := from.Issue(t.Context(), auth.Subject{Account: "ada", Session: "one"}, time.Minute)
		mustBe(t, err, auth.ErrNoKey)
	}
}

func TestAFailureToReadTheKeysIsNotTheTokensFault(t *testing.T) {
	t.Parallel()
	good := issuer(dawn(), newKey(t, 1, dawn()))
	broken := good
	broken.Keys = func(context.Context) ([]auth.Key, error) { return nil, io.ErrUnexpectedEOF }
	_, _, issuing := broken.Issue(t.Context(), auth.Subject{Account: "ada", Session: "one"}, time.Minute)
	mustBe(t, issuing, io.ErrUnexpectedEOF)
	_, verifying := broken.Verify(t.Context(), issue(t, good))
	mustBe(t, verifying, io.ErrUnexpectedEOF)
	if errors.Is(verifying, auth.ErrInvalid) || errors.Is(verifying, auth.ErrExpired) {
		t.Error("the token is blamed")
	}
}

func TestATokenNeedsRandomness(t *testing.T) {
	t.Parallel()
	from := issuer(dawn(), newKey(t, 1, dawn()))
	from.Rand = exhausted()
	_, _, err := from.Issue(t.Context(), auth.Subject{Account: "ada", Session: "one"}, time.Minute)
	mustBe(t, err, io.EOF)
}

func BenchmarkIssue(b *testing.B) {
	from := issuer(dawn(), newKey(b, 1, dawn()))
	for b.Loop() {
		issue(b, from)
	}
}

func BenchmarkVerify(b *testing.B) {
	from := issuer(dawn(), newKey(b, 1, dawn()))
	token := issue(b, from)
	for b.Loop() {
		if _, err := from.Verify(b.Context(), token); err != nil {
			b.Fatal(err)
		}
	}
}

// refusal is why a token was refused, or "".
func refusal(err error) auth.Refusal {
	if refused, ok := errors.AsType[*auth.TokenError](err); ok {
		return refused.Refusal
	}
	return ""
}
