package unit

// Figure is a computed number with its unit, or none with the reason why. The
// zero Figure has no value and no reason; make one with Of or None.
type Figure struct {
	Known  bool    // false: Value is meaningless and Reason says why
	Value  float64 // in Unit
	Low    float64 // lower limit, when Level > 0
	High   float64 // upper limit, when Level > 0
	Level  float64 // coverage of the interval, as 0.95; 0 means no interval
	Unit   string  // UCUM code, as "kg" or "kg/kg/d"
	Basis  string  // how it came about, as "weighed", "census", "by-eye"
	Reason string  // code of why there is none, as "no-leftover-record"
	Flags  []string
}

// Of returns a figure without an interval.
func Of(value float64, unit, basis string) Figure {
	return Figure{Known: true, Value: value, Unit: unit, Basis: basis}
}

// Within returns f with an interval of the given coverage.
func (f Figure) Within(low, high, level float64) Figure {
	f.Low, f.High, f.Level = low, high, level
	return f
}

// None returns a figure that could not be had, and says why.
func None(unit, reason string) Figure { return Figure{Unit: unit, Reason: reason} }

// Flag returns f with one more flag.
func (f Figure) Flag(code string) Figure {
	f.Flags = append(f.Flags[:len(f.Flags):len(f.Flags)], code)
	return f
}
