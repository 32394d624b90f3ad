package main

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"time"
)

// cells are the told cells of a row by column.
type cells map[string]string

// row is a row with the moment it is sorted by; the zero time for nouns.
type row struct {
	at    time.Time
	cells cells
}

// table is one CSV file of a club's book.
type table struct {
	name   string
	header []string
	rows   []row
}

func newTable(name, header string) *table {
	return &table{name: name, header: strings.Split(header, ",")}
}

// add puts a row under the others. A column that the table hasn't got is a
// mistake in this program.
func (t *table) add(at time.Time, c cells) {
	for column := range c {
		if !slices.Contains(t.header, column) {
			panic(t.name + " has no column " + column)
		}
	}
	t.rows = append(t.rows, row{at, c})
}

// sorted returns the rows by time, those of one time in the order written.
func (t *table) sorted() []row {
	out := slices.Clone(t.rows)
	slices.SortStableFunc(out, func(a, b row) int { return a.at.Compare(b.at) })
	return out
}

// csv returns the file, rows by time. Errors: those of the CSV writer.
func (t *table) csv() ([]byte, error) {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	if err := w.Write(t.header); err != nil {
		return nil, err
	}
	for _, r := range t.sorted() {
		line := make([]string, len(t.header))
		for i, column := range t.header {
			line[i] = r.cells[column]
		}
		if err := w.Write(line); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return buf.Bytes(), w.Error()
}

// book is all the tables of a club.
type book struct {
	members, sites, materials, cultures, origins, bins, batches *table
	transfers, receipts, quarantines                            *table
	feedings, checks, censuses, harvests, movements             *table
}

func newBook() *book {
	return &book{
		members:     newTable("members", "id,name,role"),
		sites:       newTable("sites", "id,name,address,owner,note"),
		materials:   newTable("materials", "id,name,kind,feedstock,moisture_pct,nitrogen_pct,carbon_ratio,density_g_per_l,animal_origin,slow,note"),
		cultures:    newTable("cultures", "id,name,species,note"),
		origins:     newTable("origins", "id,name,kind,species,culture,note"),
		bins:        newTable("bins", "id,name,kind,site,keeper,stand_ins,surface_m2,depth_cm,started,retired,retired_why,note"),
		batches:     newTable("batches", "id,lot_number,product,mesh_mm,note"),
		transfers:   newTable("transfers", "id,at,recorded_by,terms,proposer,done,accepted,ended,expires,party,contact,contact_purpose,contact_until,price_minor,unit_price_minor,price_unit,currency,due,offer,replaces,waived_by,forgiven,claims,steps,leg,giver,receiver,return,state,since,to_bin,to_batch,dispatch,sent_at,arrival,came_at,from_bin,from_batch,origin,species,castings,material,quantity,unit,size_class,density_g_per_l,sample_mg,moisture_pct,agreed_mg,sent_mg,received_mg,dead_mg,weight_lost_mg,missing_mg,returned_mg,note"),
		receipts:    newTable("receipts", "id,material,at,by,from,from_member,net,net_unit,gross,gross_unit,tare,tare_unit,measure,count,rejected,rejected_unit,rejected_why,residue,residue_unit,animal_origin,heat_what,temperature,temperature_unit,hours,basis,note"),
		quarantines: newTable("quarantines", "id,bin,at,by,until,reason,released,released_by,outcome,released_note,note"),
		feedings:    newTable("feedings", "id,bin,at,by,material,quantity,unit,moisture_pct,placement,preparation,note"),
		checks:      newTable("checks", "id,bin,at,by,temperature,temperature_unit,moisture_pct,squeeze,ph,ammonia,leftover_pct,leftovers,worms_at,pests,beaded,escape,leachate_l,cover,note"),
		censuses:    newTable("censuses", "id,bin,species,at,by,estimate,low,high,unit,samples,apply,note"),
		harvests:    newTable("harvests", "id,bin,at,by,full,method,mesh_mm,quantity,unit,moisture_pct,batch,put_back_g,worms_to,worms_species,worms_quantity,worms_unit,worms_booked_mg,note"),
		movements:   newTable("movements", "id,kind,at,by,from_bin,to_bin,from_batch,species,quantity,unit,size_class,density_g_per_l,sample_mg,moisture_pct,origin,terms,party,price_minor,currency,cause,material_g,reverses,reason,booked_mg,transfer,leg,note"),
	}
}

// nouns lists the tables of what a club has, records those of what happened, in
// the order that records of one moment are recorded in.
func (b *book) nouns() []*table {
	return []*table{b.members, b.sites, b.materials, b.cultures, b.origins, b.bins, b.batches, b.transfers}
}

func (b *book) records() []*table {
	return []*table{b.movements, b.harvests, b.censuses, b.receipts, b.feedings, b.checks, b.quarantines}
}

// number writes v with at most so many decimals.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// rounded returns v as number writes it.
func rounded(v float64, decimals int) float64 {
	r, err := strconv.ParseFloat(number(v, decimals), 64)
	if err != nil {
		panic(err) // number writes numbers
	}
	return r
}

// told writes what was looked at, and nothing where it wasn't.
func told(yes bool, cell string) string {
	if yes {
		return cell
	}
	return ""
}
