package api

import (
	"strings"
	"testing"
)

func TestAKeyIsAQuotedStringOrABareToken(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("k", maxKey)
	for header, want := range map[string]string{
		`"8e03978e-40d5-43dd-bc93-6894a57f9324"`: "8e03978e-40d5-43dd-bc93-6894a57f9324",
		`8e03978e-40d5-43dd-bc93-6894a57f9324`:   "8e03978e-40d5-43dd-bc93-6894a57f9324",
		`"a \"b\" \\c"`:                          `a "b" \c`,
		`"two words"`:                            "two words",
		long:                                     long,
		`"` + long + `"`:                         long,
	} {
		if got, ok := parseKey(header); !ok || got != want {
			t.Errorf("%s is %q, %v", header, got, ok)
		}
	}
	for _, header := range []string{`"`, `""`, `"a`, `a"`, `"a"b"`, `"a\"`, `"a\b"`, `two words`, `a;b`, `a,b`, "é", "\"\t\"", long + "k"} {
		if got, ok := parseKey(header); ok {
			t.Errorf("%s is %q", header, got)
		}
	}
}
