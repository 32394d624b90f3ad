// Package exchange is the rules of transfers: who may take which step when, what
// a promise reserves, which promises have fallen short, and what is still owed.
//
// A transfer is a deal of one leg (sale, gift, loan) or two (swap). Each leg goes
// one way, from a giver to a receiver, and is promised, reserved when its giver
// commits, sent, and received. A loan gains a leg for each part that comes back.
package exchange
