package service

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// rightsTable writes out who may do what: a line for each action and role, with
// how the call may come (signed in, or by an API key of one scope) for a thing
// of one's own and for another's.
func rightsTable() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-16s %-8s %-30s %s\n", "action", "role", "own", "another's")
	for _, action := range actions() {
		for _, role := range []Role{Steward, Keeper, Reader, "king"} {
			fmt.Fprintf(&b, "%-16s %-8s %-30s %s\n", action, role, ways(action, role, "me"), ways(action, role, "you"))
		}
	}
	return b.String()
}

func actions() []Action {
	var all []Action
	for action := range rights {
		all = append(all, action)
	}
	slices.Sort(all)
	return append(all, "no-such-action")
}

// ways lists how a member of that role may come to do an action on a thing that
// owner answers for.
func ways(action Action, role Role, owner MemberID) string {
	me := Member{ID: "me", Role: role}
	var out []string
	if (caller{Member: me}).May(action, owner) {
		out = append(out, "signed-in")
	}
	for _, scope := range []Scope{ScopeFigures, ScopeRead, ScopeRecord, ScopeTransfer, noKey, "all"} {
		if (caller{me, &APIKey{Scopes: []Scope{scope}}}).May(action, owner) {
			out = append(out, "key:"+string(scope))
		}
	}
	if len(out) == 0 {
		return "-"
	}
	return strings.Join(out, " ")
}

func TestWhoMayDoWhatIsAsWrittenDown(t *testing.T) {
	t.Parallel()
	const file = "testdata/rights.txt"
	got := rightsTable()
	if os.Getenv("UPDATE_GOLDEN") != "" {
		if err := os.WriteFile(file, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the rights differ from %s; if that is meant, run this test with UPDATE_GOLDEN=1 and look at the change:\n%s", file, got)
	}
}

func TestEveryActionHasItsRights(t *testing.T) {
	t.Parallel()
	file, err := parser.ParseFile(token.NewFileSet(), "actor.go", nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	declared := 0
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if kind, ok := spec.Type.(*ast.Ident); !ok || kind.Name != "Action" {
			return true
		}
		text, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
		if _, there := rights[Action(text)]; err != nil || !there {
			t.Errorf("%s has no row in the table of rights", text)
		}
		declared++
		return true
	})
	if declared != len(rights) {
		t.Errorf("%d actions are declared, %d have a row", declared, len(rights))
	}
}

func TestNoKeyIsForPeopleRolesKeysAndTheWholeBook(t *testing.T) {
	t.Parallel()
	for _, action := range []Action{
		AddMember, ChangeRole, RemoveMember, SeeInvitations, ChangeClub, MakeKey, MakeClubKey, SeeKey, RevokeKey,
		ImportRecords, ExportRecords, SeeAddress, ExportPersonal, EraseMember, ReviewErasures,
	} {
		if scope := ScopeOf(action); scope != noKey {
			t.Errorf("a key for %s may %s", scope, action)
		}
	}
}

func TestAKeyIsNotedOnceAMinute(t *testing.T) {
	t.Parallel()
	var uses keyUses
	at := func(minute, second int) time.Time { return time.Date(2026, 5, 1, 8, minute, second, 0, time.UTC) }
	k := APIKey{ID: "k", LastUsedAt: at(0, 0)}
	uses.note("c", k, at(0, 59))
	if taken := uses.take(); len(taken) != 0 {
		t.Errorf("noted a second time in the same minute: %v", taken)
	}
	uses.note("c", k, at(2, 30))
	uses.note("c", k, at(1, 30)) // of a call that ended later
	if got, want := uses.last("c", "k"), at(2, 0); !got.Equal(want) {
		t.Errorf("last used %v, want %v", got, want)
	}
	if taken := uses.take(); len(taken["c"]) != 1 || len(uses.take()) != 0 {
		t.Errorf("taken %v, and then more", taken)
	}
}
