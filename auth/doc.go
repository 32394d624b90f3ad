// Package auth holds the secrets' side of an account: passphrases, the keys
// and access tokens of a session, and one-use codes.
//
// It stores nothing and knows neither HTTP nor SQL. Clocks and randomness are
// handed in, so that every answer can be repeated in a test.
package auth
