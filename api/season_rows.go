package api

import (
	"cmp"
	"slices"

	"lumbricary.example/service"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// rowNames names what the rows of a report are about.
type rowNames struct{ service.Names }

func (n rowNames) member(id string) Named { return Named{id, n.Members[service.MemberID(id)]} }
func (n rowNames) site(id string) Named   { return Named{id, n.Sites[service.SiteID(id)]} }
func (n rowNames) bin(id string) Named    { return Named{id, n.Bins[service.BinID(id)].Name} }

func (n rowNames) material(id string) Named {
	return Named{id, n.Materials[service.MaterialID(id)].Name}
}

func (n rowNames) species(id string) Named {
	switch id {
	case season.NoSpecies:
		return Named{id, "no worms"}
	case season.SeveralSpecies:
		return Named{id, "several species"}
	}
	return Named{id, n.Species[service.SpeciesID(id)]}
}

// memberOrNull is null for outside parties and nobody.
func (n rowNames) memberOrNull(id string) *Named { return namedOrNull(n.Members, service.MemberID(id)) }

// rowsOf turns each of a list into another shape: an empty list where there are
// none.
func rowsOf[T, W any](rows []T, of func(T) W) []W {
	out := make([]W, 0, len(rows))
	for _, r := range rows {
		out = append(out, of(r))
	}
	return out
}

// MaterialRow is what was fed of one material.
type MaterialRow struct {
	Named
	FeedG    float64 `json:"feed_g" example:"42000" validate:"required"` // wet
	BeddingG float64 `json:"bedding_g" example:"0" validate:"required"`
	FeedDry  Figure  `json:"feed_dry" validate:"required"` // kg
	Weighed  Figure  `json:"weighed" validate:"required"`  // share of feed_g that was weighed, %
}

func materialRows(lines []season.MaterialLine, n rowNames, in unit.System) []MaterialRow {
	return rowsOf(lines, func(l season.MaterialLine) MaterialRow {
		return MaterialRow{
			n.material(l.Key),
			l.Fed.FeedWet.Grams(), l.Fed.BeddingWet.Grams(),
			figureOf(l.FedDry(), in), figureOf(l.WeighedShare(), in),
		}
	})
}

// ReceivedRows is what came in, by the receipts of the season.
type ReceivedRows struct {
	Total     Intake      `json:"total" validate:"required"`
	Materials []IntakeRow `json:"materials" validate:"required"`
	Members   []IntakeRow `json:"members" validate:"required"` // who recorded it
}

// Intake is what came in, wet. Amendments, as grit and lime, don't count.
type Intake struct {
	NetG      float64 `json:"net_g" example:"42000" validate:"required"` // feedstock before rejection, without bedding
	RejectedG float64 `json:"rejected_g" example:"1500" validate:"required"`
	ResidueG  float64 `json:"residue_g" example:"500" validate:"required"`
	DivertedG float64 `json:"diverted_g" example:"40000" validate:"required"` // net less rejected and residue
	Weighed   Figure  `json:"weighed" validate:"required"`                    // share of net_g that was weighed, %
	Sure      Figure  `json:"diverted_weighed" validate:"required"`           // share of diverted_g that was weighed, %
	BeddingG  float64 `json:"bedding_g" example:"6000" validate:"required"`   // that was kept
}

// IntakeRow is what came in of a material, or was recorded by a member.
type IntakeRow struct {
	Named
	Intake
}

func intakeOf(i season.Intake, in unit.System) Intake {
	return Intake{
		i.Net.Grams(), i.Rejected.Grams(), i.Residue.Grams(), i.Diverted().Grams(), figureOf(i.WeighedShare(), in), figureOf(i.DivertedShare(), in), i.Bedding.Grams(),
	}
}

func receivedRows(r season.Received, n rowNames, in unit.System) ReceivedRows {
	rows := func(all []season.Intake, name func(string) Named) []IntakeRow {
		return rowsOf(all, func(i season.Intake) IntakeRow { return IntakeRow{name(i.Key), intakeOf(i, in)} })
	}
	return ReceivedRows{intakeOf(r.Total, in), rows(r.ByMaterial, n.material), rows(r.ByMember, n.member)}
}

// StockRow is the book of one species at both ends of the season.
type StockRow struct {
	Named
	StartG  float64 `json:"start_g" example:"1800" validate:"required"`
	EndG    float64 `json:"end_g" example:"2400" validate:"required"`
	ChangeG float64 `json:"change_g" example:"600" validate:"required"`
}

func stockRows(stock []season.SpeciesStock, n rowNames) []StockRow {
	return rowsOf(stock, func(s season.SpeciesStock) StockRow {
		return StockRow{n.species(s.Species), s.Start.Grams(), s.End.Grams(), (s.End - s.Start).Grams()}
	})
}

// CultureCopies is where a culture lives.
type CultureCopies struct {
	Named
	Species Named         `json:"species" validate:"required"`
	Bins    int           `json:"bins" example:"3" validate:"required"` // in how many a copy lives
	Sites   int           `json:"sites" example:"2" validate:"required"`
	Members int           `json:"members" example:"2" validate:"required"`
	Copies  []CultureCopy `json:"copies" validate:"required"`
}

// CultureCopy is stock of which at least copy_pct descends from the culture.
type CultureCopy struct {
	Bin    Named   `json:"bin" validate:"required"`
	Site   Named   `json:"site" validate:"required"`
	Member Named   `json:"member" validate:"required"`
	Lot    string  `json:"lot" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Share  float64 `json:"share" example:"0.94" validate:"required"`
	BookG  float64 `json:"book_g" example:"750" validate:"required"`
}

// cultureCopies lists every culture that stands by its name, also one without a copy.
func cultureCopies(r service.SeasonReport) []CultureCopies {
	n := rowNames{r.Names}
	out := make([]CultureCopies, 0, len(n.Cultures))
	for _, c := range n.Cultures {
		if c.MergedInto != "" {
			continue
		}
		row := CultureCopies{Named: Named{string(c.ID), c.Name}, Species: n.species(string(c.Species)), Copies: []CultureCopy{}}
		bins, sites, members := map[string]bool{}, map[string]bool{}, map[string]bool{}
		for _, x := range r.Copies {
			if x.Culture != c.ID {
				continue
			}
			b := n.Bins[x.Bin]
			row.Copies = append(row.Copies, CultureCopy{
				n.bin(string(b.ID)), n.site(string(b.Site)), n.member(string(b.Keeper)), string(x.Lot), share(x.Parts), x.Book.Grams(),
			})
			bins[string(b.ID)], sites[string(b.Site)], members[string(b.Keeper)] = true, true, true
		}
		row.Bins, row.Sites, row.Members = len(bins), len(sites), len(members)
		out = append(out, row)
	}
	slices.SortFunc(out, func(a, b CultureCopies) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out
}

// SeasonChange is one figure of the whole club, now and a year before.
type SeasonChange struct {
	Figure string `json:"figure" example:"fed-wet" validate:"required"`
	Now    Figure `json:"now" validate:"required"`
	Before Figure `json:"before" validate:"required"`
	Change Figure `json:"change" validate:"required"`
	Ratio  Figure `json:"ratio" validate:"required"` // now to before
}

func seasonChanges(c season.Comparison, in unit.System) []SeasonChange {
	return rowsOf(c.Changes, func(x season.Change) SeasonChange {
		return SeasonChange{x.Name, figureOf(x.Now, in), figureOf(x.Before, in), figureOf(x.By, in), figureOf(x.Ratio, in)}
	})
}

// MovedRow is what moved by one kind of movement.
type MovedRow struct {
	Kind      string   `json:"kind" example:"split" validate:"required"`
	Commodity string   `json:"commodity" example:"eisenia-fetida" validate:"required"` // species, or castings (dry matter)
	MassG     float64  `json:"mass_g" example:"750" validate:"required"`
	Records   []string `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
}

func movedRows(rows []season.Moved) []MovedRow {
	return rowsOf(rows, func(m season.Moved) MovedRow { return MovedRow{m.Kind, m.Commodity, m.Mass.Grams(), m.Records} })
}

// Money is an amount in minor units of a currency.
type Money struct {
	Currency string `json:"currency" example:"EUR" validate:"required"` // ISO 4217
	Minor    int64  `json:"minor" example:"1250" format:"int64" validate:"required"`
}

func moneyOf(all []season.Money) []Money {
	return rowsOf(all, func(m season.Money) Money { return Money(m) })
}

// TransferRow is what changed hands on the same terms.
type TransferRow struct {
	Terms     string   `json:"terms" example:"sale" validate:"required"`
	Way       string   `json:"way" example:"out" enums:"within,in,out" validate:"required"` // from member to member, or over the club's border
	Commodity string   `json:"commodity" example:"eisenia-fetida" validate:"required"`
	MassG     float64  `json:"mass_g" example:"500" validate:"required"`
	Money     []Money  `json:"money" validate:"required"`
	Records   []string `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
}

func transferRows(rows []season.Transfer) []TransferRow {
	return rowsOf(rows, func(t season.Transfer) TransferRow {
		return TransferRow{t.Terms, string(t.Way), t.Commodity, t.Mass.Grams(), moneyOf(t.Money), t.Records}
	})
}

// ExchangeRow is what a member gave and got on the same terms.
type ExchangeRow struct {
	Member    *Named  `json:"member" extensions:"x-nullable" validate:"required"` // null: outside parties
	Terms     string  `json:"terms" example:"sale" validate:"required"`
	Commodity string  `json:"commodity" example:"eisenia-fetida" validate:"required"`
	GaveG     float64 `json:"gave_g" example:"500" validate:"required"`
	GotG      float64 `json:"got_g" example:"0" validate:"required"`
	Earned    []Money `json:"earned" validate:"required"`
	Paid      []Money `json:"paid" validate:"required"`
}

func exchangeRows(rows []season.Exchange, n rowNames) []ExchangeRow {
	return rowsOf(rows, func(e season.Exchange) ExchangeRow {
		return ExchangeRow{
			n.memberOrNull(e.Member), e.Terms, e.Commodity, e.Gave.Grams(), e.Got.Grams(), moneyOf(e.Earned), moneyOf(e.Paid),
		}
	})
}

// LossRow is what a member lost.
type LossRow struct {
	Member    *Named   `json:"member" extensions:"x-nullable" validate:"required"`
	Commodity string   `json:"commodity" example:"eisenia-fetida" validate:"required"`
	DeadG     float64  `json:"dead_g" example:"120" validate:"required"` // seen dead
	LostG     float64  `json:"lost_g" example:"0" validate:"required"`   // escaped, written off
	Records   []string `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"`
}

func lossRows(rows []season.Loss, n rowNames) []LossRow {
	return rowsOf(rows, func(l season.Loss) LossRow {
		return LossRow{n.memberOrNull(l.Member), l.Commodity, l.SeenDead.Grams(), l.Lost.Grams(), l.Records}
	})
}

// MissingRow is a record that a bin lacks for its figures.
type MissingRow struct {
	Bin     Named    `json:"bin" validate:"required"`
	Reason  string   `json:"reason" example:"no-full-harvest" enums:"no-full-harvest,no-leftover-record,no-recent-census,feed-without-moisture,feed-not-weighed,harvest-not-measured,harvest-without-mass,no-check,no-stock" validate:"required"`
	Days    int      `json:"days" example:"34" validate:"required"`                                                    // how long nobody looked, of no-check; else 0
	Records []string `json:"records" example:"01970000-0000-7000-8000-000000000020" format:"uuid" validate:"required"` // that fall short, if it is one
}

func missingRows(rows []season.Missing, n rowNames) []MissingRow {
	return rowsOf(rows, func(m season.Missing) MissingRow {
		return MissingRow{n.bin(m.Bin), m.Reason, m.Days, append([]string{}, m.Records...)}
	})
}
