package archive_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/service/archive"
)

// rows are the rows of each part of a small archive.
var rows = map[string][]string{
	"clubs":   {`{"id":"c","name":"Grüße \"from\" the hill"}`},
	"members": {`{"account_id":null,"id":"m"}`, `{"account_id":null,"id":"n"}`},
	"sites":   nil,
}

var parts = []string{"clubs", "members", "sites"}

func small(t *testing.T) ([]byte, archive.Sum) {
	t.Helper()
	var out bytes.Buffer
	w, err := archive.NewWriter(&out, archive.Header{Kind: archive.Club, Club: "c", Schema: 7})
	must(t, err)
	for _, p := range parts {
		must(t, w.Part(p))
		for _, r := range rows[p] {
			must(t, w.Row([]byte(r)))
		}
	}
	sum, err := w.Close()
	must(t, err)
	return out.Bytes(), sum
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// read reads a file to its end.
func read(file []byte, limits archive.Limits) (*archive.Reader, map[string][]string, error) {
	r, err := archive.NewReader(bytes.NewReader(file), limits)
	if err != nil {
		return r, nil, err
	}
	got := map[string][]string{}
	for {
		part, err := r.Next()
		if errors.Is(err, io.EOF) {
			return r, got, nil
		}
		if err != nil {
			return r, got, err
		}
		got[part] = nil
		for {
			row, err := r.Row()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return r, got, err
			}
			got[part] = append(got[part], string(row))
		}
	}
}

// packed is gzip of lines, as an archive has it.
func packed(t *testing.T, lines ...string) []byte {
	t.Helper()
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	_, err := z.Write([]byte(strings.Join(lines, "")))
	must(t, errors.Join(err, z.Close()))
	return out.Bytes()
}

// sealed adds the last line that a file with these lines must have.
func sealed(lines []string, ends ...string) []string {
	whole := strings.Join(lines, "")
	return append(slices.Clone(lines), fmt.Sprintf("[%s{\"rows\":0,\"sha256\":%q}]\n", strings.Join(ends, ""), hash(whole)))
}

func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

const head = `{"club":"c","format":"lumbricary","kind":"club","schema":7,"version":1}` + "\n"

func TestWhatIsWrittenIsReadAgainWithTheSameSum(t *testing.T) {
	t.Parallel()
	file, sum := small(t)
	r, got, err := read(file, archive.Ample())
	must(t, err)
	if r.Sum() != sum || sum.Rows != 3 || r.Header() != (archive.Header{Club: "c", Format: "lumbricary", Kind: archive.Club, Schema: 7, Version: 1}) {
		t.Errorf("%+v, %+v, want %+v", r.Header(), r.Sum(), sum)
	}
	if fmt.Sprint(got) != fmt.Sprint(rows) {
		t.Errorf("%v", got)
	}
	if again, _ := small(t); !bytes.Equal(again, file) {
		t.Error("the same content has other bytes")
	}
}

func TestTheContentHashIsThatOfAllLinesButTheLast(t *testing.T) {
	t.Parallel()
	file, sum := small(t)
	z, err := gzip.NewReader(bytes.NewReader(file))
	must(t, err)
	text, err := io.ReadAll(z)
	must(t, err)
	lines := strings.SplitAfter(strings.TrimSuffix(string(text), "\n"), "\n")
	if got := hash(strings.Join(lines[:len(lines)-1], "")); got != sum.SHA256 {
		t.Errorf("%s, want %s", got, sum.SHA256)
	}
}

func TestRowsThatNobodyReadsArePassedOverAndCounted(t *testing.T) {
	t.Parallel()
	file, sum := small(t)
	r, err := archive.NewReader(bytes.NewReader(file), archive.Ample())
	must(t, err)
	var names []string
	for {
		name, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		must(t, err)
		names = append(names, name)
	}
	if !slices.Equal(names, parts) || r.Sum() != sum {
		t.Errorf("%v %v", names, r.Sum())
	}
}

func TestAFileThatBreaksOffAnywhereIsRefused(t *testing.T) {
	t.Parallel()
	file, _ := small(t)
	for n := range file {
		if _, _, err := read(file[:n], archive.Ample()); !faulty(err) {
			t.Errorf("%d of %d bytes: %v", n, len(file), err)
		}
	}
}

func TestAFileWithOneByteFlippedIsRefusedOrHoldsTheSame(t *testing.T) {
	t.Parallel()
	file, sum := small(t)
	same := 0
	for n := range file {
		for bit := range 8 {
			other := bytes.Clone(file)
			other[n] ^= 1 << bit
			r, got, err := read(other, archive.Ample())
			switch {
			case faulty(err):
			case err == nil && r.Sum() == sum && fmt.Sprint(got) == fmt.Sprint(rows):
				same++ // bits between the last code and the next whole byte mean nothing
			default:
				t.Errorf("byte %d, bit %d: %v", n, bit, err)
			}
		}
	}
	if same > 7 {
		t.Errorf("%d flipped bits go unseen", same)
	}
}

func faulty(err error) bool {
	_, ok := errors.AsType[archive.FaultError](err)
	return ok
}

func TestWhatIsNoArchiveIsRefusedWithWhyAndWhere(t *testing.T) {
	t.Parallel()
	file, _ := small(t)
	part := head + "\"clubs\"\n"
	for why, bad := range map[string][]byte{
		"line 0: this is no archive: it doesn't begin as one":                                                      []byte("PK\x03\x04 a ZIP"),
		"line 1: this is no archive of this program":                                                               packed(t, `{"format":"other"}`+"\n"),
		"line 1: it has format version 2, this program reads 1: use a newer program":                               packed(t, `{"format":"lumbricary","version":2,"new":[]}`+"\n"),
		"line 1: the first line can't be read: json: unknown field \"colour\"":                                     packed(t, `{"club":"c","colour":1,"format":"lumbricary","kind":"club","schema":7,"version":1}`+"\n"),
		"line 1: the first line isn't as this program writes it":                                                   packed(t, `{"club":"c", "format":"lumbricary","kind":"club","schema":7,"version":1}`+"\n"),
		"line 2: a row comes before any part":                                                                      packed(t, head, `{"id":"c"}`+"\n"),
		"line 2: an empty line":                                                                                    packed(t, head, "\n"),
		"line 2: neither a row nor a part begins here":                                                             packed(t, head, "clubs\n"),
		"line 3: part \"clubs\" comes twice":                                                                       packed(t, part, "\"clubs\"\n"),
		"line 2: counts and hashes differ from those that the file was written with: it is damaged or was changed": packed(t, head, `[{"rows":0,"sha256":"00"}]`+"\n"),
		"line 2: something follows the last line":                                                                  packed(t, append(sealed([]string{head}), "more")...),
		"line 8: something follows the archive":                                                                    append(bytes.Clone(file), 0),
	} {
		if _, _, err := read(bad, archive.Ample()); err == nil || err.Error() != "archive, "+why {
			t.Errorf("%v\nwant archive, %s", err, why)
		}
	}
}

func TestMoreThanTheLimitsIsRefused(t *testing.T) {
	t.Parallel()
	file, _ := small(t)
	bomb := packed(t, head, "\"clubs\"\n", `{"id":"`, strings.Repeat("0", 12<<20), "\"}\n")
	for why, c := range map[string]struct {
		file  []byte
		limit func(*archive.Limits)
	}{
		"there are more than 2 rows":                 {file, func(l *archive.Limits) { l.Rows = 2 }},
		"there are more than 2 parts":                {file, func(l *archive.Limits) { l.Parts = 2 }},
		"the line has more than 40 bytes":            {file, func(l *archive.Limits) { l.Line = 40 }},
		"the file has more than 100 bytes":           {file, func(l *archive.Limits) { l.Bytes = 100 }},
		"it unpacks to more than 90 bytes":           {file, func(l *archive.Limits) { l.Text = 90 }},
		"it unpacks to more than 100 times its size": {bomb, func(*archive.Limits) {}},
	} {
		limits := archive.Ample()
		c.limit(&limits)
		if _, _, err := read(c.file, limits); !faulty(err) || !strings.HasSuffix(err.Error(), why) {
			t.Errorf("%v, want %s", err, why)
		}
	}
}

func TestALongLineIsReadWhole(t *testing.T) {
	t.Parallel()
	long := `{"note":"` + strings.Repeat("worms in the cellar ", 20_000) + `"}`
	var out bytes.Buffer
	w, err := archive.NewWriter(&out, archive.Header{Kind: archive.Service, Schema: 1})
	must(t, errors.Join(err, w.Part("checks"), w.Row([]byte(long))))
	_, err = w.Close()
	must(t, err)
	limits := archive.Ample()
	limits.Ratio = 10_000
	_, got, err := read(out.Bytes(), limits)
	must(t, err)
	if len(got["checks"]) != 1 || got["checks"][0] != long {
		t.Error("the line isn't the same")
	}
}

// brokenFile fails in the middle, as a disk does.
type brokenFile struct{ io.Reader }

var errDisk = errors.New("the disk is gone")

func (b brokenFile) Read(p []byte) (int, error) {
	n, err := b.Reader.Read(p)
	if errors.Is(err, io.EOF) {
		err = errDisk
	}
	return n, err
}

func TestAFailureOfTheDiskIsNoFaultOfTheFile(t *testing.T) {
	t.Parallel()
	file, _ := small(t)
	for _, n := range []int{0, 5, 12, len(file) - 20} {
		r, err := archive.NewReader(brokenFile{bytes.NewReader(file[:n])}, archive.Ample())
		for err == nil {
			_, err = r.Next()
		}
		if !errors.Is(err, errDisk) {
			t.Errorf("after %d bytes: %v", n, err)
		}
	}
}

// full is a disk that takes so many bytes.
type full struct{ left int }

func (f *full) Write(p []byte) (int, error) {
	if f.left -= len(p); f.left < 0 {
		return 0, errDisk
	}
	return len(p), nil
}

func TestAFullDiskIsTold(t *testing.T) {
	t.Parallel()
	file, _ := small(t)
	for n := range len(file) {
		w, err := archive.NewWriter(&full{n}, archive.Header{Kind: archive.Club, Club: "c", Schema: 7})
		for _, p := range parts {
			err = errors.Join(err, w.Part(p))
			for _, r := range rows[p] {
				err = errors.Join(err, w.Row([]byte(r)))
			}
		}
		_, end := w.Close()
		if err = errors.Join(err, end); !errors.Is(err, errDisk) {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
}
