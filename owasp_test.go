package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestTheOWASPTableNamesTestsThatExist(t *testing.T) {
	t.Parallel()
	guide, err := os.ReadFile("DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, found := strings.Cut(string(guide), "\n## OWASP API Security Top 10 (2023)\n")
	if !found {
		t.Fatal("the contributor's guide has no such table")
	}
	table, _, _ = strings.Cut(table, "\n## ")
	rows := regexp.MustCompile(`(?m)^\| (API\d+) .*\| ([^|]*) \|$`).FindAllStringSubmatch(table, -1)
	if len(rows) != 10 {
		t.Errorf("%d items", len(rows))
	}
	tests := testNames(t)
	for _, row := range rows {
		names := regexp.MustCompile(`\bTest\w+`).FindAllString(row[2], -1)
		if len(names) == 0 {
			t.Errorf("%s names no test", row[1])
		}
		for _, name := range names {
			if !tests[name] {
				t.Errorf("%s names %s, which isn't there", row[1], name)
			}
		}
	}
}

// testNames are the names of all tests of the project.
func testNames(t *testing.T) map[string]bool {
	t.Helper()
	names := map[string]bool{}
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			if fn, ok := decl.(*ast.FuncDecl); ok {
				names[fn.Name.Name] = true
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestOnlyTheOperatorsAddressesAreCalled(t *testing.T) {
	t.Parallel()
	calling := []string{
		"http.Get", "http.Post", "http.PostForm", "http.Head", "http.NewRequest", "http.NewRequestWithContext",
		"net.Dial", "net.DialTimeout", "tls.Dial", "smtp.Dial", "smtp.SendMail",
	}
	// Where other services are called, each where the operator's settings point.
	used := map[string]bool{"api/watch/": false, "auth/mail/": false, "auth/operator/": false}
	eachFile(t, func(t *testing.T, p string, f *ast.File) {
		t.Helper()
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			full, name := called(call)
			if !slices.Contains(calling, full) && name != "DialContext" {
				return true
			}
			room := path.Dir(p) + "/"
			if _, may := used[room]; !may {
				t.Errorf("%s calls %s", p, full)
			}
			used[room] = true
			return true
		})
	})
	for room, is := range used {
		if !is {
			t.Errorf("%s calls nobody: take it off the list", room)
		}
	}
}
