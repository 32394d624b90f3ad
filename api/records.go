package api

import (
	"bytes"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/service"
)

// ImportReport is what an import recorded or, in a dry run, would record.
type ImportReport struct {
	DryRun   bool         `json:"dry_run" example:"false" validate:"required"` // nothing was kept
	Records  []TableCount `json:"records" validate:"required"`                 // of each table
	Warnings []Fault      `json:"warnings" validate:"required"`                // at /file/line/column
}

// TableCount is how many records of a table were recorded.
type TableCount struct {
	Table   string `json:"table" example:"bins" validate:"required"`
	Records int    `json:"records" example:"30" validate:"required"`
}

func importReportOf(r service.ImportReport) ImportReport {
	out := ImportReport{DryRun: r.DryRun, Records: []TableCount{}, Warnings: []Fault{}}
	for _, c := range r.Counts {
		out.Records = append(out.Records, TableCount(c))
	}
	for _, w := range r.Warnings {
		out.Warnings = append(out.Warnings, Fault{w.Pointer, w.Code, w.Detail, w.Record})
	}
	return out
}

// importRecords imports a book.
//
//	@Summary		Import a book
//	@Description	Records whole tables, all or nothing: CSV files named after their tables (as bins.csv) in a form or a ZIP archive, one CSV table, or the JSON document that an export gives. Only stewards may. Every row at fault is listed in errors, at /file/line/column (up to 1000). A dry run says the same as the real run and keeps nothing.
//	@ID				importRecords
//	@Tags			records
//	@Accept			json,mpfd,application/zip,text/csv
//	@Produce		json
//	@Param			dry_run									query		bool				false	"true: keep nothing"						default(false)
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			records									query		string				false	"the table, where the body is text/csv"	Enums(settings, members, sites, materials, measures, cultures, origins, bins, batches, offers, transfers, movements, harvests, reworks, censuses, receipts, turnouts, feedings, checks, batch_steps, contacts, clearings, quarantines, identifications)
//	@Param			book									body		bookfile.Document	true	"the book"
//	@Success		200										{object}	ImportReport		"a dry run: what would be recorded"
//	@Success		201										{object}	ImportReport		"what was recorded"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Security		accessToken
//	@Router			/v1/clubs/{club}/imports [post]
func (s *Server) importRecords(r *request) (answer, error) {
	dryRun, table, err := r.importing()
	if err != nil {
		return answer{}, err
	}
	book, err := r.book(table)
	if err != nil {
		return answer{}, err
	}
	report, err := s.Records.Import(r.ctx, r.actor(), book, dryRun)
	if dryRun {
		return answer{status: http.StatusOK, body: importReportOf(report)}, err
	}
	return answer{status: http.StatusCreated, body: importReportOf(report)}, err
}

// importing reads the parameters of an import. Errors: ErrMalformed.
func (r *request) importing() (dryRun bool, table string, err error) {
	values, err := url.ParseQuery(r.gin.Request.URL.RawQuery)
	if err != nil {
		return false, "", service.ErrMalformed.With("the query can't be read").Because(err)
	}
	var faults service.Faults
	for _, name := range sortedKeys(values) {
		text := values.Get(name)
		switch {
		case name != "dry_run" && name != "records":
			faults.Add("?"+name, "unknown", "there is no such parameter")
		case len(values[name]) > 1:
			faults.Add("?"+name, "repeated", "give this parameter once")
		case name == "dry_run" && text != "true" && text != "false":
			faults.Add("?dry_run", "format", "use true or false")
		}
	}
	if len(faults) > 0 {
		return false, "", unreadable(faults)
	}
	return values.Get("dry_run") == "true", values.Get("records"), nil
}

// book reads the body by its media type; table is what a single CSV file holds.
// Errors: ErrMalformed, ErrTooLarge, ErrImport.
func (r *request) book(table string) (service.Book, error) {
	media, params, err := mime.ParseMediaType(r.gin.GetHeader("Content-Type"))
	if err != nil {
		return service.Book{}, service.ErrUnsupported.Because(err)
	}
	var files []bookfile.File
	switch media {
	case "application/json":
		return bookfile.ReadJSON(r.body)
	case "application/zip":
		files, err = bookfile.ReadZip(r.body)
	case "multipart/form-data":
		files, err = formFiles(r.body, params["boundary"])
	default:
		files, err = []bookfile.File{{Name: table + ".csv", Data: r.body}}, nil
		if table == "" {
			err = unreadable(service.Faults{{Pointer: "?records", Code: "required", Detail: "say which table the file is, as records=bins"}})
		}
	}
	if err != nil {
		return service.Book{}, err
	}
	if len(files) == 0 {
		return service.Book{}, service.ErrMalformed.With("there is no file in the body")
	}
	return bookfile.ReadCSV(files)
}

// formFiles reads the files of a form, whatever its fields are called. Errors:
// ErrMalformed.
func formFiles(body []byte, boundary string) ([]bookfile.File, error) {
	form := multipart.NewReader(bytes.NewReader(body), boundary)
	var out []bookfile.File
	for {
		part, err := form.NextRawPart()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, service.ErrMalformed.With("the form can't be read, or part of it is missing").Because(err)
		}
		data, err := io.ReadAll(part)
		switch {
		case err != nil:
			return nil, service.ErrMalformed.With("the form can't be read, or part of it is missing").Because(err)
		case part.FileName() == "":
			return nil, service.ErrMalformed.With("field %q of the form is no file; send files that are named after their tables, as bins.csv", part.FormName())
		}
		out = append(out, bookfile.File{Name: part.FileName(), Data: data})
	}
}

// exportDocument exports the book as JSON.
//
//	@Summary		Export the book as JSON
//	@Description	One document with an array of rows for each table; importing it into an empty club gives the same book. Only stewards may.
//	@ID				exportDocument
//	@Tags			records
//	@Produce		json
//	@Success		200					{object}	bookfile.Document
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Security		accessToken
//	@Router			/v1/clubs/{club}/exports/book.json [get]
func (s *Server) exportDocument(r *request) (answer, error) {
	book, err := s.Records.Export(r.ctx, r.actor())
	if err != nil {
		return answer{}, err
	}
	data, err := bookfile.WriteJSON(book)
	return answer{status: http.StatusOK, raw: data, media: jsonType}, err
}

// exportArchive exports the book as an archive of CSV files.
//
//	@Summary		Export the book as CSV files in an archive
//	@Description	A ZIP archive of all tables; importing it into an empty club gives the same book. Only stewards may.
//	@ID				exportArchive
//	@Tags			records
//	@Produce		application/zip
//	@Success		200					{file}		binary	"the archive"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Security		accessToken
//	@Router			/v1/clubs/{club}/exports/book.zip [get]
func (s *Server) exportArchive(r *request) (answer, error) {
	book, err := s.Records.Export(r.ctx, r.actor())
	if err != nil {
		return answer{}, err
	}
	data, err := bookfile.WriteZip(book)
	return answer{status: http.StatusOK, raw: data, media: "application/zip"}, err
}

// exportClub exports everything of the club as an archive.
//
//	@Summary		Export the whole club
//	@Description	An archive of everything that the club keeps, voided and reversed records, the audit and closed books included, as JSON lines under gzip: the service's operator can make the club of it again, here or elsewhere. Accounts, invitations, keys and secrets aren't in it. Only stewards may.
//	@ID				exportClub
//	@Tags			records
//	@Produce		application/gzip
//	@Success		200					{file}		binary	"the archive"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Security		accessToken
//	@Router			/v1/clubs/{club}/exports/club.jsonl.gz [get]
func (s *Server) exportClub(r *request) (answer, error) {
	var file bytes.Buffer
	err := s.Records.Archive(r.ctx, r.actor(), &file)
	return answer{status: http.StatusOK, raw: file.Bytes(), media: "application/gzip"}, err
}

// exportTable exports one table as CSV.
//
//	@Summary		Export one table as CSV
//	@Description	RFC 4180 with a header row. A text that starts like a formula has an apostrophe before it. Only stewards may.
//	@ID				exportTable
//	@Tags			records
//	@Produce		text/csv
//	@Param			file				path		string	true	"the table's file, as bins.csv"	example(bins.csv)
//	@Success		200					{string}	string	"the table"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Security		accessToken
//	@Router			/v1/clubs/{club}/exports/{file} [get]
func (s *Server) exportTable(r *request) (answer, error) {
	book, err := s.Records.Export(r.ctx, r.actor())
	if err != nil {
		return answer{}, err
	}
	noun, isCSV := strings.CutSuffix(r.param("file"), ".csv")
	data, known := bookfile.WriteCSV(book, noun)
	if !isCSV || !known {
		return answer{}, service.ErrNoRoute
	}
	return answer{status: http.StatusOK, raw: data, media: "text/csv; charset=utf-8; header=present"}, nil
}
