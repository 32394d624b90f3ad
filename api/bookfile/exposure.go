package bookfile

import "lumbricary.example/service"

func readContact(_ *reading, c Contact, _ []Contact) service.BinContact {
	out := service.BinContact{
		ID: service.BinContactID(c.ID), At: service.Moment{Text: c.At}, What: service.ContactWhat(c.What), Note: c.Note,
	}
	for _, bin := range c.Bins {
		out.Bins = append(out.Bins, service.BinID(bin))
	}
	return out
}

func writeContact(r service.Row[service.BinContact]) []Contact {
	c := r.Value
	out := Contact{ID: string(c.ID), At: c.At.Text, By: r.By, What: string(c.What), Note: c.Note}
	for _, bin := range c.Bins {
		out.Bins = append(out.Bins, string(bin))
	}
	return []Contact{out}
}

func readClearing(_ *reading, c Clearing, _ []Clearing) service.Clearing {
	return service.Clearing{
		ID: service.ClearingID(c.ID), Bin: service.BinID(c.Bin), Batch: service.BatchID(c.Batch), Receipt: service.ReceiptID(c.Receipt),
		At: service.Moment{Text: c.At}, How: c.How, Note: c.Note,
	}
}

func writeClearing(r service.Row[service.Clearing]) []Clearing {
	c := r.Value
	return []Clearing{{
		ID: string(c.ID), Bin: string(c.Bin), Batch: string(c.Batch), Receipt: string(c.Receipt), At: c.At.Text, By: r.By, How: c.How, Note: c.Note,
	}}
}
