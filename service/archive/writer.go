package archive

import (
	"bufio"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"hash"
	"io"
)

// Writer writes a file as its rows come.
type Writer struct {
	gzip        *gzip.Writer
	out         *bufio.Writer
	whole, part hash.Hash
	sums        []Sum
	rows        int64
}

// NewWriter begins a file of h's kind, club and schema. Errors: w's.
func NewWriter(w io.Writer, h Header) (*Writer, error) {
	h.Format, h.Version = Format, Version
	z := gzip.NewWriter(w)
	a := &Writer{gzip: z, out: bufio.NewWriterSize(z, 64<<10), whole: sha256.New(), part: sha256.New()}
	return a, a.tell(h)
}

// Part begins a part. Errors: the writer's.
func (a *Writer) Part(name string) error {
	a.endPart()
	a.sums = append(a.sums, Sum{Part: name})
	return a.tell(name)
}

// Row adds a row, one line of canonical JSON, to the part. Errors: the writer's.
func (a *Writer) Row(row []byte) error {
	a.sums[len(a.sums)-1].Rows++
	a.rows++
	a.part.Write(row)
	a.part.Write(newline)
	return a.line(row)
}

// Close ends the file and returns the sum of the whole. It doesn't close what is
// written to. Errors: the writer's.
func (a *Writer) Close() (Sum, error) {
	a.endPart()
	whole := Sum{Rows: a.rows, SHA256: digest(a.whole)}
	if err := a.tell(append(a.sums, whole)); err != nil {
		return Sum{}, err
	}
	if err := a.out.Flush(); err != nil {
		return Sum{}, err
	}
	return whole, a.gzip.Close()
}

var newline = []byte{'\n'}

func (a *Writer) endPart() {
	if n := len(a.sums); n > 0 {
		a.sums[n-1].SHA256 = digest(a.part)
		a.part.Reset()
	}
}

// tell writes a line that is no row. Errors: the writer's.
func (a *Writer) tell(v any) error {
	line, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return a.line(line)
}

func (a *Writer) line(line []byte) error {
	a.whole.Write(line)
	a.whole.Write(newline)
	if _, err := a.out.Write(line); err != nil {
		return err
	}
	return a.out.WriteByte('\n')
}

func digest(h hash.Hash) string { return hex.EncodeToString(h.Sum(nil)) }
