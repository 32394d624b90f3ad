package repo_test

import (
	"errors"
	"slices"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

func TestAReceiptOrABatchRecordIsReadAsItWasWritten(t *testing.T) {
	t.Parallel()
	t.Run("receipt", keepsRecords(receiptNoun()))
	t.Run("turnout", keepsRecords(turnoutNoun()))
	t.Run("batch step", keepsRecords(batchStepNoun()))
	t.Run("rework", keepsRecords(reworkNoun()))
}

func turnoutNoun() noun[service.Turnout, service.TurnoutID] {
	return noun[service.Turnout, service.TurnoutID]{
		of: func(tx service.Tx) service.Records[service.Turnout, service.TurnoutID] { return tx.Turnouts },
		made: func(n int) service.Turnout {
			return service.Turnout{ID: service.TurnoutID(number("turnout", n)), At: exactly(moment(n)), Households: ptr(38.0), Hours: ptr(12.5), Recorded: recorded(n), Version: 1}
		},
		edited: func(t service.Turnout) service.Turnout {
			t.Hours = nil
			return t
		},
		missing: service.ErrTurnoutNotFound,
	}
}

func receiptNoun() noun[service.Receipt, service.ReceiptID] {
	return noun[service.Receipt, service.ReceiptID]{
		of: func(tx service.Tx) service.Records[service.Receipt, service.ReceiptID] { return tx.Receipts },
		made: func(n int) service.Receipt {
			return service.Receipt{
				ID: service.ReceiptID(number("receipt", n)), Material: "peelings", At: exactly(moment(n)), From: "Green Grocer", FromMember: keeper,
				Gross: unit.Measure{Value: 12, Unit: "kg"}, Tare: unit.Measure{Value: 2, Unit: "kg"}, Measure: "bucket", Count: ptr(1.5),
				Net: 10_000_000, RejectedTyped: unit.Measure{Value: 1, Unit: "kg"}, Rejected: 1_000_000, RejectedWhy: "plastic",
				ResidueTyped: unit.Measure{Value: 500, Unit: "g"}, Residue: 500_000, Animal: ptr(false),
				Heat:  service.Heat{What: "steamed", Value: unit.Measure{Value: 70, Unit: "Cel"}, Hours: ptr(1.0)},
				Basis: service.WeighedBasis, Note: "wet", Recorded: recorded(n), Version: 1,
			}
		},
		edited: func(r service.Receipt) service.Receipt {
			r.Typed, r.Gross, r.Tare, r.Measure, r.Count, r.Animal = r.Gross, unit.Measure{}, unit.Measure{}, "", nil, nil
			r.Heat = service.Heat{}
			return r
		},
		missing: service.ErrReceiptNotFound,
	}
}

func batchStepNoun() noun[service.BatchStep, service.BatchStepID] {
	return noun[service.BatchStep, service.BatchStepID]{
		of: func(tx service.Tx) service.Records[service.BatchStep, service.BatchStepID] { return tx.BatchSteps },
		made: func(n int) service.BatchStep {
			return service.BatchStep{
				ID: service.BatchStepID(number("step", n)), Batch: "spring", Kind: service.Analysis, At: exactly(moment(n)),
				Moisture: ptr(unit.Percent(40)), Typed: unit.Measure{Value: 5, Unit: "kg"}, Wet: 5_000_000, Bags: 12, BagsLeft: 7,
				Heat:      service.Heat{What: "steamed", Value: unit.Measure{Value: 70, Unit: "Cel"}, Hours: ptr(1.0)},
				Parameter: "E. coli", Sign: service.BelowLimit, Value: ptr(10.0), Unit: "CFU/g", Method: "ISO 16649-2", Laboratory: "Quay Lab",
				Expires: "2027-05-01", Note: "pooled", Recorded: recorded(n), Version: 1,
			}
		},
		edited: func(s service.BatchStep) service.BatchStep {
			s.BagsLeft, s.Moisture, s.Value, s.Expires = 0, nil, nil, ""
			return s
		},
		missing: service.ErrBatchStepNotFound,
	}
}

func reworkNoun() noun[service.Rework, service.ReworkID] {
	return noun[service.Rework, service.ReworkID]{
		of: func(tx service.Tx) service.Records[service.Rework, service.ReworkID] {
			return withMovement[service.Rework, service.ReworkID]{tx.Reworks, tx.Movements}
		},
		made: func(n int) service.Rework {
			return service.Rework{
				ID: service.ReworkID(number("rework", n)), Kind: service.Screening, At: exactly(moment(n)), Lost: 50_000,
				From: []service.ReworkPart{{Batch: "spring", Wet: 3_000_000, Dry: 1_050_000, Assumed: true}},
				Into: []service.ReworkPart{
					{Batch: "spring", Typed: unit.Measure{Value: 2, Unit: "kg"}, Moisture: ptr(unit.Percent(60)), Wet: 2_000_000, Dry: 800_000},
					{Batch: "spring", Wet: 500_000, Dry: 200_000},
				},
				Note: "6 mm", Recorded: recorded(n), Version: 1,
			}
		},
		edited:  func(r service.Rework) service.Rework { r.Note = ""; return r },
		missing: service.ErrReworkNotFound,
	}
}

func TestReworksAreFoundByABatchOnEitherSide(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		made := reworkNoun().made(1)
		made.Into[0].Batch = "fine"
		update(t, s, harbour, func(tx service.Tx) error {
			return errors.Join(
				tx.Batches.Insert(service.Batch{ID: "fine", LotNumber: "F-1", Product: service.Screened, CreatedAt: noon, Version: 1}),
				tx.Batches.Insert(service.Batch{ID: "other", LotNumber: "O-1", Product: service.Screened, CreatedAt: noon, Version: 1}),
				reworkNoun().of(tx).Insert(made),
			)
		})
		view(t, s, harbour, func(tx service.Tx) {
			for batch, want := range map[service.BatchID]int{"spring": 1, "fine": 1, "other": 0} {
				if got, err := tx.Reworks.List(service.Query{Batch: batch}); err != nil || len(got) != want {
					t.Errorf("%s: %v, %v", batch, got, err)
				}
			}
		})
	})
}

func TestALotNumberIsGivenOnceToOneBatch(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		update(t, s, harbour, func(tx service.Tx) error {
			return errors.Join(tx.LotNumbers.Take("2026-001", "a"), tx.LotNumbers.Take("2026_002", "b"), tx.LotNumbers.Take("2026-001", "a"))
		})
		err := s.Update(t.Context(), harbour, func(tx service.Tx) error { return tx.LotNumbers.Take("2026-001", "b") })
		if !errors.Is(err, service.ErrLotNumberTaken) {
			t.Errorf("taken by another: %v", err)
		}
		update(t, s, hillTop, func(tx service.Tx) error { return tx.LotNumbers.Take("2026-001", "b") })
		view(t, s, harbour, func(tx service.Tx) {
			for beginning, want := range map[string][]string{"2026-": {"2026-001"}, "2026_": {"2026_002"}, "%": nil} {
				if got, err := tx.LotNumbers.From(beginning); err != nil || !slices.Equal(got, want) {
					t.Errorf("From(%q) = %v, %v; want %v", beginning, got, err, want)
				}
			}
		})
	})
}
