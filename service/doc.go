// Package service is the domain: its types, its rules and its use-cases. It
// knows neither HTTP nor SQL.
//
// A use-case reads or writes one club's book in one transaction (desk.go) as the
// member that the caller is there (actor.go has the table of rights). What every
// noun can do is in shelf.go; what one noun does besides is in its own file.
// What decides without reading or writing stands in the packages below this
// one: journal, lineage, quantity, census, rates, yields, season.
package service
