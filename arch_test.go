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
	"strconv"
	"strings"
	"testing"
)

const module = "lumbricary.example/"

// mayImport says what each folder may import beyond the standard library: our
// own packages by their path inside the module, foreign ones by whole path or by
// a prefix that ends in a slash. A folder that is not listed fails the test, so
// every new package states its place. Test files may import anything.
var mayImport = map[string][]string{
	".":                      {"*"},
	".ci/witness":            {module + "openapi", module + "openapi/openapitest"},
	"api":                    {module + "service", module + "service/", module + "api/bookfile", module + "api/reportfile", module + "api/sheet", module + "api/picture", module + "api/qr", module + "api/ical", module + "auth", module + "openapi", "github.com/gin-gonic/gin", "golang.org/x/time/rate"},
	"api/apitest":            {"*"},
	"api/ical":               {},
	"api/elements":           {},
	"api/bookfile":           {module + "service", module + "service/"},
	"api/reportfile":         {module + "api/bookfile", module + "api/sheet", module + "service/unit", "github.com/xuri/excelize/v2"},
	"api/sheet":              {"github.com/go-pdf/fpdf", "golang.org/x/text/unicode/norm"},
	"api/sheet/sheettest":    {},
	"api/picture":            {module + "api/picture/layers"},
	"api/picture/layers":     {},
	"api/qr":                 {"github.com/skip2/go-qrcode"},
	"auth":                   {module + "service", "github.com/golang-jwt/jwt/v5", "golang.org/x/"},
	"auth/mail":              {module + "service"},
	"repo/keep":              {module + "service", module + "service/archive", module + "service/reference", module + "repo"},
	"api/courier":            {module + "service", "code.dny.dev/ssrf"},
	"migrations":             {},
	"openapi":                {},
	"openapi/gen":            {module + "openapi", "github.com/swaggo/swag/v2"},
	"openapi/openapitest":    {module + "openapi", "github.com/getkin/kin-openapi/", "github.com/santhosh-tekuri/jsonschema/v6"},
	"auth/operator":          {module + "service", module + "service/proof", module + "auth"},
	"repo":                   {module + "service", module + "service/", module + "migrations", "github.com/google/uuid", "gorm.io/", "github.com/jackc/", "github.com/libtnb/sqlite", "modernc.org/sqlite", "modernc.org/sqlite/", "github.com/pressly/goose/v3", "github.com/pressly/goose/v3/", "github.com/riverqueue/river", "github.com/riverqueue/river/"},
	"repo/repotest":          {"*"},
	"service":                {module + "service/"},
	"service/archive":        {},
	"service/balance":        {module + "service/working", module + "service/unit"},
	"service/census":         {module + "service/working", module + "service/unit", "gonum.org/"},
	"service/due":            {module + "service/unit", module + "service/rates"},
	"service/exposure":       {},
	"service/exchange":       {module + "service/working", module + "service/unit", module + "service/journal"},
	"service/journal":        {module + "service/unit"},
	"service/lineage":        {module + "service/working", module + "service/unit", module + "service/journal"},
	"service/proof":          {module + "service/unit", module + "service/journal", module + "service/lineage"},
	"service/quantity":       {module + "service/working", module + "service/unit"},
	"service/rates":          {module + "service/working", module + "service/unit", module + "service/yields", "gonum.org/"},
	"service/reference":      {},
	"service/season":         {module + "service/working", module + "service/unit", module + "service/yields", module + "service/rates", "gonum.org/"},
	"service/unit":           {},
	"service/webhook":        {},
	"service/working":        {module + "service/unit"},
	"service/yields":         {module + "service/working", module + "service/unit"},
	"testdata/demo":          {module + "service", module + "api", module + "api/bookfile"},
	"testdata/demo/generate": {},
	"api/watch":              {module + "api", module + "service", "github.com/prometheus/client_golang/", "go.opentelemetry.io/otel/"},
}

// impure is what a pure package, a folder below service/ or one that draws, may
// not import.
var impure = []string{"context", "database/sql", "log", "log/slog", "math/rand", "math/rand/v2", "net", "net/http", "os", "sync"}

// inService is what package service itself may not import.
var inService = []string{"database/sql", "net/http", "os"}

// banned are calls that have one home: folder prefix to names.
var banned = map[string][]string{
	"repo/":    {"Raw", "Save", "Joins", "Table", "Preload", "Unscoped", "FirstOrCreate"},
	"service/": {"time.Now", "context.Background"},
	"api/":     {"time.Now", "context.Background"},
	"auth/":    {"time.Now", "context.Background"},
}

// homes are the files in which a banned call has its home.
var homes = []string{"repo/guard.go", "repo/repotest/", "api/apitest/", "api/courier/"}

func TestEachFolderImportsOnlyWhatItsPlaceAllows(t *testing.T) {
	t.Parallel()
	eachFile(t, func(t *testing.T, p string, f *ast.File) {
		t.Helper()
		dir := path.Dir(p)
		allowed, listed := mayImport[dir]
		if !listed {
			t.Errorf("%s: say in mayImport what it may import", dir)
		}
		for _, s := range f.Imports {
			imp, err := strconv.Unquote(s.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if !may(dir, imp, allowed) {
				t.Errorf("%s may not import %s", p, imp)
			}
		}
	})
}

func TestABannedCallIsMadeOnlyAtItsHome(t *testing.T) {
	t.Parallel()
	eachFile(t, func(t *testing.T, p string, f *ast.File) {
		t.Helper()
		if slices.ContainsFunc(homes, func(h string) bool { return strings.HasPrefix(p, h) }) {
			return
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				if full, name := called(call); isBanned(p, full, name) {
					t.Errorf("%s calls %s, which has its home elsewhere", p, full)
				}
			}
			return true
		})
	})
}

func TestNoPackageStartsByItself(t *testing.T) {
	t.Parallel()
	eachFile(t, func(t *testing.T, p string, f *ast.File) {
		t.Helper()
		for _, d := range f.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && fn.Name.Name == "init" && fn.Recv == nil {
				t.Errorf("%s has an init", p)
			}
		}
	})
}

func TestFilesAndFunctionsStayShort(t *testing.T) {
	t.Parallel()
	const maxFile, maxFunc, maxParams = 500, 70, 5
	fset := token.NewFileSet()
	eachFileIn(t, fset, func(t *testing.T, p string, f *ast.File) {
		t.Helper()
		if n := fset.Position(f.End()).Line; n > maxFile {
			t.Errorf("%s has %d lines; the limit is %d", p, n, maxFile)
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			if n := fset.Position(fn.End()).Line - fset.Position(fn.Pos()).Line + 1; n > maxFunc && !isTable(fn) {
				t.Errorf("%s: %s has %d lines; the limit is %d", p, fn.Name, n, maxFunc)
			}
			if n := fn.Type.Params.NumFields(); n > maxParams {
				t.Errorf("%s: %s has %d parameters; the limit is %d", p, fn.Name, n, maxParams)
			}
		}
	})
}

func TestEveryExportedThingIsDocumented(t *testing.T) {
	t.Parallel()
	eachFile(t, func(t *testing.T, p string, f *ast.File) {
		t.Helper()
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && d.Doc == nil && (d.Recv == nil || ast.IsExported(receiver(d))) {
					t.Errorf("%s: %s has no comment", p, d.Name)
				}
			case *ast.GenDecl:
				for _, s := range d.Specs {
					if ts, ok := s.(*ast.TypeSpec); ok && ts.Name.IsExported() && d.Doc == nil && ts.Doc == nil && ts.Comment == nil && len(d.Specs) == 1 {
						t.Errorf("%s: %s has no comment", p, ts.Name)
					}
				}
			}
		}
	})
}

func TestBothDatabasesHaveTheSameMigrations(t *testing.T) {
	t.Parallel()
	sqlite, err := filepath.Glob("migrations/sqlite/*.sql")
	if err != nil || len(sqlite) == 0 {
		t.Fatalf("no migrations: %v", err)
	}
	postgres, err := filepath.Glob("migrations/postgres/*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for i := range sqlite {
		sqlite[i] = filepath.Base(sqlite[i])
	}
	for i := range postgres {
		postgres[i] = filepath.Base(postgres[i])
	}
	if !slices.Equal(sqlite, postgres) {
		t.Errorf("sqlite has %v, postgres %v", sqlite, postgres)
	}
}

func eachFile(t *testing.T, fn func(*testing.T, string, *ast.File)) {
	t.Helper()
	eachFileIn(t, token.NewFileSet(), fn)
}

// eachFileIn calls fn with every Go file of the project that is no test.
func eachFileIn(t *testing.T, fset *token.FileSet, fn func(*testing.T, string, *ast.File)) {
	t.Helper()
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return err
		}
		if strings.Contains(filepath.ToSlash(p), "/testdata/") {
			return nil // material of a package's tests
		}
		f, err := parser.ParseFile(fset, p, nil, parser.ParseComments)
		if err == nil {
			fn(t, filepath.ToSlash(p), f)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func may(dir, imp string, allowed []string) bool {
	if first, _, _ := strings.Cut(imp, "/"); !strings.Contains(first, ".") {
		switch {
		case dir == "service":
			return !slices.Contains(inService, imp)
		case strings.HasPrefix(dir, "service/"), strings.HasPrefix(dir, "api/picture"):
			return !slices.Contains(impure, imp)
		}
		return true
	}
	return slices.ContainsFunc(allowed, func(a string) bool {
		return a == "*" || a == imp || strings.HasSuffix(a, "/") && strings.HasPrefix(imp, a)
	})
}

// called returns the name of a method or function called, with and without what
// stands before its dot.
func called(call *ast.CallExpr) (full, name string) {
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return "", ""
	}
	if x, ok := sel.X.(*ast.Ident); ok {
		return x.Name + "." + sel.Sel.Name, sel.Sel.Name
	}
	return sel.Sel.Name, sel.Sel.Name
}

func isBanned(p, full, name string) bool {
	for pre, names := range banned {
		if strings.HasPrefix(p, pre) && (slices.Contains(names, name) || slices.Contains(names, full)) {
			return true
		}
	}
	return false
}

// isTable reports whether a function only returns one literal, as the table of
// routes does.
func isTable(fn *ast.FuncDecl) bool {
	if fn.Body == nil || len(fn.Body.List) != 1 {
		return false
	}
	ret, ok := fn.Body.List[0].(*ast.ReturnStmt)
	if !ok || len(ret.Results) != 1 {
		return false
	}
	_, ok = ret.Results[0].(*ast.CompositeLit)
	return ok
}

// receiver returns the type name of a method's receiver.
func receiver(fn *ast.FuncDecl) string {
	typ := fn.Recv.List[0].Type
	for {
		switch x := typ.(type) {
		case *ast.StarExpr:
			typ = x.X
		case *ast.IndexExpr:
			typ = x.X
		case *ast.IndexListExpr:
			typ = x.X
		case *ast.Ident:
			return x.Name
		default:
			return ""
		}
	}
}

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
	// Where other services are called, each where the operator's settings point; but
	// the courier calls where clubs want it to, and looks whom it calls.
	used := map[string]bool{"api/watch/": false, "auth/mail/": false, "auth/operator/": false, "api/courier/": false}
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
