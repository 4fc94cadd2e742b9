package archtest

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The repository keeps its own laws. The files are read here and not through the go command, whose
// answers the test cache does not see change.
func TestHouse(t *testing.T) {
	files := readRepository(t)
	require.Contains(t, files, "internal/bar/bar.go")
	require.Contains(t, files, "internal/archtest/house_test.go")
	found, err := violations(files)
	require.NoError(t, err)
	for _, v := range found {
		t.Error(v)
	}
}

// readRepository reads all Go files from the folder of go.mod down, but for testdata and hidden
// folders.
func readRepository(t *testing.T) map[string]string {
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	require.FileExists(t, filepath.Join(root, "go.mod"))
	files := map[string]string{}
	err = filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if base := d.Name(); name != root && (base == "testdata" || strings.HasPrefix(base, ".") || strings.HasPrefix(base, "_")) {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, name)
		files[filepath.ToSlash(rel)] = string(text)
		return err
	})
	require.NoError(t, err)
	return files
}

// The map itself: every arrow points to a row above, every name is a row or a library.
func TestMap(t *testing.T) {
	var above []string
	for _, r := range house {
		if r.may != "*" {
			for _, name := range strings.Fields(r.may) {
				require.Contains(t, above, name, "%s may import %s, which is no row above it", r.path, name)
			}
		}
		for _, name := range strings.Fields(r.libs) {
			require.Contains(t, libraries, name, r.path)
		}
		name := strings.TrimPrefix(r.path, "internal/")
		require.NotContains(t, above, name)
		above = append(above, name)
	}
	for _, name := range seams {
		require.Contains(t, libraries, name)
	}
}

// Every law, broken on purpose.
func TestLawsBite(t *testing.T) {
	for _, c := range []struct {
		name string
		file string
		text string
		want string // "" is lawful
	}{
		{"upward", "internal/bar/a.go", `package bar; import _ "tagd/internal/tags"`,
			"internal/bar/a.go:1: internal/bar may not import tagd/internal/tags, only: none"},
		{"downward", "internal/tags/a.go", `package tags; import _ "tagd/internal/bar"`, ""},
		{"past the seam", "internal/floor/a.go", `package floor; import _ "tagd/internal/store/bolt"`,
			"internal/floor may not import tagd/internal/store/bolt"},
		{"caller", "internal/web/a.go", `package web; import _ "tagd/internal/web/rest"`,
			"internal/web may not import tagd/internal/web/rest"},
		{"api of the floor", "api/a.go", `package api; import _ "tagd/internal/floor"`,
			"api may not import tagd/internal/floor"},
		{"export of the floor", "internal/export/a.go", `package export; import _ "tagd/internal/floor"`,
			"internal/export may not import tagd/internal/floor"},
		{"command", "cmd/tagd/a.go", `package main; import _ "tagd/internal/store/bolt"`, ""},
		{"test of another room", "internal/bar/a_test.go", `package bar; import _ "tagd/internal/floor"`, ""},

		{"database", "internal/view/a.go", `package view; import _ "go.etcd.io/bbolt"`,
			"internal/view may not import the library bbolt, only: cbor"},
		{"database in a test", "internal/view/a_test.go", `package view; import _ "go.etcd.io/bbolt"`,
			"internal/view may not import the library bbolt"},
		{"database at its seam", "internal/store/bolt/a.go", `package bolt; import _ "go.etcd.io/bbolt"`, ""},
		{"part of a library", "internal/tags/label/a.go", `package label; import _ "github.com/boombuler/barcode/qr"`,
			"internal/tags/label may not import the library boombuler"},
		{"reader at its seam", "internal/tags/symbol/a_test.go", `package symbol; import _ "github.com/makiuchi-d/gozxing/oned"`, ""},
		{"huma in pages", "internal/web/pages/a.go", `package pages; import _ "github.com/danielgtaylor/huma/v2"`,
			"internal/web/pages may not import the library huma"},
		{"echo below web", "internal/floor/a.go", `package floor; import _ "github.com/labstack/echo/v4"`,
			"internal/floor may not import the library echo"},
		{"huma in api", "api/a.go", `package api; import _ "github.com/danielgtaylor/huma/v2"`,
			"api may not import the library huma"},
		{"sheet in a pure room", "internal/scan/a.go", `package scan; import _ "github.com/xuri/excelize/v2"`,
			"internal/scan may not import the library excelize"},
		{"unknown library", "internal/floor/a.go", `package floor; import _ "example.org/x"`,
			"example.org/x is in no list of libraries"},
		{"like a library", "internal/store/bolt/a.go", `package bolt; import _ "go.etcd.io/bboltx"`,
			"go.etcd.io/bboltx is in no list of libraries"},
		{"test library", "internal/bar/a_test.go", `package bar; import _ "pgregory.net/rapid"`, ""},

		{"file", "internal/heat/a.go", `package heat; import _ "os"`, "internal/heat is pure and may not import os"},
		{"process", "internal/heat/a.go", `package heat; import _ "os/exec"`, "may not import os/exec"},
		{"network", "internal/load/a.go", `package load; import _ "net/http/httptest"`, "may not import net/http/httptest"},
		{"address text", "internal/tags/a.go", `package tags; import _ "net/url"`, ""},
		{"log", "internal/event/a.go", `package event; import _ "log/slog"`, "may not import log/slog"},
		{"chance", "internal/scan/a.go", `package scan; import _ "math/rand/v2"`, "may not import math/rand/v2"},
		{"file elsewhere", "internal/floor/a.go", `package floor; import _ "os"`, ""},
		{"file in a test", "internal/heat/a_test.go", `package heat; import _ "os"`, ""},

		{"clock", "internal/scan/a.go", "package scan\n\nimport \"time\"\n\nvar f = time.Now\n",
			"internal/scan/a.go:5: internal/scan is pure and may not use time.Now"},
		{"clock renamed", "internal/scan/a.go", `package scan; import t "time"; func f() { t.Sleep(1) }`, "may not use time.Sleep"},
		{"values of time", "internal/event/a.go", `package event; import "time"; func f(t time.Time) bool { return t.After(t) }`, ""},
		{"a local named time", "internal/event/a.go", `package event; type c struct{ Now int }; func f(time c) int { return time.Now }`, ""},
		{"printing", "internal/bar/a.go", `package bar; import "fmt"; func f() { fmt.Println() }`, "may not use fmt.Println"},
		{"text", "internal/bar/a.go", `package bar; import "fmt"; func f() string { return fmt.Sprint() }`, ""},
		{"goroutine", "internal/barlist/a.go", `package barlist; func f() { go f() }`, "may not start a goroutine"},
		{"goroutine elsewhere", "internal/floor/a.go", `package floor; func f() { go f() }`, ""},
		{"init", "internal/cutplan/a.go", `package cutplan; func init() {}`, "may not have an init"},

		{"table", "internal/bar/a.go", `package bar; var t = map[int]int{1: 2}; func f() int { return t[1] }`, ""},
		{"global set", "internal/bar/a.go", `package bar; var n int; func f() { n = 1 }`, "may not change the global n"},
		{"global counted", "internal/bar/a.go", `package bar; var n int; func f() { n++ }`, "may not change the global n"},
		{"table changed", "internal/bar/a.go", `package bar; var t = map[int]int{}; func f() { t[1] = 2 }`, "may not change the global t"},
		{"table emptied", "internal/bar/a.go", `package bar; var t = map[int]int{}; func f() { delete(t, 1) }`, "may not change the global t"},
		{"field changed", "internal/bar/a.go", `package bar; var s []struct{ x int }; func f() { (s[0:])[0].x += 1 }`, "may not change the global s"},
		{"through a pointer", "internal/bar/a.go", `package bar; var p *int; func f() { *p = 1 }`, "may not change the global p"},
		{"by a range", "internal/bar/a.go", `package bar; var n int; func f(s []int) { for n = range s {} }`, "may not change the global n"},
		{"of another package", "internal/bar/a.go", `package bar; import "unicode"; func f() { unicode.Upper = nil }`, "may not change a global of unicode"},
		{"local of the same name", "internal/bar/a.go", `package bar; var n int; func f(n int) int { n = 1; var t int; t = n; return t }`, ""},

		{"vague name in a test", "internal/bar/a_test.go", `package util_test`, "a package named util does not say what it knows"},
		{"vague package", "internal/bar/a.go", `package helpers`, "a package named helpers does not say what it knows"},
		{"no row", "internal/new/a.go", `package new`, "internal/new: is in no row of the house: give it one"},
		{"dot import", "internal/floor/a.go", `package floor; import . "fmt"`, "a dot import hides"},
		{"long main", "cmd/tagd/main.go", "package main\n" + strings.Repeat("\n", 25), "main.go has 26 lines, over 25"},
		{"short main", "cmd/tagd/main.go", "package main\n" + strings.Repeat("\n", 24), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			found, err := violations(map[string]string{c.file: c.text})
			require.NoError(t, err)
			if c.want == "" {
				require.Empty(t, found)
				return
			}
			require.Len(t, found, 1)
			require.Contains(t, found[0], c.want)
		})
	}
}

// A global is known in all files of its room, and hidden by a local of the same name.
func TestGlobalsOfOtherFiles(t *testing.T) {
	found, err := violations(map[string]string{
		"internal/bar/a.go":  `package bar; var n int`,
		"internal/bar/b.go":  `package bar; func f() { n = 1 }; func g(n int) { n = 1 }`,
		"internal/tags/a.go": `package tags; func f(n int) { n = 1 }`,
	})
	require.NoError(t, err)
	require.Equal(t, []string{"internal/bar/b.go:1: internal/bar is pure and may not change the global n"}, found)
}

func TestBrokenSource(t *testing.T) {
	_, err := violations(map[string]string{"internal/bar/a.go": `package`})
	require.Error(t, err)
}
