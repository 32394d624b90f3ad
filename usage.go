package main

import "lumbricary.example/repo/keep"

// usage is what a user is told of the commands.
const usage = `Lumbricary: the stock book of vermicomposting clubs and small worm farms

  lumbricary demo    [-addr A] [-db FILE] [-once]   a demo club on an embedded database
  lumbricary serve   [-addr A] [-db URL]            the service
  lumbricary found   -handle H -name N -zone Z -currency C -email E -steward N [-db URL]
                                                    a club and its first steward; the passphrase
                                                    is read from standard input
  lumbricary account reset-link -email E [-db URL]  a one-use code for a new passphrase
  lumbricary keys    list | rotate [-db URL]        the keys that sign access tokens
  lumbricary founding-code [-db URL]                a one-use code to found a club
  lumbricary check   [-club H] [-db URL]            what is wrong in the books; exit 1 when something is
  lumbricary rebuild [-club H] [-db URL]            derive again all that is derived in the books
  lumbricary invite  -club H -member N -email E [-db URL]
                                                    a code by which a steward without account comes in
` + keep.Usage + `  lumbricary health  [-addr A]                      exit 0 when the service is ready
  lumbricary version

Settings come from the environment (README.md lists them) and then from flags.
`
