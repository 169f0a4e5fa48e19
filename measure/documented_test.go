package measure

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// Every exported name has a comment: its own, or that of its group.
func TestExportedNamesAreDocumented(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d files: %v", len(names), err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && d.Doc == nil {
					t.Errorf("%s has no comment", d.Name.Name)
				}
			case *ast.GenDecl:
				for _, s := range d.Specs {
					undocumented(t, d, s)
				}
			}
		}
	}
}

func undocumented(t *testing.T, d *ast.GenDecl, s ast.Spec) {
	t.Helper()
	switch s := s.(type) {
	case *ast.TypeSpec:
		if s.Name.IsExported() && d.Doc == nil && s.Doc == nil {
			t.Errorf("type %s has no comment", s.Name.Name)
		}
	case *ast.ValueSpec:
		if s.Names[0].IsExported() && d.Doc == nil && s.Doc == nil && s.Comment == nil {
			t.Errorf("%s has no comment", s.Names[0].Name)
		}
	}
}
