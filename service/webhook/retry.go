package webhook

import "time"

// waits are how long a delivery waits after each failed attempt; after the last
// it is given up. They are those that Standard Webhooks 1.0 suggests.
var waits = []time.Duration{
	5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour, 10 * time.Hour, 14 * time.Hour, 20 * time.Hour, 24 * time.Hour,
}

// Attempts is how often a delivery is tried: over three days and a bit.
func Attempts() int { return len(waits) + 1 }

// Wait returns how long a delivery waits after so many attempts: up to a fifth
// longer by chance, a number from 0 to 1, so that a receiver that comes back
// isn't called by all at once. After the last attempt it is the longest.
func Wait(attempts int, chance float64) time.Duration {
	w := waits[min(max(attempts, 1), len(waits))-1]
	return w + time.Duration(chance*float64(w)/5)
}

// Overlap is how long the secret before a rotation goes on signing.
const Overlap = 24 * time.Hour

// Kept is how long deliveries are kept.
const Kept = 30 * 24 * time.Hour
