// Package api is the HTTP face of the use-cases: it decodes, calls one use-case,
// and encodes. Nouns have the file names they have in package service; the
// mechanisms are these:
//
//	routes.go   the only route table
//	server.go   the engine around it
//	request.go  what a handler is given
//	answer.go   what a handler gives back
//	noun.go     add, get and list for every noun of a club
//	decode.go   strict JSON
//	query.go    the parameters of lists
//	cursor.go   signed places in lists
//	once.go     Idempotency-Key
//	problem.go  errors
package api
