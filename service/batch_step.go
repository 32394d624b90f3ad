package service

import (
	"time"

	"lumbricary.example/service/unit"
)

// StepKind is what was done to a batch without dry matter moving.
type StepKind string

// The kinds of step.
const (
	Drying    StepKind = "drying"
	Bagging   StepKind = "bagging"
	Treatment StepKind = "treatment"
	Analysis  StepKind = "analysis"
)

// Sign says on which side of the value a laboratory's figure lies.
type Sign string

// The signs.
const (
	BelowLimit Sign = "below"
	AboveLimit Sign = "above"
	NoSign     Sign = "" // the value itself
)

// BatchStep is what was done to a batch, or found in it.
type BatchStep struct {
	ID         BatchStepID
	Batch      BatchID
	Kind       StepKind
	At         Moment        // of an analysis: when the sample was taken
	Moisture   *unit.Percent // of the batch, measured then
	Typed      unit.Measure  // drying: what the batch weighs then; bagging: one bag; as typed
	Wet        unit.Mass     // the same
	Bags       int64         // bagging: how many were filled
	BagsLeft   int64         // how many are left
	Heat       Heat          // of a treatment
	Parameter  string        // of an analysis: what was looked for
	Sign       Sign
	Value      *float64
	Unit       string // of the value
	Method     string
	Laboratory string
	Expires    Day // the last day on which the analysis is good; empty: it stays so
	Note       string
	Recorded   Recorded
	Voided     Voiding
	Version    int64
}

func (s BatchStep) void() bool { return !s.Voided.At.IsZero() }

// addBatchStep records a step. Errors: ErrForbidden, ErrInvalid.
func (w *work) addBatchStep(s BatchStep) (BatchStep, error) {
	if err := w.may(UseCastings); err != nil {
		return BatchStep{}, err
	}
	var faults Faults
	s.ID = BatchStepID(w.id(string(s.ID), &faults))
	w.settle(&faults, "/at", &s.At)
	_, err := w.Batches.Get(s.Batch)
	checkRef(&faults, "/batch", err)
	s.check(&faults)
	if err := faults.Err(); err != nil {
		return BatchStep{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return BatchStep{}, err
	}
	s.Recorded, s.Version = rec, 1
	return s, w.BatchSteps.Insert(s)
}

// changeBatchStep changes a step but for its batch and kind. Errors:
// ErrForbidden, ErrInvalid, ErrVoided, ErrStale.
func (w *work) changeBatchStep(old, s BatchStep) (BatchStep, error) {
	if err := w.may(UseCastings); err != nil {
		return BatchStep{}, err
	}
	if old.void() {
		return BatchStep{}, ErrVoided
	}
	s.Recorded, s.Voided, s.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/batch", s.Batch, old.Batch)
	checkFixed(&faults, "/kind", s.Kind, old.Kind)
	w.resettle(&faults, "/at", &s.At, old.At)
	s.check(&faults)
	if err := faults.Err(); err != nil {
		return BatchStep{}, err
	}
	return put(w.BatchSteps, old, s)
}

// voidBatchStep takes a step back. Errors: ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidBatchStep(s BatchStep) (BatchStep, error) {
	if err := w.may(UseCastings); err != nil {
		return BatchStep{}, err
	}
	if s.void() {
		return BatchStep{}, ErrVoided
	}
	old := s
	s.Voided = Voiding{w.now, w.author()}
	return put(w.BatchSteps, old, s)
}

// maxBags is how many bags are filled at a time.
const maxBags = 1_000_000

// check notes what is wrong with a step, and weighs what was typed.
func (s *BatchStep) check(faults *Faults) {
	checkWord(faults, "/kind", s.Kind, Drying, Bagging, Treatment, Analysis)
	checkRange(faults, "/moisture_pct", s.Moisture, 0, 99.9)
	checkNote(faults, "/note", s.Note)
	s.Wet = 0
	if s.Typed.Unit != "" {
		var err error
		s.Wet, err = s.Typed.Mass()
		faults.Check("/mass", quantityCode(err), err)
	}
	s.checkShape(faults)
	s.checkBags(faults)
	s.Heat.check(faults, "")
	s.checkAnalysis(faults)
}

// checkShape notes what a step of this kind lacks or can't have.
func (s *BatchStep) checkShape(faults *Faults) {
	want := func(ok bool, pointer, detail string) {
		if !ok {
			faults.Add(pointer, "shape", "%s", detail)
		}
	}
	kind := s.Kind
	want(kind != Drying || s.Moisture != nil || s.Wet > 0, "/moisture_pct", "say how moist it is now, or in mass what it weighs")
	want(kind != Bagging || s.Wet > 0, "/mass", "say what one bag weighs")
	want(kind == Drying || kind == Bagging || s.Typed.Unit == "", "/mass", "only a drying and a bagging have a mass")
	want((kind == Bagging) == (s.Bags > 0), "/bags", "a bagging, and nothing else, has a number of bags from 1 on")
	want((kind == Treatment) == (s.Heat.What != ""), "/what", "a treatment, and nothing else, says what was done")
	want(kind == Treatment || s.Heat == Heat{}, "/temperature", "only a treatment has a temperature and hours")
	want((kind == Analysis) == (s.Parameter != ""), "/parameter", "an analysis, and nothing else, says what was looked for")
	want((kind == Analysis) == (s.Value != nil), "/value", "an analysis, and nothing else, has a value")
	want(kind == Analysis || s.Sign == NoSign && s.Unit+s.Method+s.Laboratory+string(s.Expires) == "", "/laboratory",
		"only an analysis has a sign, unit, method, laboratory and end")
}

func (s *BatchStep) checkBags(faults *Faults) {
	if s.Bags < 0 || s.Bags > maxBags || s.BagsLeft < 0 || s.BagsLeft > s.Bags {
		faults.Add("/bags_left", "range", "there are 1 to %d bags, and no more left than there were", maxBags)
	}
}

func (s *BatchStep) checkAnalysis(faults *Faults) {
	checkWord(faults, "/sign", s.Sign, NoSign, BelowLimit, AboveLimit)
	checkRange(faults, "/value", s.Value, -1e12, 1e12)
	for _, t := range []struct{ pointer, text string }{
		{"/parameter", s.Parameter}, {"/unit", s.Unit}, {"/method", s.Method}, {"/laboratory", s.Laboratory},
	} {
		if t.text != "" {
			checkName(faults, t.pointer, t.text)
		}
	}
	if s.Expires == "" {
		return
	}
	day, err := time.Parse(time.DateOnly, string(s.Expires))
	switch {
	case err != nil:
		faults.Add("/expires", "format", "give a date as 2027-05-01")
	case !s.At.Time.IsZero() && day.AddDate(0, 0, 2).Before(s.At.Time):
		faults.Add("/expires", "range", "an analysis is good until a day after its sample was taken")
	}
}
