package bookfile_test

import (
	"testing"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// merged is a club in which Quay and Moor were merged into Harbour, one by way of
// the other, and an origin has left since.
func merged(t *testing.T) club {
	t.Helper()
	c := newClub(t, repotest.SQLite(t), "first")
	culture := func(name string) service.CultureID {
		return must(c.Cultures.Add(c.ctx, c.ana, service.Culture{Name: name, Species: "eisenia-fetida"})).ID
	}
	origin := func(name string, of service.CultureID) service.Origin {
		return must(c.Origins.Add(c.ctx, c.ana, service.Origin{Name: name, Kind: service.WildOrigin, Species: "eisenia-fetida", Culture: of}))
	}
	quay, moor, harbour := culture("Quay"), culture("Moor"), culture("Harbour")
	origin("Heap", quay)
	fair := origin("Fair", quay)
	origin("Bog", moor)
	must(c.MergeCulture(c.ctx, c.ana, quay, moor))
	must(c.MergeCulture(c.ctx, c.ana, moor, harbour))
	fair.Culture = ""
	must(c.Origins.Change(c.ctx, c.ana, fair.ID, must(c.Origins.Get(c.ctx, c.ana, fair.ID)).Version, fair))
	return c
}

func TestMergedCulturesTravelWithTheBookAndCanStillBeTakenApart(t *testing.T) {
	t.Parallel()
	first := merged(t)
	second := newClub(t, repotest.Postgres(t), "second")
	second.bring(read(t, first.tables()))
	sameBook(t, second, first)
	third := newClub(t, repotest.SQLite(t), "third")
	b, err := bookfile.ReadJSON([]byte(second.document()))
	if err != nil {
		t.Fatal(err)
	}
	third.bring(b)
	sameBook(t, third, first)
	for _, c := range []club{first, second, third} {
		named := must(c.Cultures.List(c.ctx, c.ana, service.Query{Name: "Quay", Merged: true}))
		for _, x := range named {
			if x.MergedInto != "" {
				must(c.UnmergeCulture(c.ctx, c.ana, x.ID))
			}
		}
	}
	sameBook(t, second, first)
	sameBook(t, third, first)
}

func TestTheSettingsTravelWithTheBookAndAreToldToHaveChanged(t *testing.T) {
	t.Parallel()
	first := newClub(t, repotest.SQLite(t), "first")
	club := must(first.Clubs.Get(first.ctx, first.ana))
	club.CopyPct, club.PromiseDays, club.QuarantineDays, club.Hemisphere = 60, 5, 21, service.South
	must(first.Clubs.Change(first.ctx, first.ana, club.Version, club))
	second := newClub(t, repotest.Postgres(t), "second")
	report := second.bring(read(t, first.tables()))
	if len(report.Warnings) != 2 || report.Warnings[0].Pointer != "/settings.csv/2" || report.Counts[0] != (service.TableCount{Table: "settings", Records: 1}) {
		t.Errorf("%+v", report)
	}
	sameBook(t, second, first)
	if c := must(second.Clubs.Get(second.ctx, second.ana)); c.CopyPct != 60 || c.Handle != "second" || c.TimeZone != "Europe/Lisbon" {
		t.Errorf("%+v", c)
	}
	again := read(t, map[string]string{"settings.csv": table(t, "settings", "copy_pct=60")})
	if report := second.bring(again); len(report.Warnings) != 0 || report.Counts[0].Records != 0 {
		t.Errorf("%+v", report)
	}
}

func TestAnOriginThatNamesAMergedCultureBelongsToTheOther(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	files := small(t)
	files["cultures.csv"] = table(t, "cultures", "name=Quay|species=eisenia-fetida|merged_into=Harbour", "name=Harbour|species=eisenia-fetida")
	c.bring(read(t, files))
	if left := must(c.Cultures.List(c.ctx, c.ana, service.Query{})); len(left) != 1 || left[0].Name != "Harbour" || len(left[0].AlsoCalled) != 1 {
		t.Errorf("%+v", left)
	}
	if o := must(c.Origins.List(c.ctx, c.ana, service.Query{}))[0]; o.Culture != must(c.Cultures.List(c.ctx, c.ana, service.Query{}))[0].ID {
		t.Errorf("%+v", o)
	}
}
