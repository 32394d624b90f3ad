package auth

import (
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// The sizes of a new hash, in bytes.
const (
	saltBytes = 16
	hashBytes = 32
)

// What a stored hash may ask for. The bounds keep a damaged row from taking the
// machine's memory.
const (
	maxMemory     = 64 << 10 // KiB
	maxPasses     = 10
	maxLanes      = 4
	minSaltBytes  = 8
	minHashBytes  = 16
	maxFieldBytes = 64
)

// cost is what one argon2id hash takes.
type cost struct {
	memory uint32 // KiB
	passes uint32
	lanes  uint8
}

// currentCost is the cost of a new hash: 19 MiB, two passes, one lane.
func currentCost() cost {
	return cost{memory: 19 << 10, passes: 2, lanes: 1}
}

// allowed tells whether a stored hash may ask for this cost. Argon2 needs eight
// KiB of memory for each lane.
func (c cost) allowed() bool {
	return c.passes >= 1 && c.passes <= maxPasses &&
		c.lanes >= 1 && c.lanes <= maxLanes &&
		c.memory >= 8*uint32(c.lanes) && c.memory <= maxMemory
}

// String writes the cost as in a PHC string: memory in KiB, passes, lanes.
func (c cost) String() string {
	return fmt.Sprintf("m=%d,t=%d,p=%d", c.memory, c.passes, c.lanes)
}

// phc is a hash in the PHC string format.
type phc struct {
	cost
	salt, hash []byte
}

// String writes the hash as "$argon2id$v=19$m=…,t=…,p=…$salt$hash".
func (p phc) String() string {
	encode := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$%s$%s$%s", argon2.Version, p.cost, encode(p.salt), encode(p.hash))
}

// parsePHC reads what [phc.String] writes, and nothing else. The error is
// [ErrMalformedHash].
func parsePHC(text string) (phc, error) {
	fields := strings.Split(text, "$")
	if len(fields) != 6 {
		return phc{}, fmt.Errorf("%w: not six fields", ErrMalformedHash)
	}
	var p phc
	if _, err := fmt.Sscanf(fields[3], "m=%d,t=%d,p=%d", &p.memory, &p.passes, &p.lanes); err != nil {
		return phc{}, fmt.Errorf("%w: cost: %w", ErrMalformedHash, err)
	}
	var err error
	if p.salt, err = decodeField(fields[4], minSaltBytes); err != nil {
		return phc{}, fmt.Errorf("%w: salt: %w", ErrMalformedHash, err)
	}
	if p.hash, err = decodeField(fields[5], minHashBytes); err != nil {
		return phc{}, fmt.Errorf("%w: hash: %w", ErrMalformedHash, err)
	}
	if !p.allowed() || p.String() != text {
		return phc{}, fmt.Errorf("%w: unknown kind or cost", ErrMalformedHash)
	}
	return p, nil
}

// decodeField reads base64 without padding. The error says that the field isn't
// that, or is shorter or longer than it may be.
func decodeField(text string, least int) ([]byte, error) {
	field, err := base64.RawStdEncoding.DecodeString(text)
	if err != nil {
		return nil, err
	}
	if len(field) < least || len(field) > maxFieldBytes {
		return nil, fmt.Errorf("%d bytes", len(field))
	}
	return field, nil
}
