package lineage

import (
	"math/big"

	"lumbricary.example/service/unit"
)

// PartOf returns so many parts of One of a mass, rounded down.
func PartOf(m unit.Mass, parts int64) unit.Mass {
	product := new(big.Int).Mul(big.NewInt(int64(m)), big.NewInt(parts))
	return unit.Mass(product.Quo(product, big.NewInt(One)).Int64())
}

// Contributions returns how much of a lot descends from each of the lots on the
// way to it, by their ids, of One: the part of a lot goes to its parents in
// proportion to their masses. The lots stand in the order in which they opened,
// the lot itself last, and with each of them all that lie between it and the
// lot. Parts are rounded down.
func Contributions(lots []Lot) map[string]int64 {
	parts := map[string]int64{}
	if len(lots) == 0 {
		return parts
	}
	parts[lots[len(lots)-1].ID] = One
	for i := len(lots) - 1; i >= 0; i-- {
		var whole unit.Mass
		for _, p := range lots[i].Parents {
			whole += p.Mass
		}
		for _, p := range lots[i].Parents {
			if p.Lot == "" || whole <= 0 {
				continue
			}
			share := new(big.Int).Mul(big.NewInt(parts[lots[i].ID]), big.NewInt(int64(p.Mass)))
			parts[p.Lot] += share.Quo(share, big.NewInt(int64(whole))).Int64()
		}
	}
	return parts
}
