package api_test

import (
	"fmt"
	"testing"
)

// bucket adds a measure of 10 L that weighs 500 g empty.
func bucket(c *harbour) string {
	return c.ana.Post("/measures", `{"name":"Blue bucket","volume":{"value":10,"unit":"L"},"tare":{"value":500,"unit":"g"}}`).Want(201).ID()
}

// fed records a feeding of one item of scraps, whose density is 500 g/L.
func fed(c *harbour, item string) string {
	return fmt.Sprintf(`{"bin":%q,"at":"2026-04-20","items":[{"material":%q,%s}]}`, c.tote, c.scraps, item)
}

func TestAMeasureIsShownAsTypedAndInLitresAndGrams(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	a := c.ben.Post("/measures", `{"name":"Five-gallon bucket","volume":{"value":5,"unit":"[gal_us]"},"tare":{"value":2,"unit":"[lb_av]"},"note":"white"}`).Want(201)
	a.Is("/volume", map[string]any{"value": 5, "unit": "[gal_us]"}).Is("/volume_l", 18.92705892).Is("/tare/unit", "[lb_av]").Is("/tare_g", 907.185).Is("/note", "white")
	c.ana.Get("/measures/"+a.ID()).Want(200).Is("", a.Value("")).Has("ETag", a.Header.Get("ETag"))
	c.ana.Get("/measures").Want(200).Is("/items/0", a.Value(""))
	c.ana.Post("/measures", `{"name":"Pan","tare":{"value":0,"unit":"g"}}`).Want(201).Is("/volume", nil).Is("/volume_l", nil).Is("/tare_g", 0)
}

func TestAMeasureIsRefused(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ana.Post("/measures", `{"name":"B"}`).Problem(422, "invalid", "/volume")
	c.ana.Post("/measures", `{"name":"B","volume":{"value":0,"unit":"L"},"tare":{"value":-1,"unit":"g"}}`).Problem(422, "invalid", "/volume", "/tare")
	c.ana.Post("/measures", `{"name":"B","volume":{"value":1,"unit":"kg"}}`).Problem(422, "invalid", "/volume/unit")
	bucket(c)
	c.ana.Post("/measures", `{"name":"Blue bucket","volume":{"value":1,"unit":"L"}}`).Problem(409, "measure-name-taken")
}

func TestACountOfAMeasureIsAVolumeOfTheMaterial(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	m := bucket(c)
	a := c.ana.Post("/feedings", fed(c, `"measure":"`+m+`","count":2.5`)).Want(201)
	a.Is("/items/0/wet_g", 12500).Is("/items/0/weighed", false).Is("/items/0/measure", m).Is("/items/0/count", 2.5).Is("/items/0/quantity", nil)
	c.ana.Get("/feedings/"+a.ID()).Want(200).Is("", a.Value(""))
}

func TestWhatIsWeighedInAMeasureIsBookedWithoutIt(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	m := bucket(c)
	a := c.ana.Post("/feedings", fed(c, `"measure":"`+m+`","quantity":{"value":4.25,"unit":"kg"}`)).Want(201)
	a.Is("/items/0/wet_g", 3750).Is("/items/0/weighed", true).Is("/items/0/measure", m).Is("/items/0/count", nil).
		Is("/items/0/quantity", map[string]any{"value": 4.25, "unit": "kg"})
}

func TestWhatCannotBeMeasuredIsRefused(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	m := bucket(c)
	jar := c.ana.Post("/measures", `{"name":"Jar","volume":{"value":1,"unit":"L"}}`).Want(201).ID()
	pan := c.ana.Post("/measures", `{"name":"Pan","tare":{"value":200,"unit":"g"}}`).Want(201).ID()
	for name, x := range map[string]struct{ item, pointer string }{
		"less than the bucket weighs":     {`"measure":"` + m + `","quantity":{"value":499,"unit":"g"}`, "/quantity"},
		"the empty bucket":                {`"measure":"` + m + `","quantity":{"value":0.5,"unit":"kg"}`, "/quantity"},
		"a volume in a measure":           {`"measure":"` + m + `","quantity":{"value":3,"unit":"L"}`, "/quantity"},
		"a count and a quantity":          {`"measure":"` + m + `","count":1,"quantity":{"value":3,"unit":"kg"}`, "/count"},
		"neither":                         {`"measure":"` + m + `"`, "/quantity"},
		"a count of nothing":              {`"count":1`, "/measure"},
		"no bucket":                       {`"measure":"` + m + `","count":0`, "/count"},
		"too many":                        {`"measure":"` + m + `","count":1001`, "/count"},
		"a measure that there isn't":      {`"measure":"` + c.anaID + `","count":1`, "/measure"},
		"a measure of an unknown tare":    {`"measure":"` + jar + `","quantity":{"value":3,"unit":"kg"}`, "/quantity"},
		"a measure of an unknown content": {`"measure":"` + pan + `","count":1`, "/count"},
	} {
		t.Run(name, func(t *testing.T) {
			c.ana.Post("/feedings", fed(c, x.item)).Problem(422, "invalid", "/items/0"+x.pointer)
		})
	}
	noDensity := fmt.Sprintf(`{"bin":%q,"items":[{"material":%q,"measure":%q,"count":1}]}`, c.tote, c.leaves, m)
	c.ana.Post("/feedings", noDensity).Problem(422, "invalid", "/items/0/count")
}

func TestAnotherClubsMeasureIsLikeNone(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	hers := c.SignUp("eve").Found("hill").Post("/measures", `{"name":"Jar","volume":{"value":1,"unit":"L"}}`).Want(201).ID()
	sameProblem(t, c.ana.Post("/feedings", fed(c, `"measure":"`+hers+`","count":1`)), c.ana.Post("/feedings", fed(c, `"measure":"0197aaaa-0000-7000-8000-00000000000f","count":1`)))
}

func TestWhatWasFedKeepsItsMassWhenTheMeasureChanges(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	m := bucket(c)
	feeding := c.ana.Post("/feedings", fed(c, `"measure":"`+m+`","quantity":{"value":4.25,"unit":"kg"}`)).Want(201).ID()
	counted := c.ana.Post("/feedings", fed(c, `"measure":"`+m+`","count":1`)).Want(201).ID()
	c.ana.Patch("/measures/"+m, "*", `{"tare":{"value":600,"unit":"g"},"volume":{"value":12,"unit":"L"}}`).Want(200).Is("/tare_g", 600).Is("/name", "Blue bucket")
	c.ana.Patch("/feedings/"+feeding, "*", `{"note":"warm"}`).Want(200).Is("/items/0/wet_g", 3750)
	c.ana.Patch("/feedings/"+counted, "*", `{"note":"warm"}`).Want(200).Is("/items/0/wet_g", 5000)
	again := fmt.Sprintf(`{"items":[{"material":%q,"measure":%q,"count":2}]}`, c.scraps, m)
	c.ana.Patch("/feedings/"+counted, "*", again).Want(200).Is("/items/0/wet_g", 12000).Is("/items/0/count", 2)
	c.ana.Delete("/measures/"+m, "*").Problem(409, "in-use")
	spare := c.ana.Post("/measures", `{"name":"Spare","tare":{"value":1,"unit":"kg"}}`).Want(201).ID()
	c.ana.Delete("/measures/"+spare, "*").Want(204)
	c.ana.Get("/measures/"+spare).Problem(404, "measure-not-found")
}

func TestATableOfFeedingsFromBeforeThereWereMeasuresIsTaken(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	head := "id,bin,at,by,material,quantity,unit,moisture_pct,placement,preparation,note\r\n"
	bring(c.ana, "?records=feedings", "text/csv", []byte(head+",Tote,2026-04-20,,Scraps,2,kg,,,,\r\n")).Want(201)
	c.ana.Get("/feedings").Want(200).Is("/items/0/items/0/wet_g", 2000).Is("/items/0/items/0/measure", nil)
}

func TestFeedingsAreImportedByTheNameOfTheirMeasure(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	bucket(c)
	head := "bin,at,by,material,quantity,unit,measure,count,moisture_pct,placement,preparation,note,id\r\n"
	bring(c.ana, "?records=feedings", "text/csv", []byte(head+"Tote,2026-04-20,,Scraps,,,Blue bucket,2,,,,,\r\n")).Want(201)
	c.ana.Get("/feedings").Want(200).Is("/items/0/items/0/wet_g", 10000)
	bring(c.ana, "?records=feedings", "text/csv", []byte(head+
		"Tote,2026-04-21,,Scraps,,,Red bucket,2,,,,,\r\nTote,2026-04-22,,Scraps,300,g,Blue bucket,,,,,,\r\nTote,2026-04-23,,Scraps,,,Blue bucket,0,,,,,\r\n")).
		Problem(422, "import", "/feedings.csv/2/measure", "/feedings.csv/3/quantity", "/feedings.csv/4/count")
	bring(c.ana, "?records=measures", "text/csv", []byte("id,name,volume,volume_unit,tare,tare_unit,note\r\n,Red bucket,3,kg,,,\r\n,Can,,L,,,\r\n")).
		Problem(422, "import", "/measures.csv/2/volume_unit", "/measures.csv/3/volume")
}
