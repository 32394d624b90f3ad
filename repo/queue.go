package repo

import (
	"context"
	"database/sql"
	"errors"
	"log/slog"
	"math/rand/v2"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/webhook"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"
)

// The queue is River's, in tables of its own beside ours. They belong to no club
// and hold ids alone; the guard lets no row of ours reach them.

// How the queue is worked off.
const (
	workers     = 4
	jobTimeout  = time.Minute     // a delivery takes a quarter of it at most
	rescueAfter = 2 * time.Minute // a job whose program died is done again
	stopWithin  = 20 * time.Second
	pollEvery   = time.Second
)

// queueLock is the advisory lock of migrateQueue.
const queueLock = 7_308_605

// deliverArgs is a job: to deliver a message.
type deliverArgs struct {
	Club     string `json:"club"`
	Delivery string `json:"delivery"`
}

// Kind implements river.JobArgs.
func (deliverArgs) Kind() string { return "deliver" }

// driverOf returns River's driver of a database.
func driverOf(db *sql.DB, postgres bool) riverdriver.Driver[*sql.Tx] {
	if postgres {
		return riverdatabasesql.New(db)
	}
	return riversqlite.New(db)
}

// migrateQueue brings the queue's tables up to date; starts at the same time
// wait for each other on PostgreSQL. Errors: River's, the driver's.
func migrateQueue(ctx context.Context, db *sql.DB, postgres bool) error {
	if postgres {
		conn, err := db.Conn(ctx)
		if err != nil {
			return err
		}
		defer func() { _ = conn.Close() }() // and with its session the lock
		if _, err := conn.ExecContext(ctx, `SELECT pg_advisory_lock($1)`, queueLock); err != nil {
			return err
		}
	}
	m, err := rivermigrate.New(driverOf(db, postgres), &rivermigrate.Config{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	_, err = m.Migrate(ctx, rivermigrate.DirectionUp, nil)
	return err
}

// queue implements service.QueueRepo in one transaction.
type queue struct {
	ctx    context.Context //nolint:containedctx // of the visit, and no longer
	client *river.Client[*sql.Tx]
	tx     *sql.Tx
}

// Deliver implements service.QueueRepo. Errors: River's, the driver's.
func (q queue) Deliver(job service.DeliveryJob) error {
	_, err := q.client.InsertTx(q.ctx, q.tx, deliverArgs{string(job.Club), string(job.Delivery)}, &river.InsertOpts{MaxAttempts: webhook.Attempts()})
	return translate(err)
}

// queue is what the visit's transaction puts work into.
func (v visit) queue() queue {
	tx, _ := v.conn.(*sql.Tx)
	return queue{v.ctx, v.jobs, tx}
}

// deliverer works off the queue.
type deliverer struct {
	river.WorkerDefaults[deliverArgs]
	deliver func(ctx context.Context, job service.DeliveryJob, attempt int) error
}

// Work implements river.Worker. Errors: deliver's.
func (d *deliverer) Work(ctx context.Context, job *river.Job[deliverArgs]) error {
	return d.deliver(ctx, service.DeliveryJob{Club: service.ClubID(job.Args.Club), Delivery: service.DeliveryID(job.Args.Delivery)}, job.Attempt)
}

// NextRetry implements river.Worker.
func (d *deliverer) NextRetry(job *river.Job[deliverArgs]) time.Time {
	return time.Now().Add(webhook.Wait(job.Attempt, rand.Float64()))
}

// Work has deliver called for what is queued, at least once for each job and
// again for one that fails, until the returned function is called, which waits
// for what is running. Several programs may work on one database. Errors:
// River's, when it can't be started.
func (s *Store) Work(ctx context.Context, log *slog.Logger, deliver func(context.Context, service.DeliveryJob, int) error) (stop func() error, err error) {
	all := river.NewWorkers()
	river.AddWorker(all, &deliverer{deliver: deliver})
	client, err := river.NewClient(driverOf(s.write, s.postgres), &river.Config{
		Queues: map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: workers}}, Workers: all, Logger: log,
		PollOnly: true, FetchPollInterval: pollEvery, JobTimeout: jobTimeout, RescueStuckJobsAfter: rescueAfter,
		ReindexerSchedule: river.NeverSchedule(), // the program's role owns no index
	})
	if err != nil {
		return nil, err
	}
	ctx = context.WithoutCancel(ctx)
	if err := client.Start(ctx); err != nil {
		return nil, err
	}
	return func() error {
		grace, cancel := context.WithTimeout(ctx, stopWithin)
		defer cancel()
		err := client.Stop(grace)
		if errors.Is(err, context.DeadlineExceeded) {
			err = client.StopAndCancel(ctx)
		}
		return err
	}, nil
}
