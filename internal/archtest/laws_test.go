package archtest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"slices"
	"strconv"
	"strings"
)

// maxMain is the most lines of cmd/tagd/main.go: a main that grows has work in it that belongs to a
// subcommand.
const maxMain = 25

// source is one Go file.
type source struct {
	name string // from the root of the repository
	text string
	file *ast.File
}

// violations are all breaches of the laws in a repository given as file names and texts, in the
// order of the names.
func violations(files map[string]string) ([]string, error) {
	fset := token.NewFileSet()
	dirs := map[string][]source{}
	for name, text := range files {
		// Names are resolved within the file, which is how a local variable is told from a
		// package or a global of the same name.
		f, err := parser.ParseFile(fset, name, text, parser.ParseComments)
		if err != nil {
			return nil, err
		}
		dirs[path.Dir(name)] = append(dirs[path.Dir(name)], source{name, text, f})
	}
	var out []string
	for dir, sources := range dirs {
		slices.SortFunc(sources, func(a, b source) int { return strings.Compare(a.name, b.name) })
		i := slices.IndexFunc(house, func(r room) bool { return r.path == dir })
		if i < 0 {
			out = append(out, dir+": is in no row of the house: give it one in house_test.go")
			continue
		}
		l := law{room: house[i], fset: fset, globals: map[string]bool{}, specs: map[any]bool{}}
		for _, s := range sources {
			l.collect(s)
		}
		for _, s := range sources {
			l.check(s)
		}
		out = append(out, l.found...)
	}
	slices.Sort(out)
	return out, nil
}

// law judges the files of one room.
type law struct {
	room    room
	fset    *token.FileSet
	globals map[string]bool // the room's package-level variables
	specs   map[any]bool    // their declarations
	found   []string
}

func (l *law) report(pos token.Pos, format string, args ...any) {
	p := l.fset.Position(pos)
	l.found = append(l.found, fmt.Sprintf("%s:%d: ", p.Filename, p.Line)+fmt.Sprintf(format, args...))
}

func isTest(name string) bool { return strings.HasSuffix(name, "_test.go") }

// collect notes the package-level variables of s.
func (l *law) collect(s source) {
	if isTest(s.name) {
		return
	}
	for _, d := range s.file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.VAR {
			continue
		}
		for _, spec := range g.Specs {
			l.specs[spec] = true
			for _, name := range spec.(*ast.ValueSpec).Names {
				l.globals[name.Name] = true
			}
		}
	}
}

func (l *law) check(s source) {
	if name := strings.TrimSuffix(s.file.Name.Name, "_test"); slices.Contains(vague, name) {
		l.report(s.file.Name.Pos(), "a package named %s does not say what it knows", name)
	}
	if n := strings.Count(s.text, "\n"); s.name == "cmd/tagd/main.go" && n > maxMain {
		l.report(s.file.Name.Pos(), "main.go has %d lines, over %d", n, maxMain)
	}
	for _, imp := range s.file.Imports {
		l.checkImport(s, imp)
	}
	if l.room.kind == pure && !isTest(s.name) {
		l.checkPure(s)
	}
}

// checkImport holds one import against the room's row.
func (l *law) checkImport(s source, imp *ast.ImportSpec) {
	p, err := strconv.Unquote(imp.Path.Value)
	if err != nil {
		return // the parser has taken it
	}
	first, _, _ := strings.Cut(p, "/")
	switch {
	case imp.Name != nil && imp.Name.Name == "." && !isTest(s.name):
		l.report(imp.Pos(), "a dot import hides where a name is from")
	case first == "tagd":
		target := strings.TrimPrefix(strings.TrimPrefix(p, "tagd/"), "internal/")
		if !isTest(s.name) && l.room.may != "*" && !slices.Contains(strings.Fields(l.room.may), target) {
			l.report(imp.Pos(), "%s may not import %s, only: %s", l.room.path, p, orNothing(l.room.may))
		}
	case strings.Contains(first, "."):
		l.checkLibrary(s, imp, p)
	case l.room.kind == pure && !isTest(s.name):
		for _, w := range world {
			if p == w || strings.HasSuffix(w, "/") && strings.HasPrefix(p, w) {
				l.report(imp.Pos(), "%s is pure and may not import %s", l.room.path, p)
				break
			}
		}
	}
}

// checkLibrary holds an import from outside against the room's row.
func (l *law) checkLibrary(s source, imp *ast.ImportSpec, p string) {
	short := ""
	for name, prefix := range libraries {
		if p == prefix || strings.HasPrefix(p, prefix+"/") {
			short = name
		}
	}
	switch {
	case slices.Contains(strings.Fields(l.room.libs), short):
	case isTest(s.name) && !slices.Contains(seams, short):
	case short == "":
		l.report(imp.Pos(), "%s is in no list of libraries", p)
	default:
		l.report(imp.Pos(), "%s may not import the library %s, only: %s", l.room.path, short, orNothing(l.room.libs))
	}
}

func orNothing(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// checkPure looks for what a pure room must not do.
func (l *law) checkPure(s source) {
	imports := map[string]string{} // local name to path
	for _, imp := range s.file.Imports {
		p, _ := strconv.Unquote(imp.Path.Value)
		name := path.Base(p)
		if imp.Name != nil {
			name = imp.Name.Name
		}
		imports[name] = p
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			l.report(n.Pos(), "%s is pure and may not start a goroutine", l.room.path)
		case *ast.FuncDecl:
			if n.Recv == nil && n.Name.Name == "init" {
				l.report(n.Pos(), "%s is pure and may not have an init", l.room.path)
			}
		case *ast.SelectorExpr:
			if x, ok := n.X.(*ast.Ident); ok && x.Obj == nil && slices.Contains(reach[imports[x.Name]], n.Sel.Name) {
				l.report(n.Pos(), "%s is pure and may not use %s.%s", l.room.path, imports[x.Name], n.Sel.Name)
			}
		case *ast.AssignStmt:
			if n.Tok != token.DEFINE {
				for _, to := range n.Lhs {
					l.checkWrite(to, imports)
				}
			}
		case *ast.IncDecStmt:
			l.checkWrite(n.X, imports)
		case *ast.RangeStmt:
			if n.Tok == token.ASSIGN {
				l.checkWrite(n.Key, imports)
				l.checkWrite(n.Value, imports)
			}
		case *ast.CallExpr:
			if f, ok := n.Fun.(*ast.Ident); ok && f.Obj == nil && len(n.Args) > 0 && slices.Contains([]string{"clear", "copy", "delete"}, f.Name) {
				l.checkWrite(n.Args[0], imports)
			}
		}
		return true
	})
}

// checkWrite reports a write to a package-level variable, of the room or of another package. What
// is reached through a pointer or a call is not seen.
func (l *law) checkWrite(to ast.Expr, imports map[string]string) {
	for {
		switch x := to.(type) {
		case *ast.ParenExpr:
			to = x.X
		case *ast.IndexExpr:
			to = x.X
		case *ast.SliceExpr:
			to = x.X
		case *ast.StarExpr:
			to = x.X
		case *ast.SelectorExpr:
			to = x.X
		case *ast.Ident:
			if l.global(x) {
				l.report(x.Pos(), "%s is pure and may not change the global %s", l.room.path, x.Name)
			} else if imports[x.Name] != "" && x.Obj == nil {
				l.report(x.Pos(), "%s is pure and may not change a global of %s", l.room.path, imports[x.Name])
			}
			return
		default:
			return
		}
	}
}

// global says whether x is a package-level variable of the room: declared so in this file, or not
// declared in this file at all and so in another one.
func (l *law) global(x *ast.Ident) bool {
	return l.globals[x.Name] && (x.Obj == nil || l.specs[x.Obj.Decl])
}
