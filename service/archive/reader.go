package archive

import (
	"bufio"
	"bytes"
	"compress/flate"
	"compress/gzip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
)

// Reader reads a file as it comes, and believes nothing of it before its end: who
// keeps what was read waits for io.EOF from Next.
type Reader struct {
	header      Header
	limits      Limits
	file        *counter
	raw         *bufio.Reader // the file
	text        *bufio.Reader // the lines in it
	long        []byte        // a line longer than text's buffer
	next        []byte        // the line after the last row of a part
	whole, part hash.Hash
	sums        []Sum
	rows, line  int64
	size        int64 // of the lines so far
}

// counter counts what is read of a file.
type counter struct {
	io.Reader
	n int64
}

// Read implements io.Reader.
func (c *counter) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n += int64(n)
	return n, err
}

// start is the ten bytes that gzip.Writer begins with where it is told nothing.
var start = []byte{0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 0xff}

// little is how much text may come of any file, whatever its ratio.
const little = 1 << 20

// NewReader reads the first line. Errors: FaultError, r's.
func NewReader(r io.Reader, limits Limits) (*Reader, error) {
	a := &Reader{limits: limits, file: &counter{Reader: r}, whole: sha256.New(), part: sha256.New()}
	a.raw = bufio.NewReaderSize(a.file, 64<<10)
	head, err := a.raw.Peek(len(start))
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if !bytes.Equal(head, start) {
		return nil, FaultError{0, "this is no archive: it doesn't begin as one"}
	}
	z, err := gzip.NewReader(a.raw)
	if err != nil {
		return nil, a.damaged(err)
	}
	z.Multistream(false)
	a.text = bufio.NewReaderSize(z, 64<<10)
	line, err := a.read()
	if err != nil {
		return nil, err
	}
	a.hash(line)
	return a, a.open(line)
}

// open understands the first line. Errors: FaultError.
func (a *Reader) open(line []byte) error {
	var first struct {
		Format  string
		Version int
	}
	if err := json.Unmarshal(line, &first); err != nil || first.Format != Format {
		return a.fault("this is no archive of this program")
	}
	if first.Version > Version {
		return a.fault("it has format version %d, this program reads %d: use a newer program", first.Version, Version)
	}
	strict := json.NewDecoder(bytes.NewReader(line))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&a.header); err != nil {
		return a.fault("the first line can't be read: %v", err)
	}
	if again, err := json.Marshal(a.header); err != nil || !bytes.Equal(again, line) || a.header.Version < 1 ||
		a.header.Schema < 1 || a.header.Kind != Club && a.header.Kind != Service || (a.header.Kind == Club) != (a.header.Club != "") {
		return a.fault("the first line isn't as this program writes it")
	}
	return nil
}

// Header is what the first line says.
func (a *Reader) Header() Header { return a.header }

// Line is the number of the line that was read last.
func (a *Reader) Line() int64 { return a.line }

// Sum is the sum of the whole, after io.EOF from Next.
func (a *Reader) Sum() Sum { return Sum{Rows: a.rows, SHA256: digest(a.whole)} }

// Next begins the next part and returns its name; rows of the last that weren't
// read are passed over. Errors: io.EOF at the end of a file that is whole; FaultError,
// the file's.
func (a *Reader) Next() (string, error) {
	for {
		switch _, err := a.Row(); {
		case errors.Is(err, io.EOF):
			return a.begin(a.next)
		case err != nil:
			return "", err
		}
	}
}

// begin begins the part that a line names, or ends the file. Errors: those of
// Next.
func (a *Reader) begin(line []byte) (string, error) {
	if n := len(a.sums); n > 0 {
		a.sums[n-1].SHA256 = digest(a.part)
		a.part.Reset()
	}
	a.next = nil
	if line[0] == '[' {
		return "", a.end(line)
	}
	var name string
	if err := json.Unmarshal(line, &name); err != nil {
		return "", a.fault("neither a row nor a part begins here")
	}
	if slices.ContainsFunc(a.sums, func(s Sum) bool { return s.Part == name }) {
		return "", a.fault("part %q comes twice", name)
	}
	if len(a.sums) == a.limits.Parts {
		return "", a.fault("there are more than %d parts", a.limits.Parts)
	}
	a.hash(line)
	a.sums = append(a.sums, Sum{Part: name})
	return name, nil
}

// Row returns the next row of the part, which is good until the next call. Errors:
// io.EOF after the last; FaultError, the file's.
func (a *Reader) Row() ([]byte, error) {
	if a.next != nil {
		return nil, io.EOF
	}
	line, err := a.read()
	if err != nil {
		return nil, err
	}
	if line[0] != '{' {
		a.next = line
		return nil, io.EOF
	}
	if len(a.sums) == 0 {
		return nil, a.fault("a row comes before any part")
	}
	if a.rows == a.limits.Rows {
		return nil, a.fault("there are more than %d rows", a.limits.Rows)
	}
	a.rows++
	a.sums[len(a.sums)-1].Rows++
	a.part.Write(line)
	a.part.Write(newline)
	a.hash(line)
	return line, nil
}

// end holds the file against its last line. Errors: io.EOF when it is whole, FaultError.
func (a *Reader) end(line []byte) error {
	due, err := json.Marshal(append(slices.Clone(a.sums), a.Sum()))
	if err != nil {
		return err
	}
	if !bytes.Equal(due, line) {
		return a.fault("counts and hashes differ from those that the file was written with: it is damaged or was changed")
	}
	if _, err := a.text.ReadByte(); !errors.Is(err, io.EOF) {
		if err != nil {
			return a.damaged(err)
		}
		return a.fault("something follows the last line")
	}
	if _, err := a.raw.ReadByte(); !errors.Is(err, io.EOF) {
		return a.fault("something follows the archive")
	}
	return io.EOF
}

// read returns the next line, which isn't empty. Errors: FaultError, the file's.
func (a *Reader) read() ([]byte, error) {
	a.line++
	a.long = a.long[:0]
	for {
		piece, err := a.text.ReadSlice('\n')
		a.size += int64(len(piece))
		if fault := a.tooMuch(len(a.long) + len(piece)); fault != nil {
			return nil, fault
		}
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			a.long = append(a.long, piece...)
			continue
		case err != nil:
			return nil, a.damaged(err)
		}
		if len(a.long) > 0 {
			a.long = append(a.long, piece...)
			piece = a.long
		}
		if piece = piece[:len(piece)-1]; len(piece) == 0 {
			return nil, a.fault("an empty line")
		}
		return piece, nil
	}
}

// tooMuch holds what was read, and a line of so many bytes, against the limits.
// Errors: FaultError.
func (a *Reader) tooMuch(line int) error {
	switch {
	case line > a.limits.Line:
		return a.fault("the line has more than %d bytes", a.limits.Line)
	case a.file.n > a.limits.Bytes:
		return a.fault("the file has more than %d bytes", a.limits.Bytes)
	case a.size > a.limits.Text:
		return a.fault("it unpacks to more than %d bytes", a.limits.Text)
	case a.size > little && a.size > a.file.n*a.limits.Ratio:
		return a.fault("it unpacks to more than %d times its size", a.limits.Ratio)
	}
	return nil
}

// damaged says what an error of unpacking means. Errors: FaultError, err.
func (a *Reader) damaged(err error) error {
	_, corrupt := errors.AsType[flate.CorruptInputError](err)
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return a.fault("the file breaks off: part of it is missing")
	case corrupt, errors.Is(err, gzip.ErrChecksum), errors.Is(err, gzip.ErrHeader):
		return a.fault("the file is damaged")
	}
	return err
}

func (a *Reader) hash(line []byte) {
	a.whole.Write(line)
	a.whole.Write(newline)
}

func (a *Reader) fault(format string, values ...any) FaultError {
	return FaultError{a.line, fmt.Sprintf(format, values...)}
}
