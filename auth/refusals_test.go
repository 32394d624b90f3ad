package auth_test

import (
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"maps"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"lumbricary.example/auth"
)

// forgery is a token that differs from a good one in what a test says. The nil
// value of a member leaves it out.
type forgery struct {
	header, claims map[string]any
	method         jwt.SigningMethod
	key            any
}

// sign writes the forgery, by default with the issuer's own key.
func (f forgery) sign(tb testing.TB, own auth.Key) string {
	tb.Helper()
	var method jwt.SigningMethod = jwt.SigningMethodEdDSA
	var key any = own.Private
	if f.method != nil {
		method, key = f.method, f.key
	}
	token := jwt.NewWithClaims(method, jwt.MapClaims{
		"iss": "https://book.example", "aud": "https://book.example/v1", "sub": "ada", "jti": "one",
		"iat": dawn().Unix(), "exp": dawn().Add(10 * time.Minute).Unix(),
	})
	token.Header["typ"], token.Header["kid"] = "at+jwt", own.ID
	alter(token.Header, f.header)
	alter(token.Claims.(jwt.MapClaims), f.claims)
	text, err := token.SignedString(key)
	if err != nil {
		tb.Fatal(err)
	}
	return text
}

// alter applies changes, a nil as a removal.
func alter(members, changes map[string]any) {
	maps.Copy(members, changes)
	maps.DeleteFunc(members, func(_ string, v any) bool { return v == nil })
}

// member is one change.
func member(name string, value any) map[string]any {
	return map[string]any{name: value}
}

func TestTheUnchangedForgeryIsGood(t *testing.T) {
	t.Parallel()
	own := newKey(t, 1, dawn())
	if _, err := issuer(dawn(), own).Verify(t.Context(), forgery{}.sign(t, own)); err != nil {
		t.Error(err)
	}
	within := forgery{claims: map[string]any{
		"iat": dawn().Add(time.Minute).Unix(), "nbf": dawn().Add(time.Minute).Unix(), "exp": dawn().Add(16 * time.Minute).Unix(),
		"aud": []string{"https://book.example/v1"},
	}}
	if _, err := issuer(dawn(), own).Verify(t.Context(), within.sign(t, own)); err != nil {
		t.Errorf("at the edge of what is allowed: %v", err)
	}
}

func TestAForgedHeaderIsRefusedByName(t *testing.T) {
	t.Parallel()
	own, stranger := newKey(t, 1, dawn()), newKey(t, 2, dawn())
	der, err := x509.MarshalPKIXPublicKey(own.Public())
	if err != nil {
		t.Fatal(err)
	}
	asPEM := pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
	itsKey := map[string]any{"kty": "OKP", "crv": "Ed25519", "x": base64.RawURLEncoding.EncodeToString(stranger.Public())}
	for name, c := range map[string]struct {
		forged forgery
		want   auth.Refusal
	}{
		"alg none":                        {forgery{method: jwt.SigningMethodNone, key: jwt.UnsafeAllowNoneSignatureType}, auth.RefusedAlgorithm},
		"HS256 with the public key":       {forgery{method: jwt.SigningMethodHS256, key: []byte(own.Public())}, auth.RefusedAlgorithm},
		"HS256 with the public key's PEM": {forgery{method: jwt.SigningMethodHS256, key: asPEM}, auth.RefusedAlgorithm},
		"alg in other letters":            {forgery{header: member("alg", "eddsa")}, auth.RefusedAlgorithm},
		"alg none in other letters":       {forgery{header: member("alg", "nOnE")}, auth.RefusedAlgorithm},
		"alg of RFC 9864":                 {forgery{header: member("alg", "Ed25519")}, auth.RefusedAlgorithm},
		"alg a list":                      {forgery{header: member("alg", []string{"EdDSA"})}, auth.RefusedAlgorithm},
		"no alg":                          {forgery{header: member("alg", nil)}, auth.RefusedAlgorithm},
		"typ JWT":                         {forgery{header: member("typ", "JWT")}, auth.RefusedType},
		"typ of a certificate":            {forgery{header: member("typ", "vc+jwt")}, auth.RefusedType},
		"typ in capitals":                 {forgery{header: member("typ", "AT+JWT")}, auth.RefusedType},
		"no typ":                          {forgery{header: member("typ", nil)}, auth.RefusedType},
		"crit":                            {forgery{header: map[string]any{"crit": []string{"exp"}, "exp": 1}}, auth.RefusedCritical},
		"crit, empty":                     {forgery{header: member("crit", []string{})}, auth.RefusedCritical},
		"an unknown kid":                  {forgery{header: member("kid", stranger.ID)}, auth.RefusedKey},
		"a kid that is a path":            {forgery{header: member("kid", "../"+own.ID)}, auth.RefusedKey},
		"kid a number":                    {forgery{header: member("kid", 1)}, auth.RefusedKey},
		"no kid":                          {forgery{header: member("kid", nil)}, auth.RefusedKey},
		"signed by a stranger":            {forgery{method: jwt.SigningMethodEdDSA, key: stranger.Private}, auth.RefusedSignature},
		"with its own key along": {forgery{
			method: jwt.SigningMethodEdDSA, key: stranger.Private, header: member("jwk", itsKey),
		}, auth.RefusedSignature},
	} {
		_, err := issuer(dawn(), own).Verify(t.Context(), c.forged.sign(t, own))
		if refusal(err) != c.want || !errors.Is(err, auth.ErrInvalid) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

func TestAForgedClaimIsRefusedByName(t *testing.T) {
	t.Parallel()
	own := newKey(t, 1, dawn())
	at := func(after time.Duration) int64 { return dawn().Add(after).Unix() }
	for name, c := range map[string]struct {
		claims map[string]any
		want   auth.Refusal
	}{
		"another issuer":           {member("iss", "https://other.example"), auth.RefusedIssuer},
		"an issuer that begins so": {member("iss", "https://book.example/"), auth.RefusedIssuer},
		"no issuer":                {member("iss", nil), auth.RefusedIssuer},
		"another audience":         {member("aud", "https://other.example"), auth.RefusedAudience},
		"one audience more":        {member("aud", []string{"https://book.example/v1", "https://other.example"}), auth.RefusedAudience},
		"no audience":              {member("aud", nil), auth.RefusedAudience},
		"nobody":                   {member("sub", ""), auth.RefusedSubject},
		"no subject":               {member("sub", nil), auth.RefusedSubject},
		"no id":                    {member("jti", nil), auth.RefusedID},
		"from the future":          {member("iat", at(61*time.Second)), auth.RefusedIssued},
		"from no time":             {member("iat", nil), auth.RefusedIssued},
		"not valid yet":            {member("nbf", at(61*time.Second)), auth.RefusedEarly},
		"without an end":           {member("exp", nil), auth.RefusedLifetime},
		"for an hour":              {member("exp", at(time.Hour)), auth.RefusedLifetime},
		"expired now":              {member("exp", at(0)), auth.RefusedExpired},
		"long expired":             {map[string]any{"iat": at(-2 * time.Hour), "exp": at(-110 * time.Minute)}, auth.RefusedExpired},
		"expired and foreign":      {map[string]any{"iss": "https://other.example", "exp": at(0)}, auth.RefusedIssuer},
		"a time in words":          {member("exp", "tomorrow"), auth.RefusedForm},
		"a subject that is a list": {member("sub", []string{"ada"}), auth.RefusedForm},
	} {
		_, err := issuer(dawn(), own).Verify(t.Context(), forgery{claims: c.claims}.sign(t, own))
		if refusal(err) != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
		if expired := c.want == auth.RefusedExpired; errors.Is(err, auth.ErrExpired) != expired || errors.Is(err, auth.ErrInvalid) == expired {
			t.Errorf("%s: taken for the wrong one of expired and invalid", name)
		}
	}
}

func TestATokenOutOfShapeIsRefused(t *testing.T) {
	t.Parallel()
	own := newKey(t, 1, dawn())
	good := issue(t, issuer(dawn(), own))
	parts := strings.Split(good, ".")
	encode := base64.RawURLEncoding.EncodeToString
	for name, c := range map[string]struct {
		token string
		want  auth.Refusal
	}{
		"empty":                   {"", auth.RefusedForm},
		"two parts":               {parts[0] + "." + parts[1], auth.RefusedForm},
		"four parts":              {good + ".", auth.RefusedForm},
		"no signature":            {parts[0] + "." + parts[1] + ".", auth.RefusedSignature},
		"half a signature":        {good[:len(good)-42], auth.RefusedSignature},
		"padding":                 {good + "==", auth.RefusedForm},
		"a space before":          {" " + good, auth.RefusedForm},
		"a line break after":      {good + "\n", auth.RefusedForm},
		"a line break within":     {parts[0] + ".\r\n" + parts[1] + "." + parts[2], auth.RefusedForm},
		"the JSON serialisation":  {`{"protected":"` + parts[0] + `","payload":"` + parts[1] + `","signature":"` + parts[2] + `"}`, auth.RefusedForm},
		"header not JSON":         {encode([]byte("header")) + "." + parts[1] + "." + parts[2], auth.RefusedForm},
		"header null":             {encode([]byte("null")) + "." + parts[1] + "." + parts[2], auth.RefusedForm},
		"header of another token": {encode([]byte(`{"alg":"EdDSA","typ":"at+jwt","kid":"`+own.ID+`"} `)) + "." + parts[1] + "." + parts[2], auth.RefusedSignature},
		"claims not JSON":         {parts[0] + "." + encode([]byte("claims")) + "." + parts[2], auth.RefusedForm},
		"claims of another":       {parts[0] + "." + encode([]byte(`{"sub":"eve"}`)) + "." + parts[2], auth.RefusedSignature},
		"over 4 KB":               {good + strings.Repeat("A", 4097-len(good)), auth.RefusedSize},
		"4 KB":                    {good + strings.Repeat("A", 4096-len(good)), auth.RefusedSignature},
	} {
		_, err := issuer(dawn(), own).Verify(t.Context(), c.token)
		if refusal(err) != c.want || !errors.Is(err, auth.ErrInvalid) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

func TestEveryTamperedCharacterIsNoticed(t *testing.T) {
	t.Parallel()
	own := newKey(t, 1, dawn())
	good := issue(t, issuer(dawn(), own))
	for at := range good {
		tampered := []byte(good)
		tampered[at] = 'A'
		if good[at] == 'A' {
			tampered[at] = 'B'
		}
		if _, err := issuer(dawn(), own).Verify(t.Context(), string(tampered)); !errors.Is(err, auth.ErrInvalid) {
			t.Errorf("character %d: %v", at, err)
		}
	}
}

func TestARefusalNamesItsReasonAndKeepsTheToken(t *testing.T) {
	t.Parallel()
	own := newKey(t, 1, dawn())
	token := forgery{header: member("alg", "none-such")}.sign(t, own)
	_, err := issuer(dawn(), own).Verify(t.Context(), token)
	if err.Error() != "auth: token refused: alg" || !errors.Is(err, jwt.ErrTokenUnverifiable) {
		t.Errorf("%v", err)
	}
}

func FuzzVerify(f *testing.F) {
	own := newKey(f, 1, dawn())
	from := issuer(dawn(), own)
	good := issue(f, from)
	for _, seed := range []string{
		good, good + "\n", good[1:], "", "..", "e30.e30.",
		forgery{method: jwt.SigningMethodNone, key: jwt.UnsafeAllowNoneSignatureType}.sign(f, own),
		forgery{claims: member("exp", 1e300)}.sign(f, own),
		forgery{header: member("crit", []string{"exp"})}.sign(f, own),
	} {
		f.Add(seed)
	}
	sum := sha256.Sum256([]byte("a stranger"))
	stranger := ed25519.NewKeyFromSeed(sum[:])
	f.Add(forgery{method: jwt.SigningMethodEdDSA, key: stranger}.sign(f, own))
	f.Fuzz(func(t *testing.T, token string) {
		claims, err := from.Verify(t.Context(), token)
		switch {
		case err == nil && token != good:
			t.Errorf("a second spelling of a token is believed: %+v", claims)
		case err != nil && (claims != auth.Claims{}):
			t.Errorf("claims %+v with error %v", claims, err)
		case err != nil && refusal(err) == "":
			t.Errorf("not a refusal: %v", err)
		}
	})
}
