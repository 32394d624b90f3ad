package auth

import (
	"strings"
	"testing"
)

func TestEveryWordOfTheBlockListCanBeMet(t *testing.T) {
	t.Parallel()
	words := strings.Fields(blockList)
	for i, word := range words {
		if folded := strings.Map(letterOrDigit, word); folded != word {
			t.Errorf("%q is compared as %q", word, folded)
		}
		for _, earlier := range words[:i] {
			if strings.HasPrefix(word, earlier) {
				t.Errorf("%q hides behind %q", word, earlier)
			}
		}
	}
}
