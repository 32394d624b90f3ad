package repo

import (
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"lumbricary.example/service"

	"gorm.io/gorm/schema"
)

// unstored lists the fields that no row holds, by the end of their path.
var unstored = []string{
	"At.Text",     // of a moment: settled before it is stored
	"ed.Text",     // the same
	".ReversedBy", // of a movement: the row of the reversal says it
	".Quarantine", // of a bin: its quarantine has a row
	".Identified", // of a lot: its identifications have rows
	".AlsoCalled", // of a culture: the rows of those that were merged into it say it
}

// filled returns a T whose every stored field has a value of its own.
func filled[T any]() T {
	var v T
	n := 0
	fill(reflect.ValueOf(&v).Elem(), "", &n)
	return v
}

func fill(v reflect.Value, path string, n *int) {
	if slices.ContainsFunc(unstored, func(end string) bool { return strings.HasSuffix(path, end) }) {
		return
	}
	*n++
	switch {
	case v.Type() == reflect.TypeFor[time.Time]():
		v.Set(reflect.ValueOf(time.Date(2026, 1, 1, 0, 0, *n, *n*1000, time.UTC)))
		return
	case v.Kind() == reflect.String:
		v.SetString(fmt.Sprint("text ", *n))
	case v.CanInt():
		v.SetInt(int64(*n))
	case v.CanFloat():
		v.SetFloat(float64(*n) + 0.1)
	case v.Kind() == reflect.Bool:
		v.SetBool(true)
	case v.Kind() == reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), path, n)
	case v.Kind() == reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range v.Len() {
			fill(v.Index(i), path, n)
		}
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), path+"."+v.Type().Field(i).Name, n)
		}
	default:
		panic("no value for " + path)
	}
}

// keepsAll sees that the fields of a T go to the row and come back, and that
// every column of the row but the club's id gets a value.
func keepsAll[T, R any](t *testing.T, row func(T) R, value func(R) T) {
	t.Helper()
	in := filled[T]()
	r := row(in)
	if out := value(r); !reflect.DeepEqual(out, in) {
		t.Errorf("%T comes back as\n%+v, not\n%+v", in, out, in)
	}
	if empty := unset(reflect.ValueOf(r), ""); !slices.Equal(empty, []string{".ClubID"}) {
		t.Errorf("%T has %v without a value, not .ClubID alone", r, empty)
	}
	var nothing T
	if out := value(row(nothing)); !reflect.DeepEqual(out, nothing) {
		t.Errorf("an empty %T comes back as %+v", in, out)
	}
}

// unset lists the fields of a struct that have no value.
func unset(v reflect.Value, path string) []string {
	if v.Kind() == reflect.Struct {
		var out []string
		for i := range v.NumField() {
			out = append(out, unset(v.Field(i), path+"."+v.Type().Field(i).Name)...)
		}
		return out
	}
	if v.IsZero() {
		return []string{path}
	}
	return nil
}

func TestEveryFieldGoesToItsRowAndComesBack(t *testing.T) {
	t.Parallel()
	keepsAll(t, memberToRow, memberFromRow)
	keepsAll(t, invitationToRow, invitationFromRow)
	keepsAll(t, apiKeyToRow, apiKeyFromRow)
	keepsAll(t, calendarToRow, calendarFromRow)
	keepsAll(t, webhookToRow, webhookFromRow)
	keepsAll(t, deliveryToRow, deliveryFromRow)
	keepsAll(t, siteToRow, siteFromRow)
	keepsAll(t, binToRow, binFromRow)
	keepsAll(t, materialToRow, materialFromRow)
	keepsAll(t, measureToRow, measureFromRow)
	keepsAll(t, originToRow, originFromRow)
	keepsAll(t, cultureToRow, cultureFromRow)
	keepsAll(t, batchToRow, batchFromRow)
	keepsAll(t, receiptToRow, receiptFromRow)
	keepsAll(t, turnoutToRow, turnoutFromRow)
	keepsAll(t, batchStepToRow, batchStepFromRow)
	keepsAll(t, checkToRow, checkFromRow)
	keepsAll(t, censusToRow, censusFromRow)
	keepsAll(t, harvestToRow, harvestFromRow)
	keepsAll(t, quarantineToRow, quarantineFromRow)
	keepsAll(t, identificationToRow, identificationFromRow)
	keepsAll(t, clearingToRow, clearingFromRow)
	keepsAll(t, lateEntryToRow, lateEntryFromRow)
	keepsAll(t, eventToRow, eventFromRow)
	keepsAll(t, auditToRow, auditFromRow)
	keepsAll(t, erasureToRow, erasureFromRow)
	keepsAll(t, transferToRow, transferFromRow)
	keepsAll(t, offerToRow, offerFromRow)
}

func TestEveryFieldGoesToItsRowsAndComesBack(t *testing.T) {
	t.Parallel()
	roundTrip(t, func(f service.Feeding) service.Feeding {
		out := feedingFromRow(feedingToRow(f))
		out.Items = each(itemsToRows(f), itemFromRow)
		return out
	})
	roundTrip(t, func(c service.BinContact) service.BinContact {
		out := contactFromRow(contactToRow(c))
		out.Bins = each(contactBinsToRows(c), binOfContact)
		return out
	})
	roundTrip(t, func(r service.Rework) service.Rework { return withParts(reworkFromRow(reworkToRow(r)), partsToRows(r)) })
	roundTrip(t, func(m service.Movement) service.Movement {
		out := movementFromRow(movementToRow(m))
		out.Postings = each(postingsToRows(m), postingFromRow)
		return out
	})
	roundTrip(t, func(l service.Lot) service.Lot {
		out := lotFromRow(lotToRow(l), origins{})
		for _, r := range parentsToRows(l) {
			addParent(&out, r)
		}
		return out
	})
}

func roundTrip[T any](t *testing.T, trip func(T) T) {
	t.Helper()
	in := filled[T]()
	if out := trip(in); !reflect.DeepEqual(out, in) {
		t.Errorf("%T comes back as\n%+v, not\n%+v", in, out, in)
	}
}

func TestRowsOfAMovementAndALotLeaveNoColumnOut(t *testing.T) {
	t.Parallel()
	m, l, f, w := filled[service.Movement](), filled[service.Lot](), filled[service.Feeding](), filled[service.Rework]()
	c := filled[service.BinContact]()
	for _, r := range []any{
		movementToRow(m), postingsToRows(m)[1], lotToRow(l), parentsToRows(l)[3],
		feedingToRow(f), itemsToRows(f)[1], reworkToRow(w), partsToRows(w)[3], contactToRow(c), contactBinsToRows(c)[1], changes(m.Postings)[0],
	} {
		if empty := unset(reflect.ValueOf(r), ""); !slices.Equal(empty, []string{".ClubID"}) {
			t.Errorf("%T has %v without a value, not .ClubID alone", r, empty)
		}
	}
}

func TestRowsHaveTheColumnsOfTheirTables(t *testing.T) {
	t.Parallel()
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "columns.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	for _, r := range []schema.Tabler{
		memberRow{},
		invitationRow{},
		apiKeyRow{},
		siteRow{},
		binRow{},
		materialRow{},
		measureRow{},
		originRow{},
		cultureRow{},
		batchRow{},
		receiptRow{},
		turnoutRow{},
		lotNumberRow{},
		reworkRow{},
		reworkPartRow{},
		batchStepRow{},
		feedingRow{},
		feedingItemRow{},
		checkRow{},
		censusRow{},
		harvestRow{},
		eventRow{},
		quarantineRow{},
		identificationRow{},
		contactRow{},
		contactBinRow{},
		clearingRow{},
		lateEntryRow{},
		movementRow{},
		postingRow{},
		bookRow{},
		lotRow{},
		lotParentRow{},
		erasureRow{},
		transferRow{},
		transferPlaceRow{},
		offerRow{},
	} {
		parsed, err := schema.Parse(r, &sync.Map{}, schema.NamingStrategy{})
		if err != nil {
			t.Fatal(err)
		}
		want, got := tableColumns(t, s, r.TableName()), slices.Sorted(slices.Values(parsed.DBNames))
		if !slices.Equal(got, want) {
			t.Errorf("%T has columns\n%v, its table\n%v", r, got, want)
		}
		if keys := tableKeys(t, s, r.TableName()); !slices.Equal(slices.Sorted(slices.Values(parsed.PrimaryFieldDBNames)), keys) {
			t.Errorf("%T has the key %v, its table %v", r, parsed.PrimaryFieldDBNames, keys)
		}
	}
}

func tableColumns(t *testing.T, s *Store, table string) []string {
	t.Helper()
	return names(t, s, `SELECT name FROM pragma_table_info(?) ORDER BY name`, table)
}

func tableKeys(t *testing.T, s *Store, table string) []string {
	t.Helper()
	return names(t, s, `SELECT name FROM pragma_table_info(?) WHERE pk > 0 ORDER BY name`, table)
}

func names(t *testing.T, s *Store, query, table string) []string {
	t.Helper()
	rows, err := s.read.QueryContext(t.Context(), query, table)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = rows.Close() }()
	var out []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		out = append(out, name)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestArraysThatAreEmptyAreStoredAsArrays(t *testing.T) {
	t.Parallel()
	b, c, m := binToRow(service.Bin{}), checkToRow(service.Check{}), movementToRow(service.Movement{})
	for _, text := range []string{b.StandIns, c.Leftovers, c.Pests, m.Lines, censusToRow(service.Census{}).Samples, harvestToRow(service.Harvest{}).Worms} {
		if text != "[]" {
			t.Errorf("an empty array is stored as %q", text)
		}
	}
}
