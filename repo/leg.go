package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// The parts of a transfer as its JSON columns hold them. Their names stay,
// whatever becomes of those of the domain. Times are microseconds, as in rows.

// dealLegJSON is a leg of a deal.
type dealLegJSON struct {
	ID       string     `json:"id"`
	Giver    string     `json:"giver,omitempty"`
	Receiver string     `json:"receiver,omitempty"`
	Return   bool       `json:"return,omitempty"`
	State    string     `json:"state"`
	Since    int64      `json:"since,omitempty"`
	Goods    []goodJSON `json:"goods"`
}

// goodJSON is one thing that a leg moves.
type goodJSON struct {
	FromKind     string `json:"from_kind,omitempty"`
	FromRef      string `json:"from_ref,omitempty"`
	Commodity    string `json:"commodity,omitempty"`
	AgreedMg     int64  `json:"agreed_mg"`
	SentMg       int64  `json:"sent_mg,omitempty"`
	ReceivedMg   int64  `json:"received_mg,omitempty"`
	DeadMg       int64  `json:"dead_mg,omitempty"`
	WeightLostMg int64  `json:"weight_lost_mg,omitempty"`
	MissingMg    int64  `json:"missing_mg,omitempty"`
	ReturnedMg   int64  `json:"returned_mg,omitempty"`
}

func dealLegToJSON(l exchange.Leg) dealLegJSON {
	return dealLegJSON{
		ID: l.ID, Giver: l.Giver, Receiver: l.Receiver, Return: l.Return, State: string(l.State),
		Since: micros(l.Since), Goods: each(l.Goods, goodToJSON),
	}
}

func dealLegFromJSON(l dealLegJSON) exchange.Leg {
	return exchange.Leg{
		ID: l.ID, Giver: l.Giver, Receiver: l.Receiver, Return: l.Return, State: exchange.LegState(l.State),
		Since: fromMicros(l.Since), Goods: each(l.Goods, goodFromJSON),
	}
}

func goodToJSON(g exchange.Good) goodJSON {
	return goodJSON{
		FromKind: string(g.From.Kind), FromRef: g.From.Ref, Commodity: string(g.Commodity),
		AgreedMg: int64(g.Agreed), SentMg: int64(g.Sent), ReceivedMg: int64(g.Came.Received), DeadMg: int64(g.Came.Dead),
		WeightLostMg: int64(g.Came.WeightLost), MissingMg: int64(g.Came.Missing), ReturnedMg: int64(g.Came.Returned),
	}
}

func goodFromJSON(g goodJSON) exchange.Good {
	return exchange.Good{
		From:      journal.Account{Kind: journal.AccountKind(g.FromKind), Ref: g.FromRef},
		Commodity: journal.Commodity(g.Commodity),
		Agreed:    unit.Mass(g.AgreedMg),
		Sent:      unit.Mass(g.SentMg),
		Came: exchange.Came{
			Received: unit.Mass(g.ReceivedMg), Dead: unit.Mass(g.DeadMg), WeightLost: unit.Mass(g.WeightLostMg),
			Missing: unit.Mass(g.MissingMg), Returned: unit.Mass(g.ReturnedMg),
		},
	}
}

// amountJSON is a mass of a commodity.
type amountJSON struct {
	Commodity string `json:"commodity"`
	MassMg    int64  `json:"mass_mg"`
}

func amountToJSON(a exchange.Amount) amountJSON {
	return amountJSON{string(a.Commodity), int64(a.Mass)}
}

func amountFromJSON(a amountJSON) exchange.Amount {
	return exchange.Amount{Commodity: journal.Commodity(a.Commodity), Mass: unit.Mass(a.MassMg)}
}

// legJSON is what was typed for a leg, and the entries that post it.
type legJSON struct {
	ID       string     `json:"id"`
	Agreed   []lineJSON `json:"agreed"`
	ToBin    string     `json:"to_bin,omitempty"`
	ToBatch  string     `json:"to_batch,omitempty"`
	Dispatch string     `json:"dispatch,omitempty"`
	Arrival  string     `json:"arrival,omitempty"`
	SentAt   momentJSON `json:"sent_at,omitzero"`
	CameAt   momentJSON `json:"came_at,omitzero"`
}

// momentJSON is when something happened.
type momentJSON struct {
	At        int64  `json:"at"`
	Precision string `json:"precision"`
}

func momentToJSON(m service.Moment) momentJSON { return momentJSON(momentToRow(m)) }

func momentFromJSON(m momentJSON) service.Moment { return momentFromRow(momentRow(m)) }

func legToJSON(l service.Leg) legJSON {
	return legJSON{
		ID: string(l.ID), Agreed: each(l.Agreed, lineToJSON), ToBin: string(l.ToBin), ToBatch: string(l.ToBatch),
		Dispatch: string(l.Dispatch), Arrival: string(l.Arrival), SentAt: momentToJSON(l.SentAt), CameAt: momentToJSON(l.CameAt),
	}
}

func legFromJSON(l legJSON) service.Leg {
	return service.Leg{
		ID: service.LegID(l.ID), Agreed: each(l.Agreed, lineFromJSON), ToBin: service.BinID(l.ToBin), ToBatch: service.BatchID(l.ToBatch),
		Dispatch: service.MovementID(l.Dispatch), Arrival: service.MovementID(l.Arrival),
		SentAt: momentFromJSON(l.SentAt), CameAt: momentFromJSON(l.CameAt),
	}
}

// claimJSON is a claim.
type claimJSON struct {
	Leg        string `json:"leg"`
	Species    string `json:"species,omitempty"`
	MassMg     int64  `json:"mass_mg"`
	Note       string `json:"note,omitempty"`
	At         int64  `json:"at"`
	By         string `json:"by"`
	ReplacedBy string `json:"replaced_by,omitempty"`
}

func claimToJSON(c service.Claim) claimJSON {
	return claimJSON{
		Leg: string(c.Leg), Species: string(c.Species), MassMg: int64(c.Mass), Note: c.Note,
		At: micros(c.At), By: string(c.By), ReplacedBy: string(c.ReplacedBy),
	}
}

func claimFromJSON(c claimJSON) service.Claim {
	return service.Claim{
		Leg: service.LegID(c.Leg), Species: service.SpeciesID(c.Species), Mass: unit.Mass(c.MassMg), Note: c.Note,
		At: fromMicros(c.At), By: service.MemberID(c.By), ReplacedBy: service.TransferID(c.ReplacedBy),
	}
}

// stepJSON is a step.
type stepJSON struct {
	Verb string `json:"verb"`
	Leg  string `json:"leg,omitempty"`
	At   int64  `json:"at"`
	By   string `json:"by"`
	For  string `json:"for,omitempty"`
	Note string `json:"note,omitempty"`
}

func stepToJSON(s service.Step) stepJSON {
	return stepJSON{Verb: string(s.Verb), Leg: string(s.Leg), At: micros(s.At), By: string(s.By), For: string(s.For), Note: s.Note}
}

func stepFromJSON(s stepJSON) service.Step {
	return service.Step{
		Verb: exchange.Verb(s.Verb), Leg: service.LegID(s.Leg), At: fromMicros(s.At),
		By: service.MemberID(s.By), For: service.MemberID(s.For), Note: s.Note,
	}
}
