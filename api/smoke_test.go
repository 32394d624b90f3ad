package api_test

import (
	"testing"

	"lumbricary.example/api/apitest"
)

func TestSmoke(t *testing.T) {
	t.Parallel()
	c := apitest.New(t)
	club := c.SignUp("ana").Found("harbour")
	a := club.Post("/sites", `{"name":"Cellar"}`).Want(201)
	t.Log(a.Body, a.Header)
	b := club.Post("/bins", `{"name":"T","kind":"tote","site":"`+a.ID()+`","started":"2026-04-20"}`).Want(201)
	t.Log(b.Body, b.Header)
	t.Log(club.Get("/bins").Body)
	t.Log(c.Log.Lines(""))
	ben := club.Join("ben", "keeper")
	t.Log(ben.MemberID())
}
