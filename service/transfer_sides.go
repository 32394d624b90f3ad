package service

// fillSides names the sides that a proposal leaves out. The first leg goes from
// the caller, or to the caller where its giver is named; a side that is left out
// beside a party is the party. Every other leg goes the other way.
func (w *work) fillSides(t *Transfer) {
	me := string(w.author())
	for i := range t.Deal.Legs {
		l := &t.Deal.Legs[i]
		switch {
		case i > 0:
			if l.Giver == "" {
				l.Giver = t.Deal.Legs[0].Receiver
			}
			if l.Receiver == "" {
				l.Receiver = t.Deal.Legs[0].Giver
			}
		case l.Giver == "" && (l.Receiver == "" || t.Party == ""):
			l.Giver = me
		case l.Receiver == "" && t.Party == "":
			l.Receiver = me
		}
	}
}
