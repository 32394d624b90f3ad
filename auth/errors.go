package auth

import "errors"

// The errors of this package that carry no data. Passphrases and tokens have
// their own types: [PassphraseError] and [TokenError].
var (
	// ErrBusy says that too many passphrases wait to be hashed; try again later.
	ErrBusy = errors.New("auth: too many passphrases are waiting")
	// ErrMalformedHash says that a stored passphrase hash can't be read.
	ErrMalformedHash = errors.New("auth: malformed passphrase hash")

	// ErrMalformedKey says that a signing key is incomplete or can't be read.
	ErrMalformedKey = errors.New("auth: malformed signing key")
	// ErrNoKey says that every signing key is retired, or that there is none.
	ErrNoKey = errors.New("auth: no signing key in use")

	// ErrAccount says that a token was asked for nobody.
	ErrAccount = errors.New("auth: a token needs an account")
	// ErrLifetime says that a token was asked for no time at all, or for too long.
	ErrLifetime = errors.New("auth: a token lives from one second to 15 minutes")
	// ErrExpired says that a token was good and its time is over.
	ErrExpired = errors.New("auth: the token has expired")
	// ErrInvalid says that a token is refused for any reason but its age.
	ErrInvalid = errors.New("auth: the token is invalid")

	// ErrMalformedCode says that a text isn't a code: wrong length or characters.
	ErrMalformedCode = errors.New("auth: this is not a code")
	// ErrMalformedRefresh says that a text isn't a refresh token.
	ErrMalformedRefresh = errors.New("auth: this is no refresh token")
	// ErrMistypedCode says that a text looks like a code, but was copied wrongly.
	ErrMistypedCode = errors.New("auth: the code is mistyped")
)
