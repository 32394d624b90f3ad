package api

import (
	"fmt"
	"strings"

	"lumbricary.example/service"
	"lumbricary.example/service/due"
	"lumbricary.example/service/unit"
)

// dueWords tells what is due in sentences.
type dueWords struct {
	list service.DueList
	in   unit.System
}

func (w dueWords) bin(i due.Item) string { return w.list.Names.Bins[service.BinID(i.Bin)].Name }

func (w dueWords) lot(i due.Item) string { return w.list.Lots[service.BatchID(i.Batch)] }

func (w dueWords) culture(i due.Item) string {
	return w.list.Names.Cultures[service.CultureID(i.Record)].Name
}

// goods is what is promised or owed.
func (w dueWords) goods(i due.Item) string {
	what := i.Commodity
	if name, ok := w.list.Names.Species[service.SpeciesID(i.Commodity)]; ok {
		what = name
	}
	return strings.TrimSpace(w.figure(i.Figure) + " of " + what)
}

// stepWords says what a transfer waits for.
var stepWords = map[string]string{
	"accept": "for an answer", "dispatch": "to be sent", "receive": "to be received", "replace": "for something else, or to be waived",
}

// title is what is due, in a few words.
func (w dueWords) title(i due.Item) string {
	switch i.Kind {
	case due.EscapeLook:
		return "Look for escape from " + w.bin(i)
	case due.FirstCheck:
		return "First check of " + w.bin(i)
	case due.NextCheck:
		return "Check " + w.bin(i)
	case due.TooHot:
		return w.bin(i) + " is too hot"
	case due.TooDry:
		return w.bin(i) + " is too dry"
	case due.TooFull:
		return w.bin(i) + " is too full"
	case due.Feeding:
		return "Feed " + w.bin(i)
	case due.Harvest:
		return "Harvest " + w.bin(i)
	case due.Census:
		return "Census of " + w.bin(i)
	case due.TransferStep:
		return "A transfer waits " + inWords(stepWords, i.Verb)
	case due.PromiseExpires:
		return "A promise expires: " + w.goods(i)
	case due.LoanDue:
		return "A loan is to be back: " + w.goods(i)
	case due.QuarantineEnds:
		return "Release " + w.bin(i) + " from quarantine"
	case due.BackupMissing:
		return w.culture(i) + " has no backup"
	case due.AnalysisExpires:
		return fmt.Sprintf("Analysis of %s expires: %s", w.lot(i), i.Parameter)
	}
	return inWords(nil, string(i.Kind))
}

// sinceWords says from what the days of an item are counted.
var sinceWords = map[due.Kind]string{
	due.EscapeLook: "since the bin was started", due.FirstCheck: "since the bin was started", due.NextCheck: "since the last check",
	due.Feeding: "since it was last fed", due.Harvest: "since the last harvest, or the start", due.Census: "since the last census, or the start",
	due.TransferStep: "since the step before", due.QuarantineEnds: "since it began",
}

// detail is the figure behind it, and what it is held against.
func (w dueWords) detail(i due.Item) string {
	figure, limit := w.figure(i.Figure), w.figure(i.Limit)
	switch i.Kind {
	case due.TooHot:
		return fmt.Sprintf("%s in the last check; too hot from %s", figure, limit)
	case due.TooDry:
		return fmt.Sprintf("%s in the last check; too dry below %s", figure, limit)
	case due.TooFull:
		return fmt.Sprintf("%s by the book; too full above %s", figure, limit)
	case due.Feeding:
		return fmt.Sprintf("%s %s; usually every %s", figure, sinceWords[i.Kind], limit)
	case due.TransferStep:
		return fmt.Sprintf("%s %s", figure, sinceWords[i.Kind])
	case due.PromiseExpires:
		return "it isn't reserved from then on"
	case due.LoanDue:
		return "outstanding since " + i.Since
	case due.QuarantineEnds:
		return fmt.Sprintf("%s %s; planned for %s", figure, sinceWords[i.Kind], limit)
	case due.BackupMissing:
		return fmt.Sprintf("it lives in %s; at least %s", figure, limit)
	case due.AnalysisExpires:
		return "the sample was taken on " + i.Since
	case due.EscapeLook, due.FirstCheck, due.NextCheck, due.Harvest, due.Census:
	}
	return fmt.Sprintf("%s %s; at the latest after %s", figure, sinceWords[i.Kind], limit)
}

// unitWords are the units of figures as people write them.
var unitWords = map[string]string{
	"Cel": "°C", "[degF]": "°F", "kg/m2": "kg/m²", "[lb_av]/[sft_i]": "lb/ft²", "d": "days", "g": "g", "[oz_av]": "oz", "{bins}": "bins", "{sites}": "sites",
}

// figure is a figure in words.
func (w dueWords) figure(f unit.Figure) string {
	f = f.In(w.in)
	if !f.Known {
		return "dry to the hand"
	}
	word := f.Unit
	if known, ok := unitWords[f.Unit]; ok {
		word = known
	}
	if f.Value == 1 {
		word = strings.TrimSuffix(word, "s")
	}
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", f.Value), "0"), ".") + " " + word
}

// DueText is a due list as plain text, at most 80 columns wide, in the units of a
// system.
func DueText(l service.DueList, in unit.System) string {
	var p paper
	w := dueWords{l, in}
	p.say("What is due up to %s", l.Until)
	p.say("%s, %s", l.Club.Name, l.Today)
	if len(l.Items) == 0 {
		p.line("")
		p.say("Nothing is due.")
	}
	day := ""
	for _, i := range l.Items {
		if i.Day != day {
			day = i.Day
			p.heading("%s", dueDay(day, string(l.Today)))
		}
		p.item("%s: %s (%s)", w.title(i), w.detail(i), due.Basis(i.Kind))
	}
	return p.String()
}

// dueDay is a day, with how long it is past.
func dueDay(day, today string) string {
	switch late := daysLate(day, today); {
	case day == today:
		return day + ", today"
	case late == 1:
		return day + ", yesterday"
	case late > 1:
		return fmt.Sprintf("%s, %d days ago", day, late)
	}
	return day
}
