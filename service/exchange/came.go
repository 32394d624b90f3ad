package exchange

import (
	"fmt"

	"lumbricary.example/service/unit"
)

// Seen is what a receiver tells of one good. What is nil wasn't told.
type Seen struct {
	Received   *unit.Mass
	Dead       unit.Mass
	WeightLost *unit.Mass // negative when weight was gained
	Missing    *unit.Mass
	Returned   unit.Mass
}

// Unbalanced reports an account of a good that doesn't add up to what was sent.
//
//nolint:errname // the word for it in the trade
type Unbalanced struct {
	Sent, Told unit.Mass
}

// Error says both sums.
func (e *Unbalanced) Error() string {
	return fmt.Sprintf("%.3f g were sent, and what is told adds up to %.3f g", e.Sent.Grams(), e.Told.Grams())
}

// Reckon accounts for all that was sent of a good: what wasn't told follows. It is
// received where that isn't told; else it is missing, and a surplus of live worms
// is weight gained:
//
//	sent = received + dead + returned + weight lost + missing
//
// alive is false for castings and material, which neither die nor gain weight.
// Errors: Unbalanced.
func Reckon(sent unit.Mass, s Seen, alive bool) (Came, error) {
	c := Came{Dead: s.Dead, Returned: s.Returned}
	for to, told := range map[*unit.Mass]*unit.Mass{&c.Received: s.Received, &c.WeightLost: s.WeightLost, &c.Missing: s.Missing} {
		if told != nil {
			*to = *told
		}
	}
	switch rest := sent - c.Sum(); {
	case s.Received == nil:
		c.Received = rest
	case rest > 0 && s.Missing == nil:
		c.Missing = rest
	case rest < 0 && s.WeightLost == nil && alive:
		c.WeightLost = rest
	}
	negative := min(c.Received, c.Dead, c.Missing, c.Returned) < 0
	if negative || c.Sum() != sent || !alive && (c.Dead != 0 || c.WeightLost != 0) {
		return Came{}, &Unbalanced{sent, c.Sum() - min(c.Received, 0)}
	}
	return c, nil
}
