package bookfile_test

import (
	"reflect"
	"strings"
	"testing"

	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

func ptr[T any](v T) *T { return &v }

// aStore records receipts, and what is done with castings, with every member told
// somewhere.
func (c club) aStore() {
	c.Helper()
	c.oneDay() // material Coffee, measure -Bucket, batch +1 with 3 kg at the default moisture
	material := must(c.Materials.List(c.ctx, c.ana, service.Query{}))[0]
	var bucket service.MeasureID
	for _, m := range must(c.Measures.List(c.ctx, c.ana, service.Query{})) {
		if m.Name == "-Bucket" {
			bucket = m.ID
		}
	}
	bin := must(c.Bins.List(c.ctx, c.ana, service.Query{}))[0].ID
	member := must(c.Members.List(c.ctx, c.ana, service.Query{}))[0].ID
	kg := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "kg"} }
	day := service.Moment{Text: "2026-05-03"}
	receive := func(r service.Receipt) service.ReceiptID {
		r.Material, r.At = material.ID, day
		return must(c.Receipts.Add(c.ctx, c.ana, r)).ID
	}
	first := receive(service.Receipt{
		From: "=Café; \"Quay\"", Gross: kg(12.3), Tare: unit.Measure{Value: 2.2, Unit: "[lb_av]"}, RejectedTyped: kg(0.1), RejectedWhy: "cups\nand lids",
		ResidueTyped: unit.Measure{Value: 0.5, Unit: "L"}, Animal: ptr(true), Heat: service.Heat{What: "+boiled", Value: unit.Measure{Value: 212, Unit: "[degF]"}, Hours: ptr(0.25)},
		Note: "-",
	})
	receive(service.Receipt{FromMember: member, Typed: unit.Measure{Value: 3, Unit: "L"}})
	receive(service.Receipt{Measure: bucket, Count: ptr(1.5)})
	receive(service.Receipt{Measure: bucket, Gross: kg(4), Basis: service.EstimatedBasis})
	gone := receive(service.Receipt{Typed: kg(99)})
	must(c.Feedings.Add(c.ctx, c.ana, service.Feeding{Bin: bin, At: day, Items: []service.FeedingItem{
		{Material: material.ID, Typed: kg(1), Receipt: first}, {Material: material.ID, Typed: kg(1), Receipt: gone},
	}}))
	must(c.Receipts.Remove(c.ctx, c.ana, gone, 1))

	batch := must(c.Batches.List(c.ctx, c.ana, service.Query{}))[0].ID
	add := func(product service.Product) service.BatchID {
		return must(c.Batches.Add(c.ctx, c.ana, service.Batch{Product: product})).ID
	}
	fine, coarse, blend := add(service.Screened), add(service.Vermicompost), add(service.Screened)
	step := func(s service.BatchStep) service.BatchStepID {
		s.At = day
		return must(c.BatchSteps.Add(c.ctx, c.ana, s)).ID
	}
	step(service.BatchStep{Batch: batch, Kind: service.Drying, Moisture: ptr(unit.Percent(41.5))})
	part := func(b service.BatchID, q unit.Measure, m *unit.Percent) service.ReworkPart {
		return service.ReworkPart{Batch: b, Typed: q, Moisture: m}
	}
	must(c.Reworks.Add(c.ctx, c.ana, service.Rework{Kind: service.Screening, At: day, From: []service.ReworkPart{part(batch, kg(1.2), nil)}, Into: []service.ReworkPart{
		part(fine, kg(0.7), ptr(unit.Percent(33))), part(coarse, unit.Measure{Value: 150, Unit: "g"}, nil),
	}, Note: "@dusty"}))
	wrong := must(c.Reworks.Add(c.ctx, c.ana, service.Rework{Kind: service.Screening, At: day, From: []service.ReworkPart{part(coarse, unit.Measure{}, nil)}, Into: []service.ReworkPart{
		part(blend, unit.Measure{}, nil),
	}}))
	must(c.Reverse(c.ctx, c.ana, service.MovementID(wrong.ID), service.Movement{Reason: "wrong bag"}))
	must(c.Reworks.Add(c.ctx, c.ana, service.Rework{Kind: service.Blending, At: day, From: []service.ReworkPart{
		part(fine, unit.Measure{}, nil), part(batch, kg(0.3), ptr(unit.Percent(40))),
	}, Into: []service.ReworkPart{part(blend, unit.Measure{}, nil)}}))
	must(c.Movements.Add(c.ctx, c.ana, service.Movement{Kind: "loss", Cause: service.Spoiled, At: day, FromBatch: blend, Lines: []service.Line{{Typed: kg(0.1)}}}))
	step(service.BatchStep{Batch: coarse, Kind: service.Drying, Typed: unit.Measure{Value: 120, Unit: "g"}})
	must(c.Reworks.Add(c.ctx, c.ana, service.Rework{Kind: service.Screening, At: day, From: []service.ReworkPart{part(coarse, unit.Measure{}, nil)}, Into: []service.ReworkPart{
		part(add(service.Screened), unit.Measure{}, nil),
	}}))
	step(service.BatchStep{Batch: blend, Kind: service.Bagging, Bags: 5, BagsLeft: 0, Typed: unit.Measure{Value: 3, Unit: "[oz_av]"}})
	step(service.BatchStep{Batch: blend, Kind: service.Treatment, Heat: service.Heat{What: "=steamed", Value: unit.Measure{Value: 70, Unit: "Cel"}, Hours: ptr(1.0)}})
	step(service.BatchStep{
		Batch: blend, Kind: service.Analysis, Parameter: "E. coli", Sign: service.BelowLimit, Value: ptr(0.0), Unit: "CFU/g", Method: "ISO 16649-2",
		Laboratory: "Quay Lab", Expires: "2027-05-03", Note: "pooled",
	})
	void := step(service.BatchStep{Batch: batch, Kind: service.Drying, Typed: kg(1)})
	must(c.BatchSteps.Remove(c.ctx, c.ana, void, 1))
}

// balance is the club's materials balance of 2026, without ids.
func (c club) balance() []any {
	c.Helper()
	b := must(c.Reports.MaterialsBalance(c.ctx, c.ana, "2026"))
	for i := range b.Piles {
		b.Piles[i].Material = b.Names.Materials[service.MaterialID(b.Piles[i].Material)].Name
	}
	var out []any
	for _, s := range b.Stores {
		s.Batch = b.Batches[service.BatchID(s.Batch)].LotNumber
		out = append(out, s)
	}
	return append(out, b.Piles)
}

func TestReceiptsAndBatchRecordsAreTheSameAfterTheirWayAsCSVAndAsJSON(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.aStore()
	d := newClub(t, repotest.Postgres(t), "second")
	d.bring(read(t, c.tables()))
	sameBook(t, d, c)
	if got, want := d.balance(), c.balance(); !reflect.DeepEqual(got, want) {
		t.Errorf("the balance is\n%+v, not\n%+v", got, want)
	}
	if text := c.document(); strings.Count(text, "wrong bag") != 1 || strings.Contains(text, `"net": 99`) {
		t.Error(text)
	}
}

func TestAReceiptKeepsItsMassOnItsWayAlthoughTheMeasureChanged(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.aStore()
	for _, m := range must(c.Measures.List(c.ctx, c.ana, service.Query{})) {
		if m.Name == "-Bucket" {
			was := m
			m.Volume, m.Tare = unit.Measure{Value: 9, Unit: "L"}, unit.Measure{Value: 1, Unit: "kg"}
			must(c.Measures.Change(c.ctx, c.ana, was.ID, was.Version, m))
		}
	}
	d := newClub(t, repotest.SQLite(t), "second")
	d.bring(read(t, c.tables()))
	before, after := must(c.Receipts.List(c.ctx, c.ana, service.Query{})), must(d.Receipts.List(d.ctx, d.ana, service.Query{}))
	for i, r := range before {
		if got := after[i]; got.Net != r.Net || got.Basis != r.Basis || got.Rejected != r.Rejected || got.Residue != r.Residue {
			t.Errorf("%+v comes back as %+v", r, got)
		}
	}
}

func TestRowsOfBatchRecordsAtFaultAreFoundByFileLineAndColumn(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.aStore()
	files := map[string]string{
		"reworks.csv": "id,kind,at,by,batch,comes_out,quantity,unit,moisture_pct,note\n" +
			"01970000-0000-7000-8000-0000000000a1,screening,2026-05-04,,+1,false,100,g,,\n" +
			"01970000-0000-7000-8000-0000000000a1,screening,2026-05-04,,2026-001,true,5,L,,\n" +
			"01970000-0000-7000-8000-0000000000a2,screening,2026-05-04,,+1,,100,g,,\n",
		"batch_steps.csv": "id,batch,kind,at,by,moisture_pct,mass,mass_unit,bags,bags_left,what,temperature,temperature_unit,hours,parameter,sign,value,unit,method,laboratory,expires,note\n" +
			",2026-777,drying,2026-05-04,,120,,,,,,,,,,,,,,,,\n",
		"receipts.csv": "id,material,at,by,from,from_member,net,net_unit,gross,gross_unit,tare,tare_unit,measure,count,rejected,rejected_unit,rejected_why,residue,residue_unit,animal_origin,heat_what,temperature,temperature_unit,hours,basis,note\n" +
			",Coffee,2026-05-04,,,,5,kg,,,,,,,6,kg,,,,,,70,L,,,\n",
	}
	_, err := c.Records.Import(c.ctx, c.ana, read(t, files), true)
	if err == nil {
		t.Fatal("it was imported")
	}
	text := explained(err)
	for _, pointer := range []string{
		"/reworks.csv/3/unit", "/reworks.csv/4/comes_out", "/batch_steps.csv/2/batch", "/batch_steps.csv/2/moisture_pct",
		"/receipts.csv/2/rejected ", "/receipts.csv/2/temperature_unit",
	} {
		if !strings.Contains(text, pointer) {
			t.Errorf("no fault at %s: %s", pointer, text)
		}
	}
}
