package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// decimalLimit is a tag that makes swag drop all members of its struct, for it
// reads whole numbers only.
const decimalLimit = ` ?\b(minimum|maximum):"-?\d*\.\d+"`

// copied copies the Go files of the package in the folder into a module of
// their own under temp, without the tags that swag stumbles over (source.go
// reads them itself), and returns their new folder. Errors: those of the file
// system.
func copied(folder, temp string) (string, error) {
	root, err := filepath.EvalSymlinks(temp)
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(filepath.Join(root, "go.mod"), []byte("module copied.example\n"), 0o600); err != nil {
		return "", err
	}
	target := filepath.Join(root, "api")
	return target, filepath.WalkDir(folder, func(path string, f fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		below, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		if f.IsDir() {
			return os.MkdirAll(filepath.Join(target, below), 0o700)
		}
		return copyFile(path, filepath.Join(target, below))
	})
}

// copyFile copies a Go file that isn't a test. Errors: those of the file system.
func copyFile(from, to string) error {
	if filepath.Ext(from) != ".go" || strings.HasSuffix(from, "_test.go") {
		return nil
	}
	body, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	return os.WriteFile(to, regexp.MustCompile(decimalLimit).ReplaceAll(body, nil), 0o600)
}
