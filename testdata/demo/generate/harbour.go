package main

// Names that the harbour club's story uses again and again.
const (
	reds     = "eisenia-fetida-andrei"
	euros    = "eisenia-hortensis"
	africans = "eudrilus-eugeniae"
	blues    = "perionyx-excavatus"

	ines, kwame    = "Inês Tavarela", "Kwame Addo-Brandt"
	yuki, fatima   = "Yuki Morinaga", "Fatima Benhaddou"
	lars, priya    = "Lars Ekdahl", "Priya Ramaswami"
	tomas, amara   = "Tomás Quintela", "Amara Nwosu-Leal"
	siobhan, dila  = "Siobhán Kerrigan", "Dilnoza Yusupova"
	mateo, agata   = "Mateo Huarachi", "Agnieszka Wolny"
	cellarStore    = "store in the Rua do Cais cellar"
	boathouseStore = "store in the boathouse loft"
	schoolStore    = "store at the Harbour School"
	plotStore      = "store in the allotment shed"
	orchardStore   = "store in the orchard lean-to"

	grounds, vegetables = "Coffee grounds", "Kitchen vegetables"
	fruit, stones       = "Fruit scraps", "Mango stones and woody peel"
	cafeMix, bread      = "Café Gaivota mix", "Bakery sweepings"
	manure, cardboard   = "Horse manure, pre-composted", "Shredded cardboard"
	leaves, oyster      = "Autumn leaves", "Crushed shell grit"
)

// harbour is the main club: an invented harbour town on a mild coast.
func harbour() plan {
	return plan{
		dir: "harbour", name: "Calhavento Harbour Worm Club", zone: "Europe/Lisbon", hemisphere: "north", units: "metric",
		currency: "EUR", retention: 7, seed: 20261125, from: "2025-05-03", to: "2026-11-22", lots: "CV", looks: [2]int{12, 20},
		monthly: [12]float64{11, 12, 14, 15.5, 18, 21, 23.5, 24, 22, 18.5, 14.5, 12},
		spells:  []spell{{"2026-07-12", "2026-07-19", 8.5}, {"2026-01-04", "2026-01-12", -5}},
		people: []person{
			{ines, "steward", cellarStore}, {kwame, "steward", boathouseStore}, {yuki, "keeper", cellarStore},
			{fatima, "keeper", cellarStore}, {lars, "keeper", boathouseStore}, {priya, "keeper", schoolStore},
			{tomas, "keeper", plotStore}, {amara, "keeper", schoolStore}, {siobhan, "keeper", plotStore},
			{dila, "keeper", orchardStore}, {mateo, "keeper", orchardStore}, {agata, "reader", ""},
		},
		places: harbourPlaces(), stuffs: harbourStuffs(), lines: harbourLines(), roots: harbourRoots(),
		bins: harbourBins(), scenes: harbourScenes(),
		asked: map[string][2]int{
			"members": {12, 12}, "sites": {12, 12}, "bins": {30, 30}, "cultures": {6, 6}, "origins": {9, 9}, "materials": {8, 10},
			"batches": {20, 30}, "records": {2000, 2600},
		},
	}
}

func harbourPlaces() []place {
	return []place{
		{"Rua do Cais cellar", "Rua do Cais 12, Calhavento", ines, "three steps down, key with the neighbour", 15.5, 0.35},
		{"Boathouse", "Slip 3, Old Harbour, Calhavento", kwame, "shared with the rowing club", 15, 0.75},
		{"Harbour School", "Largo da Âncora 1, Calhavento", priya, "behind the gym, closed in August", 17, 0.85},
		{"Allotment shed, plot 14", "Várzea allotments, plot 14", tomas, "", 15, 0.9},
		{"Café Gaivota yard", "Travessa do Farol 5, Calhavento", amara, "in through the kitchen before eleven", 17, 0.8},
		{"Morinaga balcony", "Rua das Redes 31, 4th floor", yuki, "faces south: hot from noon on", 18, 1.05},
		{"Benhaddou terrace", "Beco do Sal 8, roof", fatima, "", 18, 0.9},
		{"Net loft", "Cais Velho 2, Calhavento", lars, "over the net store, dry", 17, 0.6},
		{"Old bakery back room", "Rua do Forno 4, Calhavento", dila, "against the oven wall, 22 °C and more all winter", 25, 0.2},
		{"Flood Street cellar", "Rua da Cheia 19, Calhavento", siobhan, "below the quay: water in January 2026", 15, 0.35},
		{"Orchard lean-to", "Quinta da Pedra Alta, gate 2", mateo, "", 15, 0.9},
		{"Allotment plot 22", "Várzea allotments, plot 22", siobhan, "", 15, 0.9},
	}
}

func harbourStuffs() []stuff {
	return []stuff{
		{name: grounds, kind: "feed", feedstock: "coffee-grounds", moisture: 80, density: 838.8, note: "from three cafés, without filters"},
		{name: vegetables, kind: "feed", feedstock: "vegetable-produce", moisture: 87, density: 940.3, note: "peel, trimmings, outer leaves"},
		{name: fruit, kind: "feed", feedstock: "fruit-wastes", moisture: 80, density: 600, own: true, note: "density by a bucket of the club"},
		{name: stones, kind: "feed", moisture: 55, density: 520, nitrogen: "0.8", ratio: "60", own: true, slow: true, note: "lies for months"},
		{name: cafeMix, kind: "feed", moisture: 74, density: 560, nitrogen: "2.2", ratio: "21", own: true, note: "grounds, peel and salad leaves as they come"},
		{name: bread, kind: "feed", moisture: 34, density: 320, nitrogen: "2.1", ratio: "20", own: true, note: "crusts and flour, soaked first; heats"},
		{name: manure, kind: "feed", feedstock: "horse-manure", moisture: 72, density: 818.1, animal: true, note: "six weeks hot heap before; wormer-free by the stable's word"},
		{name: cardboard, kind: "bedding", feedstock: "corrugated-cardboard", moisture: 60, density: 160, own: true, note: "as put in: soaked and wrung out"},
		{name: leaves, kind: "bedding", feedstock: "leaves", moisture: 38, density: 119.8, note: "plane and lime, a year old"},
		{name: oyster, kind: "amendment", moisture: 2, density: 1100, own: true, note: "a handful for the gizzard"},
	}
}

func harbourLines() []line {
	return []line{
		{"Red worms, harbour line", reds, "the club's first worms"},
		{"Red worms, mill line", reds, ""},
		{"Red worms, stable line", reds, "out of an old dung heap; keep it apart where you can"},
		{"European nightcrawlers, quay line", euros, "for anglers"},
		{"European nightcrawlers, orchard line", euros, "given, never bought"},
		{"African nightcrawlers, bakery line", africans, "die below 9 °C: bakery only"},
	}
}

func harbourRoots() []root {
	return []root{
		{"Tidewrack Worms, spring 2025", "supplier", reds, "Red worms, harbour line", "sold as fetida, not told apart from andrei"},
		{"Tidewrack Worms, autumn 2025", "supplier", reds, "Red worms, harbour line", ""},
		{"Mill Lane Wormery, reds 2025", "supplier", reds, "Red worms, mill line", ""},
		{"Old stable heap, Várzea", "wild", reds, "Red worms, stable line", "collected by hand after rain, four weeks in quarantine"},
		{"Salt Marsh Worm Club, certificate 41", "certificate", reds, "Red worms, mill line", "their mill line, from the same wormery"},
		{"Tidewrack Worms, nightcrawlers 2025", "supplier", euros, "European nightcrawlers, quay line", ""},
		{"Gift of Anselm Okoro-Reyes, Pedra Alta", "supplier", euros, "European nightcrawlers, orchard line", "a grower outside the club; wanted nothing for them"},
		{"Mill Lane Wormery, Africans 2025", "supplier", africans, "African nightcrawlers, bakery line", ""},
		{"Found in the pantry bin", "unknown", reds, "", "came with a second-hand bin; nobody knows from where"},
	}
}
