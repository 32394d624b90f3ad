// Package demo holds the demo clubs: invented people, places and records, as
// the CSV tables that any club can import. story.md tells what happens in them;
// generate makes them.
package demo

import (
	"embed"
	"encoding/json"
	"io/fs"
	"path"
	"time"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/service"
)

//go:embed */club.json */*.csv
var files embed.FS

const (
	// Passphrase opens the accounts of the demo's stewards.
	Passphrase = "tide lantern bucket cellar"
	// Season is the last whole season that the clubs recorded.
	Season = "2026-autumn"
	// Starter is the bin of the first club that the story of one starter ends in.
	Starter = "Terrace Tote"
)

// Day is the day after the clubs' last record. Nothing can be recorded in the
// future, so a clock that hasn't come so far is moved there.
func Day() time.Time { return time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC) }

// Club is a club of the demo, its first steward, and its book.
type Club struct {
	Club           service.Club
	Steward, Email string
	Book           service.Book
}

// Clubs returns the clubs of the demo, the larger first. Errors: the files that
// the program was built with are broken.
func Clubs() ([]Club, error) {
	clubs := []Club{
		{Club: service.Club{Handle: "harbour"}, Steward: "Inês Tavarela", Email: "ines@harbour.example"},
		{Club: service.Club{Handle: "lagoon"}, Steward: "Sina Faleolo", Email: "sina@lagoon.example"},
	}
	for i := range clubs {
		if err := clubs[i].read(); err != nil {
			return nil, err
		}
	}
	return clubs, nil
}

func (c *Club) read() error {
	data, err := files.ReadFile(path.Join(c.Club.Handle, "club.json"))
	if err != nil {
		return err
	}
	var wire struct {
		Handle         string             `json:"handle"`
		Name           string             `json:"name"`
		TimeZone       string             `json:"time_zone"`
		Hemisphere     service.Hemisphere `json:"hemisphere"`
		Units          service.UnitSystem `json:"units"`
		Currency       string             `json:"currency"`
		RetentionYears int                `json:"retention_years"`
	}
	if err := json.Unmarshal(data, &wire); err != nil {
		return err
	}
	c.Club = service.Club{
		Handle: wire.Handle, Name: wire.Name, TimeZone: wire.TimeZone, Hemisphere: wire.Hemisphere,
		Units: wire.Units, Currency: wire.Currency, RetentionYears: wire.RetentionYears,
	}
	names, err := fs.Glob(files, path.Join(c.Club.Handle, "*.csv"))
	if err != nil {
		return err
	}
	var tables []bookfile.File
	for _, name := range names {
		data, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		tables = append(tables, bookfile.File{Name: path.Base(name), Data: data})
	}
	c.Book, err = bookfile.ReadCSV(tables)
	return err
}
