package operator_test

import (
	"errors"
	"flag"
	"net/http"
	"strings"
	"testing"

	"lumbricary.example/auth/operator"
	"lumbricary.example/service"
)

// tell runs a command on a club and returns what it printed, and its error.
func (d desk) tell(t *testing.T, command, club string) (string, error) {
	t.Helper()
	d.out.Reset()
	var about operator.About
	fs := flag.NewFlagSet(command, flag.ContinueOnError)
	about.Flags(fs, command)
	if err := fs.Parse([]string{"-club", club}); err != nil {
		t.Fatal(err)
	}
	err := d.tools.Do(t.Context(), command, about)
	return d.out.String(), err
}

func TestTheCommandsSayWhatIsWrongAndWhatWasHealed(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	ana := d.SignUp("ana").Found("harbour")
	site := ana.Post("/sites", `{"name":"Cellar"}`).Want(http.StatusCreated).ID()
	bin := ana.Post("/bins", `{"name":"Tote","kind":"tote","site":"`+site+`"}`).Want(http.StatusCreated).ID()
	check := ana.Post("/checks", `{"bin":"`+bin+`"}`).Want(http.StatusCreated).ID()
	if said, err := d.tell(t, operator.Check, ""); err != nil || said != "harbour: 15 rules hold\n" {
		t.Errorf("%s %v", said, err)
	}
	forget := func() {
		err := d.Store.Update(t.Context(), service.ClubID(ana.Get("").Want(http.StatusOK).ID()), func(tx service.Tx) error { return tx.Events.Replace(nil) })
		if err != nil {
			t.Fatal(err)
		}
	}
	forget()
	line := "timelines tell every record once: " + check + " bin:" + bin + " at 2026-05-01T08:00:00Z: expected a check in the timeline, found none\n"
	if said, err := d.tell(t, operator.Check, "harbour"); !errors.Is(err, operator.ErrWrong) || said != "harbour: faults: 1\n  wrong    "+line {
		t.Errorf("%s %v", said, err)
	}
	if said, err := d.tell(t, operator.Rebuild, "harbour"); err != nil || said != "harbour: healed: 1, left: 0\n  healed   "+line {
		t.Errorf("%s %v", said, err)
	}
	for _, command := range []string{operator.Check, operator.Rebuild} {
		if said, err := d.tell(t, command, "dale"); !errors.Is(err, service.ErrClubNotFound) || strings.Contains(said, "harbour") {
			t.Errorf("%s: %s %v", command, said, err)
		}
	}
}
