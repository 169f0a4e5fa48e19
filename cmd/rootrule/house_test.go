package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const module = "rootrule"

// floors orders the rooms of the house from the ground up: a package may
// import its own floor and those below, never one above.
var floors = []string{"measure", "imaging", "app", "cmd"}

func floor(importPath string) int {
	rest := strings.TrimPrefix(importPath, module+"/")
	for i, name := range floors {
		if rest == name || strings.HasPrefix(rest, name+"/") {
			return i
		}
	}
	return -1
}

// TestImportsPointDown holds the house rules: cmd → app → imaging → measure,
// measure on the standard library and gonum alone, and the window toolkit's
// app package only in cmd.
func TestImportsPointDown(t *testing.T) {
	files := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
			return err
		}
		rel, err := filepath.Rel("../..", path)
		if err != nil {
			return err
		}
		files++
		checkImports(t, path, module+"/"+filepath.ToSlash(filepath.Dir(rel)))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 30 {
		t.Errorf("only %d Go files seen: is the test looking at the whole house?", files)
	}
}

func checkImports(t *testing.T, path, pkg string) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	test := strings.HasSuffix(path, "_test.go")
	for _, spec := range f.Imports {
		imp, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		if why := breaks(pkg, imp, test); why != "" {
			t.Errorf("%s imports %s: %s", path, imp, why)
		}
	}
}

// breaks says which house rule an import breaks, if any.
func breaks(pkg, imp string, test bool) string {
	own := strings.HasPrefix(imp, module+"/")
	switch {
	case own && floor(imp) > floor(pkg):
		return "imports point down only: cmd, app, imaging, measure"
	case floor(pkg) == 0 && !own && !test && strings.Contains(imp, ".") && !strings.HasPrefix(imp, "gonum.org/"):
		return "measure stands on the standard library and gonum"
	case floor(pkg) == 1 && strings.HasPrefix(imp, "fyne.io/"):
		return "imaging knows no window"
	case imp == "fyne.io/fyne/v2/app" && floor(pkg) != 3:
		return "only cmd starts the window toolkit"
	case strings.HasPrefix(pkg, module+"/app/desk") && (imp == module+"/imaging/dicomfile" || imp == "os"):
		if test {
			return ""
		}
		return "the desk opens no file"
	}
	return ""
}

// TestTopLevel holds the agreed top level of the repository.
func TestTopLevel(t *testing.T) {
	allowed := map[string]bool{"cmd": true, "app": true, "measure": true, "imaging": true, "assets": true, "out": true,
		"go.mod": true, "go.sum": true, "README.md": true, "DEVELOPERS.md": true}
	entries, err := os.ReadDir("../..")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !allowed[e.Name()] && !strings.HasPrefix(e.Name(), ".") {
			t.Errorf("%s doesn't belong at the top level", e.Name())
		}
	}
}
