// Command generate writes the two demo clubs as CSV tables. The same program
// writes the same bytes: chance is seeded and the clock stands still.
//
//	go run ./testdata/demo/generate [directory]
//
// The directory is testdata/demo unless told. Before anything is written the
// books are checked; see verify and replay.
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	_ "time/tzdata" // the same zones everywhere
)

func main() {
	dir := filepath.Join("testdata", "demo")
	if len(os.Args) > 1 {
		dir = os.Args[1]
	}
	if err := generate(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// generate writes all clubs under a directory. Errors: books that are wrong;
// those of writing files.
func generate(dir string) error {
	for _, p := range []plan{harbour(), lagoon()} {
		files, err := filesOf(p)
		if err != nil {
			return fmt.Errorf("%s: %w", p.dir, err)
		}
		if err := os.MkdirAll(filepath.Join(dir, p.dir), 0o755); err != nil {
			return err
		}
		for _, f := range files {
			if err := os.WriteFile(filepath.Join(dir, p.dir, f.name), f.bytes, 0o644); err != nil {
				return err
			}
		}
	}
	return nil
}

// file is a file to write.
type file struct {
	name  string
	bytes []byte
}

// filesOf lets a club live its story and returns its files. Errors: an unknown
// time zone; BookError for books that are wrong.
func filesOf(p plan) ([]file, error) {
	c, err := newClub(p)
	if err != nil {
		return nil, err
	}
	c.run()
	if trouble := append(c.verify(), c.replay()...); len(trouble) > 0 {
		return nil, BookError(trouble)
	}
	about, err := p.json()
	if err != nil {
		return nil, err
	}
	files := []file{{"club.json", about}}
	for _, t := range append(c.book.nouns(), c.book.records()...) {
		if len(t.rows) == 0 {
			continue
		}
		text, err := t.csv()
		if err != nil {
			return nil, err
		}
		files = append(files, file{t.name + ".csv", text})
	}
	return files, nil
}

// json returns what the club is. Errors: those of encoding.
func (p plan) json() ([]byte, error) {
	text, err := json.MarshalIndent(struct {
		Handle     string `json:"handle"`
		Name       string `json:"name"`
		Zone       string `json:"time_zone"`
		Hemisphere string `json:"hemisphere"`
		Units      string `json:"units"`
		Currency   string `json:"currency"`
		Retention  int    `json:"retention_years"`
	}{p.dir, p.name, p.zone, p.hemisphere, p.units, p.currency, p.retention}, "", "  ")
	return append(text, '\n'), err
}
