package repo

import (
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"strings"

	"lumbricary.example/service"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// clubTables names the tables whose rows belong to a club, sharedTables those
// that belong to none. No other table can be reached.
var (
	clubTables = set(
		"members", "invitations", "api_keys", "sites", "bins", "materials", "measures", "receipts", "turnouts", "cultures", "origins", "batches",
		"lot_numbers", "reworks", "rework_parts", "batch_steps",
		"movements", "postings", "books", "lots", "lot_parents", "quarantines", "identifications", "contacts", "contact_bins", "clearings", "late_entries",
		"feedings", "feeding_items", "checks", "censuses", "harvests", "transfers", "transfer_places", "offers", "bin_events", "idempotency_keys", "audit_entries", "erasures",
		"monthly_totals", "calendars", "webhooks", "deliveries",
	)
	sharedTables = set("accounts", "clubs", "memberships", "signing_keys", "secrets", "sessions", "codes")
)

func set(names ...string) map[string]bool {
	m := make(map[string]bool, len(names))
	for _, n := range names {
		m[n] = true
	}
	return m
}

// errGuard is behind every refusal of the guard: a mistake in this package.
var errGuard = errors.New("repo: refused by the guard")

// refuse tells what was refused. Errors: errGuard.
func refuse(format string, a ...any) error {
	return fmt.Errorf("%w: %s", errGuard, fmt.Sprintf(format, a...))
}

// door is the connection of an open transaction, with what may pass through it.
// The club is bound to the connection, so that no session, context or scope of
// gorm can shed it; a handle without a door reaches nothing. It is no
// transaction in gorm's eyes: whoever holds it can neither commit nor nest.
type door struct {
	gorm.ConnPool
	club  service.ClubID // empty: the shared tables
	write bool
}

// guard registers the callbacks that bind every statement to the door it goes
// through. Errors: gorm's, when a callback can't be registered.
func guard(db *gorm.DB) error {
	cb := db.Callback()
	return errors.Join(
		cb.Query().Before("gorm:query").Register("club", checked(checkRead, narrow)),
		cb.Row().Before("gorm:row").Register("club", checked(checkRead, narrow)),
		cb.Update().Before("gorm:update").Register("club", checked(checkUpdate, narrow)),
		cb.Delete().Before("gorm:delete").Register("club", checked(checkDelete, narrow)),
		cb.Create().Before("gorm:create").Register("club", checked(checkCreate, stamp)),
		cb.Raw().Before("gorm:raw").Register("club", checked(checkRaw, stamp)),
	)
}

// checked returns the callback that refuses what check refuses, and binds the
// rest to the club of its door, if it has one.
func checked(check func(*gorm.Statement, *door) error, bind func(*gorm.Statement, service.ClubID)) func(*gorm.DB) {
	return func(db *gorm.DB) {
		if db.Error != nil {
			return
		}
		st := db.Statement
		d, ok := st.ConnPool.(*door)
		if !ok {
			_ = db.AddError(refuse("a statement outside the doors"))
			return
		}
		if err := errors.Join(checkTable(st, d), check(st, d)); err != nil {
			_ = db.AddError(err)
			return
		}
		if d.club != "" {
			bind(st, d.club)
		}
	}
}

// checkTable lets through statements on one plain table of the door's. Errors:
// errGuard.
func checkTable(st *gorm.Statement, d *door) error {
	tables := sharedTables
	if d.club != "" {
		tables = clubTables
	}
	switch {
	case st.SQL.Len() > 0:
		return refuse("raw SQL")
	case !tables[st.Table]:
		return refuse("table %q through this door", st.Table)
	case st.TableExpr != nil && (st.TableExpr.SQL != st.Quote(st.Table) || len(st.TableExpr.Vars) > 0):
		return refuse("a table expression")
	case st.Schema == nil:
		return refuse("table %q without its row", st.Table)
	case st.Schema.Table != st.Table:
		return refuse("the row of %q on table %q", st.Schema.Table, st.Table)
	case len(st.Schema.Relationships.Relations) > 0:
		return refuse("a row with relations")
	case len(st.Joins) > 0 || len(st.Preloads) > 0:
		return refuse("a join or preload")
	}
	return nil
}

func checkRaw(*gorm.Statement, *door) error { return refuse("raw SQL") }

func checkRead(st *gorm.Statement, _ *door) error {
	for _, s := range st.Selects {
		if !harmlessText(s) {
			return refuse("select %q", s)
		}
	}
	return checkClauses(st, "SELECT", "FROM", "WHERE", "ORDER BY", "LIMIT", "GROUP BY", "FOR")
}

func checkDelete(st *gorm.Statement, d *door) error {
	return errors.Join(checkWrite(d), checkCondition(st), checkClauses(st, "WHERE"))
}

// checkUpdate keeps updates off the club's id. Errors: errGuard.
func checkUpdate(st *gorm.Statement, d *door) error {
	st.Omits = append(st.Omits, "club_id")
	return errors.Join(checkWrite(d), checkCondition(st), checkClauses(st, "WHERE"), checkChanges(st))
}

// checkCreate takes rows, not maps, and lets only shared tables keep a row that
// is there. Errors: errGuard.
func checkCreate(st *gorm.Statement, d *door) error {
	if reflect.Indirect(reflect.ValueOf(st.Dest)).Kind() == reflect.Map {
		return refuse("a create from a map")
	}
	if conflict, ok := st.Clauses["ON CONFLICT"].Expression.(clause.OnConflict); ok && (d.club != "" || !conflict.DoNothing) {
		return refuse("an upsert")
	}
	return errors.Join(checkWrite(d), checkClauses(st, "ON CONFLICT"))
}

func checkWrite(d *door) error {
	if !d.write {
		return refuse("a write through a door for reading")
	}
	return nil
}

func checkCondition(st *gorm.Statement) error {
	if w, ok := st.Clauses["WHERE"].Expression.(clause.Where); !ok || len(w.Exprs) == 0 {
		return refuse("an update or delete without a condition")
	}
	return nil
}

// checkChanges looks at an update from a map: every key is a column of the row
// and every value plain. Errors: errGuard.
func checkChanges(st *gorm.Statement) error {
	changes, ok := st.Dest.(map[string]any)
	if !ok {
		return nil
	}
	for name, v := range changes {
		field := st.Schema.LookUpField(name)
		if field == nil || field.DBName == "club_id" || !harmless(v) {
			return refuse("a change of %q", name)
		}
	}
	return nil
}

// checkClauses lets through the named clauses as gorm makes them. Errors:
// errGuard.
func checkClauses(st *gorm.Statement, names ...string) error {
	allowed := set(names...)
	for name, c := range st.Clauses {
		dressed := c.BeforeExpression != nil || c.AfterNameExpression != nil || c.AfterExpression != nil || c.Builder != nil
		if !allowed[name] || dressed || !harmless(c.Expression) {
			return refuse("the %s clause", name)
		}
	}
	return nil
}

// harmless reports whether v and everything in it speaks of the statement's own
// table alone. An expression that isn't known to be harmless isn't.
func harmless(v any) bool {
	switch v := v.(type) {
	case clause.Expr:
		return harmlessText(v.SQL) && all(v.Vars)
	case clause.NamedExpr:
		return harmlessText(v.SQL) && all(v.Vars)
	case clause.Eq:
		return harmless(v.Column) && harmless(v.Value)
	case clause.IN:
		return harmless(v.Column) && all(v.Values)
	case clause.Column:
		return harmlessText(v.Name)
	case clause.OrderByColumn:
		return harmless(v.Column)
	case []any:
		return all(v)
	case *gorm.DB, gorm.Valuer:
		return false
	case clause.Expression:
		return harmlessGroup(v)
	}
	return true // a plain value
}

// harmlessGroup is harmless for what holds other expressions.
func harmlessGroup(e clause.Expression) bool {
	switch e := e.(type) {
	case clause.Where:
		return all(e.Exprs)
	case parentheses: // of a chain that ran before
		return all(e.Exprs)
	case clause.AndConditions:
		return all(e.Exprs)
	case clause.OrConditions:
		return all(e.Exprs)
	case clause.NotConditions:
		return all(e.Exprs)
	case clause.Select:
		return all(e.Columns) && harmless(e.Expression)
	case clause.OrderBy:
		return all(e.Columns) && harmless(e.Expression)
	case clause.GroupBy:
		return all(e.Columns) && all(e.Having)
	case clause.From: // of a chain that ran before
		return len(e.Tables) == 0 && len(e.Joins) == 0
	case clause.Limit, clause.Locking, clause.OnConflict:
		return true
	}
	return false
}

func all[T any](parts []T) bool {
	for _, p := range parts {
		if !harmless(p) {
			return false
		}
	}
	return true
}

// reaching finds the words and signs by which a text could reach another table
// or another statement.
var reaching = regexp.MustCompile(`(?i)\b(select|union|from|join|with|into|returning)\b|;|--|/\*`)

// harmlessText reports whether a piece of SQL reaches no further than its own
// parentheses.
func harmlessText(sql string) bool {
	depth := 0
	for _, c := range sql {
		switch c {
		case '(':
			depth++
		case ')':
			depth--
		}
		if depth < 0 {
			return false
		}
	}
	return depth == 0 && !reaching.MatchString(sql) && !strings.ContainsAny(sql, `'"`+"`")
}

// narrow adds the club to the conditions of st, with the others in parentheses.
func narrow(st *gorm.Statement, club service.ClubID) {
	exprs := []clause.Expression{clause.Eq{Column: clause.Column{Table: st.Table, Name: "club_id"}, Value: string(club)}}
	if w, ok := st.Clauses["WHERE"].Expression.(clause.Where); ok && len(w.Exprs) > 0 {
		exprs = append(exprs, parentheses{w})
	}
	st.Clauses["WHERE"] = clause.Clause{Name: "WHERE", Expression: clause.Where{Exprs: exprs}}
}

// parentheses puts conditions in parentheses; gorm does so only where it finds
// an OR between spaces.
type parentheses struct{ clause.Where }

// Build implements clause.Expression.
func (p parentheses) Build(b clause.Builder) {
	_ = b.WriteByte('(')
	p.Where.Build(b)
	_ = b.WriteByte(')')
}

// stamp writes the club into the rows that are created.
func stamp(st *gorm.Statement, club service.ClubID) {
	st.SetColumn("ClubID", string(club), true)
}
