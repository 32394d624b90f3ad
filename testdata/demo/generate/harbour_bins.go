package main

// harbourBins are the thirty bins, and how they are kept.
func harbourBins() []binPlan {
	bins := append(harbourTown(), harbourQuay()...)
	return append(bins, harbourFields()...)
}

func harbourTown() []binPlan {
	return []binPlan{
		{name: "Cellar One", kind: "tray-stack", site: "Rua do Cais cellar", keeper: ines, standIns: []string{yuki}, surface: 0.24, depth: 45,
			started: "2025-05-03", every: 8, diet: []string{vegetables, grounds, fruit}, bedding: cardboard, counts: true},
		{name: "Cellar Two", kind: "tote", site: "Rua do Cais cellar", keeper: ines, standIns: []string{yuki}, surface: 0.26, depth: 35,
			started: "2025-08-30 11:40", every: 9, diet: []string{vegetables, grounds}, bedding: cardboard},
		{name: "Cellar Three", kind: "tote", site: "Rua do Cais cellar", keeper: ines, standIns: []string{fatima}, surface: 0.26, depth: 35,
			started: "2025-11-15", every: 10, diet: []string{vegetables, fruit}, bedding: cardboard, counts: true},
		{name: "Balcony Bag East", kind: "bag", site: "Morinaga balcony", keeper: yuki, standIns: []string{ines}, surface: 0.3, depth: 50,
			started: "2025-05-24", every: 8, diet: []string{vegetables, fruit, grounds}, bedding: cardboard},
		{name: "Balcony Tote", kind: "tote", site: "Morinaga balcony", keeper: yuki, surface: 0.25, depth: 32,
			started: "2025-09-28 11:30", every: 9, diet: []string{vegetables, grounds}, bedding: cardboard, counts: true},
		{name: "Balcony Tray", kind: "tray-stack", site: "Morinaga balcony", keeper: yuki, surface: 0.2, depth: 40, started: "2026-05-16",
			every: 9, diet: []string{fruit, vegetables}, bedding: cardboard, counts: true, note: "three generations: read its lineage"},
		{name: "Terrace Stack", kind: "tray-stack", site: "Benhaddou terrace", keeper: fatima, standIns: []string{ines}, surface: 0.22, depth: 45,
			started: "2025-06-14", every: 8, diet: []string{fruit, vegetables}, bedding: cardboard, note: "likes mangoes, and has their stones to show for it"},
		{name: "Terrace Tote", kind: "tote", site: "Benhaddou terrace", keeper: fatima, surface: 0.24, depth: 32, started: "2026-08-29 11:30",
			every: 10, diet: []string{fruit, vegetables}, bedding: cardboard},
		{name: "Bakery Warm Box", kind: "other", site: "Old bakery back room", keeper: dila, standIns: []string{lars}, surface: 0.4, depth: 40,
			started: "2025-07-05", every: 7, diet: []string{grounds, bread, vegetables}, bedding: cardboard, counts: true, note: "a crate on legs against the oven wall"},
		{name: "Bakery Flour Tote", kind: "tote", site: "Old bakery back room", keeper: dila, surface: 0.3, depth: 35, started: "2026-01-10 11:20",
			every: 8, diet: []string{grounds, vegetables}, bedding: cardboard},
	}
}

func harbourQuay() []binPlan {
	return []binPlan{
		{name: "Boathouse Bed", kind: "flow-through", site: "Boathouse", keeper: kwame, standIns: []string{lars, ines}, surface: 0.9, depth: 60,
			started: "2025-05-10", every: 7, diet: []string{cafeMix, vegetables, grounds}, bedding: cardboard, buckets: true, counts: true},
		{name: "Boathouse Tote", kind: "tote", site: "Boathouse", keeper: kwame, surface: 0.28, depth: 35, started: "2025-10-05 11:45",
			every: 9, diet: []string{cafeMix, grounds}, bedding: cardboard},
		{name: "Quay Bait Tote", kind: "tote", site: "Boathouse", keeper: kwame, standIns: []string{lars}, surface: 0.34, depth: 35,
			started: "2025-10-18 11:30", every: 9, diet: []string{cafeMix, leaves}, bedding: cardboard, counts: true, note: "nightcrawlers for anglers"},
		{name: "Net Loft Tote A", kind: "tote", site: "Net loft", keeper: lars, standIns: []string{kwame}, surface: 0.28, depth: 35,
			started: "2025-06-21", every: 8, diet: []string{vegetables, grounds}, bedding: cardboard, counts: true},
		{name: "Net Loft Tote B", kind: "tote", site: "Net loft", keeper: lars, surface: 0.28, depth: 35, started: "2025-11-08",
			every: 9, diet: []string{vegetables, fruit}, bedding: cardboard},
		{name: "Café Wedge", kind: "wedge", site: "Café Gaivota yard", keeper: amara, standIns: []string{priya}, surface: 1, depth: 60,
			started: "2025-06-01", every: 6, diet: []string{grounds, cafeMix}, bedding: leaves, buckets: true, counts: true, note: "red worms, and nightcrawlers since spring 2026"},
		{name: "Café Yard Tote", kind: "tote", site: "Café Gaivota yard", keeper: amara, surface: 0.4, depth: 40, started: "2025-06-08",
			every: 8, diet: []string{cafeMix, grounds}, bedding: leaves, buckets: true, counts: true},
		{name: "Gaivota Trays", kind: "tray-stack", site: "Café Gaivota yard", keeper: amara, surface: 0.2, depth: 45, started: "2026-01-17",
			every: 9, diet: []string{cafeMix, grounds}, bedding: cardboard, buckets: true},
		{name: "Flood Street Tote", kind: "tote", site: "Flood Street cellar", keeper: siobhan, surface: 0.28, depth: 35, started: "2025-07-12",
			retired: "2026-01-30 17:00", why: "lost in the flood of 29 January", every: 9, diet: []string{vegetables, grounds}, bedding: cardboard},
		{name: "Flood Street Stack", kind: "tray-stack", site: "Flood Street cellar", keeper: siobhan, standIns: []string{tomas}, surface: 0.2, depth: 45,
			started: "2025-07-19", every: 8, diet: []string{vegetables, fruit}, bedding: cardboard, counts: true, note: "on the high shelf, which saved it"},
	}
}

func harbourFields() []binPlan {
	return []binPlan{
		{name: "School Wedge", kind: "wedge", site: "Harbour School", keeper: priya, standIns: []string{amara, ines}, surface: 1.6, depth: 70,
			started: "2025-09-15", every: 7, diet: []string{vegetables, fruit, grounds}, bedding: leaves, buckets: true, counts: true},
		{name: "Classroom 3B", kind: "tray-stack", site: "Harbour School", keeper: priya, surface: 0.16, depth: 40, started: "2025-10-10",
			retired: "2026-07-03 16:00", why: "end of the school year, worms back to the wedge", every: 9, diet: []string{fruit, vegetables}, bedding: cardboard},
		{name: "School Windrow", kind: "windrow", site: "Harbour School", keeper: priya, standIns: []string{amara}, surface: 2.2, depth: 50,
			started: "2026-03-07", every: 10, diet: []string{manure, vegetables}, bedding: leaves, buckets: true},
		{name: "Plot 14 Long Bed", kind: "windrow", site: "Allotment shed, plot 14", keeper: tomas, standIns: []string{siobhan}, surface: 3, depth: 55,
			started: "2025-05-18", every: 10, diet: []string{manure, vegetables}, bedding: leaves, buckets: true, counts: true},
		{name: "Plot 14 Shed Tote", kind: "tote", site: "Allotment shed, plot 14", keeper: tomas, surface: 0.28, depth: 35, started: "2025-10-11",
			every: 9, diet: []string{manure, vegetables}, bedding: leaves},
		{name: "Plot 14 Bait Box", kind: "other", site: "Allotment shed, plot 14", keeper: tomas, surface: 0.3, depth: 30, started: "2026-02-28 11:00",
			every: 10, diet: []string{manure, grounds}, bedding: leaves},
		{name: "Plot 22 Bed", kind: "flow-through", site: "Allotment plot 22", keeper: siobhan, standIns: []string{tomas}, surface: 0.8, depth: 55,
			started: "2026-03-14", every: 8, diet: []string{vegetables, manure}, bedding: leaves, counts: true},
		{name: "Orchard Bed", kind: "wedge", site: "Orchard lean-to", keeper: mateo, standIns: []string{dila}, surface: 1.2, depth: 60,
			started: "2025-07-20", every: 8, diet: []string{fruit, manure, leaves}, bedding: leaves, buckets: true, counts: true},
		{name: "Orchard Tote", kind: "tote", site: "Orchard lean-to", keeper: mateo, surface: 0.28, depth: 35, started: "2026-02-21",
			every: 9, diet: []string{fruit, grounds}, bedding: leaves},
		{name: "Pantry Tote", kind: "tote", site: "Orchard lean-to", keeper: mateo, surface: 0.25, depth: 30, started: "2025-11-29 10:30",
			every: 13, diet: []string{vegetables, fruit}, bedding: cardboard, silent: true, note: "second-hand; nobody looks under the cover"},
	}
}
