package auth

import (
	_ "embed" // for the block-list
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// The length of a passphrase in characters (Unicode code points, after NFC).
const (
	MinPassphrase = 15
	MaxPassphrase = 256
)

// PassphraseFault says what is wrong with a passphrase.
type PassphraseFault string

// The faults of a passphrase.
const (
	PassphraseShort    PassphraseFault = "short"    // fewer than MinPassphrase characters
	PassphraseLong     PassphraseFault = "long"     // more than MaxPassphrase characters
	PassphraseGarbled  PassphraseFault = "garbled"  // not UTF-8
	PassphraseRepeated PassphraseFault = "repeated" // one character over and over
	PassphraseListed   PassphraseFault = "listed"   // made of well-known passphrases only
)

// PassphraseError is a passphrase refused. It never carries the passphrase.
type PassphraseError struct {
	Fault PassphraseFault
}

// Error tells the person who chose the passphrase what to change.
func (e *PassphraseError) Error() string {
	switch e.Fault {
	case PassphraseShort:
		return fmt.Sprintf("a passphrase has at least %d characters", MinPassphrase)
	case PassphraseLong:
		return fmt.Sprintf("a passphrase has at most %d characters", MaxPassphrase)
	case PassphraseGarbled:
		return "a passphrase must be UTF-8 text"
	case PassphraseRepeated:
		return "a passphrase can't be one character repeated"
	case PassphraseListed:
		return "this passphrase is one of the first that others would try"
	default:
		return "this passphrase can't be used"
	}
}

// CheckPassphrase applies the rules for a new passphrase: [MinPassphrase] to
// [MaxPassphrase] characters of UTF-8, not one character repeated, and not made
// only of words from a short list of those tried first. Spaces count, and no
// kind of character is demanded. Length is counted after the normalisation NFC,
// the form that is hashed, so that a keyboard's way of composing an accent makes
// no difference. The error is a [*PassphraseError].
func CheckPassphrase(passphrase string) error {
	if fault := passphraseFault(passphrase); fault != "" {
		return &PassphraseError{Fault: fault}
	}
	return nil
}

// passphraseFault is the first rule a passphrase breaks, or "".
func passphraseFault(passphrase string) PassphraseFault {
	if len(passphrase) > MaxPassphrase*utf8.UTFMax {
		return PassphraseLong
	}
	if !utf8.ValidString(passphrase) {
		return PassphraseGarbled
	}
	letters := []rune(norm.NFC.String(passphrase))
	switch {
	case len(letters) < MinPassphrase:
		return PassphraseShort
	case len(letters) > MaxPassphrase:
		return PassphraseLong
	case len(slices.Compact(letters)) == 1:
		return PassphraseRepeated
	case listed(passphrase):
		return PassphraseListed
	}
	return ""
}

// blockList holds what is tried first, one word a line, in lower case without
// spaces or punctuation, a longer word before any word it begins with.
//
//go:embed blocklist.txt
var blockList string

// listed tells whether nothing is left of a passphrase once case, spaces,
// punctuation and the words of the block-list are taken away.
func listed(passphrase string) bool {
	plain := strings.Map(letterOrDigit, passphrase)
	return plain != "" && withoutWords(plain, strings.Fields(blockList)) == ""
}

// letterOrDigit folds a letter to lower case and drops what is neither a letter
// nor a digit.
func letterOrDigit(r rune) rune {
	if unicode.IsLetter(r) || unicode.IsDigit(r) {
		return unicode.ToLower(r)
	}
	return -1
}

// withoutWords takes the first word that fits off the front until none does.
func withoutWords(plain string, words []string) string {
	for _, word := range words {
		if rest, found := strings.CutPrefix(plain, word); found {
			return withoutWords(rest, words)
		}
	}
	return plain
}
