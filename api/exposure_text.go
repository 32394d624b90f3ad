package api

import (
	"fmt"

	"lumbricary.example/service"
	"lumbricary.example/service/exposure"
)

// exposureText is a trace of exposure being written down.
type exposureText struct {
	paper
	e service.Exposure
}

// ExposureText tells a page of a trace of exposure by date: plain text, at
// most 80 columns wide.
func ExposureText(e service.Exposure) string {
	t := &exposureText{e: e}
	t.opening()
	if t.e.Back {
		t.heading("The latest first")
	} else {
		t.heading("In order of dates")
	}
	for _, p := range e.Places {
		t.place(p)
	}
	if len(e.Places) < e.Traced {
		t.say("These are %d of %d places; the header Link leads on.", len(e.Places), e.Traced)
	}
	t.heading("Cautions")
	for _, c := range e.Cautions {
		t.item("%s", c.Text)
	}
	return t.String()
}

func (t *exposureText) opening() {
	start := placeInWords(t.e.Start.Place, t.e.Start.Name)
	if t.e.Back {
		t.say("Where what is in %s may have come from", start)
	} else {
		t.say("Where what was in %s may have gone", start)
	}
	if t.e.Club.Name != "" {
		t.say("%s", t.e.Club.Name)
	}
	t.say("By records since %s", spokenDay(t.e.Since, t.e.Club.Zone()))
	t.line("")
	if others := count(t.e.Traced-1, "other place", "other places"); t.e.Back {
		t.say("It may have come from %s.", others)
	} else {
		t.say("It may have reached %s; %d of the %d in all haven't been cleared since.", others, t.e.Exposed, t.e.Traced)
	}
}

// place tells a place of the trace, and how it was reached.
func (t *exposureText) place(p service.ExposedPlace) {
	zone := t.e.Club.Zone()
	told := fmt.Sprintf("%s: %s", spokenDay(p.Reached.At, zone), placeInWords(p.Place, p.Name))
	if p.KeeperName != "" {
		told += ", kept by " + p.KeeperName
	}
	if p.Record == "" {
		told += "; here the trace begins"
	} else {
		way := "out of"
		if t.e.Back {
			way = "into"
		}
		told += fmt.Sprintf("; by %s %s %s, %s away", inWords(carriedWords, p.Why), way, placeInWords(p.By, p.ByName), count(p.Steps, "step", "steps"))
	}
	if !p.Cleared.IsZero() {
		told += "; cleared on " + spokenDay(p.Cleared, zone)
	}
	t.item("%s.", told)
}

// carriedWords says by what something was carried along.
var carriedWords = map[string]string{
	"stocking": "a stocking", "split": "a split", "combine": "a combining", "hand-over": "a hand-over", "dispatch": "a dispatch",
	"arrival": "an arrival", "use": "a use", "harvest": "a harvest", "rework": "a rework", "feeding": "a feeding", "contact": "what was shared",
}

// placeInWords is what a text calls a place.
func placeInWords(p exposure.Place, name string) string {
	switch p.Kind {
	case exposure.Bin, exposure.Batch:
		return "the " + string(p.Kind) + " " + name
	case exposure.Way:
		return "what is " + name
	case exposure.Receipt, exposure.Outside:
	}
	return name
}
