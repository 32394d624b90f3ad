package api_test

import (
	"net/http"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/service/unit"
)

func TestTheReferenceTablesAreOpenToAll(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	list := c.Get("/v1/species").Want(http.StatusOK).Is("/next_cursor", nil).Has("Cache-Control", "no-cache")
	for i, item := range list.Value("/items").([]any) {
		entry, ok := item.(map[string]any)
		if !ok {
			t.Fatalf("item %d: %v", i, item)
		}
		id, _ := entry["id"].(string)
		c.Get("/v1/species/"+id).Want(http.StatusOK).Is("", item)
	}
	c.With("If-None-Match", list.Header.Get("ETag")).Get("/v1/species").Want(http.StatusNotModified)
	c.Get("/v1/species/python").Problem(http.StatusNotFound, "species-not-found")
	c.Get("/v1/feedstocks").Want(http.StatusOK).Is("/next_cursor", nil)
}

func TestEveryPublishedFigureHasAUnitASourceAndAStatus(t *testing.T) {
	t.Parallel()
	type figure struct{ Unit, Status, Source string }
	var page struct {
		Items []struct {
			ID       string
			OptTemp  []figure `json:"optimal_temperature"`
			Limits   []figure `json:"limit_temperature"`
			Moisture []figure `json:"optimal_moisture"`
			Mass     []figure `json:"adult_mass"`
		}
	}
	apitest.New(t).Get("/v1/species").Want(http.StatusOK).Into(&page)
	for _, s := range page.Items {
		for want, figures := range map[unit.Dimension][]figure{
			unit.DimTemperature: append(s.OptTemp, s.Limits...), unit.DimShare: s.Moisture, unit.DimMass: s.Mass,
		} {
			for _, f := range figures {
				if unit.DimensionOf(f.Unit) != want || f.Status == "" || len(f.Source) < 5 {
					t.Errorf("%s: %+v", s.ID, f)
				}
			}
		}
	}
}
