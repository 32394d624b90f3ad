package bookfile

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// sheets lists the tables in the order in which they are recorded.
func sheets() []sheet { return append(nouns(), dated()...) }

// nouns are the tables of what has no moment.
func nouns() []sheet {
	return []sheet{
		table[Settings, service.Settings]{
			"settings", func(d *Document) *[]Settings { return &d.Settings },
			func(b *service.Book) *service.Table[service.Settings] { return &b.Settings }, readSettings, writeSettings,
		},
		table[Member, service.Member]{
			"members", func(d *Document) *[]Member { return &d.Members },
			func(b *service.Book) *service.Table[service.Member] { return &b.Members }, readMember, writeMember,
		},
		table[Site, service.Site]{
			"sites", func(d *Document) *[]Site { return &d.Sites },
			func(b *service.Book) *service.Table[service.Site] { return &b.Sites }, readSite, writeSite,
		},
		table[Material, service.Material]{
			"materials", func(d *Document) *[]Material { return &d.Materials },
			func(b *service.Book) *service.Table[service.Material] { return &b.Materials }, readMaterial, writeMaterial,
		},
		table[Measure, service.Measure]{
			"measures", func(d *Document) *[]Measure { return &d.Measures },
			func(b *service.Book) *service.Table[service.Measure] { return &b.Measures }, readMeasure, writeMeasure,
		},
		table[Culture, service.Culture]{
			"cultures", func(d *Document) *[]Culture { return &d.Cultures },
			func(b *service.Book) *service.Table[service.Culture] { return &b.Cultures }, readCulture, writeCulture,
		},
		table[Origin, service.Origin]{
			"origins", func(d *Document) *[]Origin { return &d.Origins },
			func(b *service.Book) *service.Table[service.Origin] { return &b.Origins }, readOrigin, writeOrigin,
		},
		table[Bin, service.Bin]{
			"bins", func(d *Document) *[]Bin { return &d.Bins },
			func(b *service.Book) *service.Table[service.Bin] { return &b.Bins }, readBin, writeBin,
		},
		table[Batch, service.Batch]{
			"batches", func(d *Document) *[]Batch { return &d.Batches },
			func(b *service.Book) *service.Table[service.Batch] { return &b.Batches }, readBatch, writeBatch,
		},
		table[Offer, service.Offer]{
			"offers", func(d *Document) *[]Offer { return &d.Offers },
			func(b *service.Book) *service.Table[service.Offer] { return &b.Offers }, readOffer, writeOffer,
		},
	}
}

// dated are the tables of what has a moment.
func dated() []sheet {
	return []sheet{
		table[Transfer, service.Transfer]{
			"transfers", func(d *Document) *[]Transfer { return &d.Transfers },
			func(b *service.Book) *service.Table[service.Transfer] { return &b.Transfers }, readTransfer, writeTransfer,
		},
		table[Movement, service.Movement]{
			"movements", func(d *Document) *[]Movement { return &d.Movements },
			func(b *service.Book) *service.Table[service.Movement] { return &b.Movements }, readMovement, writeMovement,
		},
		table[Harvest, service.Harvest]{
			"harvests", func(d *Document) *[]Harvest { return &d.Harvests },
			func(b *service.Book) *service.Table[service.Harvest] { return &b.Harvests }, readHarvest, writeHarvest,
		},
		table[Rework, service.Rework]{
			"reworks", func(d *Document) *[]Rework { return &d.Reworks },
			func(b *service.Book) *service.Table[service.Rework] { return &b.Reworks }, readRework, writeRework,
		},
		table[Census, service.Census]{
			"censuses", func(d *Document) *[]Census { return &d.Censuses },
			func(b *service.Book) *service.Table[service.Census] { return &b.Censuses }, readCensus, writeCensus,
		},
		table[Receipt, service.Receipt]{
			"receipts", func(d *Document) *[]Receipt { return &d.Receipts },
			func(b *service.Book) *service.Table[service.Receipt] { return &b.Receipts }, readReceipt, writeReceipt,
		},
		table[Turnout, service.Turnout]{
			"turnouts", func(d *Document) *[]Turnout { return &d.Turnouts },
			func(b *service.Book) *service.Table[service.Turnout] { return &b.Turnouts }, readTurnout, writeTurnout,
		},
		table[Feeding, service.Feeding]{
			"feedings", func(d *Document) *[]Feeding { return &d.Feedings },
			func(b *service.Book) *service.Table[service.Feeding] { return &b.Feedings }, readFeeding, writeFeeding,
		},
		table[Check, service.Check]{
			"checks", func(d *Document) *[]Check { return &d.Checks },
			func(b *service.Book) *service.Table[service.Check] { return &b.Checks }, readCheck, writeCheck,
		},
		table[BatchStep, service.BatchStep]{
			"batch_steps", func(d *Document) *[]BatchStep { return &d.BatchSteps },
			func(b *service.Book) *service.Table[service.BatchStep] { return &b.BatchSteps }, readBatchStep, writeBatchStep,
		},
		table[Contact, service.BinContact]{
			"contacts", func(d *Document) *[]Contact { return &d.Contacts },
			func(b *service.Book) *service.Table[service.BinContact] { return &b.Contacts }, readContact, writeContact,
		},
		table[Clearing, service.Clearing]{
			"clearings", func(d *Document) *[]Clearing { return &d.Clearings },
			func(b *service.Book) *service.Table[service.Clearing] { return &b.Clearings }, readClearing, writeClearing,
		},
		table[Quarantine, service.Quarantine]{
			"quarantines", func(d *Document) *[]Quarantine { return &d.Quarantines },
			func(b *service.Book) *service.Table[service.Quarantine] { return &b.Quarantines }, readQuarantine, writeQuarantine,
		},
		table[Identification, service.Identification]{
			"identifications", func(d *Document) *[]Identification { return &d.Identifications },
			func(b *service.Book) *service.Table[service.Identification] { return &b.Identifications }, readIdentification, writeIdentification,
		},
	}
}

// told returns the value that p points to, zero where it isn't told.
func told[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}

// ifAny returns nil for zero, which stands for not told.
func ifAny[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}

// as returns p as a number of another type.
func as[To, From ~float64 | ~int64](p *From) *To {
	if p == nil {
		return nil
	}
	v := To(*p)
	return &v
}

// measure reads a quantity and its unit, of which one doesn't go without the
// other.
func (r *reading) measure(line int, value *float64, code, column, unitColumn string) unit.Measure {
	switch {
	case value == nil && code != "":
		r.at(line, column, "required", "give the quantity, or leave its unit empty too")
	case value != nil && code == "":
		r.at(line, unitColumn, "required", "give the unit of the quantity")
	}
	return unit.Measure{Value: told(value), Unit: code}
}

// grams reads a mass in grams.
func (r *reading) grams(value *float64, column string) unit.Mass {
	m, err := unit.Measure{Value: told(value), Unit: "g"}.Mass()
	if err != nil {
		r.fault(column, "range", err.Error())
	}
	return m
}
