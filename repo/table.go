package repo

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm"
)

// chunk is how many ids one statement asks for.
const chunk = 500

// errFilter means that a query asks a noun for a filter it doesn't have, which
// is a mistake in a use-case: leaving it out would answer another question.
var errFilter = errors.New("repo: the noun has no such filter")

// table keeps one noun of one club; R is its row. It implements
// service.Records. R has the members ClubID, ID and Version.
type table[T any, K ~string, R any] struct {
	db      *gorm.DB       // bound to the club and the transaction
	row     func(T) R      // domain → row; the guard stamps the club's id
	value   func(R) T      // row → domain
	missing *service.Error // what Get says when there is none
	dated   bool           // ordered by (moment_at, id) instead of id
	voids   bool           // its records can be voided: a list leaves those out
	columns filters
}

// filters names the column that each member of a Query filters on; empty where
// the noun has none.
type filters struct {
	bin, member, species, material, batch, webhook, kind, record string
}

// Insert implements service.Records. Errors: ErrIDTaken, the noun's name-taken
// error.
func (t table[T, K, R]) Insert(v T) error {
	r := t.row(v)
	return translate(t.db.Create(&r).Error)
}

// Get implements service.Records. Errors: the noun's not-found error.
func (t table[T, K, R]) Get(id K) (T, error) {
	return t.one("id = ?", string(id))
}

// one returns the row that meets a condition. Errors: the noun's not-found
// error.
func (t table[T, K, R]) one(condition string, args ...any) (T, error) {
	var r R
	var none T
	err := t.db.Where(condition, args...).Take(&r).Error
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound):
		return none, t.missing
	case err != nil:
		return none, translate(err)
	}
	return t.value(r), nil
}

// Some implements service.Records. Errors: the database's.
func (t table[T, K, R]) Some(ids []K) ([]T, error) {
	rows, err := some[R](t.db, "id", ids)
	if err != nil {
		return nil, err
	}
	return t.values(rows), nil
}

// Update implements service.Records. It writes every column, zeros as well.
// Errors: ErrStale, the noun's name-taken error.
func (t table[T, K, R]) Update(v T) error {
	r := t.row(v)
	id, version, err := t.advance(&r)
	if err != nil {
		return err
	}
	done := t.db.Model(new(R)).Where("id = ? AND version = ?", id, version).
		Select("*").Omit("club_id", "id").Updates(&r)
	if done.Error == nil && done.RowsAffected == 0 {
		return service.ErrStale
	}
	return translate(done.Error)
}

// Delete implements service.Records. Errors: ErrStale, ErrInUse.
func (t table[T, K, R]) Delete(v T) error {
	r := t.row(v)
	id, version, err := t.advance(&r)
	if err != nil {
		return err
	}
	done := t.db.Where("id = ? AND version = ?", id, version).Delete(new(R))
	switch {
	case isReferred(done.Error):
		return service.ErrInUse.Because(done.Error)
	case done.Error == nil && done.RowsAffected == 0:
		return service.ErrStale
	}
	return translate(done.Error)
}

// advance adds one to r's version and returns its id and the version before.
func (t table[T, K, R]) advance(r *R) (id string, version int64, err error) {
	row := reflect.ValueOf(r).Elem()
	field := row.FieldByName("Version")
	if !field.IsValid() {
		return "", 0, fmt.Errorf("repo: %T has no version", *r)
	}
	version = field.Int()
	field.SetInt(version + 1)
	return row.FieldByName("ID").String(), version, nil
}

// List implements service.Records. Errors: the database's.
func (t table[T, K, R]) List(q service.Query) ([]T, error) {
	db, err := t.columns.apply(t.db, q)
	if err != nil {
		return nil, err
	}
	switch {
	case t.voids && !q.Voided:
		db = db.Where("voided_at = 0")
	case !t.voids && q.Voided:
		return nil, fmt.Errorf("%w: voided", errFilter)
	}
	order := []string{"id"}
	switch {
	case t.dated:
		order = []string{"moment_at", "id"}
		db = between(db, "moment_at", q)
	case !q.From.IsZero() || !q.To.IsZero():
		return nil, fmt.Errorf("%w: from or to", errFilter)
	}
	var rows []R
	if err := page(db, q, order).Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	return t.values(rows), nil
}

func (t table[T, K, R]) values(rows []R) []T {
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = t.value(r)
	}
	return out
}

// apply adds the filters of q. Errors: errFilter.
func (f filters) apply(db *gorm.DB, q service.Query) (*gorm.DB, error) {
	for _, c := range []struct{ name, column, value string }{
		{"bin", f.bin, string(q.Bin)},
		{"member", f.member, string(q.Member)},
		{"species", f.species, string(q.Species)},
		{"material", f.material, string(q.Material)},
		{"batch", f.batch, string(q.Batch)},
		{"webhook", f.webhook, string(q.Webhook)},
		{"kind", f.kind, q.Kind},
		{"record", f.record, q.Record},
	} {
		switch {
		case c.value == "":
		case c.column == "":
			return nil, fmt.Errorf("%w: %s", errFilter, c.name)
		default:
			db = db.Where(c.column+" = ?", c.value)
		}
	}
	return db, nil
}

// between keeps the rows whose column lies in [q.From, q.To).
func between(db *gorm.DB, column string, q service.Query) *gorm.DB {
	if !q.From.IsZero() {
		db = db.Where(column+" >= ?", micros(q.From))
	}
	if !q.To.IsZero() {
		db = db.Where(column+" < ?", micros(q.To))
	}
	return db
}

// page orders db by one column that identifies a row, or by a moment and such a
// column, and keeps the q.Limit rows after q.After. Where the second column is
// a number, q.After.ID is that number as text.
func page(db *gorm.DB, q service.Query, order []string) *gorm.DB {
	compare, direction := ">", ""
	if q.Newest {
		compare, direction = "<", " DESC"
	}
	last := order[len(order)-1]
	switch {
	case q.After.ID == "":
	case len(order) == 1:
		db = db.Where(last+" "+compare+" ?", q.After.ID)
	default:
		db = db.Where("("+order[0]+", "+last+") "+compare+" (?, ?)", micros(q.After.At), q.After.ID)
	}
	for _, column := range order {
		db = db.Order(column + direction)
	}
	if q.Limit > 0 {
		db = db.Limit(q.Limit)
	}
	return db
}

// some returns the rows whose column is one of ids, in no order.
func some[R any, K ~string](db *gorm.DB, column string, ids []K) ([]R, error) {
	var out []R
	for part := range slices.Chunk(ids, chunk) {
		var rows []R
		if err := db.Where(column+" IN ?", part).Find(&rows).Error; err != nil {
			return nil, translate(err)
		}
		out = append(out, rows...)
	}
	return out, nil
}

// micros returns t as a row has it: microseconds since 1970 UTC, 0 for the zero
// time.
func micros(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

// fromMicros undoes micros.
func fromMicros(us int64) time.Time {
	if us == 0 {
		return time.Time{}
	}
	return time.UnixMicro(us).UTC()
}

// ref returns the nullable column for a text that may be empty.
func ref[S ~string](s S) *string {
	if s == "" {
		return nil
	}
	t := string(s)
	return &t
}

// unref undoes ref.
func unref[S ~string](s *string) S {
	if s == nil {
		return ""
	}
	return S(*s)
}

// toJSON returns v as a text column. A row's values are plain data, which
// always encodes; what doesn't becomes an empty text that no reader takes.
func toJSON(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return ""
	}
	return string(text)
}

// fromJSON undoes toJSON; it leaves the zero value where the text isn't JSON of
// that type.
func fromJSON[T any](text string) T {
	var v T
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		var none T
		return none
	}
	return v
}
