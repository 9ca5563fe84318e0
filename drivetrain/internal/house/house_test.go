// Package house holds the rules of the repository's layout, as tests. It has no other code.
package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	root   = "../../.."
	module = "example.org/ampstroke/"
)

// floors are the folders from the ground up: a package may import only what
// stands on a lower floor.
var floors = [][]string{
	{"motor/wire", "drivetrain/internal/effort", "drivetrain/internal/ode", "drivetrain/internal/lsq", "drivetrain/wholefile", "drivetrain/finding", "drivetrain/listen/wav"},
	{"drivetrain/quantity", "drivetrain/internal/inorder"},
	{"drivetrain/figure"},
	{"drivetrain/internal/ode/odetest", "drivetrain/quantity/quantitytest", "drivetrain/listen", "drivetrain/listen/listentest", "motor"},
	{"battery", "battery/harness"},
	{"drivetrain"},
	{"drivetrain/flight"},
	{"drivetrain/cycle"},
	{"drivetrain/heat", "drivetrain/pickup"},
	{"drivetrain/buildfile"},
	{"drivetrain/study"},
	{"drivetrain/fit"},
	{"drivetrain/spread"},
	{"drivetrain/search"},
	{"drivetrain/levers"},
	{"drivetrain/chart"},
	{"drivetrain/sheet"},
	{"cmd/ampstroke", "examples/convergence", "examples/cycle", "examples/hybrid", "examples/piston", "examples/rewind", "examples/spacer"},
	{"drivetrain/internal/house"},
}

func floor(pkg string) int {
	return slices.IndexFunc(floors, func(f []string) bool { return slices.Contains(f, pkg) })
}

// files lists the Go files by folder, tests apart.
func files(t *testing.T) map[string][]string {
	all := map[string][]string{}
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			dir, err := filepath.Rel(root, filepath.Dir(path))
			if err != nil {
				return err
			}
			all[filepath.ToSlash(dir)] = append(all[filepath.ToSlash(dir)], path)
		}
		return nil
	}))
	require.Greater(t, len(all), 8)
	return all
}

func parse(t *testing.T, path string) (*token.FileSet, *ast.File) {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, path, nil, parser.ParseComments)
	require.NoError(t, err)
	return set, f
}

func TestImportsRunOneWay(t *testing.T) {
	for dir, paths := range files(t) {
		own := floor(dir)
		if !assert.GreaterOrEqual(t, own, 0, "%s stands on no floor; put it on one in this test", dir) {
			continue
		}
		for _, path := range paths {
			_, f := parse(t, path)
			for _, i := range f.Imports {
				name, err := strconv.Unquote(i.Path.Value)
				require.NoError(t, err)
				if inner, ok := strings.CutPrefix(name, module); ok {
					assert.Less(t, floor(inner), own, "%s imports %s, which does not stand below it", path, inner)
				}
				if strings.HasPrefix(name, "gonum.org/v1/plot") {
					assert.Equal(t, "drivetrain/chart", dir, "%s imports gonum/plot; only chart may", path)
				}
				if strings.HasPrefix(name, "github.com/goccy/go-yaml") {
					assert.Equal(t, "drivetrain/buildfile", dir, "%s imports YAML; only buildfile may", path)
				}
				if strings.HasPrefix(name, "github.com/spf13") {
					assert.Equal(t, "cmd/ampstroke", dir, "%s imports cobra; only the command may", path)
				}
			}
		}
	}
}

var unit = regexp.MustCompile(`(?s)\[[^\]\[]+\]\.?( The\s+default is .*)?$`)

// Each exported float64 field, and slice or pointer of them, ends its doc with
// the unit in brackets; of settings, only the default may follow.
func TestFieldsNameTheirUnit(t *testing.T) {
	fields := 0
	for _, paths := range files(t) {
		for _, path := range paths {
			set, f := parse(t, path)
			ast.Inspect(f, func(n ast.Node) bool {
				spec, ok := n.(*ast.TypeSpec)
				if !ok || !spec.Name.IsExported() {
					return true
				}
				s, ok := spec.Type.(*ast.StructType)
				if !ok {
					return true
				}
				for _, field := range s.Fields.List {
					if !isFloat(field.Type) || !slices.ContainsFunc(field.Names, (*ast.Ident).IsExported) {
						continue
					}
					fields++
					doc := strings.TrimSpace(field.Doc.Text())
					if doc == "" {
						doc = strings.TrimSpace(field.Comment.Text())
					}
					assert.Regexp(t, unit, doc, "%s: %s.%s names no unit in brackets at the end of its doc",
						set.Position(field.Pos()), spec.Name, field.Names[0])
				}
				return true
			})
		}
	}
	assert.Greater(t, fields, 150, "the test must see the fields")
}

func isFloat(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name == "float64"
	case *ast.ArrayType:
		return isFloat(e.Elt)
	case *ast.StarExpr:
		return isFloat(e.X)
	}
	return false
}

// Every package but commands says what it is in doc.go, or in the one file it has.
func TestPackagesAreDocumented(t *testing.T) {
	for dir, paths := range files(t) {
		documented := false
		for _, path := range paths {
			_, f := parse(t, path)
			documented = documented || f.Doc.Text() != ""
		}
		assert.True(t, documented, "%s has no package comment", dir)
	}
}

// The tour in drivetrain/doc.go leads to every package that a program may import.
func TestTourLeadsEverywhere(t *testing.T) {
	_, f := parse(t, filepath.Join(root, "drivetrain", "doc.go"))
	for dir := range files(t) {
		if slices.ContainsFunc(strings.Split(dir, "/"), func(s string) bool { return s == "internal" || s == "cmd" || s == "examples" }) || dir == "drivetrain" {
			continue
		}
		assert.Contains(t, f.Doc.Text(), "["+module+dir+"]", "the tour passes by %s", dir)
	}
}

// No mutable package variables: what stands at the top of a file is never
// assigned to, and what is exported is an error.
func TestNoExportedVariables(t *testing.T) {
	for _, paths := range files(t) {
		for _, path := range paths {
			set, f := parse(t, path)
			for _, d := range f.Decls {
				g, ok := d.(*ast.GenDecl)
				if !ok || g.Tok != token.VAR {
					continue
				}
				for _, s := range g.Specs {
					for _, name := range s.(*ast.ValueSpec).Names {
						if name.IsExported() {
							assert.True(t, strings.HasPrefix(name.Name, "Err"), "%s: %s is an exported variable", set.Position(name.Pos()), name.Name)
						}
					}
				}
			}
		}
	}
}

func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir(root)
	require.NoError(t, err)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || strings.HasPrefix(e.Name(), "cycle.") {
			continue // dotfiles, and pictures that the README's command makes
		}
		assert.Contains(t, []string{"motor", "battery", "drivetrain", "cmd", "examples", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE"}, e.Name())
	}
}
