package tongue

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// said are the functions of package wording whose first argument is a key.
var keyed = []string{"Say", "Tell", "ToSay"}

// tables are the variables of package wording whose strings are keys.
var tables = []string{"labels", "verdicts", "Safety", "spacingTrust", "hints"}

// speakers are the packages whose sentences reach the window through
// wording.Tell: findings with their methods and cautions, and refusals.
var speakers = []string{"measure", "imaging/trace", "imaging/outline", "imaging/align"}

// silent are files of them whose texts are about marks files and programmers'
// mistakes, or for the command line alone.
var silent = []string{"decode.go", "validate.go", "problems.go", "encode.go", "stl.go"}

// texts returns every English text that the window can show, and where it is.
func texts(t *testing.T) map[string]string {
	t.Helper()
	found := map[string]string{}
	for _, dir := range []string{"app", "cmd/rootrule"} {
		eachFile(t, dir, func(path string, f *ast.File) { keysOf(found, path, f) })
	}
	for _, dir := range speakers {
		eachFile(t, dir, func(path string, f *ast.File) {
			if !slices.Contains(silent, filepath.Base(path)) {
				sentencesOf(found, path, f)
			}
		})
	}
	if len(found) < 100 {
		t.Fatalf("only %d texts are found: the search is broken", len(found))
	}
	return found
}

// eachFile parses every file of a folder but tests.
func eachFile(t *testing.T, dir string, do func(path string, f *ast.File)) {
	t.Helper()
	root := filepath.Join("..", "..")
	err := fs.WalkDir(os.DirFS(root), dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(root, path), nil, 0)
		if err == nil {
			do(path, f)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// keysOf notes the first arguments of Say and its like, and the strings of the
// tables.
func keysOf(found map[string]string, path string, f *ast.File) {
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			if len(n.Args) > 0 && slices.Contains(keyed, calledName(n)) {
				note(found, path, n.Args[0])
			}
		case *ast.ValueSpec:
			if f.Name.Name == "wording" && len(n.Values) == 1 && slices.Contains(tables, n.Names[0].Name) {
				eachString(n.Values[0], func(s string) { found[s] = path })
			}
		}
		return true
	})
}

func calledName(c *ast.CallExpr) string {
	switch fun := c.Fun.(type) {
	case *ast.Ident:
		return fun.Name
	case *ast.SelectorExpr:
		if x, ok := fun.X.(*ast.Ident); ok && x.Name == "wording" {
			return fun.Sel.Name
		}
	}
	return ""
}

// note notes a literal, or literals joined by +.
func note(found map[string]string, path string, e ast.Expr) {
	if s, ok := literal(e); ok && hasLetter(s) {
		found[s] = path
	}
}

// literal returns a string, with %s for what is joined to it by +.
func literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		return s, err == nil && e.Kind == token.STRING
	case *ast.BinaryExpr:
		x, ok1 := literal(e.X)
		y, ok2 := literal(e.Y)
		if e.Op != token.ADD || !ok1 && !ok2 {
			return "", false
		}
		return orValue(x, ok1) + orValue(y, ok2), true
	}
	return "", false
}

func orValue(s string, ok bool) string {
	if !ok {
		return "%s"
	}
	return s
}

// eachString calls do with the values of a composite literal, keys left out.
func eachString(e ast.Expr, do func(string)) {
	ast.Inspect(e, func(n ast.Node) bool {
		if kv, ok := n.(*ast.KeyValueExpr); ok {
			eachString(kv.Value, do)
			return false
		}
		if e, ok := n.(ast.Expr); ok {
			if s, ok := literal(e); ok && hasLetter(s) {
				do(s)
				return false
			}
		}
		return true
	})
}

// sentencesOf notes literals of three words or more, in the parts that
// wording.Tell divides them into.
func sentencesOf(found map[string]string, path string, f *ast.File) {
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec, *ast.Field:
			return false
		case *ast.CallExpr:
			return !calls(n, "panic")
		case ast.Expr:
			s, ok := literal(n)
			if ok && len(strings.Fields(s)) >= 3 {
				for _, part := range strings.FieldsFunc(strings.ReplaceAll(s, ": ", "; "), func(r rune) bool { return r == ';' }) {
					if part = strings.TrimPrefix(part, " "); hasLetter(part) {
						found[part] = path
					}
				}
			}
			return !ok
		}
		return true
	})
}

func calls(c *ast.CallExpr, name string) bool {
	id, ok := c.Fun.(*ast.Ident)
	return ok && id.Name == name
}

func hasLetter(s string) bool {
	return strings.ContainsFunc(verbs.ReplaceAllString(s, ""), func(r rune) bool { return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' })
}
