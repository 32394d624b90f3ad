package repo_test

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"

	"github.com/gowebpki/jcs"
	"pgregory.net/rapid"
)

func TestARowIsCanonicalJSONAndReadBackAsItWas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		row := []any{
			rapid.SliceOf(rapid.Byte()).Draw(t, "bytes"),
			rapid.Float64().Filter(func(x float64) bool { return x != 0 && !math.IsInf(x, 0) }).Draw(t, "real"),
			rapid.String().Draw(t, "text"),
			rapid.Bool().Draw(t, "truth"),
			rapid.Int64Range(-1<<53+1, 1<<53-1).Draw(t, "whole"),
		}
		if missing := rapid.IntRange(0, 9).Draw(t, "missing"); missing < len(row) {
			row[missing] = nil
		}
		line, err := repo.OddLine(row...)
		if err != nil {
			t.Fatal(err)
		}
		canonical, err := jcs.Transform([]byte(line))
		if err != nil || string(canonical) != line {
			t.Fatalf("%s, canonical %s, %v", line, canonical, err)
		}
		back, err := repo.OddRow(line)
		if err != nil || !reflect.DeepEqual(back, row) {
			t.Fatalf("%v, want %v, %v", back, row, err)
		}
	})
}

func TestBothDatabasesGiveTheSameLine(t *testing.T) {
	t.Parallel()
	const want = `{"bytes":"AQI=","real":3,"text":"a\u0001\"\\\n\u2028b","truth":true,"whole":0}`
	for _, row := range [][]any{
		{[]byte{1, 2}, 3.0, "a\x01\"\\\n\u2028b", true, int64(0)},
		{[]byte{1, 2}, int64(3), []byte("a\x01\"\\\n\u2028b"), int64(1), int64(0)},
	} {
		if got, err := repo.OddLine(row...); err != nil || got != strings.ReplaceAll(want, `\u2028`, "\u2028") {
			t.Errorf("%s %v", got, err)
		}
	}
}

func TestAValueThatHasNoLineIsTold(t *testing.T) {
	t.Parallel()
	for why, row := range map[string][]any{
		"odd.text: a text is no UTF-8":                          {nil, nil, "\xff", nil, nil},
		"odd.whole: a whole number is beyond 2^53":              {nil, nil, nil, nil, int64(1 << 53)},
		"odd.whole: a value is of another type than its column": {nil, nil, nil, nil, 1.5},
		"odd.truth: a value is of another type than its column": {nil, nil, nil, "yes", nil},
		"odd.real: json: unsupported value: NaN":                {nil, math.NaN(), nil, nil, nil},
		"odd.text: a value is of another type than its column":  {nil, nil, int64(7), nil, nil},
		"odd.bytes: a value is of another type than its column": {true, nil, nil, nil, nil},
	} {
		if _, err := repo.OddLine(row...); err == nil || err.Error() != why {
			t.Errorf("%v, want %s", err, why)
		}
	}
}

func TestALineThatIsNotToTheByteAsItIsWrittenIsRefused(t *testing.T) {
	t.Parallel()
	const good = `{"bytes":"","real":1.5,"text":"a","truth":false,"whole":7}`
	if _, err := repo.OddRow(good); err != nil {
		t.Fatal(err)
	}
	for from, c := range map[string]struct{ to, why string }{
		`"whole":7`:      {`"whole":7.0`, `member "whole": a value is of another type than its column`},
		`"real":1.5`:     {`"real":1.50`, "the row isn't in canonical form"},
		`"text":"a"`:     {`"text":"\u0061"`, "the row isn't in canonical form"},
		`"truth":false,`: {``, `member "truth" is missing`},
		`"truth":false`:  {`"truth":0`, `member "truth": a value is of another type than its column`},
		`"whole":7}`:     {`"whole":7,"x":1}`, `there is no member "x"`},
		`"bytes":""`:     {`"bytes":"AR=="`, "the row isn't in canonical form"},
		`"bytes":"",`:    {`"bytes":"?",`, `member "bytes": a value is of another type than its column`},
		`,"whole":7`:     {`,"whole":7,"whole":7`, "the row isn't in canonical form"},
		`{"bytes":"",`:   {`{"bytes":"","bytes":"",`, "the row isn't in canonical form"},
		`:7}`:            {`:7} `, "the row isn't in canonical form"},
		`"whole":7}`[:9]: {`"whole":x`, "the row can't be read: invalid character 'x' looking for beginning of value"},
	} {
		if _, err := repo.OddRow(strings.Replace(good, from, c.to, 1)); err == nil || err.Error() != c.why {
			t.Errorf("%s: %v, want %s", c.to, err, c.why)
		}
	}
}

func TestEveryTableOfAClubIsInItsArchiveOrStaysOutForAReason(t *testing.T) {
	t.Parallel()
	for name := range repo.ClubTables {
		if in, out := repo.InArchive[name], repo.NotInArchive[name] != ""; in == out {
			t.Errorf("table %s: name it in inArchive or, with the reason, in notInArchive", name)
		}
	}
	if n := len(repo.InArchive) + len(repo.NotInArchive); n != len(repo.ClubTables) {
		t.Errorf("%d tables are named, %d are clubs'", n, len(repo.ClubTables))
	}
	for name := range repo.NotInBackup {
		if !repo.SharedTables[name] {
			t.Errorf("a backup lacks %s, which is a club's", name)
		}
	}
}

// secretive finds columns whose values let somebody in.
var secretive = []string{"hash", "secret", "token", "passphrase", "pem", "account_id", "code"}

func TestNoColumnOfAnArchiveLetsSomebodyIn(t *testing.T) {
	t.Parallel()
	relations, err := repotest.SQLite(t).Relations(t.Context())
	must(t, err)
	for _, r := range relations {
		for _, c := range r.Columns {
			name, _, _ := strings.Cut(c, " ")
			bears := slices.ContainsFunc(secretive, func(word string) bool { return strings.Contains(name, word) })
			if repo.InArchive[r.Name] && bears && repo.InsteadOf[r.Name][name] == "" {
				t.Errorf("%s.%s: keep the table out, or say in insteadOf what an archive has there", r.Name, name)
			}
		}
	}
}

func TestBothDatabasesHaveTheSameColumnsInTheSameOrder(t *testing.T) {
	t.Parallel()
	sqlite, err := repotest.SQLite(t).Relations(t.Context())
	must(t, err)
	postgres, err := repotest.Postgres(t).Relations(t.Context())
	must(t, err)
	if len(sqlite) < 30 || len(sqlite) != len(postgres) {
		t.Fatalf("%d tables and %d", len(sqlite), len(postgres))
	}
	for i := range sqlite {
		if !reflect.DeepEqual(sqlite[i], postgres[i]) {
			t.Errorf("SQLite has\n%+v, PostgreSQL\n%+v", sqlite[i], postgres[i])
		}
	}
}

func TestRowsThatNameRowsOfTheirOwnTableHaveAnOrderInWhichTheyWereRecorded(t *testing.T) {
	t.Parallel()
	relations, err := repotest.SQLite(t).Relations(t.Context())
	must(t, err)
	for _, r := range relations {
		if len(r.Key) == 0 {
			t.Errorf("%s has no key to be ordered by", r.Name)
		}
		if slices.Contains(r.Names, r.Name) && !r.Sequence {
			t.Errorf("%s names itself and has no seq", r.Name)
		}
	}
}
