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

// Do runs the command that the arguments say. Errors: ErrUsage, flag.ErrHelp,
// archive.Fault, ErrWrong, those of package repo, service.ErrClubNotFound,
// service.ErrHandleTaken, service.ErrIDTaken, the file system's.
func (t Tools) Do(ctx context.Context, args []string) error {
	name, args := args[0], args[1:]
	if name == "archive" && len(args) > 0 {
		name, args = name+" "+args[0], args[1:]
	}
	var c call
	fs := flag.NewFlagSet("lumbricary "+name, flag.ContinueOnError)
	fs.SetOutput(t.Err)
	operands := 0
	var do func(context.Context, call) error
	switch name {
	case "archive write":
		do = t.writeArchive
		fs.StringVar(&c.club, "club", "", "handle of the club")
		fs.StringVar(&c.out, "o", "", "the file to write")
		fs.StringVar(&c.db, "db", t.DB, "postgres:// URL or SQLite file")
	case "archive read":
		do, operands = t.readArchive, 1
		fs.StringVar(&c.db, "db", t.DB, "postgres:// URL or SQLite file")
		fs.StringVar(&c.erasures, "erasures", "", "list of erasures to do again")
	case "archive check":
		do, operands = t.checkArchive, 1
	case "move":
		do = t.move
		fs.StringVar(&c.club, "club", "", "handle of the club")
		fs.StringVar(&c.db, "from", "", "database that it is in")
		fs.StringVar(&c.to, "to", "", "database that it goes to")
	case "backup":
		do = t.backup
		fs.StringVar(&c.out, "o", "", "the file to write")
		fs.StringVar(&c.db, "db", t.DB, "postgres:// URL or SQLite file")
	case "restore":
		do, operands = t.restore, 1
		fs.StringVar(&c.db, "db", "", "new database: postgres:// URL or SQLite file")
		fs.StringVar(&c.erasures, "erasures", "", "list of erasures to do again")
	case "erasures":
		do = t.listErasures
		fs.StringVar(&c.out, "o", "", "file to add them to, where they aren't in it")
		fs.StringVar(&c.db, "db", t.DB, "postgres:// URL or SQLite file")
	default:
		_, err := io.WriteString(t.Err, Usage)
		return errors.Join(ErrUsage, err)
	}
	if err := c.read(fs, args, operands); err != nil {
		return err
	}
	return do(ctx, c)
}

// call is what a command is told.
type call struct{ file, out, club, db, to, erasures string }

// read reads flags and, before or between them, a file where the command takes one;
// every flag but -erasures and erasures' -o is needed. Errors: ErrUsage,
// flag.ErrHelp.
func (c *call) read(fs *flag.FlagSet, args []string, operands int) error {
	var files []string
	for {
		if err := fs.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return err
			}
			return ErrUsage
		}
		if fs.NArg() == 0 {
			break
		}
		files, args = append(files, fs.Arg(0)), fs.Args()[1:]
	}
	missing := ""
	fs.VisitAll(func(f *flag.Flag) {
		if f.Value.String() == "" && f.Name != "erasures" && (f.Name != "o" || fs.Name() != "lumbricary erasures") {
			missing = " -" + f.Name
		}
	})
	switch {
	case len(files) > operands:
		missing = fmt.Sprintf(": %q is too much", files[operands])
	case len(files) < operands:
		missing = " FILE is missing"
	case missing != "":
		missing += " is missing"
	case operands == 1:
		c.file = files[0]
	}
	if missing == "" {
		return nil
	}
	_, err := fmt.Fprintf(fs.Output(), "%s%s\n", fs.Name(), missing)
	return errors.Join(ErrUsage, err)
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
// archive.Fault, the file system's.
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
