package bookfile_test

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// headers are the columns of each table, as the contract has them.
var headers = map[string]string{
	"members":   "id,name,role",
	"sites":     "id,name,address,owner,note",
	"materials": "id,name,kind,feedstock,moisture_pct,nitrogen_pct,carbon_ratio,density_g_per_l,animal_origin,slow,note",
	"settings":  "copy_pct,promise_days",
	"cultures":  "id,name,species,note,merged_into,moved_origins",
	"origins":   "id,name,kind,species,culture,note",
	"bins":      "id,name,kind,site,keeper,stand_ins,surface_m2,depth_cm,started,retired,retired_why,note",
	"batches":   "id,lot_number,product,mesh_mm,note",
	"feedings":  "id,bin,at,by,material,quantity,unit,moisture_pct,placement,preparation,note",
	"checks":    "id,bin,at,by,temperature,temperature_unit,moisture_pct,squeeze,ph,ammonia,leftover_pct,leftovers,worms_at,pests,beaded,escape,leachate_l,cover,note",
	"censuses":  "id,bin,species,at,by,estimate,low,high,unit,samples,apply,note",
	"harvests":  "id,bin,at,by,full,method,mesh_mm,quantity,unit,moisture_pct,batch,put_back_g,worms_to,worms_species,worms_quantity,worms_unit,worms_booked_mg,note",
	"movements": "id,kind,at,by,from_bin,to_bin,from_batch,species,quantity,unit,size_class,density_g_per_l,sample_mg,moisture_pct,origin,terms,party,price_minor,currency,cause,material_g,reverses,reason,booked_mg,note",
}

// table writes a CSV file of rows that are told by column: "name=Cellar|note=dry".
func table(t *testing.T, noun string, rows ...string) string {
	t.Helper()
	columns := strings.Split(headers[noun], ",")
	out := headers[noun] + "\n"
	for _, r := range rows {
		cells := make([]string, len(columns))
		for told := range strings.SplitSeq(r, "|") {
			column, cell, _ := strings.Cut(told, "=")
			i := slices.Index(columns, column)
			if i < 0 {
				t.Fatalf("%s has no column %q", noun, column)
			}
			cells[i] = `"` + cell + `"`
		}
		out += strings.Join(cells, ",") + "\n"
	}
	return out
}

// uuid makes ids of rows.
func uuid(n int) string { return fmt.Sprintf("01970000-0000-7000-9000-%012d", n) }

// small is a sound book of a club: two bins, stocked, fed and checked.
func small(t *testing.T) map[string]string {
	t.Helper()
	return map[string]string{
		"members.csv":   table(t, "members", "name=Bo|role=keeper", "name=Cy|role=keeper"),
		"sites.csv":     table(t, "sites", "name=Cellar|owner=Bo"),
		"materials.csv": table(t, "materials", "name=Peel|kind=feed|moisture_pct=85|density_g_per_l=600"),
		"cultures.csv":  table(t, "cultures", "name=Quay|species=eisenia-fetida"),
		"origins.csv":   table(t, "origins", "name=Fair|kind=supplier|species=eisenia-fetida|culture=Quay"),
		"bins.csv": table(t, "bins",
			"name=One|kind=tote|site=Cellar|keeper=Bo|stand_ins=Cy;Ana|surface_m2=0,5|started=2026-05-01",
			"name=Two|kind=tote|site=Cellar|keeper=Bo|started=2026-05-01",
			"name=Three|kind=bag|site=Cellar|keeper=Cy|started=2026-05-01"),
		"batches.csv":  table(t, "batches", "lot_number=L1|product=castings"),
		"feedings.csv": table(t, "feedings", "id="+uuid(1)+"|bin=One|at=2026-05-03|by=Bo|material=Peel|quantity=500|unit=g"),
		"checks.csv":   table(t, "checks", "bin=One|at=2026-05-05|temperature=70|temperature_unit=[degF]|leftovers="+uuid(1)+":25"),
		"censuses.csv": table(t, "censuses", "bin=One|species=eisenia-fetida|at=2026-05-20|samples=feed-zone/0.04/12/6.5/5/7/3;elsewhere/0.04/9"),
		"harvests.csv": table(t, "harvests", "bin=One|at=2026-05-30|full=false|quantity=2|unit=kg|batch=L1"),
		"movements.csv": table(t, "movements",
			"id="+uuid(2)+"|kind=stocking|to_bin=One|at=2026-05-02|species=eisenia-fetida|origin=Fair|quantity=500|unit=g",
			"id="+uuid(3)+"|kind=split|from_bin=One|to_bin=Two|at=2026-05-10|quantity=20|unit=%"),
	}
}

// refusal is what an import must say of a book.
type refusal struct {
	why   string
	files map[string]string
	want  string // pointer and code of the first fault
}

// faultsOf imports a book that must be refused.
func (c club) faultsOf(files map[string]string) []service.FieldError {
	c.Helper()
	b, err := bookfile.ReadCSV(filesOf(files))
	if err == nil {
		_, err = c.Records.Import(c.ctx, c.ana, b, false)
	}
	e, ok := errors.AsType[*service.Error](err)
	if !ok || e.Code != service.ErrImport.Code || len(e.Fields) == 0 {
		c.Errorf("not refused as an import: %v", err)
		return []service.FieldError{{}}
	}
	return e.Fields
}

// added are rows under those of the small book.
func added(t *testing.T, noun string, rows ...string) map[string]string {
	t.Helper()
	files := small(t)
	own := table(t, noun, rows...)
	files[noun+".csv"] += own[strings.Index(own, "\n")+1:]
	return files
}

func refusals(t *testing.T) []refusal {
	t.Helper()
	stocking := "kind=stocking|to_bin=One|at=2026-05-02|species=eisenia-fetida|quantity=500|unit=g"
	feed := "bin=One|at=2026-05-03|material=Peel|quantity=1|unit=kg"
	look := "bin=One|at=2026-05-05"
	figure := "bin=One|species=eisenia-fetida|at=2026-05-20"
	return []refusal{
		{"copies from too little", map[string]string{"settings.csv": table(t, "settings", "copy_pct=49|promise_days=14")}, "/settings.csv/2/copy_pct range"},
		{"settings twice", map[string]string{"settings.csv": table(t, "settings", "copy_pct=80", "copy_pct=90")}, "/settings.csv/3 range"},
		{"no name", added(t, "members", "role=keeper"), "/members.csv/4/name required"},
		{"no role", added(t, "members", "name=Di"), "/members.csv/4/role required"},
		{"another role", added(t, "members", "name=Di|role=boss"), "/members.csv/4/role unknown"},
		{"a name twice", added(t, "members", "name=Bo|role=keeper"), "/members.csv/4/name member-name-taken"},
		{"the founder with another role", added(t, "members", "name=Ana|role=reader"), "/members.csv/4/name member-name-taken"},
		{"a bad id", added(t, "sites", "id=7|name=Shed"), "/sites.csv/3/id format"},
		{"an id twice", added(t, "sites", "id="+uuid(7)+"|name=Shed", "id="+uuid(7)+"|name=Barn"), "/sites.csv/4/id id-taken"},
		{"nobody's site", added(t, "sites", "name=Shed|owner=Zoe"), "/sites.csv/3/owner member-not-found"},
		{"a moisture in words", added(t, "materials", "name=A|kind=feed|moisture_pct=wet"), "/materials.csv/3/moisture_pct format"},
		{"a moisture with thousands", added(t, "materials", "name=A|kind=feed|density_g_per_l=1,200"), "/materials.csv/3/density_g_per_l format"},
		{"too much moisture", added(t, "materials", "name=A|kind=feed|moisture_pct=120"), "/materials.csv/3/moisture_pct range"},
		{"neither true nor false", added(t, "materials", "name=A|kind=feed|slow=yes"), "/materials.csv/3/slow format"},
		{"no such feedstock", added(t, "materials", "name=A|kind=feed|feedstock=gold"), "/materials.csv/3/feedstock unknown"},
		{"no such species", added(t, "cultures", "name=A|species=dragon"), "/cultures.csv/3/species species-not-found"},
		{"merged into none of ours", added(t, "cultures", "name=A|species=eisenia-fetida|merged_into=Zoe"), "/cultures.csv/3/merged_into culture-not-found"},
		{"merged into itself", added(t, "cultures", "name=A|species=eisenia-fetida|merged_into=A"), "/cultures.csv/3/merged_into same"},
		{"merged into each other", added(t, "cultures", "name=A|species=eisenia-fetida|merged_into=B", "name=B|species=eisenia-fetida|merged_into=A"), "/cultures.csv/4/merged_into same"},
		{"merged into another species", added(t, "cultures", "name=A|species=eudrilus-eugeniae|merged_into=Quay"), "/cultures.csv/3/merged_into species-mismatch"},
		{"no such origin went along", added(t, "cultures", "name=A|species=eisenia-fetida|merged_into=Quay|moved_origins=Fair;Moon"), "/cultures.csv/3/moved_origins origin-not-found"},
		{"an origin of another species", added(t, "origins", "name=A|kind=wild|species=eudrilus-eugeniae|culture=Quay"), "/origins.csv/3/culture species-mismatch"},
		{"a bin nowhere", added(t, "bins", "name=A|kind=tote|site=Attic|started=2026-05-01"), "/bins.csv/5/site site-not-found"},
		{"nobody stands in", added(t, "bins", "name=A|kind=tote|site=Cellar|stand_ins=Bo;Zoe|started=2026-05-01"), "/bins.csv/5/stand_ins member-not-found"},
		{"retired before it started", added(t, "bins", "name=A|kind=tote|site=Cellar|started=2026-05-01|retired=2026-04-01"), "/bins.csv/5/retired range"},
		{"started in the future", added(t, "bins", "name=A|kind=tote|site=Cellar|started=2027-05-01"), "/bins.csv/5/started time-ahead"},
		{"a lot number twice", added(t, "batches", "lot_number=L1|product=castings"), "/batches.csv/3/lot_number lot-number-taken"},
		{"no moment", added(t, "feedings", "bin=One|material=Peel|quantity=1|unit=kg"), "/feedings.csv/3/at required"},
		{"a moment in words", added(t, "feedings", "bin=One|at=3 May|material=Peel|quantity=1|unit=kg"), "/feedings.csv/3/at time-unreadable"},
		{"before the bin was", added(t, "feedings", "bin=One|at=2026-04-03|material=Peel|quantity=1|unit=kg"), "/feedings.csv/3/at before-start"},
		{"fed by nobody", added(t, "feedings", feed+"|by=Zoe"), "/feedings.csv/3/by member-not-found"},
		{"no bin", added(t, "feedings", "bin=Nine|at=2026-05-03|material=Peel|quantity=1|unit=kg"), "/feedings.csv/3/bin bin-not-found"},
		{"no quantity", added(t, "feedings", "bin=One|at=2026-05-03|material=Peel|unit=kg"), "/feedings.csv/3/quantity required"},
		{"neither quantity nor unit", added(t, "feedings", "bin=One|at=2026-05-03|material=Peel"), "/feedings.csv/3/quantity required"},
		{"no unit", added(t, "feedings", "bin=One|at=2026-05-03|material=Peel|quantity=1"), "/feedings.csv/3/unit required"},
		{"a wrong unit", added(t, "feedings", "bin=One|at=2026-05-03|material=Peel|quantity=1|unit=m2"), "/feedings.csv/3/unit unit"},
		{"the second material", added(t, "feedings", "id="+uuid(7)+"|"+feed, "id="+uuid(7)+"|material=Gold|quantity=1|unit=kg"), "/feedings.csv/4/material material-not-found"},
		{"one id in two bins", added(t, "feedings", "id="+uuid(7)+"|"+feed, "id="+uuid(7)+"|bin=Two|material=Peel|quantity=1|unit=kg"), "/feedings.csv/4/bin disagrees"},
		{"no placement of ours", added(t, "feedings", feed+"|placement=thrown"), "/feedings.csv/3/placement unknown"},
		{"a temperature without unit", added(t, "checks", look+"|temperature=20"), "/checks.csv/3/temperature_unit required"},
		{"a temperature in grams", added(t, "checks", look+"|temperature=20|temperature_unit=g"), "/checks.csv/3/temperature_unit unit"},
		{"boiling", added(t, "checks", look+"|temperature=100|temperature_unit=Cel"), "/checks.csv/3/temperature range"},
		{"leftovers of no feeding", added(t, "checks", look+"|leftovers="+uuid(9)+":50"), "/checks.csv/3/leftovers feeding-not-found"},
		{"leftovers without a percentage", added(t, "checks", look+"|leftovers="+uuid(1)), "/checks.csv/3/leftovers format"},
		{"an estimate without its upper limit", added(t, "censuses", figure+"|estimate=500|low=400|unit=g"), "/censuses.csv/3/high required"},
		{"neither estimate nor samples", added(t, "censuses", figure), "/censuses.csv/3/estimate required"},
		{"limits the wrong way round", added(t, "censuses", figure+"|estimate=500|low=600|high=700|unit=g"), "/censuses.csv/3/estimate interval"},
		{"half a worm", added(t, "censuses", figure+"|samples=/0.04/1.5"), "/censuses.csv/3/samples format"},
		{"a sample without worms", added(t, "censuses", figure+"|samples=/0.04"), "/censuses.csv/3/samples required"},
		{"samples where the surface isn't known", added(t, "censuses", "bin=Two|species=eisenia-fetida|at=2026-05-20|samples=/0.04/12"), "/censuses.csv/3/samples census"},
		{"no batch", added(t, "harvests", "bin=One|at=2026-05-30|quantity=1|unit=kg|batch=L9"), "/harvests.csv/3/batch batch-not-found"},
		{"castings by the litre", added(t, "harvests", "bin=One|at=2026-05-30|quantity=1|unit=L|batch=L1"), "/harvests.csv/3/unit unit"},
		{"less than nothing put back", added(t, "harvests", "bin=One|at=2026-05-30|quantity=1|unit=kg|batch=L1|put_back_g=-1"), "/harvests.csv/3/put_back_g range"},
		{"worms to nowhere", added(t, "harvests", "bin=One|at=2026-05-30|quantity=1|unit=kg|batch=L1|worms_quantity=5|worms_unit=g"), "/harvests.csv/3/worms_to shape"},
		{"more worms than there are", added(t, "harvests", "bin=Two|at=2026-05-30|worms_to=One|worms_species=eisenia-fetida|worms_quantity=5|worms_unit=kg"), "/harvests.csv/3/quantity more-than-book"},
		{"no kind", added(t, "movements", "to_bin=One|at=2026-05-02|quantity=500|unit=g"), "/movements.csv/4/kind required"},
		{"no line", added(t, "movements", "kind=stocking|to_bin=One|at=2026-05-02"), "/movements.csv/4/quantity range"},
		{"a line without quantity", added(t, "movements", "kind=stocking|to_bin=One|at=2026-05-02|species=eisenia-fetida"), "/movements.csv/4/quantity required"},
		{"a stocking from a bin", added(t, "movements", stocking+"|from_bin=Two"), "/movements.csv/4/from_bin shape"},
		{"a split between keepers", added(t, "movements", "kind=split|from_bin=One|to_bin=Three|at=2026-05-12|quantity=5|unit=g"), "/movements.csv/4/to_bin shape"},
		{"no species", added(t, "movements", "kind=stocking|to_bin=Three|at=2026-05-02|quantity=500|unit=g"), "/movements.csv/4/species species-not-found"},
		{"a volume without density", added(t, "movements", stocking+"|unit=L"), "/movements.csv/4/density_g_per_l density-needed"},
		{"no size class of ours", added(t, "movements", stocking+"|unit={worms}|size_class=huge"), "/movements.csv/4/size_class unknown-size-class"},
		{"a share of nothing", added(t, "movements", "kind=loss|from_bin=Three|at=2026-05-12|quantity=50|unit=%|cause=dead"), "/movements.csv/4/quantity no-known-stock"},
		{"more than the book", added(t, "movements", "kind=loss|from_bin=One|at=2026-05-12|quantity=5|unit=kg|cause=dead|species=eisenia-fetida"), "/movements.csv/4/quantity more-than-book"},
		{"a price of a gift", added(t, "movements", "kind=hand-over|from_bin=One|party=Eve|terms=gift|price_minor=500|currency=EUR|at=2026-05-12|quantity=5|unit=g"), "/movements.csv/4/price_minor shape"},
		{"a price with cents", added(t, "movements", stocking+"|price_minor=5.50"), "/movements.csv/4/price_minor format"},
		{"a reversal of nothing", added(t, "movements", "kind=reversal|reverses="+uuid(9)+"|reason=typo"), "/movements.csv/4/reverses movement-not-found"},
		{"a reversal that names nothing", added(t, "movements", "kind=reversal|reason=typo"), "/movements.csv/4/reverses required"},
		{"a reversal of a part", added(t, "movements", "kind=reversal|reverses="+uuid(3)+"|reason=typo|quantity=5|unit=g"), "/movements.csv/4/quantity shape"},
		{"a reversal with a moment", added(t, "movements", "kind=reversal|reverses="+uuid(3)+"|reason=typo|at=2026-05-10"), "/movements.csv/4/at shape"},
		{"a reversal for no reason", added(t, "movements", "kind=reversal|reverses="+uuid(3)), "/movements.csv/4/reason required"},
		{"reversed twice", added(t, "movements", "kind=reversal|reverses="+uuid(3)+"|reason=a", "kind=reversal|reverses="+uuid(3)+"|reason=b"), "/movements.csv/5/reverses reversed-before"},
		{"a reversal of a reversal", added(t, "movements", "id="+uuid(8)+"|kind=reversal|reverses="+uuid(3)+"|reason=a", "kind=reversal|reverses="+uuid(8)+"|reason=b"), "/movements.csv/5/reverses reversal-of-reversal"},
		{"an id of two kinds", added(t, "harvests", "id="+uuid(3)+"|bin=One|at=2026-05-30|quantity=1|unit=kg|batch=L1"), "/harvests.csv/3/id id-taken"},
	}
}

func TestEveryRowAtFaultIsNamedWithItsColumn(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		c := newClub(t, store, "first")
		before := c.tables()
		for _, r := range refusals(t) {
			got := c.faultsOf(r.files)
			if first := got[0].Pointer + " " + got[0].Code; first != r.want || got[0].Detail == "" {
				t.Errorf("%s: %s (%s), want %s", r.why, first, got[0].Detail, r.want)
			}
			if len(got) > 1 {
				t.Errorf("%s: more faults: %v", r.why, got[1:])
			}
		}
		if !maps.Equal(c.tables(), before) {
			t.Error("something was imported")
		}
		c.bring(read(t, small(t)))
	})
}
