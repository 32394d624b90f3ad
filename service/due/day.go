package due

import (
	"math"
	"time"

	"lumbricary.example/service/unit"
)

// after is the day so many days after another; a text that is no date stays.
func after(day string, days int) string {
	d, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	return d.AddDate(0, 0, days).Format(time.DateOnly)
}

// between is how many days lie between two days; 0 where one is no date.
func between(from, to string) int {
	a, errA := time.Parse(time.DateOnly, from)
	b, errB := time.Parse(time.DateOnly, to)
	if errA != nil || errB != nil {
		return 0
	}
	return int(math.Round(b.Sub(a).Hours() / 24))
}

// days is a number of days as a figure.
func days(n int, basis string) unit.Figure { return unit.Of(float64(n), "d", basis) }
