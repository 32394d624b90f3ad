// Package keep has the operator's commands by which a club, or a whole service, is
// kept in a file and comes out of it again: archives, backups, and the list of
// erasures that a restore has to repeat.
package keep

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/service"
	"lumbricary.example/service/archive"
	"lumbricary.example/service/reference"
)

// Usage is what a user is told of the commands.
const Usage = `  lumbricary archive write -club H -o FILE [-db URL]
                                                    everything of a club in one file
  lumbricary archive read  FILE [-db URL] [-erasures FILE]
                                                    a club out of its archive
  lumbricary archive check FILE                     whether a file is whole and its books right
  lumbricary move    -club H -from URL -to URL      a club into another database
  lumbricary backup  -o FILE [-db URL]              all clubs and accounts, while the service runs
  lumbricary restore FILE -db URL [-erasures FILE]  a backup into a new database
  lumbricary erasures [-o FILE] [-db URL]           who was erased, by ids, for a restore
`

// ErrUsage says that a command was called otherwise than it can be.
var ErrUsage = errors.New("usage")

// ErrWrong says that books in a file break rules.
var ErrWrong = errors.New("something is wrong in the books; see above")

// Tools are what the commands work with.
type Tools struct {
	DB    string // address of the database, unless a flag says another
	Now   func() time.Time
	NewID func() string
	Out   io.Writer
	Err   io.Writer // is told how a command is called
}

// command is how a command is called, and what does it.
type command struct {
	do         func(context.Context, call) error
	file       bool     // it takes a file
	needs, may []string // flags
}

// commands are the commands by name.
func (t Tools) commands() map[string]command {
	return map[string]command{
		"archive write": {do: t.writeArchive, needs: []string{"club", "o", "db"}},
		"archive read":  {do: t.readArchive, file: true, needs: []string{"db"}, may: []string{"erasures"}},
		"archive check": {do: t.checkArchive, file: true},
		"move":          {do: t.move, needs: []string{"club", "from", "to"}},
		"backup":        {do: t.backup, needs: []string{"o", "db"}},
		"restore":       {do: t.restore, file: true, needs: []string{"new db"}, may: []string{"erasures"}},
		"erasures":      {do: t.listErasures, needs: []string{"db"}, may: []string{"o"}},
	}
}

// call is what a command is told.
type call struct{ file, out, club, db, to, erasures string }

// flag adds a flag. "new db" is -db without the usual database.
func (t Tools) flag(fs *flag.FlagSet, c *call, name string) {
	switch name {
	case "club":
		fs.StringVar(&c.club, "club", "", "handle of the club")
	case "o":
		fs.StringVar(&c.out, "o", "", "the file to write")
	case "db":
		fs.StringVar(&c.db, "db", t.DB, "postgres:// URL or SQLite file")
	case "new db":
		fs.StringVar(&c.db, "db", "", "new database: postgres:// URL or SQLite file")
	case "from":
		fs.StringVar(&c.db, "from", "", "database that the club is in")
	case "to":
		fs.StringVar(&c.to, "to", "", "database that it goes to")
	case "erasures":
		fs.StringVar(&c.erasures, "erasures", "", "list of erasures to do again")
	}
}

// Do runs the command that the arguments say. Errors: ErrUsage, flag.ErrHelp,
// archive.FaultError, ErrWrong, those of package repo, service.ErrClubNotFound,
// service.ErrHandleTaken, service.ErrIDTaken, the file system's.
func (t Tools) Do(ctx context.Context, args []string) error {
	name, args := args[0], args[1:]
	if name == "archive" && len(args) > 0 {
		name, args = name+" "+args[0], args[1:]
	}
	what, known := t.commands()[name]
	if !known {
		_, err := io.WriteString(t.Err, Usage)
		return errors.Join(ErrUsage, err)
	}
	var c call
	fs := flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(t.Err)
	for _, f := range slices.Concat(what.needs, what.may) {
		t.flag(fs, &c, f)
	}
	files, err := operands(fs, args)
	if err != nil {
		return err
	}
	if missing := what.missing(fs, files); missing != "" {
		_, err := fmt.Fprintf(t.Err, "lumbricary %s: %s\n", name, missing)
		return errors.Join(ErrUsage, err)
	}
	if what.file {
		c.file = files[0]
	}
	return what.do(ctx, c)
}

// operands reads flags, and returns what stands before, between and behind them.
// Errors: ErrUsage, flag.ErrHelp.
func operands(fs *flag.FlagSet, args []string) (all []string, err error) {
	for {
		err := fs.Parse(args)
		switch {
		case errors.Is(err, flag.ErrHelp):
			return nil, err
		case err != nil:
			return nil, ErrUsage
		case fs.NArg() == 0:
			return all, nil
		}
		all, args = append(all, fs.Arg(0)), fs.Args()[1:]
	}
}

// missing says what a call lacks, or has too much of.
func (w command) missing(fs *flag.FlagSet, files []string) string {
	takes := 0
	if w.file {
		takes = 1
	}
	switch {
	case len(files) > takes:
		return fmt.Sprintf("%q is too much", files[takes])
	case len(files) < takes:
		return "FILE is missing"
	}
	for _, name := range w.needs {
		name = strings.TrimPrefix(name, "new ")
		if fs.Lookup(name).Value.String() == "" {
			return "-" + name + " is missing"
		}
	}
	return ""
}

// shop is a service on an open database.
type shop struct {
	*service.Service
	store *repo.Store
}

// open opens a database. Errors: those of repo.Open.
func (t Tools) open(ctx context.Context, address string, opts repo.Options) (shop, error) {
	opts.Now, opts.Notice = t.clock, func(what string) { _ = t.say("%s\n", what) }
	store, err := repo.Open(ctx, address, opts)
	if err != nil {
		return shop{}, fmt.Errorf("open %s: %w", WithoutSecret(address), err)
	}
	return t.on(store)
}

// on is the service on an open store. Errors: the program's tables are broken.
func (t Tools) on(store *repo.Store) (shop, error) {
	tables, err := reference.Load()
	return shop{service.New(&service.Desk{Store: store, Now: t.clock, NewID: t.NewID, Reference: tables}, nil), store}, err
}

func (t Tools) clock() time.Time { return t.Now().UTC() }

// say prints. Errors: the writer's.
func (t Tools) say(format string, a ...any) error {
	_, err := fmt.Fprintf(t.Out, format, a...)
	return err
}

// written makes a new file of what fill writes: whole, or not at all. Errors:
// fill's, the file system's, one that says that the file is there.
func written(path string, fill func(io.Writer) (archive.Sum, error)) (sum archive.Sum, err error) {
	if _, err := os.Stat(path); err == nil {
		return sum, fmt.Errorf("%s is there already", path)
	}
	part := path + ".part"
	f, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return sum, err
	}
	sum, err = fill(f)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return sum, errors.Join(err, os.Remove(part))
	}
	return sum, os.Rename(part, path)
}

// reading opens an archive, gives it to use, and closes it. Errors: use's,
// archive.FaultError, the file system's.
func reading(path string, use func(*archive.Reader) error) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }() // it was only read
	from, err := archive.NewReader(f, archive.Ample())
	if err != nil {
		return err
	}
	return use(from)
}
