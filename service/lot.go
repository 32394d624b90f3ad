package service

import (
	"lumbricary.example/service/lineage"
)

// Lot is the traceable unit of stock: one species in one bin between two
// arrivals. It is derived from the journal and never written by hand.
type Lot struct {
	lineage.Lot
	Member MemberID // who kept the bin when the lot opened; of a lot under way: who gives it
}
