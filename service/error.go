package service

import (
	"errors"
	"fmt"
	"time"
)

// Kind classes an error by what the caller can do about it. The zero Kind is
// Internal, so an error nobody classed is never shown as the caller's fault.
type Kind uint8

// The kinds. Each maps to one HTTP status in package api.
const (
	Internal        Kind = iota // a fault of ours; details are logged, not shown
	Malformed                   // can't be read: syntax, unknown member, cursor
	Unauthenticated             // nobody signed in, or no longer
	Forbidden                   // the actor may see the thing but not do this to it
	NotFound                    // absent, or of another club: the two look alike
	NotAllowed                  // the thing has no such method
	Conflict                    // another write got there first, or a name is taken
	Stale                       // the version the caller saw is no longer the newest
	TooLarge                    // more than the service takes in one call
	Unsupported                 // a media type the service doesn't read
	Invalid                     // read, understood and refused
	Precondition                // the call needs a header that says what was seen
	Limited                     // too many calls; come back later
	Unavailable                 // the service can't answer now; come back later
)

// Error is the one error type that crosses a layer. Code is a stable slug; it
// becomes the last part of the problem type URI.
type Error struct {
	Kind       Kind
	Code       string
	Detail     string
	Fields     []FieldError
	RetryAfter time.Duration // for Limited and Unavailable
	Err        error         // the cause: logged, never shown
}

// FieldError says what is wrong with one member of the request.
type FieldError struct {
	Pointer string // RFC 6901 pointer into the request body
	Code    string // required, range, format, unit, unknown …
	Detail  string // what is wrong and what would be right
	Record  string // id of a record that it is about; empty: of none
	cause   error  // a failure of ours while looking; ends the request as itself
}

// Error returns the code with the cause or the detail.
func (e *Error) Error() string {
	if e.Err != nil {
		return e.Code + ": " + e.Err.Error()
	}
	return e.Code + ": " + e.Detail
}

// Unwrap returns the cause, which stays in the log and out of the response.
func (e *Error) Unwrap() error { return e.Err }

// Is matches on Code, so that errors.Is(err, ErrBinNotFound) holds for every
// copy of a catalogued error whatever its detail.
func (e *Error) Is(target error) bool {
	t, ok := target.(*Error)
	return ok && t.Code == e.Code
}

// With returns a copy of e with a detail.
func (e *Error) With(format string, a ...any) *Error {
	c := *e
	c.Detail = fmt.Sprintf(format, a...)
	return &c
}

// At returns a copy of e that points at the member of the request at fault.
func (e *Error) At(pointer string) *Error {
	c := *e
	c.Fields = []FieldError{{Pointer: pointer, Code: e.Code, Detail: e.Detail}}
	return &c
}

// Because returns a copy of e that keeps its cause for the log.
func (e *Error) Because(err error) *Error {
	c := *e
	c.Err = err
	return &c
}

// KindOf returns the kind of err, and Internal if it has none.
func KindOf(err error) Kind {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return Internal
}

// Faults gathers what is wrong with the members of one request, so that the
// caller hears everything at once.
type Faults []FieldError

// Add notes a fault.
func (f *Faults) Add(pointer, code, format string, a ...any) {
	*f = append(*f, FieldError{Pointer: pointer, Code: code, Detail: fmt.Sprintf(format, a...)})
}

// Check notes err as a fault at pointer, if there is one.
func (f *Faults) Check(pointer, code string, err error) {
	if err != nil {
		f.Add(pointer, code, "%s", err)
	}
}

// Err returns ErrInvalid with the faults, or nil if there are none. A failure
// that kept a fault from being looked at is returned as it is.
func (f Faults) Err() error {
	if len(f) == 0 {
		return nil
	}
	for _, fault := range f {
		if fault.cause != nil {
			return fault.cause
		}
	}
	e := *ErrInvalid
	e.Fields = f
	return &e
}
