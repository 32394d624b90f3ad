package service

import (
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// HarvestMethod is how castings and worms were parted.
type HarvestMethod string

// The methods of harvest.
const (
	LightSorting   HarvestMethod = "light"
	SideMigration  HarvestMethod = "side-migration"
	ScreenHarvest  HarvestMethod = "screen"
	TrayHarvest    HarvestMethod = "tray"
	BottomHarvest  HarvestMethod = "bottom"
	HandHarvest    HarvestMethod = "hand"
	HarvestSomehow HarvestMethod = ""
)

// Harvest is what was taken out of a bin: castings into a batch, worms into
// another bin, or both.
type Harvest struct {
	ID       HarvestID // also the id of its movement
	Bin      BinID
	At       Moment
	Full     bool
	Method   HarvestMethod
	MeshMM   float64
	Typed    unit.Measure  // castings as typed; zero: none taken
	Wet      unit.Mass     // castings
	Moisture *unit.Percent // measured; nil: the labelled default was booked
	Dry      unit.Mass     // booked dry matter
	Batch    BatchID       // where the castings went; empty: none taken
	PutBack  unit.Mass     // wet material returned to the bin
	WormsTo  BinID         // where harvested worms went; empty: none taken
	Worms    []Line        // worms taken out
	Note     string
	Recorded Recorded
	Version  int64
}

// addHarvest records a harvest and its movement. Errors: ErrInvalid,
// ErrForbidden, ErrInQuarantine, ErrMoreThanBook.
func (w *work) addHarvest(h Harvest) (Harvest, error) {
	var faults Faults
	h.ID = HarvestID(w.id(string(h.ID), &faults))
	if err := w.settleOnBin(&faults, h.Bin, &h.At); err != nil {
		return Harvest{}, err
	}
	h.checkShape(&faults)
	w.takeCastings(&faults, &h)
	m := Movement{ID: MovementID(h.ID), Kind: journal.Harvest, At: h.At, Note: h.Note}
	if err := w.takeWorms(&faults, &h, &m); err != nil {
		return Harvest{}, err
	}
	if err := faults.Err(); err != nil {
		return Harvest{}, err
	}
	if err := w.mayLeave(h.Bin, h.At.Time, "/bin"); err != nil {
		return Harvest{}, err
	}
	if h.Dry > 0 {
		m.Postings = append(m.Postings, journal.Move(journal.Account{Kind: journal.Processing}, journal.Batch(string(h.Batch)), journal.Castings, h.Dry)...)
	}
	if err := w.post(&m); err != nil {
		return Harvest{}, err
	}
	if err := w.touch(h.Bin, HarvestEvent, m); err != nil {
		return Harvest{}, err
	}
	h.Recorded, h.Version = m.Recorded, 1
	return h, w.Harvests.Insert(h)
}

func (h *Harvest) checkShape(faults *Faults) {
	checkWord(faults, "/method", h.Method, HarvestSomehow, LightSorting, SideMigration, ScreenHarvest, TrayHarvest, BottomHarvest, HandHarvest)
	checkRange(faults, "/mesh_mm", &h.MeshMM, 0, 1000)
	checkRange(faults, "/moisture_pct", h.Moisture, 0, 99.9)
	checkNote(faults, "/note", h.Note)
	if h.PutBack < 0 || h.PutBack > unit.MaxMass {
		faults.Add("/put_back_g", "range", "use a mass from 0 to 1000 tonnes")
	}
	if h.Typed.Unit == "" && len(h.Worms) == 0 {
		faults.Add("/castings", "required", "a harvest takes castings, worms or both")
	}
	if (len(h.Worms) > 0) != (h.WormsTo != "") {
		faults.Add("/worms_to", "shape", "say which bin the worms went into, and how many")
	}
}

// takeCastings turns the typed castings into wet and dry mass.
func (w *work) takeCastings(faults *Faults, h *Harvest) {
	if h.Typed.Unit == "" {
		if h.Batch != "" {
			faults.Add("/batch", "shape", "only castings go into a batch; say how much")
		}
		return
	}
	wet, err := h.Typed.Mass()
	faults.Check("/castings", quantityCode(err), err)
	moisture := DefaultCastingsMoisture
	if h.Moisture != nil {
		moisture = *h.Moisture
	}
	h.Wet, h.Dry = wet, dryOf(wet, moisture)
	_, err = w.Batches.Get(h.Batch)
	checkRef(faults, "/batch", err)
}

// takeWorms measures the worms that a harvest moves into another bin and puts
// them into its movement. Errors: ErrForbidden.
func (w *work) takeWorms(faults *Faults, h *Harvest, m *Movement) error {
	if h.WormsTo == "" || len(h.Worms) == 0 {
		return nil
	}
	to, err := w.Bins.Get(h.WormsTo)
	if err != nil {
		checkRef(faults, "/worms_to", err)
		return nil
	}
	if err := w.may(RecordOnBin, to.Owners()...); err != nil {
		return err
	}
	checkRef(faults, "/worms_to", to.inUse(h.At))
	if h.WormsTo == h.Bin {
		faults.Add("/worms_to", "same-bin", "worms can't move into the bin that they come from")
	}
	if len(*faults) > 0 {
		return nil
	}
	m.ToBin, m.ToMember, m.Lines = h.WormsTo, to.Keeper, slices.Clone(h.Worms)
	for i := range m.Lines {
		m.Lines[i].FromBin = h.Bin
	}
	var own Faults
	if err := w.measure(&own, m); err != nil {
		return err
	}
	for _, f := range own {
		faults.Add("/worms"+f.Pointer[len("/lines"):], f.Code, "%s", f.Detail)
	}
	h.Worms = m.Lines
	m.Postings = m.postings()
	return nil
}

// touch puts the record of a bin into its timeline where its movement, which
// may move nothing in or out of the bin itself, did not.
func (w *work) touch(bin BinID, kind EventKind, m Movement) error {
	if slices.Contains(m.bins(), bin) {
		return nil
	}
	return w.Events.Insert(BinEvent{bin, m.At.Time, m.Recorded.Seq, kind, string(m.ID)})
}
