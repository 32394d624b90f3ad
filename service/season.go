package service

import (
	"context"
	"slices"
	"time"

	"lumbricary.example/service/reference"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// SeasonReport is a season's report with what people read it by.
type SeasonReport struct {
	season.Report
	Club   Club
	Prices bool          // the member may see the money; without it there is none in the report
	Before season.Period // the same season a year before
	Copies []Copy        // where each culture lives now
	season.Emissions
	Factors        reference.EmissionFactors // behind Emissions
	Balance        *MaterialsBalance         // nil for a caller who reads figures alone
	Households     unit.Figure
	VolunteerHours unit.Figure
	Names          Names
	AsOf           time.Time
}

// Season returns the club's report on a period given by its code: a season as
// "2026-autumn", "2026-Q3", "2026", "2026-07", "2026-W14" or own dates as
// "2026-03-01..2026-05-31"; an empty code means the season of today. Errors:
// ErrClubNotFound, ErrForbidden, ErrPeriod.
func (s Reports) Season(ctx context.Context, a Actor, code string) (SeasonReport, error) {
	return figures(ctx, s.Desk, a, func(w *work) (SeasonReport, error) { return w.season(code) })
}

func (w *work) season(code string) (out SeasonReport, err error) {
	period, err := w.period(code)
	if err != nil {
		return out, err
	}
	now, err := w.reported(period)
	if err != nil {
		return out, err
	}
	out.Before = period.YearBefore(w.calendar())
	before, err := w.reported(out.Before)
	if err != nil {
		return out, err
	}
	out.Report, out.Names, out.AsOf, out.Club = now.report, now.names, w.now, w.Club
	if out.Prices = w.who.May(ReadBook) && w.who.May(SeePrice); !out.Prices {
		blankMoney(&out.Report)
	}
	change := season.Compare(now.report, before.report)
	out.Report.Before = &change
	out.Emissions, out.Factors = w.emissions(now), w.desk.Reference.Emissions
	if out.Households, out.VolunteerHours, err = w.turnout(period); err != nil {
		return out, err
	}
	if out.Copies, err = w.copies(now.names); err != nil || !w.who.May(ReadBook) {
		return out, err
	}
	out.Balance, err = w.materialsBalance(period, now.names)
	return out, err
}

// emissions returns what the feed of a report avoided. A material that is of no
// feedstock of the table is the club's own.
func (w *work) emissions(r reported) season.Emissions {
	factors := w.desk.Reference.Emissions
	kind := func(material string) season.Kind {
		switch feedstock := r.names.Materials[MaterialID(material)].Feedstock; {
		case feedstock == "":
			return season.OwnMaterial
		case slices.Contains(factors.FoodWaste, feedstock):
			return season.FoodWaste
		}
		return season.OtherWaste
	}
	return season.Emit(r.report.ByMaterial, kind, avoiding(factors))
}

// avoiding is what emissions are worked out with.
func avoiding(f reference.EmissionFactors) season.Factors {
	return season.Factors{
		Landfilled: f.Landfilled, Composted: f.Composted,
		Basis: f.Source + ", edition " + f.Edition + "; worms are assumed to count as composting",
	}
}

// Workings says how the figures of the report came about, but for those of
// cultures.
func (r SeasonReport) Workings() []working.Figure {
	return append(r.Report.Workings(), r.Emissions.Working(avoiding(r.Factors)))
}

type reported struct {
	report season.Report
	names  Names
}

// reported works out the report of one period: from the monthly totals where it
// is made of months, else from the records alone.
func (w *work) reported(p season.Period) (reported, error) {
	months := p.Months(w.calendar())
	if len(months) == 0 {
		return w.recounted(p)
	}
	return w.reportOn(p)(w.keptFacts(p, months))
}

// recounted works out the report of one period from the records alone.
func (w *work) recounted(p season.Period) (reported, error) {
	return w.reportOn(p)(w.factsOf("", p.From, p.To))
}

// reportOn returns what makes the report of a period from its facts.
func (w *work) reportOn(p season.Period) func(*facts, error) (reported, error) {
	return func(f *facts, err error) (reported, error) {
		if err != nil {
			return reported{}, err
		}
		receipts, err := w.intakes(p, f.names)
		if err != nil {
			return reported{}, err
		}
		if err := w.readLooks(f, p); err != nil {
			return reported{}, err
		}
		report := season.Recount(season.Facts{Period: p, AsOf: w.now, Bins: f.all(), Movements: f.moved(), Receipts: receipts})
		return reported{report, f.names}, nil
	}
}

// readLooks reads when the bins were checked in the period.
func (w *work) readLooks(f *facts, p season.Period) error {
	checks, err := w.Checks.List(Query{From: p.From, To: p.To})
	for _, c := range checks {
		b := f.bins[c.Bin]
		b.Checked = append(b.Checked, c.At.Time)
	}
	return err
}

// intakes reads what came in during the period, without amendments.
func (w *work) intakes(p season.Period, n Names) ([]season.Receipt, error) {
	receipts, err := w.Receipts.List(Query{From: p.From, To: p.To})
	var out []season.Receipt
	for _, r := range receipts {
		kind := n.Materials[r.Material].Kind
		if kind == AmendmentMaterial {
			continue // grit and lime are diverted from nowhere
		}
		out = append(out, season.Receipt{
			ID: string(r.ID), At: r.At.Time, Material: string(r.Material), Member: string(r.Recorded.By), Bedding: kind == BeddingMaterial,
			Net: r.Net, Rejected: r.Rejected, Residue: r.Residue, Weighed: r.Basis == WeighedBasis,
		})
	}
	return out, err
}

// blankMoney takes the sums of money out of a report: only a steward is a
// party to all of them.
func blankMoney(r *season.Report) {
	for i := range r.Transfers {
		r.Transfers[i].Money = nil
	}
	for i := range r.Exchanges {
		r.Exchanges[i].Earned, r.Exchanges[i].Paid = nil, nil
	}
}
