package repo_test

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// noun says how to make and change records of one noun, all alike but for their
// number.
type noun[T any, K ~string] struct {
	of      func(service.Tx) service.Records[T, K]
	made    func(n int) T
	edited  func(T) T
	missing error
}

// Every record has an id and a version, and most have a moment.

func idOf[K ~string](v any) K { return K(reflect.ValueOf(v).FieldByName("ID").String()) }

func placeOf(v any) service.Place {
	p := service.Place{ID: reflect.ValueOf(v).FieldByName("ID").String()}
	if at := reflect.ValueOf(v).FieldByName("At"); at.IsValid() {
		p.At = at.Interface().(service.Moment).Time
	}
	return p
}

func dated(v any) bool { return !placeOf(v).At.IsZero() }

// with returns v with another value in one field.
func with[T any](v T, field string, value any) T {
	f := reflect.ValueOf(&v).Elem().FieldByName(field)
	f.Set(reflect.ValueOf(value).Convert(f.Type()))
	return v
}

// moment is when the n-th record happened: two in one moment.
func moment(n int) time.Time { return noon.Add(time.Duration(n/2) * time.Hour) }

func number(prefix string, n int) string { return fmt.Sprintf("%s-%02d", prefix, n) }

// numbers are the records of a test, in no order.
var numbers = []int{8, 2, 10, 4, 6}

func TestARecordIsReadAsItWasWritten(t *testing.T) {
	t.Parallel()
	t.Run("member", keepsRecords(memberNoun()))
	t.Run("invitation", keepsRecords(invitationNoun()))
	t.Run("API key", keepsRecords(apiKeyNoun()))
	t.Run("site", keepsRecords(siteNoun()))
	t.Run("bin", keepsRecords(binNoun()))
	t.Run("material", keepsRecords(materialNoun()))
	t.Run("measure", keepsRecords(measureNoun()))
	t.Run("culture", keepsRecords(cultureNoun()))
	t.Run("origin", keepsRecords(originNoun()))
	t.Run("batch", keepsRecords(batchNoun()))
	t.Run("feeding", keepsRecords(feedingNoun()))
	t.Run("check", keepsRecords(checkNoun()))
	t.Run("census", keepsRecords(censusNoun()))
	t.Run("harvest", keepsRecords(harvestNoun()))
	t.Run("transfer", keepsRecords(transferNoun()))
	t.Run("offer", keepsRecords(offerNoun()))
}

// keepsRecords returns the test of one noun on both databases.
func keepsRecords[T any, K ~string](n noun[T, K]) func(*testing.T) {
	return func(t *testing.T) {
		t.Parallel()
		repotest.Each(t, func(t *testing.T, s *repo.Store) {
			clubs(t, s)
			update(t, s, harbour, func(tx service.Tx) error {
				var err error
				for _, i := range numbers {
					err = errors.Join(err, n.of(tx).Insert(n.made(i)))
				}
				return err
			})
			n.reads(t, s)
			n.refuses(t, s)
			n.updates(t, s)
			n.hides(t, s)
			n.pages(t, s)
		})
	}
}

// reads sees that records come back as they went.
func (n noun[T, K]) reads(t *testing.T, s *repo.Store) {
	t.Helper()
	view(t, s, harbour, func(tx service.Tx) {
		for _, i := range numbers {
			want := n.made(i)
			got, err := n.of(tx).Get(idOf[K](want))
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("Get = %+v, %v; want %+v", got, err, want)
			}
		}
		some, err := n.of(tx).Some([]K{idOf[K](n.made(2)), "nobody", idOf[K](n.made(8))})
		slices.SortFunc(some, func(a, b T) int { return cmp.Compare(idOf[K](a), idOf[K](b)) })
		if want := []T{n.made(2), n.made(8)}; err != nil || !reflect.DeepEqual(some, want) {
			t.Errorf("Some = %+v, %v; want %+v", some, err, want)
		}
		if none, err := n.of(tx).Some(nil); err != nil || len(none) != 0 {
			t.Errorf("Some of no ids = %+v, %v", none, err)
		}
		if _, err := n.of(tx).Get("nobody"); !errors.Is(err, n.missing) {
			t.Errorf("Get of an id that isn't there: %v; want %v", err, n.missing)
		}
	})
}

// refuses sees that an id is taken once.
func (n noun[T, K]) refuses(t *testing.T, s *repo.Store) {
	t.Helper()
	again := with(n.made(9), "ID", idOf[K](n.made(2)))
	err := s.Update(t.Context(), harbour, func(tx service.Tx) error { return n.of(tx).Insert(again) })
	if !errors.Is(err, service.ErrIDTaken) {
		t.Errorf("Insert of an id that is there: %v; want ErrIDTaken", err)
	}
}

// updates sees that an update writes every field, and once per version.
func (n noun[T, K]) updates(t *testing.T, s *repo.Store) {
	t.Helper()
	before := n.made(4)
	after := n.edited(before)
	update(t, s, harbour, func(tx service.Tx) error { return n.of(tx).Update(after) })
	view(t, s, harbour, func(tx service.Tx) {
		want := with(after, "Version", 2)
		if got, err := n.of(tx).Get(idOf[K](before)); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("after Update Get = %+v, %v; want %+v", got, err, want)
		}
		if got, err := n.of(tx).Get(idOf[K](n.made(6))); err != nil || !reflect.DeepEqual(got, n.made(6)) {
			t.Errorf("Update changed another record to %+v, %v", got, err)
		}
	})
	err := s.Update(t.Context(), harbour, func(tx service.Tx) error { return n.of(tx).Update(after) })
	if !errors.Is(err, service.ErrStale) {
		t.Errorf("Update of an old version: %v; want ErrStale", err)
	}
	update(t, s, harbour, func(tx service.Tx) error { return n.of(tx).Update(with(before, "Version", 2)) })
}

// hides sees that another club with the same ids around finds none of them.
func (n noun[T, K]) hides(t *testing.T, s *repo.Store) {
	t.Helper()
	id := idOf[K](n.made(2))
	view(t, s, hillTop, func(tx service.Tx) {
		if _, err := n.of(tx).Get(id); !errors.Is(err, n.missing) {
			t.Errorf("another club's Get: %v; want %v", err, n.missing)
		}
		if some, err := n.of(tx).Some([]K{id}); err != nil || len(some) != 0 {
			t.Errorf("another club's Some = %+v, %v", some, err)
		}
	})
	err := s.Update(t.Context(), hillTop, func(tx service.Tx) error { return n.of(tx).Update(n.edited(n.made(2))) })
	if !errors.Is(err, service.ErrStale) {
		t.Errorf("another club's Update: %v; want ErrStale", err)
	}
	list := n.listed(t, s, hillTop, service.Query{})
	if slices.ContainsFunc(list, func(i K) bool { return i == id }) {
		t.Errorf("another club's list has %s", id)
	}
	update(t, s, hillTop, func(tx service.Tx) error { return n.of(tx).Insert(n.made(2)) })
}

// pages sees that no page repeats or drops a record when others come in
// between.
func (n noun[T, K]) pages(t *testing.T, s *repo.Store) {
	t.Helper()
	ids := func(numbers ...int) []K {
		var out []K
		for _, i := range numbers {
			out = append(out, idOf[K](n.made(i)))
		}
		return out
	}
	first := n.listed(t, s, harbour, service.Query{Limit: 2, After: n.start()})
	update(t, s, harbour, func(tx service.Tx) error {
		return errors.Join(n.of(tx).Insert(n.made(3)), n.of(tx).Insert(n.made(7)))
	})
	second := n.listed(t, s, harbour, service.Query{Limit: 2, After: placeOf(n.made(4))})
	third := n.listed(t, s, harbour, service.Query{Limit: 4, After: placeOf(n.made(7)), To: n.end()})
	if got := slices.Concat(first, second, third[:2]); !slices.Equal(got, ids(2, 4, 6, 7, 8, 10)) {
		t.Errorf("pages of two: %v", got)
	}
	newest := n.listed(t, s, harbour, service.Query{Newest: true, Limit: 4, After: placeOf(n.made(11))})
	older := n.listed(t, s, harbour, service.Query{Newest: true, Limit: 3, After: placeOf(n.made(6))})
	if got := slices.Concat(newest, older); !slices.Equal(got, ids(10, 8, 7, 6, 4, 3, 2)) {
		t.Errorf("pages from the newest: %v", got)
	}
	if !dated(n.made(2)) {
		return
	}
	span := service.Query{From: moment(6), To: moment(8)}
	if of := reflect.ValueOf(n.made(2)).FieldByName("Bin"); of.IsValid() {
		span.Bin = bin(0)
		if other := n.listed(t, s, harbour, service.Query{Bin: bin(1)}); len(other) != 0 {
			t.Errorf("of another bin: %v", other)
		}
	}
	if between := n.listed(t, s, harbour, span); !slices.Equal(between, ids(6, 7)) {
		t.Errorf("from one moment to before another: %v", between)
	}
}

// start is the place before the first record of the test, which passes over
// what the clubs were furnished with.
func (n noun[T, K]) start() service.Place { return placeOf(n.made(1)) }

// end is a moment after the last record, for nouns that have moments.
func (n noun[T, K]) end() time.Time {
	if dated(n.made(2)) {
		return moment(20)
	}
	return time.Time{}
}

func (n noun[T, K]) listed(t *testing.T, s *repo.Store, club service.ClubID, q service.Query) []K {
	t.Helper()
	var ids []K
	view(t, s, club, func(tx service.Tx) {
		list, err := n.of(tx).List(q)
		must(t, err)
		for _, v := range list {
			ids = append(ids, idOf[K](v))
		}
	})
	return ids
}

func memberNoun() noun[service.Member, service.MemberID] {
	return noun[service.Member, service.MemberID]{
		of: func(tx service.Tx) service.Records[service.Member, service.MemberID] { return tx.Members },
		made: func(n int) service.Member {
			return service.Member{
				ID: service.MemberID(number("zmember", n)), Account: service.AccountID(number("account", n)),
				Name: number("Cleo", n), Role: service.Keeper, CreatedAt: noon, Version: 1,
			}
		},
		edited: func(m service.Member) service.Member {
			m.Account, m.Role = "", service.Reader
			return m
		},
		missing: service.ErrMemberNotFound,
	}
}

func invitationNoun() noun[service.Invitation, service.InvitationID] {
	return noun[service.Invitation, service.InvitationID]{
		of: func(tx service.Tx) service.Records[service.Invitation, service.InvitationID] { return tx.Invitations },
		made: func(n int) service.Invitation {
			return service.Invitation{
				ID: service.InvitationID(number("invitation", n)), Member: keeper, Email: "bert@example.org", Name: "Bert",
				Role: service.Keeper, CodeHash: number("hash", n), InvitedBy: founder,
				CreatedAt: noon, ExpiresAt: noon.Add(time.Hour), Version: 1,
			}
		},
		edited: func(i service.Invitation) service.Invitation {
			i.Member, i.UsedAt, i.RevokedAt = "", noon.Add(time.Minute), noon.Add(time.Hour)
			return i
		},
		missing: service.ErrInvitationNotFound,
	}
}

func siteNoun() noun[service.Site, service.SiteID] {
	return noun[service.Site, service.SiteID]{
		of: func(tx service.Tx) service.Records[service.Site, service.SiteID] { return tx.Sites },
		made: func(n int) service.Site {
			return service.Site{
				ID: service.SiteID(number("site", n)), Name: number("Shed", n), Address: "1 Mole Lane",
				Owner: keeper, Note: "damp", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(s service.Site) service.Site {
			s.Address, s.Note, s.Owner = "", "dry", founder
			return s
		},
		missing: service.ErrSiteNotFound,
	}
}

func binNoun() noun[service.Bin, service.BinID] {
	return noun[service.Bin, service.BinID]{
		of: func(tx service.Tx) service.Records[service.Bin, service.BinID] { return tx.Bins },
		made: func(n int) service.Bin {
			return service.Bin{
				ID: service.BinID(number("zbin", n)), Name: number("Tote", n), Kind: service.Tote, Site: "cellar",
				Keeper: founder, StandIns: []service.MemberID{keeper}, Surface: 0.25, DepthCM: 30.5,
				Started: service.Moment{Time: noon, Precision: service.ToTheDay}, Note: "blue", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(b service.Bin) service.Bin {
			b.StandIns, b.DepthCM, b.Note = nil, 0, ""
			b.Retired, b.RetiredWhy = exactly(noon.Add(time.Hour)), "cracked"
			return b
		},
		missing: service.ErrBinNotFound,
	}
}

func materialNoun() noun[service.Material, service.MaterialID] {
	return noun[service.Material, service.MaterialID]{
		of: func(tx service.Tx) service.Records[service.Material, service.MaterialID] { return tx.Materials },
		made: func(n int) service.Material {
			return service.Material{
				ID: service.MaterialID(number("zmaterial", n)), Name: number("Coffee", n), Kind: service.FeedMaterial,
				Feedstock: "coffee-grounds", Moisture: ptr(unit.Percent(62.5)), NitrogenPct: ptr(2.1), CarbonRatio: ptr(20.3),
				DensityGPerL: ptr(450.0), AnimalOrigin: true, Slow: true, Note: "spent", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(m service.Material) service.Material {
			m.Moisture, m.NitrogenPct, m.AnimalOrigin, m.Slow = ptr(unit.Percent(0)), nil, false, false
			return m
		},
		missing: service.ErrMaterialNotFound,
	}
}

func measureNoun() noun[service.Measure, service.MeasureID] {
	return noun[service.Measure, service.MeasureID]{
		of: func(tx service.Tx) service.Records[service.Measure, service.MeasureID] { return tx.Measures },
		made: func(n int) service.Measure {
			return service.Measure{
				ID: service.MeasureID(number("zmeasure", n)), Name: number("Bucket", n), Volume: unit.Measure{Value: 10, Unit: "L"},
				Tare: unit.Measure{Value: 1, Unit: "[lb_av]"}, Note: "blue", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(m service.Measure) service.Measure {
			m.Tare, m.Note = unit.Measure{}, ""
			return m
		},
		missing: service.ErrMeasureNotFound,
	}
}

func cultureNoun() noun[service.Culture, service.CultureID] {
	return noun[service.Culture, service.CultureID]{
		of: func(tx service.Tx) service.Records[service.Culture, service.CultureID] { return tx.Cultures },
		made: func(n int) service.Culture {
			return service.Culture{
				ID: service.CultureID(number("zculture", n)), Name: number("Line", n), Species: fetida,
				Note: "old", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(c service.Culture) service.Culture {
			c.Name, c.Note, c.MergedInto, c.Moved = "Renamed", "", "red", []service.OriginID{"farm"}
			return c
		},
		missing: service.ErrCultureNotFound,
	}
}

func originNoun() noun[service.Origin, service.OriginID] {
	return noun[service.Origin, service.OriginID]{
		of: func(tx service.Tx) service.Records[service.Origin, service.OriginID] { return tx.Origins },
		made: func(n int) service.Origin {
			return service.Origin{
				ID: service.OriginID(number("origin", n)), Name: number("Supplier", n), Kind: service.SupplierOrigin,
				Species: fetida, Culture: "red", Note: "by post", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(o service.Origin) service.Origin {
			o.Culture, o.Kind = "", service.WildOrigin
			return o
		},
		missing: service.ErrOriginNotFound,
	}
}

func batchNoun() noun[service.Batch, service.BatchID] {
	return noun[service.Batch, service.BatchID]{
		of: func(tx service.Tx) service.Records[service.Batch, service.BatchID] { return tx.Batches },
		made: func(n int) service.Batch {
			return service.Batch{
				ID: service.BatchID(number("zbatch", n)), LotNumber: number("L", n), Product: service.Screened,
				MeshMM: 6.5, Note: "sieved", CreatedAt: noon, Version: 1,
			}
		},
		edited: func(b service.Batch) service.Batch {
			b.MeshMM, b.Product = 0, service.Vermicompost
			return b
		},
		missing: service.ErrBatchNotFound,
	}
}

func feedingNoun() noun[service.Feeding, service.FeedingID] {
	return noun[service.Feeding, service.FeedingID]{
		of: func(tx service.Tx) service.Records[service.Feeding, service.FeedingID] { return tx.Feedings },
		made: func(n int) service.Feeding {
			return service.Feeding{
				ID: service.FeedingID(number("feeding", n)), Bin: bin(0), At: exactly(moment(n)),
				Items: []service.FeedingItem{
					{Material: "peelings", Typed: unit.Measure{Value: 1.5, Unit: "kg"}, Wet: 1500000, Moisture: ptr(unit.Percent(80)), Weighed: true},
					{Material: "cardboard", Typed: unit.Measure{Value: float64(n), Unit: "L"}, Wet: unit.Mass(n) * 50000},
					{Material: "peelings", Measure: "bucket", Count: ptr(2.5), Wet: 9000},
				},
				Placement: service.Pocket, Preparation: service.Frozen, Note: "under the lid", Recorded: recorded(n), Version: 1,
			}
		},
		edited: func(f service.Feeding) service.Feeding {
			f.Items = []service.FeedingItem{f.Items[1]}
			f.Placement = service.PlacedSomehow
			return f
		},
		missing: service.ErrFeedingNotFound,
	}
}

func checkNoun() noun[service.Check, service.CheckID] {
	return noun[service.Check, service.CheckID]{
		of: func(tx service.Tx) service.Records[service.Check, service.CheckID] { return tx.Checks },
		made: func(n int) service.Check {
			return service.Check{
				ID: service.CheckID(number("check", n)), Bin: bin(0), At: exactly(moment(n)),
				Temperature: ptr(unit.Celsius(21.5)), Moisture: ptr(unit.Percent(75)), Squeeze: service.SqueezeDrops,
				PH: ptr(6.8), Ammonia: ptr(false), LeftoverAll: ptr(unit.Percent(10)),
				Leftovers: []service.Leftover{{Feeding: "feeding-02", Percent: 12.5}}, WormsAt: service.WormsInFeed,
				Pests: []string{"mites", "flatworms"}, Beaded: ptr(true), Escape: ptr(false), Leachate: ptr(unit.Volume(0.4)),
				Cover: "sacking", Note: "fine", Recorded: recorded(n), Version: 1,
			}
		},
		edited: func(c service.Check) service.Check {
			c.Temperature, c.Ammonia, c.Leftovers, c.Pests, c.Escape = nil, nil, nil, nil, ptr(true)
			return c
		},
		missing: service.ErrCheckNotFound,
	}
}

func censusNoun() noun[service.Census, service.CensusID] {
	return noun[service.Census, service.CensusID]{
		of: func(tx service.Tx) service.Records[service.Census, service.CensusID] {
			return withMovement[service.Census, service.CensusID]{tx.Censuses, tx.Movements}
		},
		made: func(n int) service.Census {
			return service.Census{
				ID: service.CensusID(number("census", n)), Movement: service.MovementID(number("census", n)), Bin: bin(0), Species: fetida, At: exactly(moment(n)),
				Samples: []service.Sample{
					{Stratum: "feed-zone", Area: 0.0625, Worms: 40, Mass: 12000, Adults: ptr(unit.Count(30))},
					{Area: 0.0625, Worms: 0, Cocoons: ptr(unit.Count(0))},
				},
				Typed: service.CensusText{Estimate: unit.Measure{Value: 1, Unit: "kg"}}, Apply: true,
				Mass: 1000000, Low: 700000, High: 1400000, CV: 0.18, Worms: ptr(unit.Count(3300)), MeanMg: ptr(303.5),
				Book: 900000, Posted: -100000, Warnings: []string{"few-samples"}, Note: "cold day", Recorded: recorded(n), Version: 1,
			}
		},
		edited: func(c service.Census) service.Census {
			c.Worms, c.Apply, c.Warnings, c.Note = nil, false, nil, "warm day"
			return c
		},
		missing: service.ErrCensusNotFound,
	}
}

func harvestNoun() noun[service.Harvest, service.HarvestID] {
	return noun[service.Harvest, service.HarvestID]{
		of: func(tx service.Tx) service.Records[service.Harvest, service.HarvestID] {
			return withMovement[service.Harvest, service.HarvestID]{tx.Harvests, tx.Movements}
		},
		made: func(n int) service.Harvest {
			return service.Harvest{
				ID: service.HarvestID(number("harvest", n)), Bin: bin(0), At: exactly(moment(n)), Full: true,
				Method: service.ScreenHarvest, MeshMM: 6, Typed: unit.Measure{Value: 12, Unit: "L"}, Wet: 9000000,
				Moisture: ptr(unit.Percent(55)), Dry: 4050000, Batch: "spring", PutBack: 250000, WormsTo: bin(1),
				Worms: []service.Line{{
					FromBin: bin(0), Species: fetida, Typed: unit.Measure{Value: 200, Unit: "{worms}"}, SizeClass: quantity.BedRun,
					Booked: ptr(unit.Mass(0)), Mass: 60000, Basis: quantity.Counted, Worms: 200, CV: 0.35, MeanMg: 300, MeanBasis: "species",
				}},
				Note: "sieved twice", Recorded: recorded(n), Version: 1,
			}
		},
		edited: func(h service.Harvest) service.Harvest {
			h.Batch, h.WormsTo, h.Worms, h.Moisture, h.Full = "", "", nil, nil, false
			return h
		},
		missing: service.ErrHarvestNotFound,
	}
}

// withMovement inserts the movement that a census or a harvest shares its id
// with, where it isn't there.
type withMovement[T any, K ~string] struct {
	service.Records[T, K]
	movements service.MovementRepo
}

func (w withMovement[T, K]) Insert(v T) error {
	id := idOf[service.MovementID](v)
	there, err := w.movements.Some([]service.MovementID{id})
	if err == nil && len(there) == 0 {
		r := reflect.ValueOf(v).FieldByName("Recorded").Interface().(service.Recorded)
		err = w.movements.Insert(service.Movement{ID: id, Kind: journal.Census, At: exactly(placeOf(v).At), Recorded: r})
	}
	if err != nil {
		return err
	}
	return w.Records.Insert(v)
}
