package auth_test

import (
	"io"
	"strings"
	"testing"

	"lumbricary.example/auth"
)

const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

func TestACodeIsReadBackAndStoredAsItsHash(t *testing.T) {
	t.Parallel()
	source := chance(1)
	seen := map[string]bool{}
	for range 100 {
		plain, hash, err := auth.NewCode(source)
		if err != nil {
			t.Fatal(err)
		}
		if read, err := auth.ParseCode(plain); err != nil || read != plain || len(read) != auth.CodeLength {
			t.Errorf("%q read as %q, %v", plain, read, err)
		}
		if !auth.SameHash(auth.HashCode(plain), hash) || strings.Contains(hash, plain) {
			t.Errorf("hash %q of %q", hash, plain)
		}
		seen[plain] = true
	}
	if len(seen) != 100 {
		t.Errorf("%d different codes of 100", len(seen))
	}
}

func TestACodeOfZerosHasTheKnownChecksumAndHash(t *testing.T) {
	t.Parallel()
	// The CRC-32 of 32 zero bytes is 0x190A55AD, little-endian AD 55 0A 19.
	// computed, with zlib and hashlib
	const plain = "000000000000000000000000000000000000000000000000000ATN8A34"
	const want = "0d1810b254bfa68d918fa55a3e4a396de30d696f63691ec87aaeea0459e0e7bd"
	got, hash, err := auth.NewCode(strings.NewReader(strings.Repeat("\x00", 32)))
	if err != nil || got != plain || hash != want {
		t.Errorf("%q, %q, %v", got, hash, err)
	}
}

func TestACodeMayBeTypedLoosely(t *testing.T) {
	t.Parallel()
	plain, _, err := auth.NewCode(chance(2))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(plain, "0") || !strings.Contains(plain, "1") {
		t.Fatalf("%q can't show what is meant", plain)
	}
	for name, typed := range map[string]string{
		"lower case":      strings.ToLower(plain),
		"letters O and I": strings.NewReplacer("0", "O", "1", "I").Replace(plain),
		"letters o and l": strings.NewReplacer("0", "o", "1", "l").Replace(plain),
		"in groups":       plain[:10] + "-" + plain[10:20] + " " + plain[20:],
		"over two lines":  "  " + plain[:30] + "\r\n" + plain[30:] + "\n",
	} {
		if read, err := auth.ParseCode(typed); err != nil || read != plain {
			t.Errorf("%s: read as %q, %v", name, read, err)
		}
	}
}

func TestEveryWrongCharacterIsAMistypedCode(t *testing.T) {
	t.Parallel()
	plain, _, err := auth.NewCode(chance(3))
	if err != nil {
		t.Fatal(err)
	}
	for at := range plain {
		for _, other := range strings.ReplaceAll(alphabet, plain[at:at+1], "") {
			_, err := auth.ParseCode(plain[:at] + string(other) + plain[at+1:])
			mustBe(t, err, auth.ErrMistypedCode)
		}
	}
}

func TestEverySwapOfNeighboursIsAMistypedCode(t *testing.T) {
	t.Parallel()
	plain, _, err := auth.NewCode(chance(4))
	if err != nil {
		t.Fatal(err)
	}
	for at := range len(plain) - 1 {
		swapped := plain[:at] + plain[at+1:at+2] + plain[at:at+1] + plain[at+2:]
		if swapped == plain {
			continue
		}
		_, err := auth.ParseCode(swapped)
		mustBe(t, err, auth.ErrMistypedCode)
	}
}

func TestWhatIsNoCodeIsTold(t *testing.T) {
	t.Parallel()
	plain, _, err := auth.NewCode(chance(5))
	if err != nil {
		t.Fatal(err)
	}
	for name, typed := range map[string]string{
		"nothing":           "",
		"cut off":           plain[:auth.CodeLength-1],
		"too long":          plain + "0",
		"twice":             plain + plain,
		"a letter U":        "U" + plain[1:],
		"a character":       "é" + plain[1:],
		"padding":           plain + "======",
		"only the trimming": " - ",
	} {
		if _, err := auth.ParseCode(typed); err == nil {
			t.Errorf("%s: accepted", name)
		} else {
			mustBe(t, err, auth.ErrMalformedCode)
		}
	}
}

func TestHashesOfCodesDifferUnlessTheSame(t *testing.T) {
	t.Parallel()
	a, b := auth.HashCode("A"), auth.HashCode("B")
	if !auth.SameHash(a, a) || auth.SameHash(a, b) || auth.SameHash(a, a[:10]) {
		t.Error("hashes compared wrongly")
	}
}

func TestACodeNeedsRandomness(t *testing.T) {
	t.Parallel()
	_, _, err := auth.NewCode(exhausted())
	mustBe(t, err, io.EOF)
}

func FuzzParseCode(f *testing.F) {
	plain, _, err := auth.NewCode(chance(6))
	if err != nil {
		f.Fatal(err)
	}
	for _, seed := range []string{plain, strings.ToLower(plain), plain[1:], "", " - ", "\x00\xff", plain + "="} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		read, err := auth.ParseCode(typed)
		if err != nil {
			if read != "" {
				t.Errorf("%q with error %v", read, err)
			}
			return
		}
		if len(read) != auth.CodeLength || strings.Trim(read, alphabet) != "" {
			t.Errorf("%q is not canonical", read)
		}
		if again, err := auth.ParseCode(read); err != nil || again != read {
			t.Errorf("%q read again as %q, %v", read, again, err)
		}
	})
}
