package api

import (
	"net/http"
	"strconv"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/due"
	"lumbricary.example/service/unit"
)

// DueList is what is due.
type DueList struct {
	AsOf  string    `json:"as_of" example:"2026-05-01" format:"date" validate:"required"` // today in the club's time zone
	Until string    `json:"until" example:"2026-05-08" format:"date" validate:"required"` // the last day that was looked at
	Items []DueItem `json:"items" validate:"required"`                                    // in the order of days
}

// DueItem is one thing that is due.
type DueItem struct {
	Key         string   `json:"key" example:"first-check.01970000-0000-7000-8000-000000000010" validate:"required"` // the same as long as it is due
	Kind        string   `json:"kind" example:"first-check" enums:"escape-look,first-check,check,too-hot,too-dry,too-full,feeding,harvest,census,transfer-step,promise-expires,loan,quarantine,backup,analysis-expires" validate:"required"`
	Due         string   `json:"due" example:"2026-05-01" format:"date" validate:"required"`
	OverdueDays int      `json:"overdue_days" example:"0" format:"int32" validate:"required"`
	Since       *string  `json:"since" example:"2026-04-21" format:"date" extensions:"x-nullable" validate:"required"` // from which day it is counted; null: it is a state
	Title       string   `json:"title" example:"First check of Tote" validate:"required"`
	Detail      string   `json:"detail" example:"10 days since the bin was started; at the latest after 10 days" validate:"required"`
	Basis       string   `json:"basis" example:"a custom without a source; the club's to change" validate:"required"` // what the rule rests on
	Members     []string `json:"members" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"`
	Bin         *Named   `json:"bin" extensions:"x-nullable" validate:"required"`
	Culture     *Named   `json:"culture" extensions:"x-nullable" validate:"required"`
	Batch       *Named   `json:"batch" extensions:"x-nullable" validate:"required"` // its name is the lot number
	Transfer    *string  `json:"transfer" example:"01970000-0000-7000-8000-000000000030" format:"uuid" extensions:"x-nullable" validate:"required"`
	Step        *string  `json:"step" example:"accept" enums:"accept,dispatch,receive,replace" extensions:"x-nullable" validate:"required"` // that the transfer waits for
	Quarantine  *string  `json:"quarantine" example:"01970000-0000-7000-8000-000000000040" format:"uuid" extensions:"x-nullable" validate:"required"`
	BatchStep   *string  `json:"batch_step" example:"01970000-0000-7000-8000-000000000050" format:"uuid" extensions:"x-nullable" validate:"required"` // the analysis
	Figure      Figure   `json:"figure" validate:"required"`                                                                                          // what was found
	Limit       Figure   `json:"limit" validate:"required"`                                                                                           // what it is held against
}

func dueListOf(l service.DueList, in unit.System) DueList {
	out := DueList{AsOf: string(l.Today), Until: string(l.Until), Items: []DueItem{}}
	for _, i := range l.Items {
		out.Items = append(out.Items, dueItemOf(i, l, in))
	}
	return out
}

func dueItemOf(i due.Item, l service.DueList, in unit.System) DueItem {
	words := dueWords{l, in}
	out := DueItem{
		Key: i.Key(), Kind: string(i.Kind), Due: i.Day, OverdueDays: daysLate(i.Day, string(l.Today)), Since: orNull(i.Since),
		Title: words.title(i), Detail: words.detail(i), Basis: due.Basis(i.Kind), Members: append([]string{}, i.Members...),
		Step: orNull(i.Verb), Figure: figureOf(i.Figure, in), Limit: figureOf(i.Limit, in),
	}
	if i.Bin != "" {
		out.Bin = &Named{i.Bin, words.bin(i)}
	}
	if i.Batch != "" {
		out.Batch = &Named{i.Batch, words.lot(i)}
	}
	switch i.Kind {
	case due.TransferStep, due.PromiseExpires, due.LoanDue:
		out.Transfer = &i.Record
	case due.QuarantineEnds:
		out.Quarantine = &i.Record
	case due.BackupMissing:
		out.Culture = &Named{i.Record, words.culture(i)}
	case due.AnalysisExpires:
		out.BatchStep = &i.Record
	case due.EscapeLook, due.FirstCheck, due.NextCheck, due.TooHot, due.TooDry, due.TooFull, due.Feeding, due.Harvest, due.Census:
	}
	return out
}

// daysLate is how many days today is after a day; 0 when it isn't.
func daysLate(day, today string) int {
	a, errA := time.Parse(time.DateOnly, day)
	b, errB := time.Parse(time.DateOnly, today)
	if errA != nil || errB != nil {
		return 0
	}
	return max(0, int(b.Sub(a).Hours()/24))
}

// listDue shows what is due.
//
//	@Summary		Show what is due
//	@Description	What the caller should look at, each with the figure behind it and a day: new bins to be looked at for escape and checked, bins without a check for long, too hot, too dry or too full, feedings by the bin's own custom, steps and promises of transfers, loans, quarantines to release, cultures without a backup, analyses that expire, and harvests and censuses where the club sets a span. For stewards also of the whole club. The thresholds are the club's; zero turns a rule off. As plain text for Accept: text/plain.
//	@ID				listDue
//	@Tags			due
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			whose			query		string	false	"mine, or club for stewards"	enums(mine,club)	default(mine)
//	@Param			days			query		int		false	"how many days ahead"	minimum(0)	maximum(366)	default(7)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	DueList
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/due [get]
func (s *Server) listDue(r *request) (answer, error) { return s.due(r, "") }

// listBinDue shows what is due of a bin.
//
//	@Summary		Show what is due of a bin
//	@Description	As of the whole list, whoever keeps the bin.
//	@ID				listBinDue
//	@Tags			due
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin				path		string	true	"id of the bin"	format(uuid)
//	@Param			days			query		int		false	"how many days ahead"	minimum(0)	maximum(366)	default(7)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	DueList
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/due [get]
func (s *Server) listBinDue(r *request) (answer, error) {
	return s.due(r, service.BinID(r.param("bin")))
}

func (s *Server) due(r *request, bin service.BinID) (answer, error) {
	ask, err := r.dueAsk(bin)
	if err != nil {
		return answer{}, err
	}
	list, err := s.Reports.Due(r.ctx, r.actor(), ask)
	if err != nil {
		return answer{}, err
	}
	if r.wantsText() {
		return textAnswer(DueText(list, r.units())), r.err
	}
	return answer{status: http.StatusOK, body: dueListOf(list, r.units())}, r.err
}

// daysAhead is how far the due list looks unless it is told.
const daysAhead = 7

// dueAsk reads the parameters of a due list. Errors: ErrMalformed.
func (r *request) dueAsk(bin service.BinID) (service.DueAsk, error) {
	ask := service.DueAsk{Bin: bin, Days: daysAhead}
	var faults service.Faults
	if text, given := r.gin.GetQuery("days"); given {
		n, err := strconv.Atoi(text)
		if err != nil || n < 0 || n > service.MaxDueDays {
			faults.Add("?days", "range", "use a whole number from 0 to %d", service.MaxDueDays)
		}
		ask.Days = n
	}
	switch whose := r.gin.DefaultQuery("whose", "mine"); {
	case bin != "" || whose == "mine":
	case whose == "club":
		ask.Whole = true
	default:
		faults.Add("?whose", "unknown", "use mine or club")
	}
	if len(faults) > 0 {
		return ask, unreadable(faults)
	}
	return ask, nil
}
