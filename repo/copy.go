package repo

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"lumbricary.example/service/archive"
)

// transaction is an open transaction.
type transaction interface {
	querier
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
}

// copier copies rows as they are stored, out of a transaction or into it. It is
// the only one beside the migrations that speaks to tables past gorm and its
// guard, and names the club in each statement itself.
type copier struct {
	transaction
	ctx      context.Context //nolint:containedctx // a copier lives no longer than its call
	postgres bool
}

// bind lets row-level security show the rows of a club. Errors: the driver's.
func (c copier) bind(club string) error {
	if !c.postgres {
		return nil
	}
	_, err := c.ExecContext(c.ctx, string(bindClub), club)
	return err
}

// out writes the rows of a table where a column has a value, all where it is
// empty, in the order of their keys. What stands in for a column tells what is
// written in the place of what it holds. Errors: the driver's, the writer's; one
// that names a column whose value can't be written.
func (c copier) out(t relation, column, value string, instead map[string]string, to *archive.Writer) error {
	terms := make([]string, len(t.columns))
	for i, of := range t.columns {
		if terms[i] = instead[of.name]; terms[i] == "" {
			terms[i] = quoted(of.name)
		}
	}
	query, args := "SELECT "+strings.Join(terms, ", ")+" FROM "+quoted(t.name), []any{}
	if column != "" {
		query, args = query+" WHERE "+quoted(column)+" = $1", []any{value}
	}
	if by := t.order(c.postgres); by != "" {
		query += " ORDER BY " + by
	}
	rows, err := c.QueryContext(c.ctx, query, args...)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }() // read to its end, or failed
	values, into := make([]any, len(t.columns)), make([]any, len(t.columns))
	for i := range values {
		into[i] = &values[i]
	}
	var line []byte
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		if line, err = t.appendRow(line[:0], values); err != nil {
			return err
		}
		if err := to.Row(line); err != nil {
			return err
		}
	}
	return rows.Err()
}

// Rows go into the database many at a time.
const (
	atOnce    = 500
	valuesMax = 30_000 // of one statement
)

// in adds the rows of the part that was begun, of a club where one is named, else
// of the clubs that the rows name; it returns the highest sequence that they tell.
// Errors: archive.FaultError for a row that the table can't take; the reader's, the
// driver's.
func (c copier) in(t relation, club string, from *archive.Reader) (seq int64, err error) {
	var values []any
	rows, bound := 0, club
	many := max(1, min(atOnce, valuesMax/(len(t.columns)+1)))
	flush := func() error {
		if rows == 0 {
			return nil
		}
		_, err := c.ExecContext(c.ctx, t.insert(rows, club != "", c.postgres), values...)
		values, rows = values[:0], 0
		if broken(err) != "" {
			return fmt.Errorf("%w: %w", archive.FaultError{Line: from.Line(), Why: "rows of " + t.name + " aren't ones that it can have"}, err)
		}
		return err
	}
	for {
		line, err := from.Row()
		if errors.Is(err, io.EOF) {
			return seq, flush()
		}
		if err != nil {
			return seq, err
		}
		row, err := t.readRow(line)
		if err != nil {
			return seq, archive.FaultError{Line: from.Line(), Why: t.name + ": " + err.Error()}
		}
		seq = max(seq, t.seqOf(row))
		if of := t.clubOf(row); of != "" && of != bound {
			if err := errors.Join(flush(), c.bind(of)); err != nil {
				return seq, err
			}
			bound = of
		}
		if values = append(values, row...); club != "" {
			values = append(values, club)
		}
		if rows++; rows == many {
			if err := flush(); err != nil {
				return seq, err
			}
		}
	}
}

// parts adds the rows of a file that has these tables as its parts, in their order,
// and nothing else: of a club where one is named. Errors: archive.FaultError, the
// driver's.
func (c copier) parts(tables []relation, club string, from *archive.Reader) error {
	var last int64
	for _, t := range tables {
		switch name, err := from.Next(); {
		case errors.Is(err, io.EOF) || err == nil && name != t.name:
			return archive.FaultError{Line: from.Line(), Why: "part " + t.name + " is missing"}
		case err != nil:
			return err
		}
		of := ""
		if club != "" && t.ofClub {
			t, of = t.without("club_id"), club
		}
		seq, err := c.in(t, of, from)
		if err != nil {
			return err
		}
		last = max(last, seq)
	}
	switch name, err := from.Next(); {
	case err == nil:
		return archive.FaultError{Line: from.Line(), Why: fmt.Sprintf("there is no part %q", name)}
	case !errors.Is(err, io.EOF):
		return err
	}
	return c.passed(last)
}

// insert is the statement that adds so many rows, with a value for the club
// behind each where the table is described without it.
func (t relation) insert(rows int, ofClub, postgres bool) string {
	names := make([]string, len(t.columns), len(t.columns)+1)
	for i, c := range t.columns {
		names[i] = quoted(c.name)
	}
	if ofClub {
		names = append(names, quoted("club_id"))
	}
	query := []byte("INSERT INTO " + quoted(t.name) + " (" + strings.Join(names, ", ") + ") VALUES ")
	for i := range rows * len(names) {
		switch {
		case i == 0:
			query = append(query, '(')
		case i%len(names) == 0:
			query = append(query, "), ("...)
		default:
			query = append(query, ", "...)
		}
		if postgres {
			query = strconv.AppendInt(append(query, '$'), int64(i+1), 10)
		} else {
			query = append(query, '?')
		}
	}
	return string(append(query, ')'))
}

func (t relation) seqOf(row []any) int64 {
	n, _ := t.valueOf(row, "seq").(int64)
	return n
}

func (t relation) clubOf(row []any) string {
	if !t.ofClub {
		return ""
	}
	club, _ := t.valueOf(row, "club_id").(string)
	return club
}

func (t relation) valueOf(row []any, column string) any {
	for i, c := range t.columns {
		if c.name == column {
			return row[i]
		}
	}
	return nil
}

// maxSequence is how far the sequence of a database is moved at most.
const maxSequence = 100_000_000

// passed moves the database's sequence past a number that was given before.
// Errors: archive.FaultError for one that is too far; the driver's.
func (c copier) passed(seq int64) error {
	if !c.postgres {
		_, err := c.ExecContext(c.ctx, `UPDATE recorded_sequence SET last = max(last, $1)`, seq)
		return err
	}
	var now int64
	if err := eachRow(c.ctx, c, string(nextOfPG), []any{&now}, func() error { return nil }); err != nil {
		return err
	}
	if seq-now > maxSequence {
		return archive.FaultError{Why: fmt.Sprintf("a record has the number %d, which is more than %d ahead of this database's", seq, maxSequence)}
	}
	// One by one, as nobody may set it back who runs beside.
	_, err := c.ExecContext(c.ctx, `SELECT count(nextval('recorded_sequence')) FROM generate_series($1::bigint, $2::bigint)`, now+1, seq)
	return err
}
