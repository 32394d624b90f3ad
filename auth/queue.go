package auth

// Queue tells how many passphrases are being hashed, and how many wait for it.
func (g *Gate) Queue() (working, waiting int) {
	working = len(g.hasher.gate.slots)
	return working, max(0, len(g.hasher.gate.tickets)-working)
}
