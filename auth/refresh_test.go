package auth_test

import (
	"errors"
	"strings"
	"testing"

	"lumbricary.example/auth"
)

const family = "01970000-0000-7000-8000-0000000000ab"

func refreshToken(tb testing.TB, generation uint32) string {
	tb.Helper()
	text, err := auth.RefreshToken{Family: family, Generation: generation}.Sign([]byte("key"))
	if err != nil {
		tb.Fatal(err)
	}
	return text
}

func TestARefreshTokenSaysItsFamilyAndGeneration(t *testing.T) {
	t.Parallel()
	for _, generation := range []uint32{0, 1, 1 << 31, 1<<32 - 1} {
		text := refreshToken(t, generation)
		got, err := auth.ParseRefreshToken([]byte("key"), text)
		if want := (auth.RefreshToken{Family: family, Generation: generation}); err != nil || got != want {
			t.Errorf("%+v, %v; want %+v", got, err, want)
		}
		if len(text) != auth.RefreshLength || !strings.HasPrefix(text, auth.RefreshPrefix) || text != refreshToken(t, generation) {
			t.Errorf("%s", text)
		}
	}
}

func TestARefreshTokenIsOfOneKey(t *testing.T) {
	t.Parallel()
	if _, err := auth.ParseRefreshToken([]byte("another"), refreshToken(t, 1)); !errors.Is(err, auth.ErrInvalid) {
		t.Error(err)
	}
}

func TestEveryChangedCharacterOfARefreshTokenIsNoticed(t *testing.T) {
	t.Parallel()
	good := refreshToken(t, 7)
	for i := range good {
		for _, c := range "0AZz_ " {
			bad := good[:i] + string(c) + good[i+1:]
			if _, err := auth.ParseRefreshToken([]byte("key"), bad); bad != good && err == nil {
				t.Errorf("%q at %d passes", c, i)
			}
		}
	}
	for _, bad := range []string{"", auth.RefreshPrefix, good[1:], good + "0", strings.ToLower(good), strings.TrimPrefix(good, auth.RefreshPrefix)} {
		if _, err := auth.ParseRefreshToken([]byte("key"), bad); !errors.Is(err, auth.ErrMalformedRefresh) {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

func TestAFamilyIsAUUIDInLowerCase(t *testing.T) {
	t.Parallel()
	for _, bad := range []string{"", "ab", strings.ToUpper(family), strings.ReplaceAll(family, "-", ""), family + "00", "g" + family[1:]} {
		if text, err := (auth.RefreshToken{Family: bad}).Sign([]byte("key")); !errors.Is(err, auth.ErrMalformedRefresh) {
			t.Errorf("%q: %s, %v", bad, text, err)
		}
	}
}

func FuzzParseRefreshToken(f *testing.F) {
	f.Add(refreshToken(f, 0))
	f.Add(refreshToken(f, 1<<32-1))
	f.Add(auth.RefreshPrefix + strings.Repeat("0", 90))
	f.Add("lbr_")
	f.Fuzz(func(t *testing.T, text string) {
		got, err := auth.ParseRefreshToken([]byte("key"), text)
		if err != nil {
			return
		}
		if again, err := got.Sign([]byte("key")); err != nil || again != text {
			t.Errorf("%q is read as %+v, which is written as %q, %v", text, got, again, err)
		}
	})
}
