package service

import (
	"go/ast"
	"go/parser"
	"go/token"
	"regexp"
	"testing"
)

func TestTheCatalogueListsEveryErrorOnce(t *testing.T) {
	t.Parallel()
	file, err := parser.ParseFile(token.NewFileSet(), "catalogue.go", nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	declared, listed := 0, map[string]int{}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ValueSpec:
			for _, name := range n.Names {
				declared++
				listed[name.Name]--
			}
		case *ast.ReturnStmt:
			ast.Inspect(n, func(n ast.Node) bool {
				if id, ok := n.(*ast.Ident); ok && id.Name != "Error" {
					listed[id.Name]++
				}
				return true
			})
		}
		return true
	})
	for name, n := range listed {
		if n != 0 {
			t.Errorf("%s is declared and listed %+d times", name, n)
		}
	}
	if len(Catalogue()) != declared {
		t.Errorf("%d declared, %d listed", declared, len(Catalogue()))
	}
}

func TestEveryCodeIsASlugOfItsOwn(t *testing.T) {
	t.Parallel()
	slug := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := map[string]bool{}
	for _, e := range Catalogue() {
		if !slug.MatchString(e.Code) || seen[e.Code] {
			t.Errorf("code %q", e.Code)
		}
		seen[e.Code] = true
	}
}
