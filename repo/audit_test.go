package repo_test

import (
	"errors"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// audited is the n-th audit entry of a test: two in one moment.
func audited(n int) service.AuditEntry {
	return service.AuditEntry{
		ID: service.AuditEntryID(number("audit", n)), At: moment(n), Seq: int64(1000 + n), Member: founder, Action: service.Changed,
		Noun: "bin", Record: string(bin(n % 2)), Changed: []string{"depth_cm"}, Before: `{"depth_cm":1}`, After: `{"depth_cm":2}`,
	}
}

func TestTheAuditIsPagedAndFiltered(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		other := audited(7)
		other.Member, other.OnBehalf, other.Noun, other.Action, other.Before = keeper, founder, "site", service.Added, ""
		update(t, s, harbour, func(tx service.Tx) error {
			return errors.Join(tx.Audit.Insert(audited(2)), tx.Audit.Insert(audited(3)), tx.Audit.Insert(audited(4)), tx.Audit.Insert(other))
		})
		for name, tt := range map[string]struct {
			q    service.Query
			want []service.AuditEntry
		}{
			"all":    {service.Query{Newest: true}, []service.AuditEntry{other, audited(4), audited(3), audited(2)}},
			"a page": {service.Query{Newest: true, Limit: 1, After: service.Place{At: moment(4), ID: strconv.Itoa(1004)}}, []service.AuditEntry{audited(3)}},
			"noun":   {service.Query{Kind: "site"}, []service.AuditEntry{other}},
			"record": {service.Query{Record: string(bin(0))}, []service.AuditEntry{audited(2), audited(4)}},
			"member": {service.Query{Member: keeper}, []service.AuditEntry{other}},
			"time":   {service.Query{From: moment(2), To: moment(2).Add(time.Microsecond), Record: string(bin(1))}, []service.AuditEntry{audited(3)}},
		} {
			view(t, s, harbour, func(tx service.Tx) {
				got, err := tx.Audit.List(tt.q)
				if err != nil || !reflect.DeepEqual(got, tt.want) {
					t.Errorf("%s: %+v, %v; want %+v", name, got, err, tt.want)
				}
			})
		}
		view(t, s, hillTop, func(tx service.Tx) {
			if got, err := tx.Audit.List(service.Query{}); err != nil || len(got) != 0 {
				t.Errorf("another club's audit: %v, %v", got, err)
			}
		})
	})
}

func TestTheDatabaseRefusesToChangeOrRemoveAnAuditEntry(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		update(t, s, harbour, func(tx service.Tx) error { return tx.Audit.Insert(audited(2)) })
		for _, q := range []string{"UPDATE audit_entries SET noun = 'x'", "DELETE FROM audit_entries"} {
			tx, err := s.SQL().BeginTx(t.Context(), nil)
			must(t, err)
			if s.IsPostgres() {
				_, err = tx.ExecContext(t.Context(), "SELECT set_config('app.club_id', $1, true)", string(harbour))
				must(t, err)
			}
			if _, err := tx.ExecContext(t.Context(), q); err == nil || !strings.Contains(err.Error(), "an audit entry is never") {
				t.Errorf("%s: %v", q, err)
			}
			must(t, tx.Rollback())
		}
		view(t, s, harbour, func(tx service.Tx) {
			if got, err := tx.Audit.List(service.Query{}); err != nil || !reflect.DeepEqual(got, []service.AuditEntry{audited(2)}) {
				t.Errorf("%+v, %v", got, err)
			}
		})
	})
}

func TestARowIsDeletedInItsVersionAndOnlyWhenNothingNamesIt(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		site := service.Site{ID: "attic", Name: "Attic", Owner: founder, CreatedAt: noon, Version: 1}
		update(t, s, harbour, func(tx service.Tx) error { return tx.Sites.Insert(site) })
		remove := func(v service.Site) error {
			return s.Update(t.Context(), harbour, func(tx service.Tx) error { return tx.Sites.Delete(v) })
		}
		stale := site
		stale.Version = 2
		cellar := service.Site{ID: "cellar", Version: 1}
		if err := remove(stale); !errors.Is(err, service.ErrStale) {
			t.Errorf("another version: %v", err)
		}
		if err := remove(cellar); !errors.Is(err, service.ErrInUse) {
			t.Errorf("where bins stand: %v", err)
		}
		must(t, remove(site))
		if err := remove(site); !errors.Is(err, service.ErrStale) {
			t.Errorf("once more: %v", err)
		}
		view(t, s, hillTop, func(tx service.Tx) {
			if _, err := tx.Sites.Get("cellar"); err != nil {
				t.Errorf("the other club's site: %v", err)
			}
		})
	})
}

func TestAVoidedRecordIsFoundButNotListed(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		c := service.Check{ID: "c", Bin: bin(0), At: exactly(noon), Recorded: recorded(1), Version: 1}
		update(t, s, harbour, func(tx service.Tx) error {
			if err := tx.Checks.Insert(c); err != nil {
				return err
			}
			c.Voided = service.Voiding{At: noon.Add(time.Hour), By: keeper}
			return tx.Checks.Update(c)
		})
		c.Version = 2
		view(t, s, harbour, func(tx service.Tx) {
			got, err := tx.Checks.Get("c")
			if err != nil || !reflect.DeepEqual(got, c) {
				t.Errorf("%+v, %v; want %+v", got, err, c)
			}
			if listed, err := tx.Checks.List(service.Query{}); err != nil || len(listed) != 0 {
				t.Errorf("listed: %v, %v", listed, err)
			}
			if all, err := tx.Checks.List(service.Query{Voided: true}); err != nil || len(all) != 1 {
				t.Errorf("with voided: %v, %v", all, err)
			}
			if _, err := tx.Sites.List(service.Query{Voided: true}); err == nil {
				t.Error("sites can't be voided")
			}
		})
	})
}

func TestAnEventIsRemovedAlone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		update(t, s, harbour, func(tx service.Tx) error {
			return errors.Join(tx.Events.Insert(event(2, 0), event(3, 0)), tx.Events.Remove(event(2, 0)))
		})
		view(t, s, harbour, func(tx service.Tx) {
			if got, err := tx.Events.List(service.Query{Bin: bin(0)}); err != nil || !slices.Equal(got, []service.BinEvent{event(3, 0)}) {
				t.Errorf("%v, %v", got, err)
			}
		})
	})
}
