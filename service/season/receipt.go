package season

import "lumbricary.example/service/unit"

// Received is what came in, in the whole club and by row.
type Received struct {
	Total      Intake
	ByMaterial []Intake
	ByMember   []Intake
}

// Intake is what came in of a material, through a member, or in all.
type Intake struct {
	Key      string    // id of the material or member; empty in the total
	Net      unit.Mass // feedstock before rejection, without bedding
	Rejected unit.Mass // of Net
	Residue  unit.Mass // of Net: taken in, and thrown out later
	Weighed  unit.Mass // how much of Net was weighed
	Sure     unit.Mass // how much of Diverted was weighed
	Bedding  unit.Mass // bedding that was kept
}

// Diverted returns what was kept from the waste stream, without bedding: net
// less rejected and residue.
func (i Intake) Diverted() unit.Mass { return i.Net - i.Rejected - i.Residue }

// WeighedShare returns the share of Net that was weighed, in percent; none
// ("nothing-received") when nothing came in.
func (i Intake) WeighedShare() unit.Figure { return share(i.Weighed, i.Net, "nothing-received") }

// DivertedShare returns the share of Diverted that was weighed, in percent; none
// ("nothing-received") when nothing was diverted.
func (i Intake) DivertedShare() unit.Figure { return share(i.Sure, i.Diverted(), "nothing-received") }

func received(rs []Receipt) Received {
	return Received{
		Total:      intake("", rs),
		ByMaterial: intakes(rs, func(r Receipt) string { return r.Material }),
		ByMember:   intakes(rs, func(r Receipt) string { return r.Member }),
	}
}

func intakes(rs []Receipt, of func(Receipt) string) []Intake {
	var out []Intake
	for _, g := range gather(rs, func(r Receipt) key { return key{of(r)} }) {
		out = append(out, intake(g.key[0], g.of))
	}
	return out
}

func intake(key string, rs []Receipt) Intake {
	i := Intake{Key: key}
	for _, r := range rs {
		if r.Bedding {
			i.Bedding += r.Net - r.Rejected - r.Residue
			continue
		}
		i.Net += r.Net
		i.Rejected += r.Rejected
		i.Residue += r.Residue
		if r.Weighed {
			i.Weighed += r.Net
			i.Sure += r.Net - r.Rejected - r.Residue
		}
	}
	return i
}
