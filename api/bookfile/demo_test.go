package bookfile_test

import (
	"testing"
	"time"

	"lumbricary.example/repo/repotest"
)

func TestTheDemoClubsAreImported(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"harbour", "lagoon"} {
		t.Run(name, func(t *testing.T) {
			c := newClub(t, repotest.SQLite(t), name)
			start := time.Now()
			report := c.bring(read(t, demo(t, name)))
			t.Log(report, time.Since(start))
		})
	}
}
