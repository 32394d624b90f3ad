package api_test

import (
	"encoding/json"
	"strings"
	"testing"
)

// mixed is a stocked harbour in whose bin Tote half of the worms are of Green Farm,
// of the Harbour line, and half of Quay Heap, of the Quay line; it returns the
// second culture and its origin.
func mixed(c *harbour) (line, heap string) {
	line = c.ana.Post("/cultures", `{"name":"Quay line","species":"eisenia-fetida"}`).Want(201).ID()
	heap = c.ana.Post("/origins", `{"name":"Quay Heap","kind":"wild","species":"eisenia-fetida","culture":"`+line+`"}`).Want(201).ID()
	move(c.ana, "stocking", "2025-12-20", `"to_bin":"`+c.tote+`",`, `"origin":"`+heap+`","quantity":{"value":1,"unit":"kg"}`).Want(201)
	return line, heap
}

func TestAMergedCultureIsANameOfTheOtherAndEveryAnswerFollows(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		line, heap := mixed(c)
		lot := c.ana.Get("/lots?bin=" + c.tote + "&order=newest&limit=1").Want(200).Text("/items/0/id")
		c.ana.Get("/lots/"+lot+"/lineage").Want(200).Is("/cultures/0/share", 0.5).Is("/cultures/0/copy", false).Is("/cultures/1/share", 0.5)
		c.ana.Get("/reports/seasons/current").Want(200).Is("/cultures/0/bins", 0).Is("/cultures/1/bins", 0)

		merged := c.ana.Post("/cultures/"+line+"/merge", c.named(`{"into":"CULTURE"}`)).Want(200)
		merged.Is("/id", c.culture).Is("/name", "Harbour line").Is("/also_called", []any{"Quay line"}).Is("/merged_into", nil)
		c.ana.Get("/cultures/"+c.culture).Want(200).Is("", merged.Value("")).Has("ETag", merged.Header.Get("ETag"))
		c.ana.Get("/cultures/"+line).Want(200).Is("/name", "Quay line").Is("/merged_into", c.culture).Is("/moved_origins", []any{heap}).Is("/also_called", []any{})
		c.ana.Get("/origins/"+heap).Want(200).Is("/culture", c.culture)
		c.ana.Get("/lots/"+lot+"/lineage").Want(200).Is("/cultures", []any{map[string]any{"id": c.culture, "name": "Harbour line", "share": 1, "copy": true}})
		report := c.ana.Get("/reports/seasons/current").Want(200).Is("/cultures/0/id", c.culture).Is("/cultures/0/bins", 1)
		if strings.Contains(report.Body, "Quay line") {
			t.Errorf("the merged culture is reported: %v", report.Value("/cultures"))
		}
		if text := c.ana.With("Accept", "text/plain").Get("/reports/seasons/current").Want(200).Body; strings.Contains(text, "Quay line") {
			t.Errorf("the merged culture is told of:\n%s", text)
		}

		c.ana.Get("/cultures").Want(200).Is("/items", []any{merged.Value("")})
		c.ana.Get("/cultures?merged=true").Want(200).Is("/items/1/id", line)
		c.ana.Get("/cultures?name=Quay%20line").Want(200).Is("/items", []any{merged.Value("")})
		c.ana.Get("/cultures?name=Moor%20line").Want(200).Is("/items", []any{})
		c.ana.Get("/cultures?merged=perhaps").Problem(400, "malformed", "?merged")
		c.ana.Post("/cultures", `{"name":"Quay line","species":"eisenia-fetida"}`).Problem(409, "culture-name-taken")
		c.ana.Post("/origins", `{"name":"Quay Fair","kind":"supplier","species":"eisenia-fetida","culture":"`+line+`"}`).Want(201).Is("/culture", c.culture)
		c.ana.Patch("/origins/"+heap, "*", `{"note":"dug over","culture":"`+line+`"}`).Want(200).Is("/culture", c.culture)
	})
}

func TestAMergeIsTakenBackWithTheOriginsThatStillBelongToTheOther(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		line, heap := mixed(c)
		left := c.ana.Post("/origins", `{"name":"Quay Fair","kind":"supplier","species":"eisenia-fetida","culture":"`+line+`"}`).Want(201).ID()
		last := c.ana.Post("/cultures", `{"name":"All lines","species":"eisenia-fetida"}`).Want(201).ID()
		c.ana.Post("/cultures/"+line+"/merge", c.named(`{"into":"CULTURE"}`)).Want(200)
		c.ana.Post("/cultures/"+c.culture+"/merge", `{"into":"`+last+`"}`).Want(200).Is("/also_called", []any{"Harbour line", "Quay line"})
		c.ana.Get("/cultures/"+line).Want(200).Is("/merged_into", last)
		c.ana.Patch("/origins/"+left, "*", `{"culture":null}`).Want(200)

		c.ana.Post("/cultures/"+line+"/unmerge", "").Want(200).Is("/id", line).Is("/merged_into", nil).Is("/moved_origins", []any{})
		c.ana.Get("/origins/"+heap).Want(200).Is("/culture", line)
		c.ana.Get("/origins/"+left).Want(200).Is("/culture", nil)
		c.ana.Get("/origins/"+c.origin).Want(200).Is("/culture", last)
		c.ana.Post("/cultures/"+c.culture+"/unmerge", "").Want(200).Is("/also_called", []any{})
		c.ana.Get("/origins/"+c.origin).Want(200).Is("/culture", c.culture)
		c.ana.Get("/origins/"+heap).Want(200).Is("/culture", line)
		c.ana.Get("/cultures").Want(200).Is("/items/2/id", last).Is("/items/2/also_called", []any{})
	})
}

func TestAMergeIsRefused(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	line, _ := mixed(c)
	into := func(id string) string { return `{"into":"` + id + `"}` }
	merge := "/cultures/" + line + "/merge"
	greys := c.ana.Post("/cultures", `{"name":"Greys","species":"eisenia-andrei"}`).Want(201).ID()
	c.ben.Post(merge, into(c.culture)).Problem(403, "forbidden")
	c.ana.Post(merge, into(line)).Problem(422, "invalid", "/into")
	c.ana.Post(merge, into(greys)).Problem(422, "invalid", "/into")
	c.ana.Post(merge, into(c.tote)).Problem(422, "invalid", "/into")
	c.ana.Post("/cultures/"+c.tote+"/merge", into(line)).Problem(404, "culture-not-found")
	c.ana.Post("/cultures/"+line+"/unmerge", "").Problem(409, "culture-not-merged")
	c.ana.Post(merge, into(c.culture)).Want(200)
	c.ana.Post(merge, into(c.culture)).Problem(409, "culture-merged")
	c.ana.Post("/cultures/"+c.culture+"/merge", into(line)).Problem(422, "invalid", "/into")
	c.ana.Patch("/cultures/"+line, "*", `{"note":"x"}`).Problem(409, "culture-merged")
	c.ben.Post("/cultures/"+line+"/unmerge", "").Problem(403, "forbidden")
}

func TestTheNameOfAMergedCultureIsFreeOnceItIsRemoved(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	twice := c.ana.Post("/cultures", `{"name":"Harbor line","species":"eisenia-fetida"}`).Want(201).ID()
	once := c.ana.Post("/cultures", `{"name":"Harbour","species":"eisenia-fetida"}`).Want(201).ID()
	c.ana.Post("/cultures/"+twice+"/merge", `{"into":"`+once+`"}`).Want(200)
	c.ana.Delete("/cultures/"+once, "*").Problem(409, "in-use")
	c.ana.Delete("/cultures/"+twice, "*").Want(204)
	c.ana.Post("/cultures", `{"name":"Harbor line","species":"eisenia-fetida"}`).Want(201)
	c.ana.Get("/cultures/"+once).Want(200).Is("/also_called", []any{})
	c.ana.Delete("/cultures/"+once, "*").Want(204)
}

func TestTheClubSaysFromWhatShareStockIsACopy(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	mixed(c)
	lot := c.ana.Get("/lots?bin=" + c.tote + "&order=newest&limit=1").Want(200).Text("/items/0/id")
	for _, pct := range []string{"49", "101", "0"} {
		c.ana.Patch("", "*", `{"copy_pct":`+pct+`}`).Problem(422, "invalid", "/copy_pct")
	}
	c.ana.Patch("", "*", `{"copy_pct":72.5}`).Problem(400, "malformed", "/copy_pct")
	for copies, pct := range []string{"51", "50"} {
		c.ana.Patch("", "*", `{"copy_pct":`+pct+`}`).Want(200)
		c.ana.Get("/lots/"+lot+"/lineage").Want(200).Is("/cultures/0/copy", copies == 1).Is("/cultures/1/copy", copies == 1)
		c.ana.Get("/reports/seasons/current").Want(200).Is("/cultures/0/bins", copies).Is("/cultures/1/bins", copies).Is("/copy_pct", json.Number(pct))
		text := c.ana.With("Accept", "text/plain").Get("/reports/seasons/current").Want(200).Body
		if !strings.Contains(text, "at least "+pct+" % of it") {
			t.Errorf("told as:\n%s", text)
		}
	}
	c.ana.Patch("", "*", `{"copy_pct":51}`).Want(200)
	text := c.ana.With("Accept", "text/plain").Get("/lots/" + lot + "/lineage").Want(200).Body
	if !strings.Contains(text, "no copy of a culture: that takes 51 %") {
		t.Errorf("told as:\n%s", text)
	}
}
