package bookfile

import "lumbricary.example/service"

func readQuarantine(_ *reading, q Quarantine, _ []Quarantine) service.Quarantine {
	return service.Quarantine{
		ID: service.QuarantineID(q.ID), Bin: service.BinID(q.Bin), At: service.Moment{Text: q.At}, Until: service.Day(q.Until), Reason: q.Reason,
		Released: service.Moment{Text: q.Released}, ReleasedBy: service.MemberID(q.ReleasedBy), Outcome: service.QuarantineOutcome(q.Outcome),
		ReleasedNote: q.ReleasedNote, Note: q.Note,
	}
}

func writeQuarantine(r service.Row[service.Quarantine]) []Quarantine {
	q := r.Value
	return []Quarantine{{
		ID: string(q.ID), Bin: string(q.Bin), At: q.At.Text, By: r.By, Until: string(q.Until), Reason: q.Reason, Released: q.Released.Text,
		ReleasedBy: string(q.ReleasedBy), Outcome: string(q.Outcome), ReleasedNote: q.ReleasedNote, Note: q.Note,
	}}
}

func readIdentification(_ *reading, i Identification, _ []Identification) service.Identification {
	return service.Identification{
		ID: service.IdentificationID(i.ID), Lot: service.LotID(i.Lot), Species: service.SpeciesID(i.Species), At: service.Moment{Text: i.At},
		Method: service.IdentificationMethod(i.Method), Specimens: told(i.Specimens), IdentifiedBy: i.IdentifiedBy, Note: i.Note,
	}
}

func writeIdentification(r service.Row[service.Identification]) []Identification {
	i := r.Value
	return []Identification{{
		ID: string(i.ID), Lot: string(i.Lot), Species: string(i.Species), At: i.At.Text, By: r.By, Method: string(i.Method),
		Specimens: ifAny(i.Specimens), IdentifiedBy: i.IdentifiedBy, Note: i.Note,
	}}
}
