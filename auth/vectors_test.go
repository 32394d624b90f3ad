package auth_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rsa"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/golang-jwt/jwt/v5"

	"lumbricary.example/auth"
)

// vectorFile is C2SP/wycheproof's testvectors_v1/json_web_signature_test.json,
// as far as it is used here.
type vectorFile struct {
	TestGroups []struct {
		Public  *vectorKey `json:"public"`
		Private vectorKey  `json:"private"`
		Tests   []vector   `json:"tests"`
	} `json:"testGroups"`
}

// vectorKey is a JSON Web Key of one of the kinds in the file.
type vectorKey struct {
	KeyType   string `json:"kty"`
	Algorithm string `json:"alg"`
	N, E      string // RSA
	X, Y      string // P-256 or P-521, as Curve says
	Curve     string `json:"crv"`
	K         string // oct
}

// vector is one signature with the file's opinion of it.
type vector struct {
	ID      int    `json:"tcId"`
	Comment string `json:"comment"`
	JWS     string `json:"jws"`
	Result  string `json:"result"`
}

// vectors reads the file from the folder named by LUMBRICARY_VECTORS, or skips
// the test when nothing is named.
func vectors(t *testing.T) vectorFile {
	t.Helper()
	folder := os.Getenv("LUMBRICARY_VECTORS")
	if folder == "" {
		t.Skip("LUMBRICARY_VECTORS names no folder with wycheproof's vectors")
	}
	text, err := os.ReadFile(filepath.Join(folder, "wycheproof", "json_web_signature_test.json"))
	if err != nil {
		t.Fatal(err)
	}
	var file vectorFile
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestTheLibraryAgreesWithWycheproofOnSignatures(t *testing.T) {
	t.Parallel()
	known := []int{
		281, 282, 283, 284, 285, 286, // PSS with another salt length: the library takes any
		346, 347, 350, 351, // the key is labelled with another algorithm than the token
		367, 370, // the same text as a valid vector
		372, 373, // a question mark within base64, called valid
	}
	var differing []int
	compared := 0
	for _, group := range vectors(t).TestGroups {
		key := group.Private
		if group.Public != nil {
			key = *group.Public
		}
		for _, v := range group.Tests {
			compared++
			if err := verifySignature(v.JWS, key); (err == nil) != (v.Result == "valid") {
				differing = append(differing, v.ID)
			}
		}
	}
	if compared != 401 || !slices.Equal(differing, known) {
		t.Errorf("%d compared, differing on %v; want 401 and %v", compared, differing, known)
	}
}

func TestNoWycheproofTokenIsBelieved(t *testing.T) {
	t.Parallel()
	from := issuer(dawn(), newKey(t, 1, dawn()))
	refused := 0
	for _, group := range vectors(t).TestGroups {
		for _, v := range group.Tests {
			if _, err := from.Verify(t.Context(), v.JWS); !errors.Is(err, auth.ErrInvalid) {
				t.Errorf("%d (%s): %v", v.ID, v.Comment, err)
			}
			refused++
		}
	}
	if refused != 401 {
		t.Errorf("%d refused, want 401", refused)
	}
}

// verifySignature verifies a compact token of any payload with the library, by
// the rules this package holds to: strict base64, the key's own algorithm, no
// crit.
func verifySignature(token string, key vectorKey) error {
	parts := strings.Split(token, ".")
	if len(parts) != 3 {
		return fmt.Errorf("%d parts", len(parts))
	}
	decoded := make([][]byte, len(parts))
	parser := jwt.NewParser(jwt.WithStrictDecoding())
	for i, part := range parts {
		var err error
		if decoded[i], err = parser.DecodeSegment(part); err != nil {
			return err
		}
	}
	var header map[string]any
	if err := json.Unmarshal(decoded[0], &header); err != nil {
		return err
	}
	if _, demands := header["crit"]; demands || header["alg"] != key.Algorithm {
		return fmt.Errorf("header %v for a key of %s", header, key.Algorithm)
	}
	method := jwt.GetSigningMethod(key.Algorithm)
	if method == nil {
		return fmt.Errorf("algorithm %q", key.Algorithm)
	}
	public, err := key.public()
	if err != nil {
		return err
	}
	return method.Verify(parts[0]+"."+parts[1], decoded[2], public)
}

// public is the key in the form the library takes.
func (k vectorKey) public() (any, error) {
	integer := func(text string) *big.Int {
		b, err := base64.RawURLEncoding.DecodeString(text)
		if err != nil {
			return new(big.Int)
		}
		return new(big.Int).SetBytes(b)
	}
	switch k.KeyType + k.Curve {
	case "oct":
		return base64.RawURLEncoding.DecodeString(k.K)
	case "RSA":
		return &rsa.PublicKey{N: integer(k.N), E: int(integer(k.E).Int64())}, nil
	case "ECP-256":
		return ecdsa.ParseUncompressedPublicKey(elliptic.P256(), slices.Concat([]byte{4}, integer(k.X).FillBytes(make([]byte, 32)), integer(k.Y).FillBytes(make([]byte, 32))))
	default:
		return nil, fmt.Errorf("key of kind %s %s", k.KeyType, k.Curve)
	}
}
