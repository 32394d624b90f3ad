package journal

import "lumbricary.example/service/unit"

// Move returns the postings that take m from one account to another.
func Move(from, to Account, c Commodity, m unit.Mass) []Posting {
	return []Posting{
		{Account: from, Commodity: c, Amount: -m},
		{Account: to, Commodity: c, Amount: m},
	}
}

// Receive returns the postings of m that comes in from outside; the origin is
// empty where nobody knows it.
func Receive(origin string, to Account, c Commodity, m unit.Mass) []Posting {
	ps := Move(Account{Kind: Outside}, to, c, m)
	ps[0].Origin = origin
	return ps
}

// Assert returns the postings that bring the book of worms in a bin to the
// level a census found: the difference comes out of growth, or goes into it.
// There are none when the book is right.
func Assert(bin Account, c Commodity, level, book unit.Mass) []Posting {
	if level == book {
		return nil
	}
	return Move(Account{Kind: Growth}, bin, c, level-book)
}

// Arrival is what became of stock or castings at the end of a way.
type Arrival struct {
	To         Account   // where it was put
	From       Account   // where it came from, for what went back
	Received   unit.Mass // into To
	Returned   unit.Mass // into From
	Dead       unit.Mass // seen dead
	WeightLost unit.Mass // water and gut; negative when weight was gained
	Missing    unit.Mass // did not arrive
}

// Arrive returns the postings that settle a into its accounts and take their
// sum out of transit, each its own posting.
func Arrive(transfer string, c Commodity, a Arrival) []Posting {
	sent := a.Received + a.Returned + a.Dead + a.WeightLost + a.Missing
	var out []Posting
	for _, p := range []Posting{
		{Account: InTransit(transfer), Amount: -sent},
		{Account: a.To, Amount: a.Received},
		{Account: a.From, Amount: a.Returned},
		{Account: Account{Kind: Mortality}, Amount: a.Dead},
		{Account: Account{Kind: WeightChange}, Amount: a.WeightLost},
		{Account: Account{Kind: Adjustment}, Amount: a.Missing},
	} {
		if p.Amount != 0 {
			p.Commodity = c
			out = append(out, p)
		}
	}
	return out
}
