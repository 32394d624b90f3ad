package service

// veiled is a noun's repository that shows records under a veil. Nothing is
// written through it: it stands in views only.
type veiled[T any, K ~string] struct {
	Records[T, K]
	show func(T) T
}

// Get implements Records.
func (s veiled[T, K]) Get(id K) (T, error) {
	v, err := s.Records.Get(id)
	return s.show(v), err
}

// Some implements Records.
func (s veiled[T, K]) Some(ids []K) ([]T, error) { return shown(s.show)(s.Records.Some(ids)) }

// List implements Records.
func (s veiled[T, K]) List(q Query) ([]T, error) { return shown(s.show)(s.Records.List(q)) }

// shown turns what a repository answers into what is shown of it.
func shown[T any](show func(T) T) func([]T, error) ([]T, error) {
	return func(all []T, err error) ([]T, error) {
		for i, v := range all {
			all[i] = show(v)
		}
		return all, err
	}
}

type veiledMembers struct {
	veiled[Member, MemberID]
	all MemberRepo
}

// ByAccount implements MemberRepo.
func (s veiledMembers) ByAccount(id AccountID) (Member, error) {
	m, err := s.all.ByAccount(id)
	return s.show(m), err
}

type veiledMovements struct {
	MovementRepo
	veil veil
}

// Get implements MovementRepo.
func (s veiledMovements) Get(id MovementID) (Movement, error) {
	m, err := s.MovementRepo.Get(id)
	return s.veil.movement(m), err
}

// Some implements MovementRepo.
func (s veiledMovements) Some(ids []MovementID) ([]Movement, error) {
	return shown(s.veil.movement)(s.MovementRepo.Some(ids))
}

// List implements MovementRepo.
func (s veiledMovements) List(q Query) ([]Movement, error) {
	return shown(s.veil.movement)(s.MovementRepo.List(q))
}

type veiledLots struct {
	LotRepo // none: what isn't veiled below isn't there
	of      LotRepo
	veil    veil
}

// Get implements LotRepo.
func (s veiledLots) Get(id LotID) (Lot, error) {
	l, err := s.of.Get(id)
	return s.veil.lot(l), err
}

// Some implements LotRepo.
func (s veiledLots) Some(ids []LotID) ([]Lot, error) { return shown(s.veil.lot)(s.of.Some(ids)) }

// Children implements LotRepo.
func (s veiledLots) Children(ids []LotID) ([]LotID, error) { return s.of.Children(ids) }

// Bare implements LotRepo.
func (s veiledLots) Bare(ids []LotID) ([]Lot, error) { return shown(s.veil.lot)(s.of.Bare(ids)) }

// Standing implements LotRepo.
func (s veiledLots) Standing(bin BinID) ([]Lot, error) {
	return shown(s.veil.lot)(s.of.Standing(bin))
}

// List implements LotRepo.
func (s veiledLots) List(q Query) ([]Lot, error) { return shown(s.veil.lot)(s.of.List(q)) }

// veiledTotals is the monthly totals under a veil.
type veiledTotals struct {
	TotalRepo
	veil veil
}

// List implements TotalRepo.
func (s veiledTotals) List(first, last string) ([]Total, error) {
	return shown(s.veil.total)(s.TotalRepo.List(first, last))
}
