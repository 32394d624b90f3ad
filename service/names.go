package service

// Names are what the club calls its things, for answers that people read.
type Names struct {
	Members   map[MemberID]string
	Sites     map[SiteID]string
	Bins      map[BinID]Bin
	Materials map[MaterialID]Material
	Measures  map[MeasureID]Measure
	Origins   map[OriginID]Origin
	Cultures  map[CultureID]Culture
	Species   map[SpeciesID]string // common names
}

// names reads the club's names.
func (w *work) names() (n Names, err error) {
	if n.Members, err = index(w.Members, func(m Member) (MemberID, string) { return m.ID, m.Name }); err != nil {
		return n, err
	}
	if n.Sites, err = index(w.Sites, func(s Site) (SiteID, string) { return s.ID, s.Name }); err != nil {
		return n, err
	}
	if n.Bins, err = index(w.Bins, func(b Bin) (BinID, Bin) { return b.ID, b }); err != nil {
		return n, err
	}
	if n.Materials, err = index(w.Materials, func(m Material) (MaterialID, Material) { return m.ID, m }); err != nil {
		return n, err
	}
	if n.Measures, err = index(w.Measures, func(m Measure) (MeasureID, Measure) { return m.ID, m }); err != nil {
		return n, err
	}
	if n.Origins, err = index(w.Origins, func(o Origin) (OriginID, Origin) { return o.ID, o }); err != nil {
		return n, err
	}
	if n.Cultures, err = index(w.Cultures, func(c Culture) (CultureID, Culture) { return c.ID, c }); err != nil {
		return n, err
	}
	n.Species = map[SpeciesID]string{}
	for _, s := range w.desk.Reference.Species {
		n.Species[SpeciesID(s.ID)] = s.Common
	}
	return n, nil
}

func index[T, V any, K ~string](of reader[T, K], entry func(T) (K, V)) (map[K]V, error) {
	all, err := of.List(Query{})
	out := make(map[K]V, len(all))
	for _, v := range all {
		k, name := entry(v)
		out[k] = name
	}
	return out, err
}
