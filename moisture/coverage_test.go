package moisture

import (
	"go/ast"
	"go/build"
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// notNumeric lists exported functions that compute no number of their own.
func notNumeric() map[string]string {
	return map[string]string{
		"DensePattern":      "describes structure",
		"NewSlopes":         "makes room",
		"Correlation.Eval":  "the equation inside has rows under its own name",
		"Correlation.At":    "the equation inside has rows under its own name",
		"Correlation.Range": "bounds, checked at both ends for every correlation",
		"Content.Total":     "adds four numbers",
	}
}

// TestEveryFunctionHasReferenceRows walks the package's source: each exported
// function is answered by at least one row of testdata, or is listed with the
// reason why not.
func TestEveryFunctionHasReferenceRows(t *testing.T) {
	covered := map[string]bool{}
	all := quantities()
	for _, row := range readRows(t) {
		for _, q := range all[row.name] {
			for name := range strings.FieldsSeq(q.function) {
				covered[name] = true
			}
		}
	}
	names := exportedFunctions(t)
	require.Greater(t, len(names), 20)
	for _, name := range names {
		if _, listed := notNumeric()[name]; listed {
			require.False(t, covered[name], "%s is covered, take it off the list", name)
			continue
		}
		require.True(t, covered[name], "%s has no row in testdata", name)
	}
}

// exportedFunctions returns the exported functions of the package and the exported
// methods that return a number, as Type.Method.
func exportedFunctions(t *testing.T) []string {
	t.Helper()
	pkg, err := build.ImportDir(".", 0)
	require.NoError(t, err)
	var names []string
	for _, file := range pkg.GoFiles {
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		require.NoError(t, err)
		for _, d := range parsed.Decls {
			f, ok := d.(*ast.FuncDecl)
			switch {
			case !ok || !f.Name.IsExported():
			case f.Recv == nil:
				names = append(names, f.Name.Name)
			case returnsNumber(f):
				receiver, ok := f.Recv.List[0].Type.(*ast.Ident)
				require.True(t, ok, "%s: methods have value receivers", f.Name.Name)
				names = append(names, receiver.Name+"."+f.Name.Name)
			}
		}
	}
	return names
}

// returnsNumber is true when the first result is a float64 or a type of package
// units or time.
func returnsNumber(f *ast.FuncDecl) bool {
	if f.Type.Results == nil {
		return false
	}
	switch r := f.Type.Results.List[0].Type.(type) {
	case *ast.Ident:
		return r.Name == "float64"
	case *ast.SelectorExpr:
		return true
	}
	return false
}

// TestImportsOnlyStandardLibraryAndUnits holds the package to its place in the
// house.
func TestImportsOnlyStandardLibraryAndUnits(t *testing.T) {
	goTool, err := exec.LookPath("go")
	if err != nil {
		t.Fatal("the go command is needed to list dependencies: ", err)
	}
	cmd := exec.Command(goTool, "list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}{{end}}", ".")
	cmd.Env = os.Environ()
	out, err := cmd.Output()
	require.NoError(t, err)
	for _, path := range strings.Fields(string(out)) {
		if !strings.HasSuffix(path, "/units") && !strings.HasSuffix(path, "/moisture") {
			t.Errorf("moisture depends on %s", path)
		}
	}
}
