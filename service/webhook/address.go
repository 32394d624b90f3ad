package webhook

import (
	"errors"
	"net/netip"
	"net/url"
)

// The reasons why an address can't be called.
var (
	ErrAddress = errors.New("give an https address without a user and a fragment, of at most 500 characters")
	ErrNumber  = errors.New("give a name, not a private address")
)

const maxAddress = 500

// CheckAddress checks an address before it is kept: https, or http to the
// program's own machine where loopback is set. What its name leads to is checked
// at each call, where it is dialled. Errors: ErrAddress, ErrNumber.
func CheckAddress(text string, loopback bool) error {
	u, err := url.Parse(text)
	if err != nil || len(text) > maxAddress || u.Host == "" || u.User != nil || u.Fragment != "" {
		return ErrAddress
	}
	number, err := netip.ParseAddr(u.Hostname())
	own := u.Hostname() == "localhost" || err == nil && number.IsLoopback()
	switch {
	case own && loopback && (u.Scheme == "http" || u.Scheme == "https"):
		return nil
	case u.Scheme != "https":
		return ErrAddress
	case own, err == nil && (number.IsPrivate() || !number.IsGlobalUnicast()):
		return ErrNumber
	}
	return nil
}
