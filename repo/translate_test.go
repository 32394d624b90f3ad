package repo_test

import (
	"errors"
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/migrations"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// backstops are the constraints that only a mistake of ours can break: they
// come out as Internal.
var backstops = []string{
	"audit_entries_action_check", "audit_entries_pkey", "audit_entries_seq_key", "api_keys_hash_key", "api_keys_role_check",
	"batch_steps_bags_check", "batch_steps_kind_check", "batch_steps_moisture_check", "batch_steps_wet_check",
	"turnouts_households_check", "turnouts_hours_check", "turnouts_told_check", "receipts_basis_check", "receipts_net_check", "receipts_parts_check", "rework_parts_dry_check", "rework_parts_moisture_check", "rework_parts_pkey",
	"reworks_kind_check", "reworks_lost_check",
	"batches_mesh_check", "batches_product_check", "bin_events_pkey", "bins_depth_check", "bins_surface_check", "books_pkey",
	"censuses_interval_check", "checks_leachate_check", "checks_leftover_check", "checks_moisture_check", "checks_ph_check",
	"clearings_place_check", "clubs_hemisphere_check", "clubs_units_check", "calendars_hash_key", "codes_pkey", "contact_bins_pkey", "contacts_what_check", "codes_purpose_check", "deliveries_state_check", "erasures_pkey", "feeding_items_moisture_check", "feeding_items_pkey", "feeding_items_wet_check",
	"harvests_dry_check", "harvests_mesh_check", "harvests_moisture_check", "harvests_put_back_check", "harvests_wet_check",
	"idempotency_keys_pkey", // read by Once
	"identifications_specimens_check", "late_entries_pkey", "quarantines_released_check",
	"invitations_code_key", "invitations_role_check", "lot_parents_either_check", "lot_parents_pkey", "lot_shares_parts_check",
	"lot_shares_pkey", "lots_either_check", "lots_pkey", "materials_density_check", "materials_kind_check", "materials_moisture_check", "measures_tare_check", "measures_volume_check", "members_role_check",
	"memberships_pkey", "monthly_totals_pkey", // the transaction runs again
	"movements_material_check", "movements_price_check", "movements_seq_key", "offers_price_check", "offers_quantity_check", "offers_unit_price_check", "origins_kind_check",
	"postings_amount_check", "postings_pkey", "recorded_sequence_only_check", "recorded_sequence_pkey", "secrets_pkey", "sessions_pkey", "signing_keys_pkey",
	"transfer_places_pkey", "transfers_price_check", "transfers_unit_price_check",
}

var (
	createTable = regexp.MustCompile(`(?s)CREATE TABLE (\w+) \((.*?)\n\);`)
	constraint  = regexp.MustCompile(`(?:CONSTRAINT (\w+) )?\b(UNIQUE|CHECK|PRIMARY KEY|FOREIGN KEY)\b(?: \(([\w, ]+)\))?`)
	alteration  = regexp.MustCompile(`(?i)\b(CREATE UNIQUE INDEX|ADD CONSTRAINT \w+ (?:UNIQUE|PRIMARY))\b`)
	addedCheck  = regexp.MustCompile(`ADD CONSTRAINT (\w+) CHECK`)
)

// constraints maps the names of a dialect's constraints, but foreign keys, to
// the columns as SQLite tells them.
func constraints(t *testing.T, dialect string) map[string]string {
	t.Helper()
	found := map[string]string{}
	for _, text := range schema(t, dialect) {
		if alteration.MatchString(text) {
			t.Errorf("%s: this test doesn't know how to read %s", dialect, alteration.FindString(text))
		}
		for _, c := range addedCheck.FindAllStringSubmatch(text, -1) {
			found[c[1]] = ""
		}
		for _, table := range createTable.FindAllStringSubmatch(text, -1) {
			for _, c := range constraint.FindAllStringSubmatch(table[2], -1) {
				if c[1] == "" {
					t.Errorf("%s: a constraint of %s has no name: %s", dialect, table[1], c[0])
				}
				if c[2] == "FOREIGN KEY" {
					continue
				}
				columns := ""
				if c[2] == "UNIQUE" {
					columns = table[1] + "." + strings.ReplaceAll(c[3], ", ", ", "+table[1]+".")
				}
				found[c[1]] = columns
			}
		}
	}
	return found
}

// schema returns the migrations of a dialect by name.
func schema(t *testing.T, dialect string) map[string]string {
	t.Helper()
	files, err := migrations.Files(dialect)
	must(t, err)
	names, err := fs.Glob(files, "*.sql")
	must(t, err)
	texts := map[string]string{}
	for _, name := range names {
		text, err := fs.ReadFile(files, name)
		must(t, err)
		texts[name] = string(text)
	}
	return texts
}

func TestEveryConstraintHasAMeaningOrIsABackstop(t *testing.T) {
	t.Parallel()
	seen := map[string]string{}
	for _, dialect := range []string{"sqlite", "postgres"} {
		for name, columns := range constraints(t, dialect) {
			seen[name] = columns
			_, means := repo.Violations[name]
			if means == slices.Contains(backstops, name) {
				t.Errorf("%s: %s has to be either in violations or a backstop", dialect, name)
			}
			if columns != "" && repo.UniqueKeys[columns] != name {
				t.Errorf("%s: unique key (%s) is called %q in uniqueKeys; want %s", dialect, columns, repo.UniqueKeys[columns], name)
			}
		}
	}
	if len(seen) < 60 {
		t.Errorf("only %d constraints were found", len(seen))
	}
	for _, name := range slices.Concat(backstops, slices.Collect(maps.Keys(repo.Violations)), slices.Collect(maps.Values(repo.UniqueKeys))) {
		if _, ok := seen[name]; !ok {
			t.Errorf("no migration has constraint %s", name)
		}
	}
}

func TestBothDialectsHaveTheSameMigrations(t *testing.T) {
	t.Parallel()
	names := func(dialect string) []string { return slices.Sorted(maps.Keys(schema(t, dialect))) }
	if a, b := names("sqlite"), names("postgres"); !slices.Equal(a, b) {
		t.Errorf("sqlite %v\npostgres %v", a, b)
	}
	a, b := constraints(t, "sqlite"), constraints(t, "postgres")
	delete(a, "recorded_sequence_pkey") // a sequence on PostgreSQL
	delete(a, "recorded_sequence_only_check")
	if !maps.Equal(a, b) {
		t.Errorf("constraints differ:\n%v\n%v", a, b)
	}
}

func TestABrokenConstraintComesOutAsWhatItMeans(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		ctx := t.Context()
		shared := func(fn func(service.Shared) error) error { return s.UpdateShared(ctx, fn) }
		inNorth := func(fn func(service.Tx) error) error { return s.Update(ctx, north, fn) }
		person := service.Account{ID: "p", Email: "p@example.org", CreatedAt: at}
		must(t, shared(func(sh service.Shared) error { return sh.Accounts.Insert(person) }))
		sameID, sameEmail := person, person
		sameID.Email, sameEmail.ID = "q@example.org", "q"
		namesake := steward()
		namesake.ID = "other"
		ownerless := site(8, "8")
		ownerless.Owner = "nobody"
		oddRole := namesake
		oddRole.Name, oddRole.Role = "Odd", "king"
		cases := []struct {
			name string
			err  error
			want *service.Error
		}{
			{"account id", shared(func(sh service.Shared) error { return sh.Accounts.Insert(sameID) }), service.ErrIDTaken},
			{"e-mail", shared(func(sh service.Shared) error { return sh.Accounts.Insert(sameEmail) }), service.ErrEmailTaken},
			{"club id", shared(func(sh service.Shared) error { return sh.Clubs.Insert(club(north, "third"), steward()) }), service.ErrIDTaken},
			{"handle", shared(func(sh service.Shared) error { return sh.Clubs.Insert(club("third", "north"), steward()) }), service.ErrHandleTaken},
			{"club of nobody", shared(func(sh service.Shared) error { return sh.Clubs.Join(north, "nobody") }), service.ErrInvalid},
			{"id", inNorth(addSite(2, "other")), service.ErrIDTaken},
			{"name", inNorth(addSite(8, "cellar of north")), service.ErrSiteNameTaken},
			{"member's name", inNorth(func(tx service.Tx) error { return tx.Members.Insert(namesake) }), service.ErrMemberNameTaken},
			{"reference", inNorth(func(tx service.Tx) error { return tx.Sites.Insert(ownerless) }), service.ErrInvalid},
		}
		for _, c := range cases {
			if !errors.Is(c.err, c.want) {
				t.Errorf("%s: %v; want %v", c.name, c.err, c.want.Code)
			}
		}
		if err := inNorth(func(tx service.Tx) error { return tx.Members.Insert(oddRole) }); err == nil || service.KindOf(err) != service.Internal {
			t.Errorf("a backstop: %v", err)
		}
		if err := inNorth(addSite(8, "nul \x00")); err != nil && !errors.Is(err, service.ErrInvalid) {
			t.Errorf("a text with a NUL: %v", err)
		}
	})
}

// bookRow and movementRow have what a row of books and of movements must have.
type bookRow struct {
	ClubID      string `gorm:"primaryKey"`
	AccountKind string `gorm:"primaryKey"`
	AccountRef  string `gorm:"primaryKey"`
	Commodity   string `gorm:"primaryKey"`
	BookMg      int64
}

func (bookRow) TableName() string { return "books" }

type movementRow struct {
	ClubID          string `gorm:"primaryKey"`
	ID              string `gorm:"primaryKey"`
	Kind            string
	MomentAt        int64
	MomentPrecision string
	Seq             int64
	RecordedAt      int64
	RecordedBy      string
	Lines           string
	Terms           string
	Party           string
	Currency        string
	Cause           string
	MaterialMg      int64
	Reverses        *string
	Reason          string
	Note            string
}

func (movementRow) TableName() string { return "movements" }

func TestBooksAndReversalsHaveTheirOwnRefusals(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) {
		book := func(db *gorm.DB) error {
			return db.Create(&bookRow{AccountKind: "bin", Commodity: "worms", BookMg: -1}).Error
		}
		if err := as(t, s, north, func(db *gorm.DB) error { return repo.Translate(book(db)) }); !errors.Is(err, service.ErrMoreThanBook) {
			t.Errorf("a negative book: %v", err)
		}
		movement := func(name, reverses string, seq int) *movementRow {
			r := &movementRow{ID: name, Kind: "loss", MomentPrecision: "day", Seq: int64(seq), RecordedBy: id(1), Lines: "[]"}
			if reverses != "" {
				r.Reverses = &reverses
			}
			return r
		}
		err := as(t, s, north, func(db *gorm.DB) error {
			return errors.Join(db.Create(movement("a", "", 1)).Error, db.Create(movement("b", "a", 2)).Error, repo.Translate(db.Create(movement("c", "a", 3)).Error))
		})
		if !errors.Is(err, service.ErrReversedBefore) {
			t.Errorf("a second reversal: %v", err)
		}
	})
}
