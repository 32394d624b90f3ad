// Package migrations holds the schema of both databases as numbered SQL files,
// the same numbers and names for each. They only go forward.
package migrations

import (
	"embed"
	"io/fs"
)

//go:embed sqlite/*.sql postgres/*.sql
var files embed.FS

// Files returns the migrations of a dialect, "sqlite" or "postgres". Errors:
// fs.ErrInvalid for another name.
func Files(dialect string) (fs.FS, error) {
	if dialect != "sqlite" && dialect != "postgres" {
		return nil, fs.ErrInvalid
	}
	return fs.Sub(files, dialect)
}
