package auth_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"

	"github.com/golang-jwt/jwt/v5"

	"lumbricary.example/auth"
)

// The key of RFC 8037, appendix A: private part, public part, thumbprint.
// seen-transcription
const (
	rfc8037D  = "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A"
	rfc8037X  = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"
	rfc8037ID = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
)

// rfc8037Key is that key, made at dawn.
func rfc8037Key(tb testing.TB) auth.Key {
	tb.Helper()
	key, err := auth.NewKey(bytes.NewReader(unbase64(tb, rfc8037D)), dawn())
	if err != nil {
		tb.Fatal(err)
	}
	return key
}

func TestAKeyIsNamedByItsThumbprint(t *testing.T) {
	t.Parallel()
	key := rfc8037Key(t)
	if key.ID != rfc8037ID {
		t.Errorf("id %s, want %s", key.ID, rfc8037ID)
	}
	if got := base64.RawURLEncoding.EncodeToString(key.Public()); got != rfc8037X {
		t.Errorf("public part %s, want %s", got, rfc8037X)
	}
	if !key.Created.Equal(dawn()) || !key.Retired.IsZero() {
		t.Errorf("created %v, retired %v", key.Created, key.Retired)
	}
}

func TestTheLibrarySignsAsPublished(t *testing.T) {
	t.Parallel()
	// RFC 8037, appendix A.4. seen-transcription
	const input = "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc"
	const want = "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
	key := rfc8037Key(t)
	got, err := jwt.SigningMethodEdDSA.Sign(input, key.Private)
	if err != nil || base64.RawURLEncoding.EncodeToString(got) != want {
		t.Errorf("%x, %v", got, err)
	}
	if err := jwt.SigningMethodEdDSA.Verify(input, unbase64(t, want), key.Public()); err != nil {
		t.Error(err)
	}
}

func TestAKeyIsReadBackFromPEM(t *testing.T) {
	t.Parallel()
	key := newKey(t, 1, dawn())
	text, err := key.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	read, err := auth.ParseKey(append(text, "\n \n"...))
	if err != nil {
		t.Fatal(err)
	}
	read.Created = key.Created // kept beside the file
	if !reflect.DeepEqual(read, key) {
		t.Error("another key")
	}
}

func TestAKeyInTheFormOfRFC8410IsRead(t *testing.T) {
	t.Parallel()
	// PKCS #8 of the key of RFC 8037: the fixed prefix for Ed25519 (RFC 8410,
	// section 7), then the 32 bytes. computed
	der := append([]byte("\x30\x2e\x02\x01\x00\x30\x05\x06\x03\x2b\x65\x70\x04\x22\x04\x20"), unbase64(t, rfc8037D)...)
	key, err := auth.ParseKey(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}))
	if err != nil || key.ID != rfc8037ID {
		t.Errorf("%s, %v", key, err)
	}
}

func TestWhatIsNotOneEd25519KeyIsRefused(t *testing.T) {
	t.Parallel()
	text, err := newKey(t, 1, dawn()).Marshal()
	if err != nil {
		t.Fatal(err)
	}
	for name, wrong := range map[string][]byte{
		"nothing":       nil,
		"no PEM":        []byte("a key"),
		"another label": bytes.ReplaceAll(text, []byte("PRIVATE KEY"), []byte("OTHER KEY")),
		"two keys":      append(bytes.Clone(text), text...),
		"no PKCS #8":    pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: []byte("key")}),
		"P-256":         p256(t),
	} {
		_, err := auth.ParseKey(wrong)
		if err == nil {
			t.Errorf("%s: accepted", name)
		}
		mustBe(t, err, auth.ErrMalformedKey)
	}
}

// p256 is a well-formed private key of another kind.
func p256(tb testing.TB) []byte {
	tb.Helper()
	key, err := ecdsa.ParseRawPrivateKey(elliptic.P256(), bytes.Repeat([]byte{1}, 32))
	if err != nil {
		tb.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		tb.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
}

func TestTheKeySetShowsThePublicPartsOnly(t *testing.T) {
	t.Parallel()
	set, err := auth.JWKS([]auth.Key{rfc8037Key(t)})
	if err != nil {
		t.Fatal(err)
	}
	want := `{"keys":[{"kty":"OKP","crv":"Ed25519","x":"` + rfc8037X + `","kid":"` + rfc8037ID + `","use":"sig","alg":"EdDSA"}]}`
	if string(set) != want {
		t.Errorf("%s, want %s", set, want)
	}
}

func TestTheKeySetKeepsTheOrderAndIsNeverNull(t *testing.T) {
	t.Parallel()
	if set, err := auth.JWKS(nil); err != nil || string(set) != `{"keys":[]}` {
		t.Errorf("%s, %v", set, err)
	}
	old, young := newKey(t, 1, dawn()), newKey(t, 2, dawn())
	old.Retired = dawn()
	set, err := auth.JWKS([]auth.Key{young, old})
	if err != nil || strings.Index(string(set), young.ID) > strings.Index(string(set), old.ID) || !strings.Contains(string(set), old.ID) {
		t.Errorf("%s, %v", set, err)
	}
}

func TestAnIncompleteKeyIsRefusedEverywhere(t *testing.T) {
	t.Parallel()
	for name, key := range map[string]auth.Key{
		"empty":   {},
		"cut off": {ID: "x", Private: make(ed25519.PrivateKey, 63)},
	} {
		if key.Public() != nil {
			t.Errorf("%s: has a public part", name)
		}
		_, marshalling := key.Marshal()
		mustBe(t, marshalling, auth.ErrMalformedKey)
		_, listing := auth.JWKS([]auth.Key{key})
		mustBe(t, listing, auth.ErrMalformedKey)
		_, _, issuing := issuer(dawn(), key).Issue(t.Context(), auth.Subject{Account: "ada", Session: "one"}, auth.MaxLifetime)
		mustBe(t, issuing, auth.ErrMalformedKey)
		token := forgery{header: map[string]any{"kid": key.ID}}.sign(t, newKey(t, 1, dawn()))
		_, verifying := issuer(dawn(), key).Verify(t.Context(), token)
		mustBe(t, verifying, auth.ErrInvalid)
	}
}

func TestAKeyNeedsRandomness(t *testing.T) {
	t.Parallel()
	_, err := auth.NewKey(exhausted(), dawn())
	mustBe(t, err, io.EOF)
}

func TestNoLogShowsThePrivatePart(t *testing.T) {
	t.Parallel()
	key := newKey(t, 1, dawn())
	asJSON, err := json.Marshal(struct{ Key auth.Key }{key})
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		fmt.Sprint(key), fmt.Sprintf("%+v", []auth.Key{key}), fmt.Sprintf("%#v", key), string(asJSON),
	} {
		if bare := strings.NewReplacer("[", "", "]", "", `{"Key":"`, "", `"}`, "").Replace(text); bare != "key "+key.ID {
			t.Errorf("logged as %s", text)
		}
	}
}
