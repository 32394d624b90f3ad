package service

// BookRecords are the use-cases that move whole tables of records.
type BookRecords struct{ *Desk }
