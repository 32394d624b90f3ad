package api

import "lumbricary.example/service/due"

// DueRules are a club's thresholds for the due list. Zero turns a rule off. All
// that isn't named as published is a custom without a source.
type DueRules struct {
	EscapeLookDays   int     `json:"escape_look_days" example:"3" minimum:"0" maximum:"3660" format:"int32" validate:"required"`    // a new bin is looked at for escape within so many days; a custom
	FirstCheckDays   int     `json:"first_check_days" example:"10" minimum:"0" maximum:"3660" format:"int32" validate:"required"`   // and checked after so many; a custom
	CheckEveryDays   int     `json:"check_every_days" example:"30" minimum:"0" maximum:"3660" format:"int32" validate:"required"`   // no bin goes longer without a check; a custom
	HotC             float64 `json:"hot_c" example:"30" minimum:"0" maximum:"60" validate:"required"`                               // from here on a bin is too hot; 30 is the published limit of Eisenia fetida
	DryPct           float64 `json:"dry_pct" example:"60" minimum:"0" maximum:"100" validate:"required"`                            // below this moisture a bin is too dry; a custom
	FullKgPerM2      float64 `json:"full_kg_per_m2" example:"4.88" minimum:"0" maximum:"100" validate:"required"`                   // above this stock density a bin is too full; 4.88 is a pound to the square foot, a custom
	FeedingIntervals int     `json:"feeding_intervals" example:"3" minimum:"0" maximum:"10" format:"int32" validate:"required"`     // from so many intervals on a bin has a custom of feeding; a custom
	HarvestEveryDays int     `json:"harvest_every_days" example:"0" minimum:"0" maximum:"3660" format:"int32" validate:"required"`  // of every bin with worms
	CensusEveryDays  int     `json:"census_every_days" example:"0" minimum:"0" maximum:"3660" format:"int32" validate:"required"`   // of every bin with worms
	PromiseWarnDays  int     `json:"promise_warn_days" example:"3" minimum:"0" maximum:"3660" format:"int32" validate:"required"`   // before a promise of a transfer expires; a custom
	AnalysisWarnDays int     `json:"analysis_warn_days" example:"14" minimum:"0" maximum:"3660" format:"int32" validate:"required"` // before an analysis expires; a custom
	BackupBins       int     `json:"backup_bins" example:"2" minimum:"0" maximum:"10" format:"int32" validate:"required"`           // a culture lives in so many bins at least; a custom
	BackupSites      int     `json:"backup_sites" example:"2" minimum:"0" maximum:"10" format:"int32" validate:"required"`          // and on so many sites; a custom
}

// SentDueRules is what can be changed of the thresholds, one or several. Zero
// turns a rule off.
type SentDueRules struct {
	EscapeLookDays   int     `json:"escape_look_days" example:"3" minimum:"0" maximum:"3660" format:"int32"`    // a new bin is looked at for escape within so many days; a custom
	FirstCheckDays   int     `json:"first_check_days" example:"10" minimum:"0" maximum:"3660" format:"int32"`   // and checked after so many; a custom
	CheckEveryDays   int     `json:"check_every_days" example:"30" minimum:"0" maximum:"3660" format:"int32"`   // no bin goes longer without a check; a custom
	HotC             float64 `json:"hot_c" example:"30" minimum:"0" maximum:"60"`                               // from here on a bin is too hot; 30 is the published limit of Eisenia fetida
	DryPct           float64 `json:"dry_pct" example:"60" minimum:"0" maximum:"100"`                            // below this moisture a bin is too dry; a custom
	FullKgPerM2      float64 `json:"full_kg_per_m2" example:"4.88" minimum:"0" maximum:"100"`                   // above this stock density a bin is too full; 4.88 is a pound to the square foot, a custom
	FeedingIntervals int     `json:"feeding_intervals" example:"3" minimum:"0" maximum:"10" format:"int32"`     // from so many intervals on a bin has a custom of feeding; a custom
	HarvestEveryDays int     `json:"harvest_every_days" example:"0" minimum:"0" maximum:"3660" format:"int32"`  // of every bin with worms
	CensusEveryDays  int     `json:"census_every_days" example:"0" minimum:"0" maximum:"3660" format:"int32"`   // of every bin with worms
	PromiseWarnDays  int     `json:"promise_warn_days" example:"3" minimum:"0" maximum:"3660" format:"int32"`   // before a promise of a transfer expires; a custom
	AnalysisWarnDays int     `json:"analysis_warn_days" example:"14" minimum:"0" maximum:"3660" format:"int32"` // before an analysis expires; a custom
	BackupBins       int     `json:"backup_bins" example:"2" minimum:"0" maximum:"10" format:"int32"`           // a culture lives in so many bins at least; a custom
	BackupSites      int     `json:"backup_sites" example:"2" minimum:"0" maximum:"10" format:"int32"`          // and on so many sites; a custom
}

func dueRulesOf(r due.Rules) DueRules { return DueRules(r) }

func (r SentDueRules) rules() due.Rules { return due.Rules(r) }
