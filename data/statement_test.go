package data

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// built are the functions that put a statement together, because databases take
// no parameters there. What goes in is names of files, tables and columns, quoted
// as such, and statements that are embedded, or that the database words of an
// embedded one and parameters; no text of a row, a label or a form comes near
// them.
var built = map[string][]string{
	".": {
		"connect",       // settings, with names of files
		"ExportParquet", // COPY of an embedded query to a file
		"copyDatabase",  // ATTACH of a file, COPY FROM DATABASE
	},
	"postgres": {
		"Close",     // of the loader: a temporary table with the columns of a record
		"sumPart",   // worded by the database
		"worded",    // that, too
		"copyTable", // COPY of a table of a part
	},
}

// statements is what one look at the package's files finds out.
type statements struct {
	t        *testing.T
	folder   string
	set      *token.FileSet
	embedded map[string]bool           // variables that are files
	takes    map[string]map[int]string // functions of the package that take a statement: which argument, its name
	fields   map[string]bool           // of structs, that hold statements
}

// Statements are given to the database as embedded files, constants, or
// parameters and fields that hold those: never put together from text.
func TestStatementsAreFixed(t *testing.T) {
	for folder, least := range map[string][2]int{".": {150, 100}, "postgres": {60, 30}} {
		s := statements{
			t: t, folder: folder, set: token.NewFileSet(), embedded: map[string]bool{}, fields: map[string]bool{},
			takes: map[string]map[int]string{},
		}
		// Of package sql and the drivers, the argument that is the statement.
		for _, name := range []string{"ExecContext", "QueryContext", "QueryRowContext", "PrepareContext", "NewQueryAppender"} {
			s.takes[name] = map[int]string{1: ""}
		}
		for _, name := range []string{"Exec", "Query", "QueryRow", "Prepare"} {
			s.takes[name] = map[int]string{0: ""}
		}
		files := s.parse()
		for _, f := range files {
			s.declarations(f)
		}
		found := 0
		for _, f := range files {
			for _, d := range f.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok && fn.Body != nil {
					found += s.look(fn)
				}
			}
		}
		if len(s.embedded) < least[0] || found < least[1] {
			t.Errorf("%s: %d embedded files, %d statements given to the database: the test looks past them", folder, len(s.embedded), found)
		}
	}
}

// parse reads the package, without its tests.
func (s statements) parse() []*ast.File {
	s.t.Helper()
	names, err := filepath.Glob(filepath.Join(s.folder, "*.go"))
	if err != nil {
		s.t.Fatal(err)
	}
	var out []*ast.File
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(s.set, name, nil, parser.ParseComments)
		if err != nil {
			s.t.Fatal(err)
		}
		out = append(out, f)
	}
	return out
}

// declarations notes embedded files, and functions and structs that pass
// statements on: their parameters and fields have these names.
func (s statements) declarations(f *ast.File) {
	passes := []string{"query", "statements"}
	for _, d := range f.Decls {
		switch d := d.(type) {
		case *ast.GenDecl:
			if d.Doc != nil && strings.Contains(d.Doc.List[len(d.Doc.List)-1].Text, "//go:embed ") {
				for _, spec := range d.Specs {
					s.embedded[spec.(*ast.ValueSpec).Names[0].Name] = true
				}
			}
			for _, spec := range d.Specs {
				if ts, ok := spec.(*ast.TypeSpec); ok && slices.Contains([]string{"table", "migration", "invariant"}, ts.Name.Name) {
					for _, field := range ts.Type.(*ast.StructType).Fields.List {
						if id, ok := field.Type.(*ast.Ident); ok && id.Name == "string" {
							for _, name := range field.Names {
								s.fields[name.Name] = true
							}
						}
					}
				}
			}
		case *ast.FuncDecl:
			at := 0
			for _, p := range d.Type.Params.List {
				for _, name := range p.Names {
					if slices.Contains(passes, name.Name) {
						if s.takes[d.Name.Name] == nil {
							s.takes[d.Name.Name] = map[int]string{}
						}
						s.takes[d.Name.Name][at] = name.Name
					}
					at++
				}
			}
		}
	}
}

// look checks what a function gives to the database, and what it puts into
// structs that hold statements. It returns how many statements it gives.
func (s statements) look(fn *ast.FuncDecl) (given int) {
	if slices.Contains(built[s.folder], fn.Name.Name) {
		return 0
	}
	ast.Inspect(fn.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			var name string
			switch f := n.Fun.(type) {
			case *ast.SelectorExpr:
				name = f.Sel.Name
			case *ast.Ident:
				name = f.Name
			}
			for at, parameter := range s.takes[name] {
				last := len(n.Args)
				if parameter != "statements" {
					last = min(at+1, last)
				}
				for _, arg := range n.Args[min(at, last):last] {
					given++
					if !s.fixed(fn, arg, 0) {
						s.t.Errorf("%s: %s is given a statement that is no embedded file", s.set.Position(arg.Pos()), name)
					}
				}
			}
		case *ast.CompositeLit:
			if id, ok := n.Type.(*ast.Ident); ok && slices.Contains([]string{"table", "migration", "invariant"}, id.Name) {
				for _, e := range n.Elts {
					if kv, ok := e.(*ast.KeyValueExpr); ok {
						e = kv.Value
					}
					switch e.(type) {
					case *ast.BinaryExpr, *ast.CallExpr:
						s.t.Errorf("%s: a %s is made of text put together", s.set.Position(e.Pos()), id.Name)
					}
				}
			}
		}
		return true
	})
	return given
}

// fixed reports whether an expression is an embedded file, a constant, a
// parameter or field that holds statements, or a local name for these.
func (s statements) fixed(fn *ast.FuncDecl, e ast.Expr, depth int) bool {
	switch e := e.(type) {
	case *ast.BasicLit:
		return true
	case *ast.SelectorExpr:
		return s.fields[e.Sel.Name]
	case *ast.CallExpr: // the same statement in the engine's words, which are embedded files
		word, ok := e.Fun.(*ast.SelectorExpr)
		return ok && word.Sel.Name == "word" && len(e.Args) == 1 && s.fixed(fn, e.Args[0], depth+1)
	case *ast.CompositeLit:
		return !slices.ContainsFunc(e.Elts, func(e ast.Expr) bool { return !s.fixed(fn, e, depth+1) })
	case *ast.Ident:
		if s.embedded[e.Name] {
			return true
		}
		for _, parameter := range s.takes[fn.Name.Name] {
			if parameter == e.Name {
				return true
			}
		}
		return depth < 4 && s.local(fn, e.Name, depth)
	}
	return false
}

// local reports whether everything that a function's variable ever is, is
// fixed.
func (s statements) local(fn *ast.FuncDecl, name string, depth int) bool {
	known, fixed := false, true
	is := func(left, right ast.Expr) {
		if id, ok := left.(*ast.Ident); ok && id.Name == name {
			known = true
			for _, e := range appended(name, right) {
				fixed = fixed && s.fixed(fn, e, depth+1)
			}
		}
	}
	ast.Inspect(fn.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			for i, left := range n.Lhs {
				is(left, n.Rhs[min(i, len(n.Rhs)-1)])
			}
		case *ast.RangeStmt:
			if n.Value != nil {
				is(n.Value, n.X)
			}
		}
		return true
	})
	return known && fixed
}

// appended returns what append adds to a variable of the name, or else the
// expression itself.
func appended(name string, e ast.Expr) []ast.Expr {
	call, ok := e.(*ast.CallExpr)
	if !ok || len(call.Args) == 0 {
		return []ast.Expr{e}
	}
	fun, _ := call.Fun.(*ast.Ident)
	to, _ := call.Args[0].(*ast.Ident)
	if fun == nil || fun.Name != "append" || to == nil || to.Name != name {
		return []ast.Expr{e}
	}
	return call.Args[1:]
}
