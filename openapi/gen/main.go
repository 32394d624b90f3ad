// Command gen makes openapi/openapi.json, the contract, from the handlers and
// wire types of package api. Run it from the top of the module:
//
//	go run ./openapi/gen            write the document
//	go run ./openapi/gen -check     compare only; 1 when it has drifted
//	go run ./openapi/gen -breaking  list what would break callers of the last release
//
// swag reads the annotations. What they can't say, or would say on every
// handler, comes from the route table and from the Go types:
//
//	source.go      what is read: annotations, route table, struct fields
//	names.go       the names of schemas
//	schemas.go     required, null, formats, closed requests
//	operations.go  parameters, bodies, security
//	responses.go   problems and headers
//	patches.go     the bodies of merge patches
//	examples.go    whole bodies from the examples of their members
//	limits.go      how much of everything is taken
//	document.go    what the whole document says
//	breaking.go    the comparison with the last release
package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// errDrift says that the document on disk isn't what the source says.
var errDrift = errors.New("openapi.json has drifted from package api; run: go run ./openapi/gen")

func main() {
	if err := run(os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

// run does what the flags say. Errors: those of flag parsing, of generate and of
// the file system; errDrift.
func run(args []string, out io.Writer) error {
	flags := flag.NewFlagSet("gen", flag.ContinueOnError)
	check := flags.Bool("check", false, "compare only, and fail when the document has drifted")
	listBreaking := flags.Bool("breaking", false, "list what would break callers of the last release")
	source := flags.String("api", "api", "folder of package api")
	folder := flags.String("dir", "openapi", "folder of openapi.json and released.json")
	if err := flags.Parse(args); err != nil {
		return err
	}
	target := filepath.Join(*folder, "openapi.json")
	if *listBreaking {
		return printBreaking(filepath.Join(*folder, "released.json"), target, out)
	}
	want, err := generate(*source)
	if err != nil {
		return err
	}
	if !*check {
		packed, err := pack(want)
		return errors.Join(err, os.WriteFile(target, want, 0o644), os.WriteFile(target+".gz", packed, 0o644))
	}
	got, err := os.ReadFile(target)
	if err != nil {
		return err
	}
	embedded, err := unpack(target + ".gz")
	if err == nil && (!bytes.Equal(got, want) || !bytes.Equal(embedded, want)) {
		err = errDrift
	}
	return err
}

// pack returns body as the program embeds it.
func pack(body []byte) ([]byte, error) {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	_, err = w.Write(body)
	err = errors.Join(err, w.Close())
	return out.Bytes(), err
}

// unpack reads what pack made. Errors: the file's.
func unpack(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // it was only read
	r, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// generate returns the document of the package in the folder. Errors: what swag
// can't read; a route without an operation, an operation without a route, a
// name that two schemas want, a tag without a description.
func generate(folder string) ([]byte, error) {
	src, err := read(folder)
	if err != nil {
		return nil, err
	}
	d := &document{source: src}
	for _, step := range []func() error{d.rename, d.finishSchemas, d.addPatches, d.finishDocument, d.finishOperations, d.addLimits} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	d.addExamples()
	return d.encode()
}
