package repotest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"lumbricary.example/repo"

	"github.com/jackc/pgx/v5"
)

// errMissing means that PostgreSQL isn't installed.
var errMissing = errors.New("repotest: PostgreSQL isn't installed: no initdb in PATH or /usr/lib/postgresql")

// cluster is the throw-away cluster of this test binary.
var cluster struct {
	once   sync.Once
	err    error
	dir    string
	server *exec.Cmd
	made   atomic.Int64
}

// startWithin is how long the server may take to answer.
const startWithin = time.Minute

// PostgresURL returns the address of a fresh PostgreSQL database with the
// schema. It signs in as the cluster's superuser.
func PostgresURL(t testing.TB) string {
	t.Helper()
	return fresh(t, "blank")
}

// EmptyPostgresURL returns the address of a PostgreSQL database without a
// schema.
func EmptyPostgresURL(t testing.TB) string {
	t.Helper()
	return fresh(t, "template0")
}

// fresh makes a database like template, which goes when the test ends.
func fresh(t testing.TB, template string) string {
	t.Helper()
	cluster.once.Do(func() { cluster.err = start() })
	switch {
	case errors.Is(cluster.err, errMissing) && os.Getenv("REQUIRE_POSTGRES") != "1":
		t.Skip(cluster.err)
	case cluster.err != nil:
		t.Fatal(cluster.err)
	}
	name := fmt.Sprintf("test%d", cluster.made.Add(1))
	if err := administer(t.Context(), "CREATE DATABASE "+name+" TEMPLATE "+template); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		// not t.Context(), which has ended
		if err := administer(context.Background(), "DROP DATABASE IF EXISTS "+name+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return address(name)
}

// Stop stops the cluster, if one was started, and removes it.
func Stop() {
	if cluster.server != nil {
		_ = cluster.server.Process.Signal(syscall.SIGQUIT) // at once: nothing is kept
		_ = cluster.server.Wait()
	}
	if cluster.dir != "" {
		_ = os.RemoveAll(cluster.dir)
	}
}

func address(database string) string {
	return "postgres://postgres@/" + database + "?sslmode=disable&host=" + url.QueryEscape(cluster.dir)
}

// administer runs one statement as the superuser.
func administer(ctx context.Context, statement string) error {
	conn, err := pgx.Connect(ctx, address("postgres"))
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	_, err = conn.Exec(ctx, statement)
	return err
}

// start makes the cluster, starts it, and makes the database that the others
// are copied from.
func start() error {
	bin, err := binaries()
	if err != nil {
		return err
	}
	who, err := unprivileged()
	if err != nil {
		return err
	}
	if cluster.dir, err = home(who); err != nil {
		return err
	}
	data := filepath.Join(cluster.dir, "data")
	initdb := as(who, filepath.Join(bin, "initdb"), "-D", data, "-U", "postgres", "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C")
	if out, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("repotest: initdb: %w: %s", err, out)
	}
	if err := serve(as(who, filepath.Join(bin, "postgres"), "-D", data, "-k", cluster.dir,
		"-c", "listen_addresses=", "-c", "max_connections=200", "-c", "shared_buffers=32MB",
		"-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off", "-c", "autovacuum=off")); err != nil {
		return err
	}
	if err := administer(context.Background(), "CREATE DATABASE blank TEMPLATE template0"); err != nil {
		return err
	}
	return migrate(address("blank"))
}

// migrate gives a database the schema.
func migrate(url string) error {
	s, err := repo.Open(context.Background(), url, repo.Options{})
	if err != nil {
		return err
	}
	return s.Close()
}

// serve starts the server and waits until it answers.
func serve(server *exec.Cmd) error {
	log, err := os.Create(filepath.Join(cluster.dir, "log"))
	if err != nil {
		return err
	}
	defer func() { _ = log.Close() }() // the server has its own handle
	server.Stdout, server.Stderr = log, log
	if err := server.Start(); err != nil {
		return err
	}
	cluster.server = server
	ctx, cancel := context.WithTimeout(context.Background(), startWithin)
	defer cancel()
	again := time.NewTicker(20 * time.Millisecond)
	defer again.Stop()
	for {
		if err = administer(ctx, "SELECT 1"); err == nil {
			return nil
		}
		select {
		case <-again.C:
		case <-ctx.Done():
			said, _ := os.ReadFile(log.Name())
			return fmt.Errorf("repotest: the server doesn't answer: %w: %s", err, said)
		}
	}
}

// binaries returns where initdb and postgres are: by PATH, or the newest of
// Debian's places.
func binaries() (string, error) {
	if path, err := exec.LookPath("initdb"); err == nil {
		if path, err = filepath.EvalSymlinks(path); err == nil {
			return filepath.Dir(path), nil
		}
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return "", errMissing
	}
	return filepath.Dir(slices.MaxFunc(found, func(a, b string) int { return release(a) - release(b) })), nil
}

// release returns the number in /usr/lib/postgresql/15/bin/initdb.
func release(path string) int {
	n, err := strconv.Atoi(filepath.Base(filepath.Dir(filepath.Dir(path))))
	if err != nil {
		return 0
	}
	return n
}

// unprivileged returns the user that runs the server, nil for the present one:
// PostgreSQL refuses to run as root.
func unprivileged() (*syscall.Credential, error) {
	if os.Geteuid() != 0 {
		return nil, nil //nolint:nilnil // nobody else
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		u, err = user.Lookup("nobody")
	}
	if err != nil {
		return nil, err
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		return nil, err
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, err
}

// home makes the cluster's directory, with a path short enough for a socket.
func home(who *syscall.Credential) (string, error) {
	parent := os.TempDir()
	if len(parent) > 60 {
		parent = "/tmp"
	}
	dir, err := os.MkdirTemp(parent, "lumbricary-pg")
	if err != nil || who == nil {
		return dir, err
	}
	return dir, os.Chown(dir, int(who.Uid), int(who.Gid))
}

// as returns a command that runs as who and doesn't outlive the test binary,
// where the system can do that.
func as(who *syscall.Credential, name string, args ...string) *exec.Cmd {
	cmd := exec.Command(name, args...) //nolint:noctx // it ends with the test binary
	cmd.Dir = cluster.dir
	cmd.SysProcAttr = attributes()
	cmd.SysProcAttr.Credential = who
	return cmd
}
