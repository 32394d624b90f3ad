package bookfile

import (
	"encoding/csv"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCSVIsReadAsTheRFCHasIt(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		text string
		want []record
	}{
		"nothing":          {"", nil},
		"line feeds":       {"a,b\nc,d\n", []record{{1, []string{"a", "b"}}, {2, []string{"c", "d"}}}},
		"byte order mark":  {"\ufeffa\r\n", []record{{1, []string{"a"}}}},
		"empty lines":      {"a\n\n\r\nb\n", []record{{1, []string{"a"}}, {4, []string{"b"}}}},
		"quotes":           {"\"a \"\"b\"\", c\",d\r\n", []record{{1, []string{`a "b", c`, "d"}}}},
		"breaks in quotes": {"\"a\r\nb\nc\rd\",e\nf,g\n", []record{{1, []string{"a\r\nb\nc\rd", "e"}}, {4, []string{"f", "g"}}}},
		"empty cells":      {",\"\",\n", []record{{1, []string{"", "", ""}}}},
		"letters":          {"Siobhán,ž,日本\n", []record{{1, []string{"Siobhán", "ž", "日本"}}}},
	} {
		got, err := parse([]byte(tt.text))
		if err != nil || !reflect.DeepEqual(got, tt.want) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
}

func TestWhatIsNoCSVIsRefusedWithItsLine(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		text, want string
	}{
		"quote inside a cell":     {"a\nb\"c\n", "line 2: there is a quote inside"},
		"text after a quote":      {"a\n\"b\"c\n", "line 2: a quoted cell goes on"},
		"no closing quote":        {"a\n\"b\nc\n", "line 2: a quoted cell has no closing quote"},
		"no line break":           {"a,b\nc,d", "line 2: the last row has no line break"},
		"lone carriage return":    {"a\rb\n", "line 1: a carriage return stands alone"},
		"Latin-1":                 {"a\nb\nSiobh\xe1n\n", "line 3: this isn't UTF-8"},
		"UTF-16":                  {"\xff\xfea\x00\n\x00", "line 1: this isn't UTF-8"},
		"NUL":                     {"a\nb\x00\n", "line 2: there is a NUL"},
		"a quote that ends early": {"\"a\" ,b\n", "line 1: a quoted cell goes on"},
	} {
		if got, err := parse([]byte(tt.text)); err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
}

func TestEveryTextComesBackFromItsCell(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`['=+\-@a;:/\\" ,\t\r\n]{0,6}`).Draw(t, "text")
		half := 0.5
		row := Check{Note: text, Leftovers: []Leftover{{Feeding: text, LeftPct: &half}}}
		if text != "" {
			row.Pests = []string{text, "mites", text}
		}
		var back Check
		for i := range reflect.TypeFor[Check]().NumField() {
			records, err := parse(appendRecord(nil, []string{"x", cellOf(reflect.ValueOf(row).Field(i))}))
			if err != nil {
				t.Fatal(err)
			}
			if err := setCell(reflect.ValueOf(&back).Elem().Field(i), records[0].cells[1]); err != nil {
				t.Fatal(err)
			}
		}
		if !reflect.DeepEqual(back, row) {
			t.Errorf("%+v is %+v", row, back)
		}
	})
}

func TestAFormulaIsNeutralInACell(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@a": "'@a", "\ta": "'\ta", "\ra": "'\ra",
		"'=1": "''=1", "''-": "'''-", "'a": "'a", "a=": "a=", " =1": " =1", "": "",
	} {
		if got := Neutral(text); got != want || restored(got) != text {
			t.Errorf("%q is %q and then %q", text, got, restored(got))
		}
	}
	minus := -1.5
	if got := cellOf(reflect.ValueOf(&minus)); got != "-1.5" {
		t.Errorf("a number is %q", got)
	}
}

func TestNumbersAreReadWithAPointOrAnUnmistakableComma(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{
		"1": 1, "1.5": 1.5, "1,5": 1.5, "0,125": 0.125, "1,25": 1.25, "1234,567": 1234.567, "-3,5": -3.5, "+2": 2, "1.500": 1.5, "1E3": 1000, "12,3456": 12.3456,
	} {
		if got, err := number(text); err != nil || got != want {
			t.Errorf("%s: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{
		"1,500", "12,345", "-1,500", "1,234,567", "1.234,5", "1,234.5", "1 500", "1'500", "1.5 kg", "NaN", "Inf", "0x1p3", "1_000", ".5", "5.", "", "1e999", " 1",
	} {
		if got, err := number(text); err == nil {
			t.Errorf("%q is %v", text, got)
		}
	}
}

// FuzzCSV holds that what is read is read again the same after writing, and
// that the standard library agrees where it is as strict.
func FuzzCSV(f *testing.F) {
	for _, seed := range []string{"a,b\r\n1,\"2\"\"\"\r\n", "\ufeffa\n", "\"a\nb\",c\n", "a\"b\n", "a,b", "\r\n", "\n\ufeff\n", "'=1\n", "\xff\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		records, err := parse(data)
		if err != nil {
			return
		}
		var written []byte
		for _, r := range records {
			written = appendRecord(written, r.cells)
		}
		again, err := parse(written)
		if err != nil || len(again) != len(records) {
			t.Fatalf("%q was written as %q: %v", data, written, err)
		}
		std := csv.NewReader(strings.NewReader(string(written)))
		std.FieldsPerRecord = -1
		rows, err := std.ReadAll()
		if err != nil || len(rows) != len(records) {
			t.Fatalf("the standard library reads %q as %q: %v", written, rows, err)
		}
		for i, r := range records {
			if !reflect.DeepEqual(again[i].cells, r.cells) {
				t.Fatalf("%q is %q after writing", r.cells, again[i].cells)
			}
			for j, cell := range r.cells { // which turns CRLF inside quotes into LF
				if rows[i][j] != strings.ReplaceAll(cell, "\r\n", "\n") {
					t.Fatalf("%q is %q to the standard library", cell, rows[i][j])
				}
			}
		}
	})
}
