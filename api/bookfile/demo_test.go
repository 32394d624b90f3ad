package bookfile_test

import (
	"fmt"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

func TestTheDemoClubsAreImportedWhole(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"harbour": "[{settings 0} {members 12} {sites 12} {materials 10} {measures 0} {cultures 6} {origins 9} {bins 30} {batches 26} {offers 0} {transfers 4} {receipts 6} {turnouts 0} {movements 146} {harvests 99} {reworks 0} {censuses 97} {feedings 1377} {checks 806} {batch_steps 0} {contacts 0} {clearings 0} {quarantines 2} {identifications 0}]",
		"lagoon":  "[{settings 0} {members 4} {sites 2} {materials 5} {measures 0} {cultures 2} {origins 2} {bins 5} {batches 2} {offers 0} {transfers 0} {receipts 0} {turnouts 0} {movements 10} {harvests 9} {reworks 0} {censuses 9} {feedings 69} {checks 61} {batch_steps 0} {contacts 0} {clearings 0} {quarantines 0} {identifications 0}]",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			repotest.Each(t, func(t *testing.T, store *repo.Store) {
				report := newClub(t, store, name).bring(read(t, demo(t, name)))
				if got := fmt.Sprint(report.Counts); got != want || len(report.Warnings) > 0 {
					t.Errorf("got %s, %v", got, report.Warnings)
				}
			})
		})
	}
}
