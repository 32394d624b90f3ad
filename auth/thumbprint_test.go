package auth

import (
	"encoding/base64"
	"testing"
)

func TestThumbprintsAreThePublishedOnes(t *testing.T) {
	t.Parallel()
	public, err := base64.RawURLEncoding.DecodeString("11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		members map[string]string
		want    string
	}{
		// RFC 8037, appendix A.3. seen-transcription
		"Ed25519": {okp(public), "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"},
		// RFC 7638, section 3.1. seen-transcription
		"RSA": {map[string]string{
			"kty": "RSA",
			"e":   "AQAB",
			"n": "0vx7agoebGcQSuuPiLJXZptN9nndrQmbXEps2aiAFbWhM78LhWx4cbbfAAtVT86zwu1RK7aPFFxuhDR1L6tSoc_BJECPebWKRXjBZCiFV4n3oknjhMstn64tZ_2W" +
				"-5JsGY4Hc5n9yBXArwl93lqt7_RN5w6Cf0h4QyQ5v-65YGjQR0_FDW2QvzqY368QQMicAtaSqzs8KJZgnYb9c7d0zgdAZHzu6qMQvRL5hajrn1n91CbOpbISD08qNLyrdkt" +
				"-bFTWhAI4vMQFh6WeZu0fM4lFd2NcRwr3XPksINHaQ-G_xBniIqbw0Ls1jF44-csFCur-kEgU8awapJzKnqDKgw",
		}, "NzbLsXh8uDCcd-6MNwXF4W_7noWXFZAfHkxZsRGC9Xs"},
	} {
		if got := thumbprint(c.members); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}
