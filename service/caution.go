package service

// Caution is what people are told beside what it is about.
type Caution string

// The cautions.
const (
	CautionRelease     Caution = "Worms that aren't native to a place must not be released there, nor moved against local law; some kinds, as jumping worms, are regulated in several places."
	CautionBorders     Caution = "Live worms, castings and bedding may need a permit to cross a border."
	CautionCertificate Caution = "A lineage says where worms came from; it is no plant-health certificate."
	CautionDust        Caution = "Wash hands, wear gloves, and keep the dust of dry castings down."
	CautionLocal       Caution = "Local rules, and the advice of licensed people, come first."
)
