package main

// lagoon is the second club: an invented village on a warm island south of the
// equator that weighs in pounds and pours in gallons.
func lagoon() plan {
	const (
		sina, malia, tavita, ken = "Sina Faleolo", "Malia Tuiasau", "Tavita Leaupepe", "Kenneth Osei-Ward"
		shed                     = "store in the schoolhouse shed"
		peels, coco, card        = "Market peels", "Coconut coir", "Torn cartons"
		breadfruit               = "Breadfruit and banana peel"
	)
	return plan{
		dir: "lagoon", name: "Lagoon Road Worm Circle", zone: "Pacific/Pago_Pago", hemisphere: "south", units: "us",
		currency: "USD", retention: 5, seed: 20261126, from: "2026-02-07", to: "2026-11-21", lots: "LR", looks: [2]int{17, 28},
		monthly: [12]float64{28, 28, 28, 27.8, 27.2, 26.6, 26, 26, 26.4, 26.8, 27.3, 27.8},
		people:  []person{{sina, "steward", shed}, {malia, "keeper", shed}, {tavita, "keeper", shed}, {ken, "reader", ""}},
		places: []place{
			{"Schoolhouse shed", "Lagoon Road, behind the schoolhouse", sina, "", 26, 0.7},
			{"Tuiasau porch", "Upper Lagoon Road 4", malia, "in the shade all day", 25.5, 0.8},
		},
		stuffs: []stuff{
			{name: peels, kind: "feed", feedstock: "vegetable-produce", moisture: 87, density: 940.3},
			{name: breadfruit, kind: "feed", feedstock: "fruit-wastes", moisture: 80, density: 600, own: true},
			{name: coco, kind: "bedding", moisture: 70, density: 250, ratio: "80", nitrogen: "0.5", own: true, note: "soaked overnight"},
			{name: card, kind: "bedding", feedstock: "corrugated-cardboard", moisture: 60, density: 160, own: true, note: "as put in: soaked"},
			{name: "Shell sand", kind: "amendment", moisture: 5, density: 1400, own: true},
		},
		lines: []line{
			{"Blue worms, lagoon line", blues, ""},
			{"African nightcrawlers, schoolhouse line", africans, "for the fishing"},
		},
		roots: []root{
			{"Old banana grove, Upper Road", "wild", blues, "Blue worms, lagoon line", "collected after rain"},
			{"Reef Bait and Soil, 2026", "supplier", africans, "African nightcrawlers, schoolhouse line", ""},
		},
		bins: []binPlan{
			{name: "Schoolhouse Bed", kind: "wedge", site: "Schoolhouse shed", keeper: sina, standIns: []string{malia}, surface: 0.8, depth: 50,
				started: "2026-02-07", every: 18, diet: []string{peels, breadfruit}, bedding: coco, buckets: true, counts: true},
			{name: "Schoolhouse Crate", kind: "tote", site: "Schoolhouse shed", keeper: sina, surface: 0.3, depth: 35, started: "2026-02-14", every: 19,
				diet: []string{breadfruit, peels}, bedding: card},
			{name: "Porch Barrel", kind: "other", site: "Tuiasau porch", keeper: malia, standIns: []string{sina}, surface: 0.26, depth: 60,
				started: "2026-02-21", every: 18, diet: []string{peels, breadfruit}, bedding: coco, counts: true},
			{name: "Porch Tray", kind: "tray-stack", site: "Tuiasau porch", keeper: malia, surface: 0.2, depth: 40, started: "2026-06-06", every: 19,
				diet: []string{peels}, bedding: card},
			{name: "Tavita's Tub", kind: "tote", site: "Tuiasau porch", keeper: tavita, standIns: []string{malia}, surface: 0.28, depth: 35,
				started: "2026-04-18", every: 19, diet: []string{breadfruit, peels}, bedding: coco},
		},
		scenes: []scene{
			stocking("2026-02-07 15:00", "Schoolhouse Bed", "Old banana grove, Upper Road", blues, amount{2.2, "[lb_av]"}),
			stocking("2026-02-14 15:30", "Schoolhouse Crate", "Reef Bait and Soil, 2026", africans, amount{1.5, "[lb_av]"}),
			stocking("2026-02-21 16:00", "Porch Barrel", "Old banana grove, Upper Road", blues, amount{12, "[oz_av]"}),
			{"2026-04-18 16:30", move(deed{kind: "hand-over", from: "Schoolhouse Crate", to: "Tavita's Tub", species: africans, n: 7, unit: "[oz_av]", terms: "gift", material: 1800})},
			{"2026-06-06 16:00", move(deed{kind: "split", from: "Porch Barrel", to: "Porch Tray", n: 40, unit: "%", material: 1500, note: "two fifths by eye"})},
			{"2026-08-15 15:00", move(deed{kind: "hand-over", from: "Schoolhouse Bed", to: "Porch Barrel", species: blues, n: 10, unit: "[qt_us]", density: 25, terms: "swap", note: "swap: a bucket of the bed for peels through the winter"})},
			{"2026-09-19 10:00", move(deed{kind: "hand-over", from: "Schoolhouse Crate", species: africans, n: 60, unit: "{worms}", class: "bait-size", sample: 950, terms: "sale", party: "Ioane at the boat ramp", price: 900})},
			{"2026-11-14 09:30", stall(1, 0.3, 400, "Village market", "by the bag")},
		},
		asked: map[string][2]int{"members": {4, 4}, "bins": {5, 5}, "records": {130, 170}},
	}
}
