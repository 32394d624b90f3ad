// Lumbricary is the stock book of vermicomposting clubs and small worm farms: a
// JSON API on SQLite or PostgreSQL. See README.md.
package main

import (
	"bufio"
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"
	_ "time/tzdata" // the image has no zone files

	"lumbricary.example/api"
	"lumbricary.example/api/courier"
	"lumbricary.example/api/elements"
	"lumbricary.example/api/watch"
	"lumbricary.example/auth"
	"lumbricary.example/auth/mail"
	"lumbricary.example/auth/operator"
	"lumbricary.example/openapi"
	"lumbricary.example/repo"
	"lumbricary.example/repo/keep"
	"lumbricary.example/service"
	"lumbricary.example/service/reference"
	"lumbricary.example/testdata/demo"

	"github.com/google/uuid"
)

const usage = `Lumbricary: the stock book of vermicomposting clubs and small worm farms

  lumbricary demo    [-addr A] [-db FILE] [-once]   a demo club on an embedded database
  lumbricary serve   [-addr A] [-db URL]            the service
  lumbricary found   -handle H -name N -zone Z -currency C -email E -steward N [-db URL]
                                                    a club and its first steward; the passphrase
                                                    is read from standard input
  lumbricary account reset-link -email E [-db URL]  a one-use code for a new passphrase
  lumbricary keys    list | rotate [-db URL]        the keys that sign access tokens
  lumbricary founding-code [-db URL]                a one-use code to found a club
  lumbricary check   [-club H] [-db URL]            what is wrong in the books; exit 1 when something is
  lumbricary rebuild [-club H] [-db URL]            derive again all that is derived in the books
  lumbricary invite  -club H -member N -email E [-db URL]
                                                    a code by which a steward without account comes in
` + keep.Usage + `  lumbricary health  [-addr A]                      exit 0 when the service is ready
  lumbricary version

Settings come from the environment (README.md lists them) and then from flags.
`

// errUsage makes the program print its usage and exit with 2.
var errUsage = errors.New("usage")

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, host{os.Args[1:], os.Getenv, os.Stdin, os.Stdout, os.Stderr, time.Now})
	stop()
	switch {
	case errors.Is(err, flag.ErrHelp):
	case errors.Is(err, errUsage):
		os.Exit(2)
	case err != nil:
		fmt.Fprintln(os.Stderr, "lumbricary:", explain(err))
		os.Exit(1)
	}
}

// host is what a run takes from the machine, so that a test can give its own.
type host struct {
	args []string
	env  func(string) string
	in   io.Reader
	out  io.Writer
	err  io.Writer
	now  func() time.Time
}

// run does what the arguments say. Errors: errUsage, flag.ErrHelp, those of the
// command.
func run(ctx context.Context, h host) error {
	name := ""
	if len(h.args) > 0 {
		name = h.args[0]
		h.args = h.args[1:]
	}
	switch name {
	case "demo":
		return h.demo(ctx)
	case "serve":
		return h.serve(ctx)
	case "found":
		return h.found(ctx)
	case "account", "keys", "founding-code", "check", "rebuild", "invite":
		return h.operate(ctx, name)
	case "archive", "move", "backup", "restore", "erasures":
		return h.keep(ctx, name)
	case "health":
		return h.health(ctx)
	case "version":
		_, err := fmt.Fprintln(h.out, "lumbricary", openapi.Version)
		return err
	case "help", "-h", "-help", "--help":
		_, err := io.WriteString(h.out, usage)
		return err
	}
	_, err := io.WriteString(h.err, usage)
	return errors.Join(errUsage, err)
}

// config is the settings of a run.
type config struct {
	addr      string
	db        string
	publicURL string
	founding  service.Founding
	mail      service.Mailer // nil: none
	limits    api.Limits
	proxies   []netip.Prefix
	loopback  bool // webhooks may lead to the program's own machine
}

// flags reads the settings: the environment first, then the flags that define
// adds. Errors: flag.ErrHelp, errUsage, a setting that can't be used.
func (h host) flags(name string, c config, define func(*flag.FlagSet)) (config, error) {
	c.addr = cmp.Or(h.env("ADDR"), c.addr, "127.0.0.1:8080")
	c.db = cmp.Or(h.env("DATABASE_URL"), c.db, "lumbricary.db")
	c.founding = service.Founding(cmp.Or(h.env("FOUNDING"), string(c.founding), string(service.FoundingFirst)))
	fs := flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(h.err)
	fs.StringVar(&c.addr, "addr", c.addr, "address to listen on")
	fs.StringVar(&c.db, "db", c.db, "postgres:// URL or SQLite file")
	if define != nil {
		define(fs)
	}
	if err := fs.Parse(h.args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return c, err
		}
		return c, errUsage
	}
	if fs.NArg() > 0 {
		_, err := fmt.Fprintf(h.err, "lumbricary %s: %q is too much\n", name, fs.Arg(0))
		return c, errors.Join(errUsage, err)
	}
	c.publicURL = strings.TrimSuffix(cmp.Or(h.env("PUBLIC_URL"), "http://"+c.addr), "/")
	switch c.founding {
	case service.FoundingFirst, service.FoundingOpen, service.FoundingInvited, service.FoundingClosed:
		return h.gates(c)
	}
	return c, fmt.Errorf("FOUNDING is %q; use first, open, invited or closed", c.founding)
}

// gates reads the settings on who may call how often, and on mail. Errors: a
// setting that can't be used.
func (h host) gates(c config) (config, error) {
	var limits, proxies, letters error
	c.limits, limits = api.ReadLimits(h.env)
	c.proxies, proxies = api.ReadProxies(h.env("TRUSTED_PROXIES"))
	c.loopback = h.env("WEBHOOKS_LOOPBACK") == "on"
	if address := h.env("SMTP_URL"); address != "" {
		c.mail, letters = mail.New(address, h.now)
	}
	return c, errors.Join(limits, proxies, letters)
}

// program is the service, wired.
type program struct {
	*service.Service
	store *repo.Store
	watch *watch.Watch
	gate  *auth.Gate
	log   *slog.Logger
	http  http.Handler
}

// close ends what open began. Errors: those of the store and the watch.
func (p *program) close(ctx context.Context) error {
	return errors.Join(p.watch.Close(ctx), p.store.Close())
}

// open opens the database, brings its schema and the totals of its clubs up to
// date, and wires the service. Errors: those of repo.Open and FillTotals.
func (h host) open(ctx context.Context, c config) (*program, error) {
	tables, err := reference.Load()
	if err != nil {
		return nil, err
	}
	now := func() time.Time { return h.now().UTC() }
	eye, err := watch.New(watch.Settings{
		Metrics: h.env("METRICS_ADDR"), Endpoint: h.env("OTEL_EXPORTER_OTLP_ENDPOINT"), Headers: h.env("OTEL_EXPORTER_OTLP_HEADERS"),
		Version: openapi.Version, Now: h.now,
	})
	if err != nil {
		return nil, err
	}
	store, err := repo.Open(ctx, c.db, repo.Options{Now: now, Notice: func(what string) { fmt.Fprintln(h.err, what) }})
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", keep.WithoutSecret(c.db), err)
	}
	cursorKey, noCursors := service.Secret(ctx, store, "cursors", rand.Reader)
	refreshKey, noRefresh := service.Secret(ctx, store, "refresh tokens", rand.Reader)
	pseudonyms, noPseudonyms := service.Secret(ctx, store, "pseudonyms", rand.Reader)
	webhookKey, noWebhooks := service.Secret(ctx, store, "webhooks", rand.Reader)
	if err := errors.Join(noCursors, noRefresh, noPseudonyms, noWebhooks); err != nil {
		return nil, errors.Join(err, store.Close())
	}
	gate := auth.NewGate(auth.GateOptions{Store: store, Name: c.publicURL, Now: now, Random: rand.Reader, Secret: refreshKey})
	eye.Program(store.Pools, gate.Queue)
	desk := &service.Desk{
		Store: eye.Journal(store), Now: now, NewID: newID, Reference: tables, Founding: c.founding, Mail: c.mail, Pseudonyms: pseudonyms,
		WebhookKey: webhookKey, Sender: courier.New("Lumbricary/"+openapi.Version, c.loopback), LoopbackHooks: c.loopback,
	}
	if err := desk.FillTotals(ctx); err != nil {
		return nil, errors.Join(err, store.Close())
	}
	p := &program{Service: service.New(desk, gate), store: store, watch: eye, gate: gate, log: slog.New(slog.NewJSONHandler(h.err, nil))}
	server := &api.Server{
		Service: p.Service, Log: p.log, Now: now, PublicURL: c.publicURL, Limits: c.limits, TrustedProxies: c.proxies,
		CursorKey: cursorKey, JWKS: gate.JWKS, OpenAPI: openapi.Handler(), Docs: openapi.Docs(), Elements: elements.Handlers(), Watchers: eye.Watchers(),
	}
	p.http = server.Handler()
	return p, nil
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

// serve runs the service until ctx ends, then lets running calls finish.
func (h host) serve(ctx context.Context) error {
	c, err := h.flags("serve", config{}, nil)
	if err != nil {
		return err
	}
	p, err := h.open(ctx, c)
	if err != nil {
		return err
	}
	err = p.watch.Serve(ctx, func(addr string) { fmt.Fprintf(h.out, "metrics: http://%s/metrics\n", addr) })
	if err != nil {
		return errors.Join(err, p.close(ctx))
	}
	stop, err := p.deliver(ctx)
	if err != nil {
		return errors.Join(err, p.close(ctx))
	}
	failed := func(what string, err error) { p.log.ErrorContext(ctx, what, "err", err) }
	listed, err := keep.List(ctx, p.Service, h.env("ERASURES_FILE"), failed)
	if err != nil {
		return errors.Join(err, p.close(ctx))
	}
	rest := p.Chores(ctx, failed)
	err = h.listen(ctx, c.addr, p.http, func(addr string) {
		fmt.Fprintf(h.out, "Lumbricary %s serves http://%s on %s\n", openapi.Version, addr, keep.WithoutSecret(c.db))
	})
	rest()
	listed()
	return errors.Join(err, stop(), p.close(ctx))
}

// deliver sends what is queued for webhooks until the returned function is
// called, which waits for what is under way. Errors: those of Store.Work.
func (p *program) deliver(ctx context.Context) (stop func() error, err error) {
	quiet := slog.New(atLeast{p.log.Handler(), slog.LevelWarn})
	return p.store.Work(ctx, quiet, p.Webhooks.Deliver)
}

// atLeast is a handler of log lines that are important enough.
type atLeast struct {
	slog.Handler
	level slog.Level
}

// Enabled implements slog.Handler.
func (h atLeast) Enabled(_ context.Context, level slog.Level) bool { return level >= h.level }

// listen serves handler on addr until ctx ends; started is told the address.
// Errors: the address can't be had, or calls ran on for more than 10 s.
func (h host) listen(ctx context.Context, addr string, handler http.Handler, started func(addr string)) error {
	var lc net.ListenConfig
	ln, err := lc.Listen(ctx, "tcp", addr)
	if err != nil {
		return err
	}
	srv := &http.Server{
		Handler: handler, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: time.Minute,
		WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
	}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(ln) }()
	started(ln.Addr().String())
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	return srv.Shutdown(grace)
}

// found starts a club and the account of its first steward, or uses the account
// that has the e-mail address when the passphrase is right.
func (h host) found(ctx context.Context) error {
	var club service.Club
	var email, steward, hemisphere, units string
	c, err := h.flags("found", config{}, func(fs *flag.FlagSet) {
		fs.StringVar(&club.Handle, "handle", "", "the club's name in addresses, as harbour")
		fs.StringVar(&club.Name, "name", "", "the club's name")
		fs.StringVar(&club.TimeZone, "zone", "", "IANA time zone, as Europe/Lisbon")
		fs.StringVar(&club.Currency, "currency", "", "ISO 4217 code, as EUR")
		fs.StringVar(&hemisphere, "hemisphere", "north", "north or south")
		fs.StringVar(&units, "units", "metric", "metric or us")
		fs.StringVar(&email, "email", "", "e-mail address of the first steward")
		fs.StringVar(&steward, "steward", "", "name of the first steward")
	})
	if err != nil {
		return err
	}
	club.Hemisphere, club.Units = service.Hemisphere(hemisphere), service.UnitSystem(units)
	fmt.Fprintln(h.err, "Passphrase of the steward (15 characters or more), then Enter:")
	passphrase, err := bufio.NewReader(h.in).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	p, err := h.open(ctx, c)
	if err != nil {
		return err
	}
	_, err = p.foundBy(ctx, service.Account{Email: email, Name: steward}, strings.TrimRight(passphrase, "\r\n"), club)
	if err == nil {
		fmt.Fprintf(h.out, "Founded %s (%s). Its steward signs in as %s.\n", club.Name, club.Handle, email)
	}
	return errors.Join(err, p.close(ctx))
}

// foundBy opens the account, or takes the one there is, and founds the
// club. Errors: those of SignUp and Found; ErrCredentials for another's address.
func (p *program) foundBy(ctx context.Context, who service.Account, passphrase string, club service.Club) (service.Actor, error) {
	a, err := p.Accounts.SignUp(ctx, who.Email, who.Name, passphrase)
	if errors.Is(err, service.ErrEmailTaken) {
		a, err = p.Accounts.Prove(ctx, who.Email, passphrase)
	}
	if err != nil {
		return service.Actor{}, err
	}
	_, _, err = p.Clubs.Found(ctx, a, club)
	return service.Actor{Account: a.ID, Club: club.Handle}, err
}

// operate does one of the operator's commands. Errors: errUsage, those of the
// command.
func (h host) operate(ctx context.Context, command string) error {
	if len(h.args) > 0 && !strings.HasPrefix(h.args[0], "-") {
		command, h.args = command+" "+h.args[0], h.args[1:]
	}
	if !operator.Known(command) {
		_, err := io.WriteString(h.err, usage)
		return errors.Join(errUsage, err)
	}
	var about operator.About
	c, err := h.flags(command, config{}, func(fs *flag.FlagSet) { about.Flags(fs, command) })
	if err != nil {
		return err
	}
	p, err := h.open(ctx, c)
	if err != nil {
		return err
	}
	tools := operator.Tools{Service: p.Service, Gate: p.gate, PublicURL: c.publicURL, Now: h.now, Out: h.out}
	return errors.Join(tools.Do(ctx, command, about), p.close(ctx))
}

// keep does one of the commands of package keep. Errors: errUsage, those of the
// command.
func (h host) keep(ctx context.Context, command string) error {
	tools := keep.Tools{DB: cmp.Or(h.env("DATABASE_URL"), "lumbricary.db"), Now: h.now, NewID: newID, Out: h.out, Err: h.err}
	err := tools.Do(ctx, append([]string{command}, h.args...))
	if errors.Is(err, keep.ErrUsage) {
		err = errors.Join(errUsage, err)
	}
	return err
}

// health asks the running service whether it is ready.
func (h host) health(ctx context.Context) error {
	c, err := h.flags("health", config{}, nil)
	if err != nil {
		return err
	}
	return operator.Health(ctx, c.addr)
}

// explain adds to an error what a person needs to mend it.
func explain(err error) string {
	if e, ok := errors.AsType[*service.Error](err); ok {
		lines := []string{e.Detail}
		for _, f := range e.Fields {
			lines = append(lines, "  "+f.Pointer+": "+f.Detail)
		}
		return strings.Join(lines, "\n")
	}
	return err.Error()
}

// demo loads the demo clubs once, prints a season's report, and serves.
func (h host) demo(ctx context.Context) error {
	var once bool
	c, err := h.flags("demo", config{db: "demo.db"}, func(fs *flag.FlagSet) {
		fs.BoolVar(&once, "once", false, "print and exit")
	})
	if err != nil {
		return err
	}
	if start := h.now(); start.Before(demo.Day()) {
		ahead, real := demo.Day().Sub(start), h.now
		h.now = func() time.Time { return real().Add(ahead) }
	}
	clubs, err := demo.Clubs()
	if err != nil {
		return err
	}
	p, err := h.open(ctx, c)
	if err != nil {
		return err
	}
	stage := demo.Stage{Service: p.Service, Found: p.foundBy, Now: h.now, Out: h.out, Err: h.err}
	first, err := stage.Load(ctx, clubs)
	if err == nil {
		err = stage.Tell(ctx, first)
	}
	if err != nil || once {
		return errors.Join(err, p.close(ctx))
	}
	stop, err := p.deliver(ctx)
	if err != nil {
		return errors.Join(err, p.close(ctx))
	}
	err = h.listen(ctx, c.addr, p.http, func(addr string) { stage.Invite(addr, clubs[0]) })
	return errors.Join(err, stop(), p.close(ctx))
}
