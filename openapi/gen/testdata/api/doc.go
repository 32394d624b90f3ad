// Package api is a small interface for the tests of the generator.
package api
