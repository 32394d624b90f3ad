package api_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/api/sheet/sheettest"
	"lumbricary.example/repo/repotest"
)

// The media types that a report comes in.
const (
	workbook = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	pdf      = "application/pdf"
)

func TestAReportComesInTheFormThatIsAskedFor(t *testing.T) {
	t.Parallel()
	c := kept(t)
	for _, f := range []struct{ format, accept, media, begins, file string }{
		{"json", "application/json", "application/json; charset=utf-8", "{", ""},
		{"text", "text/plain", "text/plain; charset=utf-8", "", ""},
		{"csv", "text/csv", "text/csv; charset=utf-8; header=present", "period,table,", "attachment; filename=harbour-2026-spring.csv"},
		{"xlsx", workbook, workbook, "PK", "attachment; filename=harbour-2026-spring.xlsx"},
		{"pdf", pdf, pdf, "%PDF-", "attachment; filename=harbour-2026-spring.pdf"},
	} {
		for _, a := range []*apitest.Answer{
			c.ana.With("Accept", f.accept).Get("/reports/seasons/2026-spring"),
			c.ana.With("Accept", "application/xml").Get("/reports/seasons/2026-spring?format=" + f.format),
			c.ana.With("Accept", f.accept+", */*;q=0.1").Get("/reports/seasons/current"),
		} {
			a.Want(http.StatusOK).Has("Content-Type", f.media).Has("Content-Disposition", f.file)
			if !strings.HasPrefix(a.Body, f.begins) || !slices.Contains(a.Header.Values("Vary"), "Accept") {
				t.Errorf("%s: %v, %.20q", f.format, a.Header, a.Body)
			}
		}
	}
	c.ana.Get("/reports/seasons/2026-spring?format=docx").Problem(http.StatusBadRequest, "malformed", "?format")
	c.ana.Get("/reports/seasons/current?format=csv&format=pdf").Problem(http.StatusBadRequest, "malformed", "?format")
}

// tidy reads the CSV form: value by table, row, id, name, detail and figure.
type tidy []map[string]string

func tidyOf(t *testing.T, body string) tidy {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out tidy
	for _, row := range rows[1:] {
		r := map[string]string{}
		for i, head := range rows[0] {
			r[head] = row[i]
		}
		out = append(out, r)
	}
	return out
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// harbourClub is the larger demo club in November.
func harbourClub(t *testing.T) apitest.Club {
	t.Helper()
	paths, err := filepath.Glob("../testdata/demo/harbour/*.csv")
	if err != nil || len(paths) == 0 {
		t.Fatal("no demo club: ", err)
	}
	files := map[string][]byte{}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		files[filepath.Base(p)] = data
	}
	_, club := inNovember(t, repotest.SQLite(t), "harbour")
	media, body := form(t, files)
	bring(club, "", media, body).Want(http.StatusCreated)
	return club
}

// ratios are the figures that can't be added.
var ratios = []string{"weighed", "diverted_weighed", "yield_wet", "yield_dry", "yield_wet_with_bedding", "yield_dry_with_bedding", "rate", "share"}

func TestEveryTotalOfTheDemoClubIsTheSumOfItsRows(t *testing.T) {
	t.Parallel()
	club := harbourClub(t)
	for _, season := range []string{"2026-autumn", "2026", "2026-Q3", "2026-W40", "2026-10-05..2026-11-20"} {
		sums, totals := map[string]float64{}, map[string]float64{}
		fed := map[string]float64{}
		for _, r := range tidyOf(t, club.Get("/reports/seasons/"+season+"?format=csv").Want(http.StatusOK).Body) {
			key := r["table"] + " " + r["figure"]
			switch {
			case r["value"] == "" || slices.Contains(ratios, r["figure"]):
			case r["row"] == "total":
				totals[key] = number(t, r["value"])
			default:
				sums[key] += number(t, r["value"])
			}
			if r["figure"] == "fed_wet" && r["row"] == "total" {
				fed[r["value"]]++
			}
		}
		if len(totals) < 50 {
			t.Errorf("%s has %d totals", season, len(totals))
		}
		for key, total := range totals {
			if math.Abs(total-sums[key]) > 1e-6 {
				t.Errorf("%s, %s: the total is %v, the rows add up to %v", season, key, total, sums[key])
			}
		}
		if len(fed) != 1 {
			t.Errorf("%s: the tables don't agree on what was fed: %v", season, fed)
		}
	}
}

// The raw records are the files that the demo club was imported from.
func TestTheYearsReportIsARecountOfTheRawRecords(t *testing.T) {
	t.Parallel()
	club := harbourClub(t)
	inGrams := map[string]float64{"g": 1, "kg": 1000}
	castings, harvests := map[string]float64{}, 0
	for _, row := range rawRecords(t, "harvests") {
		if strings.HasPrefix(row["at"], "2026") && row["quantity"] != "" {
			put := 0.0
			if row["put_back_g"] != "" {
				put = number(t, row["put_back_g"])
			}
			g := number(t, row["quantity"])*inGrams[row["unit"]] - put
			castings[row["bin"]] += g / 1000
			castings["All"] += g / 1000
			harvests++
		}
	}
	if harvests < 20 {
		t.Fatalf("%d harvests of 2026", harvests)
	}
	compared := 0
	for _, r := range tidyOf(t, club.Get("/reports/seasons/2026?format=csv").Want(http.StatusOK).Body) {
		if r["table"] == "bins" && r["figure"] == "castings_wet" {
			compared++
			if got := number(t, r["value"]); math.Abs(got-castings[r["name"]]) > 1e-6 {
				t.Errorf("%s gave %v kg, by its records %v", r["name"], got, castings[r["name"]])
			}
		}
	}
	if compared < 30 {
		t.Errorf("%d bins", compared)
	}
}

// rawRecords reads a table of the larger demo club.
func rawRecords(t *testing.T, table string) tidy {
	t.Helper()
	data, err := os.ReadFile("../testdata/demo/harbour/" + table + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	return tidyOf(t, string(data))
}

// crowded is a club of 60 bins with long names in three scripts.
func crowded(t *testing.T) (club apitest.Club, names []string) {
	t.Helper()
	_, club = inNovember(t, repotest.SQLite(t), "crowd")
	club.Patch("", "*", `{"name":"Σύλλογος κομποστοποίησης με γαιοσκώληκες της Άνω Πόλης"}`).Want(http.StatusOK)
	site := club.Post("/sites", `{"name":"Подвал школы имени Ломоносова на Набережной улице"}`).Want(http.StatusCreated).ID()
	scraps := club.Post("/materials", `{"name":"Αποφάγια κουζίνας χωρίς εσπεριδοειδή και κρεμμύδια","kind":"feed","moisture_pct":80}`).Want(http.StatusCreated).ID()
	batch := club.Post("/batches", `{"lot_number":"Партия-2026-осень-длинный-номер","product":"castings"}`).Want(http.StatusCreated).ID()
	for i := range 60 {
		name := fmt.Sprintf([]string{"Κάδος %02d στην πίσω αυλή του δημοτικού σχολείου", "Ящик %02d под лестницей у чёрного входа школы", "Bac n° %02d derrière la remise à outils du jardin"}[i%3], i)
		names = append(names, name)
		bin := club.Post("/bins", map[string]any{"name": name, "kind": "bag", "site": site, "started": "2026-08-01"}).Want(http.StatusCreated).ID()
		club.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":"2026-09-%02d","items":[{"material":%q,"quantity":{"value":%d,"unit":"kg"}}]}`, bin, 1+i%28, scraps, 1+i)).Want(http.StatusCreated)
		if i%2 == 0 {
			club.Post("/harvests", fmt.Sprintf(`{"bin":%q,"at":"2026-11-02","full":true,"castings":{"value":%d,"unit":"kg"},"batch":%q}`, bin, 2+i, batch)).Want(http.StatusCreated)
		}
	}
	club.Post("/receipts", fmt.Sprintf(`{"material":%q,"at":"2026-09-01","net":{"value":2000,"unit":"kg"},"rejected":{"value":25,"unit":"kg"}}`, scraps)).Want(http.StatusCreated)
	return club, names
}

func TestALargeClubsReportIsPrintedWithoutALetterCutOff(t *testing.T) {
	t.Parallel()
	club, names := crowded(t)
	for units, edge := range map[string]float64{"metric": 595.28, "us": 612} {
		a := club.Get("/reports/seasons/2026-autumn?format=pdf&units=" + units).Want(http.StatusOK)
		pages := sheettest.Pages(t, []byte(a.Body))
		if len(pages) < 4 {
			t.Errorf("%d pages", len(pages))
		}
		words := map[string]bool{}
		for n, page := range pages {
			for _, l := range page {
				if l.X < 42 || l.X > edge-42 || l.Y < 30 {
					t.Errorf("page %d: %+v", n+1, l)
				}
				for word := range strings.FieldsSeq(l.Text) {
					words[word] = true
				}
			}
			if last := page[len(page)-1].Text; last != fmt.Sprintf("Page %d of %d", n+1, len(pages)) {
				t.Errorf("page %d ends with %q", n+1, last)
			}
		}
		for _, name := range names {
			for word := range strings.FieldsSeq(name) {
				if !words[word] {
					t.Errorf("%s lacks %q of %q", units, word, name)
				}
			}
		}
	}
	keep(t, "crowd.pdf", club.Get("/reports/seasons/2026-autumn?format=pdf").Body)
}

func TestATimeWithoutARecordIsReportedInEveryForm(t *testing.T) {
	t.Parallel()
	c := kept(t)
	for _, season := range []string{"2024", "2031-Q1"} {
		for _, format := range []string{"json", "text", "csv", "xlsx"} {
			c.ana.Get("/reports/seasons/" + season + "?format=" + format).Want(http.StatusOK)
		}
		text := sheettest.Text(t, []byte(c.ana.Get("/reports/seasons/"+season+"?format=pdf").Want(http.StatusOK).Body))
		if !strings.Contains(text, "Nothing is on record for this time.") || strings.Contains(text, "By bin") {
			t.Errorf("%s: %s", season, text)
		}
	}
}

// keep writes a file into the folder that KEEP_FILES names, for other programs to
// read; without it, nowhere.
func keep(t *testing.T, name, data string) {
	t.Helper()
	dir := os.Getenv("KEEP_FILES")
	if dir == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o600); err != nil {
		t.Error(err)
	}
}

func TestTheDemoClubsReportIsKeptForOtherProgramsToRead(t *testing.T) {
	t.Parallel()
	club := harbourClub(t)
	for _, season := range []string{"2026-autumn", "2026"} {
		for _, format := range []string{"csv", "xlsx", "pdf"} {
			a := club.Get("/reports/seasons/" + season + "?format=" + format).Want(http.StatusOK)
			if again := club.Get("/reports/seasons/" + season + "?format=" + format); again.Body != a.Body {
				t.Errorf("%s as %s differs at the same moment", season, format)
			}
			keep(t, season+"."+format, a.Body)
		}
	}
}
