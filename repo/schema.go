package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// relation is a table as the database has it, whatever rows this program knows.
type relation struct {
	name    string
	columns []column // by name
	key     []string // of the primary key, without the club
	ofClub  bool     // has a column for its club
	names   []string // tables that its foreign keys lead to
}

// column is a column of a table.
type column struct {
	name string
	kind columnKind
}

// columnKind is what a column holds, on either database.
type columnKind int

// The kinds of columns.
const (
	textColumn columnKind = iota
	wholeColumn
	realColumn
	truthColumn
	bytesColumn
)

// columnKinds are the kinds by the names that the migrations use.
var columnKinds = map[string]columnKind{
	"text": textColumn, "bigint": wholeColumn, "double precision": realColumn, "boolean": truthColumn, "bytea": bytesColumn, "blob": bytesColumn,
}

// own are the tables that tell of the database and not of what is in it.
var own = set("goose_db_version", "recorded_sequence")

// queuePrefix begins the names of the job queue's tables, which have migrations of
// their own and hold nothing that lasts.
const queuePrefix = "river_"

// What the catalogues tell of columns and of foreign keys.
const (
	columnsOfSQLite = `
		SELECT m.name, c.name, lower(c.type), c.pk FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c
		WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY m.name, c.name`
	columnsOfPG = `
		SELECT c.relname, a.attname, format_type(a.atttypid, NULL), COALESCE(array_position(i.indkey::int2[], a.attnum) + 1, 0)
		FROM pg_class AS c JOIN pg_attribute AS a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
		LEFT JOIN pg_index AS i ON i.indrelid = c.oid AND i.indisprimary
		WHERE c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace ORDER BY c.relname COLLATE "C", a.attname COLLATE "C"`
	linksOfSQLite = `
		SELECT DISTINCT m.name, f."table" FROM sqlite_master AS m JOIN pragma_foreign_key_list(m.name) AS f WHERE m.type = 'table'`
	linksOfPG = `
		SELECT DISTINCT c.relname, f.relname FROM pg_constraint AS k JOIN pg_class AS c ON c.oid = k.conrelid JOIN pg_class AS f ON f.oid = k.confrelid
		WHERE k.contype = 'f' AND c.relnamespace = current_schema()::regnamespace`
)

// querier asks the database.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// tablesOf describes the tables of a database, those first that others name.
// Errors: the driver's; one that tells what can't be described.
func tablesOf(ctx context.Context, q querier, postgres bool) ([]relation, error) {
	columns, links := columnsOfSQLite, linksOfSQLite
	if postgres {
		columns, links = columnsOfPG, linksOfPG
	}
	tables := map[string]*relation{}
	keys := map[string]map[int]string{}
	var name, of, kind string
	var place int
	err := eachRow(ctx, q, columns, []any{&name, &of, &kind, &place}, func() error {
		if own[name] || strings.HasPrefix(name, queuePrefix) {
			return nil
		}
		k, ok := columnKinds[kind]
		if !ok {
			return fmt.Errorf("repo: column %s.%s has type %s", name, of, kind)
		}
		if tables[name] == nil {
			tables[name], keys[name] = &relation{name: name}, map[int]string{}
		}
		t := tables[name]
		t.columns = append(t.columns, column{of, k})
		t.ofClub = t.ofClub || of == "club_id"
		if place > 0 {
			keys[name][place] = of
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for name, t := range tables {
		for _, place := range slices.Sorted(maps.Keys(keys[name])) {
			if of := keys[name][place]; of != "club_id" {
				t.key = append(t.key, of)
			}
		}
	}
	err = eachRow(ctx, q, links, []any{&name, &of}, func() error {
		if t := tables[name]; t != nil {
			t.names = append(t.names, of)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return inOrder(tables)
}

// eachRow runs a query and calls fn with each row in into. Errors: fn's, the
// driver's.
func eachRow(ctx context.Context, q querier, query string, into []any, fn func() error) error {
	rows, err := q.QueryContext(ctx, query)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }() // read to its end, or failed
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		if err := fn(); err != nil {
			return err
		}
	}
	return rows.Err()
}

// inOrder sorts tables by name, but each behind those that it names. Errors: one
// that says that there is no such order.
func inOrder(tables map[string]*relation) ([]relation, error) {
	var out []relation
	done, under := map[string]bool{}, map[string]bool{}
	var add func(name string) error
	add = func(name string) error {
		t := tables[name]
		switch {
		case t == nil || done[name]:
			return nil
		case under[name]:
			return errors.New("repo: foreign keys run in a circle through " + name)
		}
		under[name] = true
		slices.Sort(t.names)
		for _, other := range t.names {
			if other == name {
				continue // its rows are in the order in which they were recorded
			}
			if err := add(other); err != nil {
				return err
			}
		}
		done[name] = true
		out = append(out, *t)
		return nil
	}
	for _, name := range slices.Sorted(maps.Keys(tables)) {
		if err := add(name); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// column finds a column. There is none of another name.
func (t relation) column(name string) (column, bool) {
	i, ok := slices.BinarySearchFunc(t.columns, name, func(c column, name string) int { return strings.Compare(c.name, name) })
	if !ok {
		return column{}, false
	}
	return t.columns[i], true
}

// without returns the table without a column.
func (t relation) without(name string) relation {
	t.columns = slices.DeleteFunc(slices.Clone(t.columns), func(c column) bool { return c.name == name })
	return t
}

// order is the order of the rows of one club: that of their keys, or where they
// name each other that in which they were recorded.
func (t relation) order(postgres bool) string {
	by := t.key
	if slices.Contains(t.names, t.name) {
		by = append([]string{"seq"}, by...)
	}
	terms := make([]string, len(by))
	for i, name := range by {
		terms[i] = quoted(name)
		if c, _ := t.column(name); postgres && c.kind == textColumn {
			terms[i] += ` COLLATE "C"`
		}
	}
	return strings.Join(terms, ", ")
}

func quoted(name string) string { return `"` + name + `"` }
