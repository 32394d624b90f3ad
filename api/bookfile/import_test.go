package bookfile_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

func TestADryRunSaysWhatTheRealRunSaysAndChangesNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		c := newClub(t, store, "first")
		before := c.tables()
		dry, err := c.Records.Import(c.ctx, c.ana, read(t, small(t)), true)
		if err != nil {
			t.Fatal(explained(err))
		}
		if !maps.Equal(c.tables(), before) {
			t.Error("a dry run changed the book")
		}
		real := c.bring(read(t, small(t)))
		if !dry.DryRun || real.DryRun || fmt.Sprint(dry.Counts, dry.Warnings) != fmt.Sprint(real.Counts, real.Warnings) {
			t.Errorf("dry %v, real %v", dry, real)
		}
		want := "[{settings 0} {members 2} {sites 1} {materials 1} {measures 0} {cultures 1} {origins 1} {bins 3} {batches 1} {offers 0} {transfers 0} {receipts 0} {turnouts 0} {movements 2} {harvests 1} {reworks 0} {censuses 1} {feedings 1} {checks 1} {batch_steps 0} {contacts 0} {clearings 0} {quarantines 0} {identifications 0}]"
		if fmt.Sprint(real.Counts) != want {
			t.Errorf("counts %v", real.Counts)
		}
	})
}

func TestAllRowsAtFaultAreListedAtOnceAndThoseThatFollowAreCounted(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		c := newClub(t, store, "first")
		before := c.tables()
		files := small(t)
		files["sites.csv"] = table(t, "sites", "name=Cellar|owner=Zoe") // follow: 3 bins, all that is about them
		files["materials.csv"] = table(t, "materials", "name=Peel|kind=fruit")
		files["feedings.csv"] = table(t, "feedings", "bin=One|at=never|by=Zoe|material=Peel|quantity=x|unit=g")
		_, err := c.Records.Import(c.ctx, c.ana, read(t, files), false)
		want := `import: nothing was imported; every row at fault is listed in errors; 8 more rows fail because of those
/sites.csv/2/owner member-not-found: no such member in this club, nor in this import; use its name or its id
/materials.csv/2/kind unknown: use one of feed, bedding, amendment
/feedings.csv/2/quantity format: "x" isn't a number; write one as 1500 or 1.5, without spaces, units or separators of thousands
/feedings.csv/2/at time-unreadable: give an RFC 3339 time as 2026-05-01T09:30:00Z, or a date as 2026-05-01`
		if err == nil || explained(err) != want {
			t.Errorf("got %s", explained(err))
		}
		if !maps.Equal(c.tables(), before) {
			t.Error("something was imported")
		}
	})
}

func TestAWithdrawalOfWhatAFaultyStockingWouldHaveBroughtIsCountedOnly(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	files := small(t)
	files["censuses.csv"], files["harvests.csv"] = "", ""
	delete(files, "censuses.csv")
	delete(files, "harvests.csv")
	files["movements.csv"] = table(t, "movements",
		"id="+uuid(5)+"|kind=stocking|to_bin=One|at=2026-05-02|species=dragon|quantity=500|unit=g",
		"kind=split|from_bin=One|to_bin=Two|at=2026-05-10|quantity=20|unit=%",
		"kind=loss|from_bin=Two|at=2026-05-11|quantity=2|unit=g|cause=dead|species=eisenia-fetida",
		"kind=loss|from_bin=Three|at=2026-05-11|quantity=2|unit=g|cause=dead|species=eisenia-fetida",
		"kind=reversal|reverses="+uuid(5)+"|reason=typo")
	_, err := c.Records.Import(c.ctx, c.ana, read(t, files), false)
	e, ok := errors.AsType[*service.Error](err)
	if !ok || len(e.Fields) != 2 || e.Fields[0].Pointer != "/movements.csv/2/species" || e.Fields[1].Pointer != "/movements.csv/5/quantity" ||
		!strings.Contains(e.Detail, "3 more rows fail") {
		t.Errorf("got %s", explained(err))
	}
}

func TestAtMostAThousandFaultsAreListed(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	var rows []string
	for range 1003 {
		rows = append(rows, "bin=One|at=2026-05-03|material=Gold|quantity=1|unit=kg")
	}
	_, err := c.Records.Import(c.ctx, c.ana, read(t, added(t, "feedings", rows...)), false)
	e, ok := errors.AsType[*service.Error](err)
	if !ok || len(e.Fields) != 1000 || !strings.Contains(e.Detail, "3 more faults are not listed") {
		t.Errorf("got %s", explained(err))
	}
}

func TestOnlyStewardsImportAndExport(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	nobody := service.Actor{Account: "01970000-0000-7000-8000-00000000ffff", Club: "first"}
	_, err := c.Records.Import(c.ctx, nobody, service.Book{}, true)
	_, other := c.Records.Export(c.ctx, nobody)
	if !errors.Is(err, service.ErrClubNotFound) || !errors.Is(other, service.ErrClubNotFound) {
		t.Errorf("a stranger: %v, %v", err, other)
	}
}

func TestTheMemberNamedIsWhoRecorded(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.bring(read(t, small(t)))
	rows := strings.Split(c.tables()["feedings.csv"], "\r\n")
	if !strings.Contains(rows[1], ",One,2026-05-03,Bo,Peel,500,g,") {
		t.Errorf("got %s", rows[1])
	}
	if checks := c.tables()["checks.csv"]; !strings.Contains(checks, ",One,2026-05-05,Ana,21.11111111111111,Cel,") {
		t.Errorf("got %s", checks)
	}
}

func TestAMemberWhoIsThereIsNotAddedAgain(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	files := map[string]string{
		"members.csv": table(t, "members", "id="+uuid(40)+"|name=Ana|role=steward", "name=Bo|role=keeper"),
		"sites.csv":   table(t, "sites", "name=Cellar|owner="+uuid(40)),
	}
	report := c.bring(read(t, files))
	if len(report.Warnings) != 1 || report.Warnings[0].Pointer != "/members.csv/2/name" || report.Counts[1].Records != 1 {
		t.Errorf("got %v", report)
	}
	if sites := c.tables()["sites.csv"]; !strings.Contains(sites, ",Cellar,,Ana,") {
		t.Errorf("got %s", sites)
	}
}

func TestABinWhoseStartIsNotToldStartsWithItsFirstRecord(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	files := small(t)
	files["bins.csv"] = strings.Replace(files["bins.csv"], `"2026-05-01"`, "", 1)
	report := c.bring(read(t, files))
	if len(report.Warnings) != 1 || report.Warnings[0].Pointer != "/bins.csv/2/started" || report.Warnings[0].Code != "start-assumed" {
		t.Errorf("got %v", report.Warnings)
	}
	if bins := c.tables()["bins.csv"]; !strings.Contains(bins, ",One,tote,Cellar,Bo,Cy;Ana,0.5,,2026-05-02,") {
		t.Errorf("got %s", bins)
	}
}

func TestABinRetiresOnlyWithNothingLeftAndTakesNoRecordAfterwards(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	files := small(t)
	files["bins.csv"] = strings.Replace(files["bins.csv"], `"One","tote","Cellar","Bo","Cy;Ana","0,5",,"2026-05-01",`, `"One","tote","Cellar","Bo","Cy;Ana","0,5",,"2026-05-01","2026-06-10"`, 1)
	if !strings.Contains(files["bins.csv"], "2026-06-10") {
		t.Fatal(files["bins.csv"])
	}
	if got := c.faultsOf(files); len(got) != 1 || got[0].Pointer+" "+got[0].Code != "/bins.csv/2/retired stock-left" {
		t.Errorf("got %v", got)
	}
	loss := table(t, "movements", "kind=loss|from_bin=One|at=2026-06-09|quantity=100|unit=%|cause=escaped")
	files["movements.csv"] += loss[strings.Index(loss, "\n")+1:]
	late := maps.Clone(files)
	late["feedings.csv"] = table(t, "feedings", "bin=One|at=2026-07-03|material=Peel|quantity=500|unit=g")
	late["checks.csv"] = table(t, "checks", "bin=Two|at=2026-07-03")
	if got := c.faultsOf(late); len(got) != 1 || got[0].Pointer+" "+got[0].Code != "/feedings.csv/2/at bin-retired" {
		t.Errorf("got %v", got)
	}
	c.bring(read(t, files))
}

func TestAnImportGoesOnFromWhatTheClubHas(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		c := newClub(t, store, "first")
		c.bring(read(t, small(t)))
		c.bring(read(t, map[string]string{"movements.csv": table(t, "movements",
			"kind=reversal|reverses="+uuid(3)+"|reason=it was another bin",
			"kind=split|from_bin=One|to_bin=Two|at=2026-05-09T10:00:00Z|quantity=10|unit=%|species=eisenia-fetida",
		)}))
		stock := c.stock()
		if stock["Two eisenia-fetida"] != 50*unit.Gram {
			t.Errorf("the stock is %v", stock)
		}
		d := newClub(t, repotest.SQLite(t), "second")
		d.bring(read(t, c.tables()))
		for name, data := range c.tables() {
			same(t, name, d.tables()[name], data)
		}
	})
}

func TestFilesThatAreNoTablesAreRefusedWithTheirFaults(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ file, data, want string }{
		"another file":      {"worms.csv", "id\n", "/worms.csv unknown"},
		"no ending":         {"members", "id,name,role\n", "/members unknown"},
		"nothing in it":     {"members.csv", "", "/members.csv/1 required"},
		"unknown column":    {"members.csv", "id,name,role,shoe\n", "/members.csv/1/shoe unknown"},
		"semicolons":        {"members.csv", "id;name;role\n", "/members.csv/1/id;name;role unknown"},
		"duplicate column":  {"members.csv", "id,name,role,name\n", "/members.csv/1/name duplicate"},
		"missing column":    {"members.csv", "id,name\n", "/members.csv/1/role required"},
		"a cell too many":   {"members.csv", "id,name,role\n,Bo,keeper,x\n", "/members.csv/2 format"},
		"a cell too few":    {"members.csv", "id,name,role\n,Bo\n,Cy,keeper\n", "/members.csv/2 format"},
		"bad quotes":        {"members.csv", "id,name,role\n,B\"o,keeper\n", "/members.csv/2 format"},
		"cut in quotes":     {"members.csv", "id,name,role\n,\"B", "/members.csv/2 format"},
		"cut in a cell":     {"members.csv", "id,name,role\n,Bo,kee", "/members.csv/2 format"},
		"cut between cells": {"members.csv", "id,name,role\n,Bo,", "/members.csv/2 format"},
		"UTF-16":            {"members.csv", "\xff\xfei\x00d\x00", "/members.csv/1 format"},
	} {
		_, err := bookfile.ReadCSV([]bookfile.File{{Name: tt.file, Data: []byte(tt.data)}})
		e, ok := errors.AsType[*service.Error](err)
		if !ok || len(e.Fields) == 0 || e.Fields[0].Pointer+" "+e.Fields[0].Code != tt.want {
			t.Errorf("%s: %v", name, err)
		}
	}
	twice := bookfile.File{Name: "members.csv", Data: []byte("id,name,role\n")}
	if _, err := bookfile.ReadCSV([]bookfile.File{twice, twice}); !errors.Is(err, service.ErrImport) {
		t.Errorf("a file twice: %v", err)
	}
}

// A file that is cut anywhere but between two rows is refused.
func TestHalfAFileIsRefused(t *testing.T) {
	t.Parallel()
	for name, whole := range demo(t, "lagoon") {
		for cut := 1; cut < len(whole); cut += 7 {
			if whole[cut-1] == '\n' {
				continue
			}
			if _, err := bookfile.ReadCSV([]bookfile.File{{Name: name, Data: []byte(whole[:cut])}}); !errors.Is(err, service.ErrImport) {
				t.Fatalf("%s cut at %d: %v", name, cut, err)
			}
		}
	}
}

func TestAJSONDocumentIsReadStrictly(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ doc, code string }{
		"no JSON":         {`{`, "malformed"},
		"an array":        {`[]`, "malformed"},
		"unknown table":   {`{"worms":[]}`, "malformed"},
		"a table twice":   {`{"bins":[],"bins":[]}`, "malformed"},
		"a member twice":  {`{"bins":[{"name":"A","name":"B"}]}`, "malformed"},
		"not UTF-8":       {"{\"bins\":[{\"name\":\"\xe1\"}]}", "malformed"},
		"half a document": {`{"bins":[{"name":"A"},`, "malformed"},
	} {
		_, err := bookfile.ReadJSON([]byte(tt.doc))
		if e, ok := errors.AsType[*service.Error](err); !ok || e.Code != tt.code {
			t.Errorf("%s: %v", name, err)
		}
	}
	for doc, want := range map[string]string{
		`{"bins":[{"name":"A"},{"nome":"B"}]}`:                        "/bins/1/nome unknown",
		`{"bins":[{"name":5}]}`:                                       "/bins/0/name format",
		`{"bins":[{"surface_m2":"1,5"}]}`:                             "/bins/0/surface_m2 format",
		`{"bins":[{"name":"a\u0000b"}]}`:                              "/bins/0/name format",
		`{"bins":["A"]}`:                                              "/bins/0 format",
		`{"checks":[{"ammonia":"true"}]}`:                             "/checks/0/ammonia format",
		`{"censuses":[{"samples":[{"area":1}]}]}`:                     "/censuses/0/samples format",
		`{"movements":[{"quantity":1,"unit":"g","price_minor":1.5}]}`: "/movements/0/price_minor format",
	} {
		b, err := bookfile.ReadJSON([]byte(doc))
		if err != nil {
			t.Errorf("%s: %v", doc, err)
			continue
		}
		var faults service.Faults
		for _, r := range b.Bins {
			faults = append(faults, r.Faults...)
		}
		for _, r := range b.Checks {
			faults = append(faults, r.Faults...)
		}
		for _, r := range b.Censuses {
			faults = append(faults, r.Faults...)
		}
		for _, r := range b.Movements {
			faults = append(faults, r.Faults...)
		}
		if len(faults) == 0 || faults[0].Pointer+" "+faults[0].Code != want {
			t.Errorf("%s: %v", doc, faults)
		}
	}
}

func TestAnArchiveThatUnpacksToTooMuchIsRefused(t *testing.T) {
	t.Parallel()
	pack := func(files int, size int) []byte {
		var out bytes.Buffer
		z := zip.NewWriter(&out)
		for i := range files {
			w, err := z.Create(fmt.Sprintf("dir/%d.csv", i))
			if err == nil {
				_, err = w.Write(make([]byte, size))
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	for name, data := range map[string][]byte{"a bomb": pack(2, bookfile.MaxUnpacked/2+1), "many files": pack(65, 1)} {
		if _, err := bookfile.ReadZip(data); !errors.Is(err, service.ErrTooLarge) {
			t.Errorf("%s: %v", name, err)
		}
	}
	whole := pack(2, 10)
	for _, data := range [][]byte{nil, []byte("PK"), whole[:len(whole)-9]} {
		if _, err := bookfile.ReadZip(data); !errors.Is(err, service.ErrMalformed) {
			t.Errorf("%d bytes: %v", len(data), err)
		}
	}
}

func TestMoreRowsThanTheLimitAreRefused(t *testing.T) {
	t.Parallel()
	big := "id,name,role\n" + strings.Repeat(",A,keeper\n", bookfile.MaxRows)
	if _, err := bookfile.ReadCSV([]bookfile.File{{Name: "members.csv", Data: []byte(big)}}); !errors.Is(err, service.ErrTooLarge) {
		t.Errorf("CSV: %v", err)
	}
	doc := `{"members":[{}` + strings.Repeat(",{}", bookfile.MaxRows) + `]}`
	if _, err := bookfile.ReadJSON([]byte(doc)); !errors.Is(err, service.ErrTooLarge) {
		t.Errorf("JSON: %v", err)
	}
}
