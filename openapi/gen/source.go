package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"log"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"

	"github.com/swaggo/swag/v2"
)

// object is a JSON object.
type object = map[string]any

// source is what package api says.
type source struct {
	root    object // as swag wrote it
	routes  []route
	structs map[string]wireType // by package and name
}

// route is a line of the route table.
type route struct {
	method, path string // get, /v1/clubs/{club}
	flags        map[string]bool
}

// wireType is a struct that may be on the wire.
type wireType struct {
	doc      string
	fields   map[string]field
	embedded []string
}

// field is what a struct field's Go type and tags say of a member.
type field struct {
	pointer, omitted, clock bool // *T; omitempty or omitzero; time.Time
	required                bool
	units                   string
	limits                  map[string]float64 // minimum and maximum
}

// read reads the package in the folder. Errors: those of swag, of the Go parser,
// and a route table that can't be found.
func read(folder string) (*source, error) {
	s := &source{structs: map[string]wireType{}}
	err := filepath.WalkDir(folder, func(path string, f fs.DirEntry, err error) error {
		if err != nil || f.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		return s.readFile(path)
	})
	if err != nil {
		return nil, err
	}
	if len(s.routes) == 0 {
		return nil, fmt.Errorf("no route table in %s", folder)
	}
	return s, s.annotations(folder)
}

// readFile notes the routes and structs of a file. Errors: those of the Go parser.
func (s *source) readFile(path string) error {
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
	if err != nil {
		return err
	}
	ast.Inspect(file, func(n ast.Node) bool {
		s.note(file.Name.Name, n)
		return true
	})
	return nil
}

// annotations is the document as swag writes it. Errors: those of swag and of
// the file system; a struct that swag left empty.
func (s *source) annotations(folder string) error {
	temp, err := os.MkdirTemp("", "gen")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp) //nolint:errcheck // a temporary folder
	copies, err := copied(folder, temp)
	if err != nil {
		return err
	}
	p := swag.New(swag.GenerateOpenAPI3Doc(true), swag.SetDebugger(log.New(io.Discard, "", 0)))
	if err := p.ParseAPIMultiSearchDir([]string{copies}, "doc.go", 1); err != nil {
		return fmt.Errorf("swag: %w", err)
	}
	body, err := json.Marshal(p.GetOpenAPI())
	if err != nil {
		return err
	}
	if err := json.Unmarshal(body, &s.root); err != nil {
		return err
	}
	return s.whole()
}

// whole looks for structs that swag gave up on, which it does without a word.
// Errors: one for each.
func (s *source) whole() error {
	var errs []error
	for name, schema := range in(s.root, "components", "schemas") {
		if len(s.structs[name].fields) > 0 && in(schema.(object), "properties") == nil {
			errs = append(errs, fmt.Errorf("swag can't read the tags of %s", name))
		}
	}
	return errors.Join(errs...)
}

// note keeps the routes and structs among the nodes of a package.
func (s *source) note(pkg string, n ast.Node) {
	switch n := n.(type) {
	case *ast.GenDecl:
		for _, spec := range n.Specs {
			if t, ok := spec.(*ast.TypeSpec); ok {
				s.noteType(pkg, t, n.Doc)
			}
		}
	case *ast.CompositeLit:
		if rt, ok := routeOf(n); ok {
			s.routes = append(s.routes, rt)
		}
	}
}

// routeOf reads {get, "/path", handler, flags}.
func routeOf(lit *ast.CompositeLit) (route, bool) {
	if len(lit.Elts) != 4 {
		return route{}, false
	}
	method, isIdent := lit.Elts[0].(*ast.Ident)
	path, isLiteral := lit.Elts[1].(*ast.BasicLit)
	if !isIdent || !isLiteral || !strings.HasPrefix(path.Value, `"/`) {
		return route{}, false
	}
	rt := route{method: method.Name, flags: map[string]bool{}}
	if rt.method == "del" { // delete is a word of Go's
		rt.method = "delete"
	}
	rt.path, _ = strconv.Unquote(path.Value) // the parser has read it
	ast.Inspect(lit.Elts[3], func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok {
			rt.flags[id.Name] = true
		}
		return true
	})
	return rt, true
}

func (s *source) noteType(pkg string, t *ast.TypeSpec, doc *ast.CommentGroup) {
	body, ok := t.Type.(*ast.StructType)
	if !ok {
		return
	}
	if t.Doc != nil {
		doc = t.Doc
	}
	w := wireType{doc: doc.Text(), fields: map[string]field{}}
	for _, f := range body.Fields.List {
		if len(f.Names) == 0 {
			w.embedded = append(w.embedded, pkg+"."+typeName(f.Type))
			continue
		}
		if name, known := fieldOf(f); name != "" {
			w.fields[name] = known
		}
	}
	s.structs[pkg+"."+t.Name.Name] = w
}

// fieldOf reads a struct field; the name is empty when it has no json tag.
func fieldOf(f *ast.Field) (string, field) {
	if f.Tag == nil {
		return "", field{}
	}
	text, _ := strconv.Unquote(f.Tag.Value) // the parser has read it
	tag := reflect.StructTag(text)
	name, options, _ := strings.Cut(tag.Get("json"), ",")
	_, pointer := f.Type.(*ast.StarExpr)
	return name, field{
		pointer:  pointer,
		omitted:  strings.Contains(options, "omitempty") || strings.Contains(options, "omitzero"),
		clock:    typeName(f.Type) == "time.Time",
		required: strings.Contains(tag.Get("validate"), "required"),
		units:    tag.Get("units"),
		limits:   limitsOf(tag),
	}
}

// limitsOf reads the limits of a number.
func limitsOf(tag reflect.StructTag) map[string]float64 {
	limits := map[string]float64{}
	for _, name := range []string{"minimum", "maximum"} {
		if n, err := strconv.ParseFloat(tag.Get(name), 64); err == nil {
			limits[name] = n
		}
	}
	return limits
}

// typeName is the name under pointers, slices and type arguments.
func typeName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.StarExpr:
		return typeName(e.X)
	case *ast.ArrayType:
		return typeName(e.Elt)
	case *ast.IndexExpr:
		return typeName(e.X)
	case *ast.SelectorExpr:
		return typeName(e.X) + "." + e.Sel.Name
	case *ast.Ident:
		return e.Name
	default:
		return ""
	}
}

// field finds a member of a Go type, also in what the type embeds.
func (s *source) field(goType, member string) field {
	w := s.structs[goType]
	if f, ok := w.fields[member]; ok {
		return f
	}
	for _, e := range w.embedded {
		if f := s.field(e, member); f.limits != nil {
			return f
		}
	}
	return field{}
}
