package main

// harbourScenes is the club's story, in the order of events within each part.
func harbourScenes() []scene {
	out := append(harbourBeginnings(), harbourSplits()...)
	out = append(out, harbourTroubles()...)
	out = append(out, harbourThirdGeneration()...)
	out = append(out, harbourYard()...)
	return append(out, harbourMarkets()...)
}

// harbourYard is what comes in by the barrow, what stands apart for a while, and
// what is brought back.
func harbourYard() []scene {
	cafés := func(gross, rejected, why string) func(*club, moment) {
		return receive(cells{
			"material": grounds, "by": kwame, "from": "the three cafés on the quay", "gross": gross, "gross_unit": "kg", "tare": "6", "tare_unit": "kg",
			"rejected": rejected, "rejected_unit": told(rejected != "", "kg"), "rejected_why": why, "basis": "weighed",
		})
	}
	return []scene{
		{"2025-05-18 15:10", isolate("Plot 14 Long Bed", "2025-06-15", "wild worms out of the old heap", "2025-06-15", "no flatworms, no jumping worms; two earwigs")},
		{"2026-08-31 08:20", cafés("78", "", "")},
		{"2026-09-26 08:30", cafés("80", "1.8", "filters and a spoon")},
		{"2026-10-24 08:30", cafés("74", "", "")},
		{"2026-10-31 10:00", receive(cells{
			"material": manure, "by": tomas, "from": "Várzea riding stable", "net": "210", "net_unit": "kg", "animal_origin": "true",
			"heat_what": "hot heap, turned twice", "temperature": "58", "temperature_unit": "Cel", "hours": "72", "basis": "estimated", "note": "fourteen barrows of 15 kg",
		})},
		{"2026-11-07 11:00", receive(cells{"material": leaves, "by": priya, "from": "the school yard", "net": "26", "net_unit": "kg", "basis": "weighed"})},
		{"2026-11-14 12:00", receive(cells{
			"material": bread, "by": dila, "from": "Padaria do Forno", "net": "8", "net_unit": "kg", "rejected": "3", "rejected_unit": "kg", "rejected_why": "mouldy, and a bag among it", "basis": "weighed",
		})},
		{"2026-11-14 16:00", bringBack(deed{from: "Plot 14 Bait Box", to: "Orchard Bed", species: euros, n: 120, unit: "g"})},
		{"2026-11-14 16:20", isolate("Orchard Bed", "2026-12-05", "worms back from the allotments", "", "")},
		{"2026-11-21 15:30", bringBack(deed{from: "Plot 14 Bait Box", to: "Orchard Bed", species: euros, n: 90, unit: "g"})},
	}
}

// amount is a quantity as typed.
type amount struct {
	n    float64
	unit string
}

// stocking is a scene of worms that enter the books.
func stocking(at, bin, origin, species string, q amount) scene {
	return scene{at, move(deed{kind: "stocking", to: bin, origin: origin, species: species, n: q.n, unit: q.unit})}
}

func harbourBeginnings() []scene {
	const spring, millReds = "Tidewrack Worms, spring 2025", "Mill Lane Wormery, reds 2025"
	return []scene{
		stocking("2025-05-03 14:10", "Cellar One", spring, reds, amount{350, "g"}),
		stocking("2025-05-10 13:30", "Boathouse Bed", millReds, reds, amount{1.4, "kg"}),
		{"2025-05-18 15:00", move(deed{kind: "stocking", to: "Plot 14 Long Bed", origin: "Old stable heap, Várzea", species: reds, n: 24, unit: "L",
			density: 60, note: "worm-rich manure, a litre of it picked out and weighed: 60 g"})},
		stocking("2025-05-24 16:20", "Balcony Bag East", spring, reds, amount{400, "g"}),
		stocking("2025-06-01 13:00", "Café Wedge", millReds, reds, amount{1.5, "kg"}),
		stocking("2025-06-08 13:40", "Café Yard Tote", "Tidewrack Worms, nightcrawlers 2025", euros, amount{600, "g"}),
		stocking("2025-06-14 17:05", "Terrace Stack", spring, reds, amount{300, "g"}),
		stocking("2025-06-20", "Plot 14 Long Bed", "Old stable heap, Várzea", reds, amount{600, "g"}),
		stocking("2025-06-21 15:30", "Net Loft Tote A", "Salt Marsh Worm Club, certificate 41", reds, amount{400, "g"}),
		{"2025-07-05 18:00", move(deed{kind: "stocking", to: "Bakery Warm Box", origin: "Mill Lane Wormery, Africans 2025", species: africans,
			n: 450, unit: "{worms}", sample: 1050, note: "counted on arrival, twenty of them weighed"})},
		stocking("2025-07-12 15:15", "Flood Street Tote", spring, reds, amount{350, "g"}),
		stocking("2025-07-19 15:45", "Flood Street Stack", millReds, reds, amount{300, "g"}),
		{"2025-07-20 17:30", move(deed{kind: "stocking", to: "Orchard Bed", origin: "Gift of Anselm Okoro-Reyes, Pedra Alta", species: euros, n: 1.3,
			unit: "kg", note: "three crates on a hand cart"})},
		{"2025-09-20 13:15", mistype(deed{kind: "stocking", to: "School Wedge", origin: "Tidewrack Worms, autumn 2025", species: reds, n: 3, unit: "kg"},
			30, "30 kg typed for 3.0 kg, noticed an hour later from the delivery note")},
		{"2025-11-29 15:00", move(deed{kind: "stocking", to: "Pantry Tote", origin: "Found in the pantry bin", species: reds, n: 300, unit: "{worms}",
			note: "perhaps; they were there"})},
	}
}

func harbourSplits() []scene {
	return []scene{
		{"2025-08-30 15:20", move(deed{kind: "split", from: "Cellar One", to: "Cellar Two", n: 50, unit: "%", material: 2500, note: "half by eye, with the half-worked tray"})},
		{"2025-09-28 14:00", move(deed{kind: "hand-over", from: "Plot 14 Long Bed", to: "Balcony Tote", species: reds, n: 260, unit: "g", terms: "gift", material: 3000, note: "a starter for the fourth floor"})},
		{"2025-10-03 10:30", harvestInto("Cellar One", true, "Cellar Two", reds, 60)},
		{"2025-10-05 16:10", move(deed{kind: "split", from: "Boathouse Bed", to: "Boathouse Tote", n: 20, unit: "%", material: 3000})},
		{"2025-10-07 08:20", look("Boathouse Tote", cells{"escape": "true", "worms_at": "lid", "cover": "none, forgotten", "note": "on the floor as far as the door"})},
		{"2025-10-07 08:45", move(deed{kind: "loss", from: "Boathouse Tote", species: reds, n: 40, unit: "g", cause: "escaped", note: "swept up dry"})},
		{"2025-10-10 14:30", move(deed{kind: "split", from: "School Wedge", to: "Classroom 3B", species: reds, n: 5, unit: "L", density: 45, material: 1500, note: "carried up by 3B themselves"})},
		{"2025-10-11 15:00", move(deed{kind: "split", from: "Plot 14 Long Bed", to: "Plot 14 Shed Tote", n: 15, unit: "%", material: 4000})},
		{"2025-10-18 15:10", move(deed{kind: "hand-over", from: "Café Yard Tote", to: "Quay Bait Tote", species: euros, n: 220, unit: "g", class: "bait-size", terms: "sale", price: 1800})},
		{"2025-11-08 14:40", move(deed{kind: "split", from: "Net Loft Tote A", to: "Net Loft Tote B", n: 40, unit: "%", material: 2000, note: "two fifths by eye"})},
		{"2025-11-15 15:30", move(deed{kind: "hand-over", from: "Boathouse Bed", to: "Cellar Three", species: reds, n: 300, unit: "g", terms: "gift", material: 2500, note: "mill line for the cellar"})},
		{"2026-01-10 17:00", move(deed{kind: "split", from: "Bakery Warm Box", to: "Bakery Flour Tote", n: 40, unit: "%", material: 3000})},
		{"2026-01-17 14:00", move(deed{kind: "split", from: "Café Wedge", to: "Gaivota Trays", n: 15, unit: "%", material: 2000})},
		{"2026-02-21 15:00", move(deed{kind: "hand-over", from: "Flood Street Stack", to: "Orchard Tote", species: reds, n: 110, unit: "g", terms: "gift", material: 3000, note: "a second home for them after the flood"})},
		{"2026-02-28 14:30", change(trade{terms: "loan", due: "2026-12-01", note: "to be back before the winter", legs: []deed{{from: "Orchard Bed", to: "Plot 14 Bait Box", species: euros, n: 260, unit: "g"}}})},
		{"2026-03-07 14:00", harvestInto("School Wedge", false, "School Windrow", reds, 700)},
		{"2026-03-21 16:00", move(deed{kind: "split", from: "Café Yard Tote", to: "Café Wedge", n: 25, unit: "%", note: "to see whether the two get on"})},
		{"2026-03-28 11:15", harvestInto("Boathouse Bed", false, "Boathouse Tote", reds, 180)},
		{"2026-07-02 14:15", move(deed{kind: "combine", from: "Classroom 3B", to: "School Wedge", n: 100, unit: "%", material: 4000, note: "end of the school year"})},
	}
}

func harbourTroubles() []scene {
	const sour, bag = "Net Loft Tote B", "Balcony Bag East"
	return []scene{
		{"2025-08-20 19:10", feedIt("Terrace Stack", "mango season", ration{stones, 1.4})},
		{"2026-08-05 19:30", feedIt("Terrace Stack", "mango season again", ration{stones, 1.2}, ration{fruit, 0.8})},

		{"2026-01-14 18:00", feedIt(sour, "all the fruit of the party, too much of it", ration{fruit, 7.5}, ration{bread, 1.5})},
		{"2026-01-16 18:00", turnSour(sour, 30)},
		{"2026-01-20 18:20", look(sour, cells{"ammonia": "true", "ph": "5.2", "leftover_pct": "80", "worms_at": "lid", "temperature": "27", "squeeze": "stream", "moisture_pct": "", "note": "sour; worms at the lid; lid off, cardboard in"})},
		{"2026-01-20 18:40", feedIt(sour, "dry cardboard against the wet", ration{cardboard, 1.2})},
		{"2026-01-27 18:30", look(sour, cells{"ammonia": "true", "ph": "5.4", "leftover_pct": "70", "worms_at": "walls", "pests": "fruit flies;white mites"})},
		{"2026-01-27 18:50", move(deed{kind: "loss", from: sour, species: reds, n: 45, unit: "g", cause: "dead", note: "picked out dead"})},
		{"2026-02-08 17:45", look(sour, cells{"ammonia": "false", "ph": "6.1", "leftover_pct": "60", "worms_at": "throughout", "note": "coming back"})},

		{"2026-01-29 07:30", look("Flood Street Tote", cells{"leftover_pct": "", "leftovers": "", "temperature": "", "temperature_unit": "", "worms_at": "", "squeeze": "stream", "moisture_pct": "", "note": "under a metre of harbour water"})},
		{"2026-01-29 08:00", move(deed{kind: "loss", from: "Flood Street Tote", n: 100, unit: "%", cause: "lost-bin", note: "flooded cellar"})},

		{"2026-07-13 16:30", look(bag, cells{"temperature": "31.5", "worms_at": "bottom", "cover": "wet sheet"})},
		{"2026-07-15 16:40", look(bag, cells{"temperature": "34", "worms_at": "walls", "escape": "true", "squeeze": "dry", "moisture_pct": "", "note": "34 °C at three in the afternoon; carried into the stairwell"})},
		{"2026-07-16 08:10", move(deed{kind: "loss", from: bag, species: reds, n: 120, unit: "g", cause: "dead", note: "dead of the heat, weighed"})},
		{"2026-07-15 17:00", look("Balcony Tray", cells{"temperature": "33", "worms_at": "bottom", "squeeze": "dry", "moisture_pct": ""})},
		{"2026-07-15 19:00", look("Terrace Stack", cells{"temperature": "32.5", "worms_at": "bottom", "note": "frozen bottles on top, changed twice a day"})},
		{"2026-07-28 18:00", counted(bag)},

		{"2026-09-12 11:00", move(deed{kind: "loss", from: "Orchard Tote", species: reds, n: 40, unit: "g", cause: "write-off", note: "a mole was in it; none seen dead, fewer there"})},
	}
}

// harbourThirdGeneration are the mixtures that go on being mixed.
func harbourThirdGeneration() []scene {
	const cellar, tote = "Cellar Three", "Balcony Tote"
	return []scene{
		{"2026-02-07 15:00", change(trade{terms: "swap", note: "stable line for mill line", proposed: "2026-02-01 19:30", legs: []deed{
			{from: "Plot 14 Shed Tote", to: "Net Loft Tote A", species: reds, n: 110, unit: "g"},
			{from: "Net Loft Tote A", to: "Plot 14 Shed Tote", species: reds, n: 110, unit: "g"},
		}})},
		{"2026-02-14 11:30", move(deed{kind: "combine", from: "Cellar Two", to: cellar, n: 40, unit: "%", material: 1500, note: "harbour line into mill line"})},
		{"2026-03-01 16:00", move(deed{kind: "combine", from: "Net Loft Tote A", to: "Net Loft Tote B", n: 30, unit: "%", material: 1000, note: "new worms after the sour month"})},
		{"2026-03-14 14:30", move(deed{kind: "hand-over", from: "Net Loft Tote B", to: "Plot 22 Bed", species: reds, n: 90, unit: "g", terms: "gift", material: 4000, note: "for the member whom the flood took a bin from"})},
		{"2026-04-11 15:30", move(deed{kind: "combine", from: "Flood Street Stack", to: "Plot 22 Bed", n: 45, unit: "%", material: 2000})},
		{"2026-04-18 17:00", move(deed{kind: "hand-over", from: cellar, to: tote, species: reds, n: 150, unit: "g", terms: "gift", material: 1500})},
		{"2026-05-16 13:30", move(deed{kind: "combine", from: tote, to: "Balcony Tray", n: 35, unit: "%", material: 2000, more: []source{{"Balcony Bag East", 30, "%"}}, note: "out of both, into one"})},
		{"2026-08-29 16:30", move(deed{kind: "hand-over", from: "Balcony Tray", to: "Terrace Tote", n: 30, unit: "%", terms: "gift", material: 2500})},
		{"2026-09-26 18:00", move(deed{kind: "combine", from: "Terrace Stack", to: "Terrace Tote", n: 35, unit: "%", material: 1500})},
	}
}

func harbourMarkets() []scene {
	const school = "Harbour School kitchen garden"
	return []scene{
		{"2025-11-22 10:00", stall(3, 0.3, 320, "Autumn market, walk-up buyers", "autumn market")},
		{"2025-11-28 11:00", stall(1, 0.35, 0, school, "for the raised beds")},
		{"2026-04-25 10:40", move(deed{kind: "hand-over", from: "Boathouse Bed", species: reds, n: 500, unit: "{worms}", class: "bed-run", terms: "sale", party: "Beatriz Vale-Hollis", price: 2250, note: "sold 500 at the spring fair"})},
		{"2026-04-25 11:20", change(trade{terms: "sale", party: "Ruben Castelhano, angler", price: 1400, note: "spring fair", legs: []deed{{from: "Café Yard Tote", species: euros, n: 150, unit: "g"}}})},
		{"2026-05-22 10:30", stall(2, 0.25, 0, school, "for the bean tunnel")},
		{"2026-10-03 15:00", change(trade{terms: "gift", party: "Salt Marsh Worm Club", note: "stable line, so that it lives in a second club", proposed: "2026-09-26 20:15",
			legs: []deed{{from: "Plot 14 Long Bed", species: reds, n: 200, unit: "g"}}})},
		{"2026-10-17 09:40", stall(4, 0.35, 350, "Autumn market, walk-up buyers", "autumn market")},
		{"2026-10-30 11:00", stall(1, 0.3, 0, school, "for the raised beds")},
		{"2026-11-14 09:50", stall(3, 0.3, 350, "Autumn market, walk-up buyers", "last market of the year")},
	}
}
