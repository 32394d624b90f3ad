package repo_test

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// siteRow is a site as a careless noun might have it.
type siteRow struct {
	ClubID    string `gorm:"primaryKey"`
	ID        string `gorm:"primaryKey"`
	Name      string
	Address   string
	OwnerID   string
	Note      string
	CreatedAt int64
	Version   int64
}

func (siteRow) TableName() string { return "sites" }

// relatedRow is a site with a relation, which is one way to another's rows.
type relatedRow struct {
	ClubID  string `gorm:"primaryKey"`
	ID      string `gorm:"primaryKey"`
	OwnerID string
	Owner   *memberRow `gorm:"foreignKey:ClubID,OwnerID;references:ClubID,ID"`
	Bins    []binRow   `gorm:"foreignKey:ClubID,SiteID;references:ClubID,ID"`
}

func (relatedRow) TableName() string { return "sites" }

type memberRow struct {
	ClubID string `gorm:"primaryKey"`
	ID     string `gorm:"primaryKey"`
	Name   string
}

func (memberRow) TableName() string { return "members" }

type binRow struct {
	ClubID string `gorm:"primaryKey"`
	ID     string `gorm:"primaryKey"`
	SiteID string
}

func (binRow) TableName() string { return "bins" }

// clubRow is a shared table's.
type clubRow struct {
	ID     string `gorm:"primaryKey"`
	Handle string
}

func (clubRow) TableName() string { return "clubs" }

// guarded runs fn on both databases behind the guard alone: the PostgreSQL user
// is a superuser, whom row-level security doesn't bind.
func guarded(t *testing.T, fn func(*testing.T, *repo.Store)) {
	t.Helper()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s, err := repo.OpenAsOwner(t.Context(), url)
		must(t, err)
		t.Cleanup(func() { must(t, s.Close()) })
		twoClubs(t, s)
		fn(t, s)
	})
}

// as runs fn behind the guard of a club.
func as(t *testing.T, s *repo.Store, c service.ClubID, fn func(*gorm.DB) error) error {
	t.Helper()
	return s.Handle(t.Context(), c, fn)
}

func TestBehindTheGuardEveryReadStaysInTheClub(t *testing.T) {
	t.Parallel()
	reads := map[string]func(*gorm.DB) *gorm.DB{
		"no condition":        func(db *gorm.DB) *gorm.DB { return db },
		"the id":              func(db *gorm.DB) *gorm.DB { return db.Where("id = ?", id(2)) },
		"the other club's":    func(db *gorm.DB) *gorm.DB { return db.Where("club_id = ?", string(south)) },
		"Or":                  func(db *gorm.DB) *gorm.DB { return db.Where("id = ?", id(2)).Or("1 = 1") },
		"Or first":            func(db *gorm.DB) *gorm.DB { return db.Or("1 = 1").Or("id = ?", id(2)) },
		"or in a text":        func(db *gorm.DB) *gorm.DB { return db.Where("1 = 1\nOR\n1 = 1") },
		"Not":                 func(db *gorm.DB) *gorm.DB { return db.Not("id = ?", "x") },
		"a struct":            func(db *gorm.DB) *gorm.DB { return db.Where(&siteRow{ClubID: string(south), ID: id(2)}) },
		"a map":               func(db *gorm.DB) *gorm.DB { return db.Where(map[string]any{"club_id": string(south)}) },
		"a session":           func(db *gorm.DB) *gorm.DB { return db.Session(&gorm.Session{NewDB: true}) },
		"a debug session":     func(db *gorm.DB) *gorm.DB { return db.Session(&gorm.Session{SkipHooks: true, AllowGlobalUpdate: true}) },
		"another context":     func(db *gorm.DB) *gorm.DB { return db.WithContext(db.Statement.Context) },
		"unscoped":            func(db *gorm.DB) *gorm.DB { return db.Unscoped() },
		"a grouped condition": func(db *gorm.DB) *gorm.DB { return db.Where("id = ?", id(2)).Or(db.Where("1 = 1").Or("2 = 2")) },
	}
	guarded(t, func(t *testing.T, s *repo.Store) {
		for name, read := range reads {
			_ = as(t, s, north, func(db *gorm.DB) error {
				var rows []siteRow
				err := read(db).Find(&rows).Error
				var n int64
				count := read(db).Model(new(siteRow)).Count(&n).Error
				var names []string
				pluck := read(db).Model(new(siteRow)).Pluck("name", &names).Error
				if err := errors.Join(err, count, pluck); err != nil {
					t.Errorf("%s: %v", name, err)
				}
				for _, r := range rows {
					if r.ClubID != string(north) {
						t.Errorf("%s: found %+v", name, r)
					}
				}
				if n > 1 || len(names) > 1 || int(n) != len(rows) || len(names) != len(rows) {
					t.Errorf("%s: %d rows, counted %d, names %q", name, len(rows), n, names)
				}
				return nil
			})
		}
	})
}

func TestTheGuardRefusesWhatItCannotBind(t *testing.T) {
	t.Parallel()
	row := func() *siteRow { return &siteRow{ClubID: string(south), ID: id(7), Name: "x", OwnerID: id(1)} }
	attempts := map[string]func(*gorm.DB) error{
		"Raw":              func(db *gorm.DB) error { return db.Raw("SELECT * FROM sites").Scan(&[]siteRow{}).Error },
		"Raw rows":         func(db *gorm.DB) error { _, err := db.Raw("SELECT * FROM sites").Rows(); return err },
		"Exec":             func(db *gorm.DB) error { return db.Exec("DELETE FROM sites").Error },
		"a shared table":   func(db *gorm.DB) error { return db.Find(&[]clubRow{}).Error },
		"an unknown table": func(db *gorm.DB) error { return db.Table("goose_db_version").Find(&[]map[string]any{}).Error },
		"no row":           func(db *gorm.DB) error { return db.Table("sites").Find(&[]map[string]any{}).Error },
		"two tables":       func(db *gorm.DB) error { return db.Table("sites, members").Find(&[]siteRow{}).Error },
		"an alias":         func(db *gorm.DB) error { return db.Table("members AS sites").Find(&[]siteRow{}).Error },
		"another's row":    func(db *gorm.DB) error { return db.Table("members").Find(&[]siteRow{}).Error },
		"Joins":            func(db *gorm.DB) error { return db.Joins("JOIN members ON true").Find(&[]siteRow{}).Error },
		"a From clause": func(db *gorm.DB) error {
			return db.Clauses(clause.From{Tables: []clause.Table{{Name: "members"}}}).Find(&[]siteRow{}).Error
		},
		"Preload":    func(db *gorm.DB) error { return db.Preload("Owner").Find(&[]relatedRow{}).Error },
		"a relation": func(db *gorm.DB) error { return db.Find(&[]relatedRow{}).Error },
		"a subquery": func(db *gorm.DB) error {
			return db.Where("id IN (?)", db.Model(new(siteRow)).Select("id")).Find(&[]siteRow{}).Error
		},
		"a select": func(db *gorm.DB) error {
			return db.Select("(select max(name) from members) AS name").Find(&[]siteRow{}).Error
		},
		"a condition": func(db *gorm.DB) error { return db.Where("EXISTS (SELECT 1 FROM members)").Find(&[]siteRow{}).Error },
		"a nested one": func(db *gorm.DB) error {
			return db.Not(db.Where("id IN (SELECT id FROM members)")).Find(&[]siteRow{}).Error
		},
		"an order": func(db *gorm.DB) error { return db.Order("(SELECT 1 FROM members)").Find(&[]siteRow{}).Error },
		"a group": func(db *gorm.DB) error {
			return db.Select("name").Group("name").Having("1 IN (SELECT 1)").Find(&[]siteRow{}).Error
		},
		"a way out":       func(db *gorm.DB) error { return db.Where("1 = 1) OR (1 = 1").Find(&[]siteRow{}).Error },
		"a comment":       func(db *gorm.DB) error { return db.Where("1 = 1 -- ").Find(&[]siteRow{}).Error },
		"Save":            func(db *gorm.DB) error { return db.Save(row()).Error },
		"Save of a slice": func(db *gorm.DB) error { return db.Save(&[]siteRow{*row()}).Error },
		"FirstOrCreate":   func(db *gorm.DB) error { return db.Where("id = ?", id(7)).Joins("x").FirstOrCreate(row()).Error },
		"an upsert":       func(db *gorm.DB) error { return db.Clauses(clause.OnConflict{UpdateAll: true}).Create(row()).Error },
		"do nothing":      func(db *gorm.DB) error { return db.Clauses(clause.OnConflict{DoNothing: true}).Create(row()).Error },
		"insert or replace": func(db *gorm.DB) error {
			return db.Clauses(clause.Insert{Modifier: "OR REPLACE"}).Create(row()).Error
		},
		"create from a map": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Create(map[string]any{"ClubID": string(south), "ID": id(7)}).Error
		},
		"update of all": func(db *gorm.DB) error { return db.Model(new(siteRow)).Update("name", "x").Error },
		"by its row":    func(db *gorm.DB) error { return db.Updates(row()).Error },
		"move by update": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Where("id = ?", id(2)).Update("club_id", string(south)).Error
		},
		"by field name": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Where("id = ?", id(2)).Update("ClubID", string(south)).Error
		},
		"in capitals": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Where("id = ?", id(2)).Update("CLUB_ID", string(south)).Error
		},
		"update from": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Where("id = ?", id(2)).Update("name", gorm.Expr("(SELECT name FROM members)")).Error
		},
		"update from a query": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Where("id = ?", id(2)).Update("name", db.Model(new(siteRow)).Select("name")).Error
		},
		"set clause": func(db *gorm.DB) error {
			return db.Model(new(siteRow)).Where("id = ?", id(2)).Clauses(clause.Set{{Column: clause.Column{Name: "club_id"}, Value: string(south)}}).Updates(map[string]any{}).Error
		},
		"delete of all": func(db *gorm.DB) error { return db.Delete(new(siteRow)).Error },
		"allowed global": func(db *gorm.DB) error {
			return db.Session(&gorm.Session{AllowGlobalUpdate: true}).Delete(new(siteRow)).Error
		},
		"delete by row": func(db *gorm.DB) error { return db.Delete(row()).Error },
		"a prepared session": func(db *gorm.DB) error {
			return db.Session(&gorm.Session{PrepareStmt: true}).Find(&[]siteRow{}).Error
		},
	}
	guarded(t, func(t *testing.T, s *repo.Store) {
		for name, attempt := range attempts {
			err := as(t, s, north, func(db *gorm.DB) error { return attempt(db) })
			if !errors.Is(err, repo.ErrGuard) {
				t.Errorf("%s: %v", name, err)
			}
		}
		unharmed(t, s)
	})
}

// unharmed checks that both clubs are as twoClubs left them.
func unharmed(t *testing.T, s *repo.Store) {
	t.Helper()
	for c, name := range map[service.ClubID]string{north: "cellar of north", south: "cellar of south"} {
		if v := siteOf(t, s, c); v != site(2, name) {
			t.Errorf("%+v", v)
		}
		if n := sites(t, s, c); n != 1 {
			t.Errorf("%d sites", n)
		}
	}
}

func TestAChainMayRunTwice(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) {
		must(t, as(t, s, north, func(db *gorm.DB) error {
			var n int64
			var rows []siteRow
			chain := db.Model(new(siteRow)).Where("1 = 1").Or("2 = 2")
			err := errors.Join(chain.Count(&n).Error, chain.Find(&rows).Error)
			if n != 1 || len(rows) != 1 {
				t.Errorf("counted %d, found %d", n, len(rows))
			}
			return err
		}))
	})
}

func TestAHandleCannotCommitOrNest(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) {
		must(t, as(t, s, north, func(db *gorm.DB) error {
			if err := db.Begin().Error; err == nil {
				t.Error("Begin")
			}
			if err := db.Commit().Error; err == nil {
				t.Error("Commit")
			}
			return nil
		}))
	})
}

func TestBehindTheGuardEveryWriteStaysInTheClub(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) {
		must(t, as(t, s, north, func(db *gorm.DB) error {
			rows := []siteRow{{ClubID: string(south), ID: id(7), Name: "7", OwnerID: id(1)}, {ID: id(8), Name: "8", OwnerID: id(1)}}
			return errors.Join(
				db.Create(&rows).Error,
				db.Create(&siteRow{ClubID: string(south), ID: id(9), Name: "9", OwnerID: id(1)}).Error,
				db.Model(new(siteRow)).Where("id = ?", id(2)).Or("1 = 1").Update("note", "changed").Error,
				db.Model(new(siteRow)).Where("id = ?", id(2)).Select("*").Updates(&siteRow{ClubID: string(south), ID: id(2), Name: "new", OwnerID: id(1)}).Error,
				db.Where("id = ?", id(9)).Or("id = ? AND club_id = ?", id(2), string(south)).Delete(new(siteRow)).Error,
			)
		}))
		if v := siteOf(t, s, south); v != site(2, "cellar of south") {
			t.Errorf("the other club's site: %+v", v)
		}
		if v := siteOf(t, s, north); v.Name != "new" {
			t.Errorf("the club's own: %+v", v)
		}
		if n, m := sites(t, s, north), sites(t, s, south); n != 3 || m != 1 {
			t.Errorf("%d and %d sites", n, m)
		}
	})
}

func TestWithoutADoorNothingIsReached(t *testing.T) {
	t.Parallel()
	guarded(t, func(t *testing.T, s *repo.Store) {
		db := s.Bare().WithContext(t.Context())
		for name, err := range map[string]error{
			"a club's table": db.Find(&[]siteRow{}).Error,
			"a shared table": db.Find(&[]clubRow{}).Error,
			"create":         db.Create(&siteRow{ID: id(7)}).Error,
			"raw":            db.Exec("DELETE FROM sites").Error,
			"delete":         db.Where("1 = 1").Delete(new(siteRow)).Error,
		} {
			if !errors.Is(err, repo.ErrGuard) {
				t.Errorf("%s: %v", name, err)
			}
		}
		for name, attempt := range map[string]func(*gorm.DB) error{
			"a club's table through the shared door": func(db *gorm.DB) error { return db.Find(&[]siteRow{}).Error },
			"update of every club":                   func(db *gorm.DB) error { return db.Model(new(clubRow)).Update("handle", "x").Error },
			"an upsert of a club": func(db *gorm.DB) error {
				return db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&clubRow{ID: string(north)}).Error
			},
		} {
			if err := as(t, s, "", attempt); !errors.Is(err, repo.ErrGuard) {
				t.Errorf("%s: %v", name, err)
			}
		}
		unharmed(t, s)
	})
}

// The ways around gorm's callbacks are in few files, and no noun's is among
// them.
func TestOnlyTheStoreTouchesConnections(t *testing.T) {
	t.Parallel()
	mayTouch := map[string]bool{
		"open.go": true, "store.go": true, "guard.go": true, "statement.go": true, "transact.go": true, "migrate.go": true, "queue.go": true, "role.go": true,
		"schema.go": true, "copy.go": true, "backup.go": true, // rows as they are stored, of any schema
	}
	forbidden := map[string]bool{"ConnPool": true, "DB": true, "Connection": true, "Raw": true, "Exec": true, "ExecContext": true, "QueryContext": true, "QueryRowContext": true, "PrepareContext": true, "Statement": true}
	files, err := filepath.Glob("*.go")
	must(t, err)
	for _, name := range files {
		if mayTouch[name] || strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		must(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if ok && forbidden[sel.Sel.Name] && fmt.Sprint(sel.X) != "gorm" {
				t.Errorf("%s uses %s", name, sel.Sel.Name)
			}
			return true
		})
	}
}
