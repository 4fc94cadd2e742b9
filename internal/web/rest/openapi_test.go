package rest_test

import (
	"encoding/json"
	"flag"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/web"
	"tagd/internal/web/rest"
)

var update = flag.Bool("update", false, "write the golden files anew")

const golden = "../../../api/openapi.json"

// The description that is served is the one in the repository: a change of the contract shows as a
// change of that file.
func TestOpenAPI(t *testing.T) {
	s := openShop(t)
	status, kind, doc := s.ask("GET", "/openapi.json", "", "")
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "application/openapi+json", kind)
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(doc), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	if at := differs(string(want), doc); at > 0 {
		t.Fatalf("the contract changed, first at line %d of %s: look at the change, and run this test with -update", at, golden)
	}

	var d struct {
		OpenAPI string
		Paths   map[string]map[string]json.RawMessage
	}
	require.NoError(t, json.Unmarshal([]byte(doc), &d))
	require.Equal(t, "3.1.0", d.OpenAPI)
	require.NotContains(t, doc, "$schema")
	for _, ref := range refs(doc) {
		require.Contains(t, doc, `"`+strings.TrimPrefix(ref, "#/components/schemas/")+`": {`, "a reference to a schema that is missing")
	}

	// Both ways: what is described is routed, and what is routed is described.
	var described, routed []string
	for path, methods := range d.Paths {
		for method := range methods {
			described = append(described, strings.ToUpper(method)+" "+path)
		}
	}
	server := web.New(web.Options{})
	require.NoError(t, rest.Mount(server, s.floor, rest.Options{}))
	for _, r := range server.Echo.Routes() {
		path, ok := strings.CutPrefix(r.Path, "/api/v1/")
		if !ok || r.Method != strings.ToUpper(r.Method) {
			continue // not ours, or echo's own mark for what is not found
		}
		parts := strings.Split("/"+path, "/")
		for i, p := range parts {
			if at := strings.IndexByte(p, ':'); at >= 0 {
				parts[i] = p[:at] + "{" + p[at+1:] + "}"
			}
		}
		routed = append(routed, r.Method+" "+strings.Join(parts, "/"))
	}
	slices.Sort(described)
	slices.Sort(routed)
	require.Equal(t, described, routed)
}

// differs is the first line in which two texts differ, from 1; 0 where they are the same.
func differs(a, b string) int {
	if a == b {
		return 0
	}
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return i + 1
		}
	}
	return min(len(x), len(y)) + 1
}

// refs are all references of a document.
func refs(doc string) (out []string) {
	for _, part := range strings.Split(doc, `"$ref": "`)[1:] {
		ref, _, _ := strings.Cut(part, `"`)
		out = append(out, ref)
	}
	return out
}

// Every property of the contract is in lower case with underscores, and every operation says what it
// is.
func TestOpenAPIStyle(t *testing.T) {
	b, err := os.ReadFile(golden)
	require.NoError(t, err)
	var d struct {
		Paths      map[string]map[string]struct{ Summary, OperationID string }
		Components struct {
			Schemas map[string]struct{ Properties map[string]any }
		}
	}
	require.NoError(t, json.Unmarshal(b, &d))
	ids := map[string]bool{}
	for path, methods := range d.Paths {
		for method, op := range methods {
			require.NotEmpty(t, op.Summary, "%s %s", method, path)
			require.False(t, ids[op.OperationID], "%s stands twice", op.OperationID)
			ids[op.OperationID] = true
		}
	}
	for name, s := range d.Components.Schemas {
		for p := range s.Properties {
			require.Regexp(t, `^[a-z][a-z0-9]*(_[a-z0-9]+)*$`, p, name)
		}
	}
}
