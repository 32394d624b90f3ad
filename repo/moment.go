package repo

import "lumbricary.example/service"

// momentRow is the columns that say when something happened.
type momentRow struct {
	At        int64  `gorm:"column:moment_at"`
	Precision string `gorm:"column:moment_precision"`
}

// momentToRow leaves the text out: it is settled by then.
func momentToRow(m service.Moment) momentRow {
	return momentRow{At: micros(m.Time), Precision: string(m.Precision)}
}

func momentFromRow(r momentRow) service.Moment {
	return service.Moment{Time: fromMicros(r.At), Precision: service.Precision(r.Precision)}
}

// recordedRow is the columns that say who wrote a record, and when.
type recordedRow struct {
	Seq int64  `gorm:"column:seq"`
	At  int64  `gorm:"column:recorded_at"`
	By  string `gorm:"column:recorded_by"`
}

// voidedRow is the columns that say who voided a record, and when.
type voidedRow struct {
	At int64   `gorm:"column:voided_at"`
	By *string `gorm:"column:voided_by"`
}

func voidedToRow(v service.Voiding) voidedRow { return voidedRow{At: micros(v.At), By: ref(v.By)} }

func voidedFromRow(r voidedRow) service.Voiding {
	return service.Voiding{At: fromMicros(r.At), By: unref[service.MemberID](r.By)}
}

func recordedToRow(r service.Recorded) recordedRow {
	return recordedRow{Seq: r.Seq, At: micros(r.At), By: string(r.By)}
}

func recordedFromRow(r recordedRow) service.Recorded {
	return service.Recorded{Seq: r.Seq, At: fromMicros(r.At), By: service.MemberID(r.By)}
}
