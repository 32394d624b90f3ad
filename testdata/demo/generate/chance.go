package main

import (
	"fmt"
	"math/rand/v2"
	"time"
)

// chance is a seeded source of accidents. The same seed gives the same
// accidents on every machine.
type chance struct{ r *rand.Rand }

func newChance(seed uint64) *chance {
	return &chance{rand.New(rand.NewPCG(seed, 0x6c756d6272696361))}
}

// float returns a number from lo to hi.
func (c *chance) float(lo, hi float64) float64 { return lo + float64((hi-lo)*c.r.Float64()) }

// whole returns a whole number from lo to hi, both included.
func (c *chance) whole(lo, hi int) int { return lo + c.r.IntN(hi-lo+1) }

// hit reports whether something of probability p happens.
func (c *chance) hit(p float64) bool { return c.r.Float64() < p }

// about returns v with an error of standard deviation cv·v: three uniform
// numbers added up, so never beyond three of them, and never below v/10.
func (c *chance) about(v, cv float64) float64 {
	z := float64(2 * (c.r.Float64() + c.r.Float64() + c.r.Float64() - 1.5))
	return max(v/10, v+float64(v*cv*z))
}

// pick returns one of the choices.
func pick[T any](c *chance, of []T) T { return of[c.r.IntN(len(of))] }

// uuid returns an id in the form of version 7 (RFC 9562): 48 bits of the time
// in milliseconds, the rest by chance.
func (c *chance) uuid(at time.Time) string {
	a, b := c.r.Uint64(), c.r.Uint64()
	ms := uint64(at.UnixMilli())
	hi := ms<<16 | 0x7000 | a&0x0fff
	lo := 0x8000000000000000 | b&0x3fffffffffffffff
	return fmt.Sprintf("%08x-%04x-%04x-%04x-%012x", hi>>32, hi>>16&0xffff, hi&0xffff, lo>>48, lo&0xffffffffffff)
}
