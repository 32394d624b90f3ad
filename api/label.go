package api

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lumbricary.example/api/picture"
	"lumbricary.example/api/qr"
	"lumbricary.example/api/sheet"
	"lumbricary.example/service"
)

// pdfType is the media type of printed sheets.
const pdfType = "application/pdf"

// bagCautions are what stands on a bag of castings.
const bagCautions = "Wear gloves, wash your hands, and keep the dust down. No claim about nutrients is made. Local rules come first."

// Labelled is what a label is on.
type Labelled struct {
	Kind string `json:"kind" example:"bin" enums:"bin,batch,lot" validate:"required"`
	ID   string `json:"id" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"`
	Name string `json:"name" example:"Cellar Three" validate:"required"` // of a batch: its lot number; of a lot: the name of its bin
}

// getLabelled says what a label is on.
//
//	@Summary		Say what a label is on
//	@Description	By the code that a phone reads off a label or a sheet, or that somebody typed: case, spaces and hyphens don't matter, I and L are 1, O is 0. A code is an id in 26 digits of Crockford's base 32, and nothing else.
//	@ID				getLabelled
//	@Tags			labels
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			label			path		string	true	"the code"	example(01ARZ3NDEKTSV4RRFFQ69G5FAV)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Labelled
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/labels/{label} [get]
func (s *Server) getLabelled(r *request) (answer, error) {
	id, err := qr.ID(r.param("label"))
	if err != nil {
		id = "" // no thing has it: rights are asked for before that is told
	}
	l, err := s.Reports.Labelled(r.ctx, r.actor(), id)
	return answer{status: http.StatusOK, body: Labelled{string(l.Kind), l.ID, l.Name}}, err
}

// drawBinLabel draws a bin's label.
//
//	@Summary		Draw a bin's label
//	@Description	As SVG, 90 by 47 mm: name, kind, start, site, what lives in it and since when, and a QR code that holds the id of the bin in its short form.
//	@ID				drawBinLabel
//	@Tags			labels
//	@Produce		image/svg+xml
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/label.svg [get]
func (s *Server) drawBinLabel(r *request) (answer, error) {
	labels, err := s.binLabels(r, service.BinID(r.param("bin")))
	if err != nil {
		return answer{}, err
	}
	return pictureAnswer(picture.Label(labels[0]).Draw()), r.err
}

// printBinLabel prints a bin's label.
//
//	@Summary		Print a bin's label
//	@Description	As PDF: one on a card of size A6, or several on sheets. The label is that of label.svg.
//	@ID				printBinLabel
//	@Tags			labels
//	@Produce		application/pdf
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"
//	@Param			copies			query		int		false	"how many"	minimum(1)	maximum(100)	default(1)
//	@Param			paper			query		string	false	"of the sheets; without it: a card for one, else as the club's units have it"	Enums(a4, letter)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/label.pdf [get]
func (s *Server) printBinLabel(r *request) (answer, error) {
	p, err := r.printing("copies")
	if err != nil {
		return answer{}, err
	}
	labels, err := s.binLabels(r, service.BinID(r.param("bin")))
	if err != nil {
		return answer{}, err
	}
	return s.printed(r, p, labels)
}

// printBinLabels prints the labels of many bins.
//
//	@Summary		Print the labels of many bins
//	@Description	As PDF, ten or twelve on a sheet of paper with lines to cut along: of the bins that are named, or of all that are in use, by name. The labels are those of label.svg.
//	@ID				printBinLabels
//	@Tags			labels
//	@Produce		application/pdf
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			query		[]string	false	"ids of bins; none: all in use"	collectionFormat(multi)
//	@Param			paper			query		string	false	"of the sheets; without it: as the club's units have it"	Enums(a4, letter)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/labels.pdf [get]
func (s *Server) printBinLabels(r *request) (answer, error) {
	p, err := r.printing("bin")
	if err != nil {
		return answer{}, err
	}
	labels, err := s.binLabels(r, p.bins...)
	if err != nil {
		return answer{}, err
	}
	if p.paper == "" {
		p.paper = r.usualPaper()
	}
	return s.printed(r, p, labels)
}

// drawBatchLabel draws a batch's label.
//
//	@Summary		Draw a batch's label
//	@Description	As SVG, 90 by 47 mm: lot number, product, when it was harvested, moisture, cautions, and a QR code that holds the id of the batch in its short form.
//	@ID				drawBatchLabel
//	@Tags			labels
//	@Produce		image/svg+xml
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			path		string	true	"id of the batch"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch}/label.svg [get]
func (s *Server) drawBatchLabel(r *request) (answer, error) {
	l, err := s.batchLabel(r)
	if err != nil {
		return answer{}, err
	}
	return pictureAnswer(picture.Label(l).Draw()), r.err
}

// printBatchLabel prints a batch's label.
//
//	@Summary		Print a batch's label
//	@Description	As PDF: one on a card of size A6, or several on sheets, one for each bag. The label is that of label.svg.
//	@ID				printBatchLabel
//	@Tags			labels
//	@Produce		application/pdf
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			batch			path		string	true	"id of the batch"
//	@Param			copies			query		int		false	"how many"	minimum(1)	maximum(100)	default(1)
//	@Param			paper			query		string	false	"of the sheets; without it: a card for one, else as the club's units have it"	Enums(a4, letter)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/batches/{batch}/label.pdf [get]
func (s *Server) printBatchLabel(r *request) (answer, error) {
	p, err := r.printing("copies")
	if err != nil {
		return answer{}, err
	}
	l, err := s.batchLabel(r)
	if err != nil {
		return answer{}, err
	}
	return s.printed(r, p, []sheet.Label{l})
}

// printing is how something is to be printed.
type printing struct {
	paper  sheet.Paper // empty: not told
	copies int
	bins   []service.BinID
}

// mostLabels is how many bins a call may name.
const mostLabels = 500

// printing reads paper and what else is allowed of copies and bin from the
// query. Errors: ErrMalformed.
func (r *request) printing(allowed ...string) (printing, error) {
	p := printing{copies: 1}
	var faults service.Faults
	values := r.gin.Request.URL.Query()
	for _, name := range sortedKeys(values) {
		given := values[name]
		switch {
		case name == "units" && r.route.has(figured): // see checkUnits
		case name != "paper" && !slices.Contains(allowed, name):
			faults.Add("?"+name, "unknown", "there is no such parameter here")
		case name == "bin" && len(given) > mostLabels:
			faults.Add("?bin", "range", "give %d bins at most", mostLabels)
		case name == "bin":
			for _, id := range given {
				p.bins = append(p.bins, service.BinID(id))
			}
		case len(given) > 1:
			faults.Add("?"+name, "repeated", "give this parameter once")
		case name == "copies":
			n, err := strconv.Atoi(given[0])
			if p.copies = n; err != nil || n < 1 || n > 100 {
				faults.Add("?copies", "range", "give a whole number from 1 to 100")
			}
		case papers[given[0]] == "":
			faults.Add("?paper", "unknown", "use a4 or letter")
		default:
			p.paper = papers[given[0]]
		}
	}
	if len(faults) > 0 {
		return p, unreadable(faults)
	}
	return p, nil
}

// papers are the sizes of paper by the names that callers use.
var papers = map[string]sheet.Paper{"a4": sheet.A4, "letter": sheet.Letter}

// usualPaper is the paper of the club's part of the world.
func (r *request) usualPaper() sheet.Paper {
	if r.custom().Units == service.USCustomary {
		return sheet.Letter
	}
	return sheet.A4
}

// today is when the day began in the club's time zone: what is printed on one day
// from the same records is the same.
func (r *request) today() time.Time {
	y, m, d := r.server.Now().In(r.zone()).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, r.zone())
}

// printed prints labels: a single one on a card, unless paper is asked for.
func (s *Server) printed(r *request, p printing, labels []sheet.Label) (answer, error) {
	labels = slices.Repeat(labels, p.copies)
	setup := sheet.Setup{Paper: p.paper, Title: "Labels", AsOf: r.today()}
	switch {
	case setup.Paper == "" && len(labels) == 1:
		setup.Paper, setup.Landscape = sheet.Card, true
	case setup.Paper == "":
		setup.Paper = r.usualPaper()
	}
	pdf, err := sheet.Labels(setup, labels)
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, raw: pdf, media: pdfType}, r.err
}

// binLabels makes the labels of bins. Errors: those of the use-case.
func (s *Server) binLabels(r *request, ids ...service.BinID) ([]sheet.Label, error) {
	all, err := s.Reports.BinLabels(r.ctx, r.actor(), ids)
	if err != nil {
		return nil, err
	}
	var out []sheet.Label
	for _, l := range all.Labels {
		label := sheet.Label{Name: l.Bin.Name, Lines: binLines(l, all), Small: all.Club.Name}
		if err := withCode(&label, string(l.Bin.ID)); err != nil {
			return nil, err
		}
		out = append(out, label)
	}
	return out, nil
}

// binLines says of a bin what it is, where it stands and what lives in it.
func binLines(l service.BinLabel, all service.BinLabels) []string {
	zone := all.Club.Zone()
	var out []string
	for _, lot := range l.Lots {
		species := lot.Place.Species
		if lot.Identified != nil && lot.Identified.ToldApart {
			species = string(lot.Identified.Species)
		}
		out = append(out, capital(named(all.Names.Species, species, species)), "Lot "+shortLot(lot.ID)+" of "+labelDay(lot.OpenedAt, zone))
	}
	if len(l.Lots) == 0 {
		out = append(out, "No stock in the book")
	}
	return append(out, all.Names.Sites[l.Bin.Site], inWords(binKinds, string(l.Bin.Kind))+", started "+labelDay(l.Bin.Started.Time, zone))
}

// binKinds are the kinds of bins that have words of their own.
var binKinds = map[string]string{"other": "Bin", "tote": "Tote", "bag": "Bag", "tray-stack": "Tray stack", "wedge": "Wedge", "windrow": "Windrow", "flow-through": "Flow-through bed"}

// capital is a text that begins as a sentence does.
func capital(text string) string {
	first, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[n:]
}

// shortLot is the beginning of a lot's id, enough to tell it from the others of
// a bin.
func shortLot(id string) string { return strings.ToUpper(id[:8]) }

func labelDay(t time.Time, zone *time.Location) string { return t.In(zone).Format("2 Jan 2006") }

func withCode(l *sheet.Label, id string) (err error) {
	if l.Code, err = qr.Short(id); err != nil {
		return err
	}
	l.Modules, err = qr.Modules(l.Code)
	return err
}

// productWords names what a batch is.
var productWords = map[string]string{"vermicompost": "Vermicompost", "screened": "Screened vermicompost", "castings": "Castings"}

// batchLabel makes the label of a batch. Errors: those of the use-case.
func (s *Server) batchLabel(r *request) (sheet.Label, error) {
	b, err := s.Reports.BatchLabel(r.ctx, r.actor(), service.BatchID(r.param("batch")))
	if err != nil {
		return sheet.Label{}, err
	}
	product := inWords(productWords, string(b.Batch.Product))
	if b.Batch.MeshMM > 0 {
		product += fmt.Sprintf(", %g mm", b.Batch.MeshMM)
	}
	l := sheet.Label{Name: b.Batch.LotNumber, Lines: []string{product, madeOn(b), moistureOf(b), b.Club.Name}, Small: bagCautions}
	return l, withCode(&l, string(b.Batch.ID))
}

func madeOn(b service.BatchLabel) string {
	zone := b.Club.Zone()
	first, last := labelDay(b.First, zone), labelDay(b.Last, zone)
	switch {
	case b.First.IsZero():
		return "Harvest: not on record"
	case first == last:
		return "Made " + first
	}
	return "Made " + strings.TrimSuffix(first, last[len(last)-len(" 2006"):]) + " to " + last
}

func moistureOf(b service.BatchLabel) string {
	m, known := b.Contents.Moisture()
	switch {
	case !known:
		return "Moisture: not on record"
	case b.Contents.Assumed:
		return fmt.Sprintf("Moisture about %.0f %% (assumed)", float64(m))
	}
	return fmt.Sprintf("Moisture %.0f %%", float64(m))
}
