// Package archive is the form of the files in which a club, or a whole service,
// is kept: JSON lines under gzip.
//
//	{"club":"…","format":"lumbricary","kind":"club","schema":23,"version":1}
//	"clubs"                                     a part begins: a table of the database
//	{"closed_until":"","currency":"EUR",…}      its rows, one a line, in canonical JSON (RFC 8785)
//	"members"
//	…
//	[{"part":"clubs","rows":1,"sha256":"…"},…,{"rows":2734,"sha256":"…"}]
//
// The last line has the count and the SHA-256 of the rows of each part, and at its
// end of all lines before it: the content hash, which
// `zcat FILE | head -n -1 | sha256sum` tells as well. Equal content gives equal
// bytes: there is no time, name or chance in the form.
package archive

import "fmt"

// Format is what every file begins with, and Version the form that this program
// writes and reads.
const (
	Format  = "lumbricary"
	Version = 1
)

// Kind is what a file holds.
type Kind string

// The kinds.
const (
	Club    Kind = "club"    // a club as it travels: without accounts, keys and secrets
	Service Kind = "service" // all rows of a database, to be put back
)

// Header is the first line.
type Header struct {
	Club    string `json:"club,omitempty"` // its id; empty for a service
	Format  string `json:"format"`
	Kind    Kind   `json:"kind"`
	Schema  int64  `json:"schema"` // of the database that the rows are from
	Version int    `json:"version"`
}

// Sum tells the rows of a part, or of the whole where Part is empty.
type Sum struct {
	Part   string `json:"part,omitempty"`
	Rows   int64  `json:"rows"`
	SHA256 string `json:"sha256"`
}

// Limits are how much of a file is read.
type Limits struct {
	Bytes int64 // of the file
	Text  int64 // of the lines in it
	Rows  int64
	Parts int
	Line  int   // bytes
	Ratio int64 // of lines to file, where there is more than a little
}

// Ample are the limits for files that the operator brings.
func Ample() Limits {
	return Limits{Bytes: 4 << 30, Text: 64 << 30, Rows: 50_000_000, Parts: 200, Line: 16 << 20, Ratio: 100}
}

// FaultError says where a file is no archive that can be read.
type FaultError struct {
	Line int64
	Why  string
}

// Error tells the line and what is wrong there.
func (f FaultError) Error() string { return fmt.Sprintf("archive, line %d: %s", f.Line, f.Why) }
