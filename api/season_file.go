package api

import (
	"fmt"
	"net/http"
	"slices"

	"lumbricary.example/api/reportfile"
	"lumbricary.example/api/sheet"
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// form is a form that a report comes in.
type form struct {
	name  string // as ?format asks for it
	media string
}

// forms lists the forms; the first goes where nothing else is asked for.
func forms() []form {
	return []form{
		{"json", "application/json"},
		{"text", "text/plain"},
		{"csv", "text/csv"},
		{"xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"},
		{"pdf", "application/pdf"},
	}
}

// form is the form that the caller asks for: by ?format, else by Accept. Errors:
// ErrMalformed.
func (r *request) form() (form, error) {
	all := forms()
	asked, ok := r.gin.GetQueryArray("format")
	if !ok {
		var media []string
		for _, f := range all {
			media = append(media, f.media)
		}
		best := r.gin.NegotiateFormat(media...)
		return all[max(0, slices.Index(media, best))], nil
	}
	var faults service.Faults
	i := slices.IndexFunc(all, func(f form) bool { return f.name == asked[0] })
	switch {
	case len(asked) > 1:
		faults.Add("?format", "repeated", "give this parameter once")
	case i < 0:
		faults.Add("?format", "unknown", "use json, text, csv, xlsx or pdf")
	default:
		return all[i], nil
	}
	return form{}, unreadable(faults)
}

// seasonAnswer is a season's report in a form. Errors: those of the writers.
func seasonAnswer(report service.SeasonReport, f form, in unit.System) (a answer, err error) {
	a = answer{status: http.StatusOK, media: f.media, vary: "Accept"}
	switch f.name {
	case "json":
		a.media, a.body = "", seasonReportOf(report, in)
		return a, nil
	case "text":
		a.media, a.raw = "text/plain; charset=utf-8", []byte(SeasonText(report, in))
		return a, nil
	case "csv":
		a.media = "text/csv; charset=utf-8; header=present"
		a.raw, err = reportfile.CSV(SeasonFile(report, in))
	case "xlsx":
		a.raw, err = reportfile.XLSX(SeasonFile(report, in))
	default:
		a.raw, err = reportfile.PDF(SeasonFile(report, in), paperOf(in))
	}
	a.file = fmt.Sprintf("%s-%s.%s", report.Club.Handle, report.Period.Code, f.name)
	return a, err
}

// paperOf is the paper that people use with a system of units.
func paperOf(in unit.System) sheet.Paper {
	if in == unit.USCustomary {
		return sheet.Letter
	}
	return sheet.A4
}
