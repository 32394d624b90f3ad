package picture

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// widthOf estimates how wide a text is: a picture doesn't know the reader's
// fonts, so the widths are those of a wide one, DejaVu Sans.
func widthOf(text string, size float64, bold bool) float64 {
	var em float64
	for _, r := range text {
		em += runeWidth(r)
	}
	if bold {
		em *= 1.1
	}
	return em * size
}

// runeWidth is the width of a letter in ems.
func runeWidth(r rune) float64 {
	switch {
	case unicode.Is(unicode.Mn, r):
		return 0
	case strings.ContainsRune("ijlI.,:;'|!()[] \u00a0", r):
		return 0.36
	case strings.ContainsRune("mwMW@%—ЖШЩЮМФмшщжюф", r):
		return 0.95
	case r >= 0x1100 && (unicode.In(r, unicode.Han, unicode.Hangul, unicode.Hiragana, unicode.Katakana) || r > 0xffff):
		return 1
	case unicode.IsUpper(r):
		return 0.72
	}
	return 0.62
}

// cut shortens a text to a width, with an ellipsis where something is lost.
func cut(text string, width, size float64, bold bool) string {
	if widthOf(text, size, bold) <= width {
		return text
	}
	for text != "" && widthOf(text+"…", size, bold) > width {
		_, n := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-n]
	}
	return strings.TrimRight(text, " ") + "…"
}

// wrapped breaks a text at spaces into lines of at most that width, the last of
// them cut.
func wrapped(text string, width, size float64, bold bool, most int) []string {
	var lines []string
	rest := strings.Fields(text)
	for len(rest) > 0 {
		if len(lines)+1 == most {
			return append(lines, cut(strings.Join(rest, " "), width, size, bold))
		}
		n := 1
		for n < len(rest) && widthOf(strings.Join(rest[:n+1], " "), size, bold) <= width {
			n++
		}
		if n == 1 && widthOf(rest[0], size, bold) > width {
			head, tail := split(rest[0], width, size, bold)
			lines, rest = append(lines, head), append([]string{tail}, rest[1:]...)
			continue
		}
		lines, rest = append(lines, strings.Join(rest[:n], " ")), rest[n:]
	}
	return lines
}

// split divides a word that is wider than a line.
func split(word string, width, size float64, bold bool) (head, tail string) {
	at := 0
	for i, r := range word {
		if i > 0 && widthOf(word[:i+utf8.RuneLen(r)], size, bold) > width {
			break
		}
		at = i + utf8.RuneLen(r)
	}
	return word[:at], word[at:]
}
