package bookfile

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"lumbricary.example/service"
)

// filled returns a row in which every column is told, each another value.
func filled(t *testing.T, row reflect.Type) reflect.Value {
	t.Helper()
	v := reflect.New(row).Elem()
	yes := true
	for i := range v.NumField() {
		f := v.Field(i)
		number, whole := float64(i)+0.5, int64(i)+1
		switch f.Interface().(type) {
		case string:
			f.SetString(fmt.Sprint("text ", i))
			if slices.Contains([]string{"At", "Expires", "Since", "Withdrawn"}, v.Type().Field(i).Name) {
				f.SetString(fmt.Sprintf("2026-05-01T09:%02d:00Z", i))
			}
		case *float64:
			f.Set(reflect.ValueOf(&number))
		case *int64:
			f.Set(reflect.ValueOf(&whole))
		case *bool:
			f.Set(reflect.ValueOf(&yes))
		case []string:
			f.Set(reflect.ValueOf([]string{"a", "b"}))
		default:
			f.Set(reflect.Append(f, filled(t, f.Type().Elem())))
		}
		if f.IsZero() {
			t.Fatalf("%s: column %d isn't filled", row, i)
		}
	}
	if unit := v.FieldByName("TemperatureUnit"); unit.IsValid() {
		unit.SetString("Cel")
	}
	return v
}

// there makes a record of the row, and rows of that.
func there[R, T any](t *testing.T, tb table[R, T], row R) []R {
	t.Helper()
	r := reading{file: tb.name, line: 1, parts: []int{1}}
	rec := service.Row[T]{Value: tb.record(&r, row, []R{row})}
	if by := reflect.ValueOf(row).FieldByName("By"); by.IsValid() {
		rec.By = by.String()
	}
	if len(r.faults) > 0 {
		t.Errorf("%s: %v", tb.name, r.faults)
	}
	return tb.write(rec)
}

func check[R, T any](t *testing.T, s sheet) bool {
	t.Helper()
	tb, ok := s.(table[R, T])
	if !ok {
		return false
	}
	row := filled(t, reflect.TypeFor[R]()).Interface().(R)
	if got := there(t, tb, row); len(got) != 1 || !reflect.DeepEqual(got[0], row) {
		t.Errorf("%s:\n got %+v\nwant %+v", tb.name, got, row)
	}
	cells := map[string]string{}
	back := reflect.New(reflect.TypeFor[R]()).Elem()
	for _, c := range tb.columns() {
		cells[c.name] = cellOf(reflect.ValueOf(row).Field(c.field))
		if err := setCell(back.Field(c.field), cells[c.name]); err != nil {
			t.Errorf("%s: %s: %v", tb.name, c.name, err)
		}
	}
	if !reflect.DeepEqual(back.Interface(), any(row)) {
		t.Errorf("%s: as cells %v", tb.name, cells)
	}
	return true
}

func TestEveryColumnOfEveryTableComesBackFromItsRecordAndFromItsCell(t *testing.T) {
	t.Parallel()
	checks := []func(*testing.T, sheet) bool{
		check[Settings, service.Settings], check[Member, service.Member], check[Site, service.Site], check[Material, service.Material], check[Measure, service.Measure],
		check[Culture, service.Culture], check[Origin, service.Origin], check[Bin, service.Bin],
		check[Batch, service.Batch], check[Feeding, service.Feeding], check[Check, service.Check],
		check[Offer, service.Offer], check[Transfer, service.Transfer],
		check[Census, service.Census], check[Harvest, service.Harvest],
		check[Receipt, service.Receipt], check[Turnout, service.Turnout], check[Rework, service.Rework], check[BatchStep, service.BatchStep], check[Movement, service.Movement],
		check[Quarantine, service.Quarantine], check[Contact, service.BinContact], check[Clearing, service.Clearing], check[Identification, service.Identification],
	}
	for _, s := range sheets() {
		tried := slices.ContainsFunc(checks, func(try func(*testing.T, sheet) bool) bool { return try(t, s) })
		if !tried {
			t.Errorf("%s isn't tried", s.noun())
		}
	}
}
