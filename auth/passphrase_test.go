package auth_test

import (
	"errors"
	"strings"
	"testing"

	"lumbricary.example/auth"
)

func TestAPassphraseMayBeAnyTextOfFifteenTo256Characters(t *testing.T) {
	t.Parallel()
	for name, good := range map[string]string{
		"fifteen characters":         "rhubarb at noon",
		"spaces and capitals":        "Three Old Bins Behind The Shed",
		"a listed word and more":     "compost rhubarb trellis",
		"punctuation only":           "!?!?.,.,;:;:-+-",
		"fifteen letters of Greek":   "σκουληκότρυπεςΩ",
		"the longest":                strings.Repeat("ab", 128),
		"256 characters of 4 octets": strings.Repeat("🪱🍂", 128),
	} {
		if err := auth.CheckPassphrase(good); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestAPassphraseIsRefusedWithItsFault(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		passphrase string
		want       auth.PassphraseFault
	}{
		"nothing":                      {"", auth.PassphraseShort},
		"fourteen characters":          {"rhubarb at one", auth.PassphraseShort},
		"fourteen accents in 28 runes": {strings.Repeat("e\u0301a\u0301", 7), auth.PassphraseShort},
		"257 characters":               {strings.Repeat("ab", 128) + "c", auth.PassphraseLong},
		"a megabyte":                   {strings.Repeat("ab", 1<<19), auth.PassphraseLong},
		"a megabyte of anything":       {strings.Repeat("\xff", 1<<20), auth.PassphraseLong},
		"not UTF-8":                    {"rhubarb at noon\xff", auth.PassphraseGarbled},
		"one character":                {strings.Repeat("x", 40), auth.PassphraseRepeated},
		"one composed character":       {strings.Repeat("e\u0301é", 20), auth.PassphraseRepeated},
		"a well-known one":             {"Correct Horse Battery Staple", auth.PassphraseListed},
		"one word over and over":       {"password-Password-PASSWORD", auth.PassphraseListed},
		"several listed words":         {"Welcome, Earthworm! 1234", auth.PassphraseListed},
		"counting":                     {"12345678901234567890", auth.PassphraseListed},
		"counting to three, often":     {"123 123 123 123 123", auth.PassphraseListed},
	} {
		refused, ok := errors.AsType[*auth.PassphraseError](auth.CheckPassphrase(c.passphrase))
		if !ok || refused.Fault != c.want {
			t.Errorf("%s: %v, want %s", name, refused, c.want)
		}
	}
}

func TestEveryFaultTellsWhatToChange(t *testing.T) {
	t.Parallel()
	seen := map[string]auth.PassphraseFault{}
	for _, fault := range []auth.PassphraseFault{
		auth.PassphraseShort, auth.PassphraseLong, auth.PassphraseGarbled,
		auth.PassphraseRepeated, auth.PassphraseListed, "",
	} {
		text := (&auth.PassphraseError{Fault: fault}).Error()
		if other, twice := seen[text]; twice || text == "" {
			t.Errorf("%q and %q both say %q", fault, other, text)
		}
		seen[text] = fault
	}
}
