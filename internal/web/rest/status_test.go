package rest_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// Every way of going wrong is a problem (RFC 9457: type, title, status, with the media type
// application/problem+json), with the code and the fields that say which.
func TestProblems(t *testing.T) {
	s := openShop(t)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{})
	require.NoError(t, err)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	bundle := taken.Lines[0].Bundles[0]
	const (
		absent   = "1-001-00000099-28" // a number as it could have been given out
		mistyped = "1-001-00000042-06"
		jsonType = "application/json"
	)
	for _, tt := range []struct {
		name, method, path, kind, body string
		status                         int
		code, field                    string
	}{
		{"no such route", "GET", "/nothing", "", "", 404, "not-found", ""},
		{"another method", "DELETE", "/bundles", "", "", 405, "method", ""},
		{"bundle never given out", "GET", "/bundles/" + absent, "", "", 404, "not-found", ""},
		{"mistyped number", "GET", "/bundles/" + mistyped, "", "", 404, "not-found", ""},
		{"number of another kind", "GET", "/stock/" + bundle, "", "", 404, "not-found", ""},
		{"no number", "GET", "/loads/first", "", "", 404, "not-found", ""},
		{"job not known", "GET", "/jobs/26-999", "", "", 404, "not-found", ""},
		{"list not known", "GET", "/lists/26-014/9", "", "", 404, "not-found", ""},
		{"station not known", "GET", "/stations/S9", "", "", 404, "not-found", ""},
		{"cert never filed", "GET", "/certs/1", "", "", 404, "not-found", ""},
		{"cert beyond the head", "GET", "/certs/18446744073709551615/file", "", "", 404, "not-found", ""},
		{"tag never given out", "GET", "/bundles/" + absent + "/tag.pdf", "", "", 404, "not-found", ""},
		{"tag as a picture of another sort", "GET", "/bundles/" + bundle + "/tag.gif", "", "", 422, "invalid", "path.format"},
		{"tag for a printer that is not", "GET", "/bundles/" + bundle + "/tag.png?dpi=72", "", "", 422, "invalid", "query.dpi"},
		{"query mistyped", "GET", "/bundles?jbo=26-014", "", "", 422, "invalid", "query.jbo"},
		{"too many at once", "GET", "/bundles?limit=1001", "", "", 422, "invalid", "query.limit"},
		{"none at once", "GET", "/journal?limit=0", "", "", 422, "invalid", "query.limit"},
		{"a page after nothing", "GET", "/bundles?after=x", "", "", 422, "invalid", "query.after"},
		{"a list without its job", "GET", "/bundles?list=1", "", "", 422, "invalid", "query.job"},
		{"a state that is none", "GET", "/bundles?state=lost", "", "", 422, "invalid", "query.state"},
		{"stock of a bare size", "GET", "/stock?size=10", "", "", 422, "invalid", "query.size"},
		{"trace of nothing", "GET", "/trace", "", "", 422, "invalid", "query.q"},
		{"certs of nothing", "GET", "/certs", "", "", 422, "invalid", "query.heat"},
		{"no JSON", "POST", "/scans", jsonType, "{", 400, "bad-request", "body"},
		{"no body", "POST", "/scans", jsonType, "", 400, "bad-request", ""},
		{"not JSON by its type", "POST", "/scans", "text/plain", "1", 415, "media-type", "body"},
		{"a word for a number", "POST", "/stock", jsonType, `{"mill":"M","size":"#5","length":"60'","bars":"100"}`, 422, "invalid", "body.bars"},
		{"a field that is none", "POST", "/places", jsonType, `{"name":"A-14","nmae":"A-15"}`, 422, "invalid", "body.nmae"},
		{"a length without its unit", "POST", "/stock", jsonType, `{"mill":"M","size":"#5","length":"60","bars":100}`, 422, "invalid", "body.length"},
		{"a bare size", "POST", "/stock", jsonType, `{"mill":"M","size":"10","length":"60'","bars":100}`, 422, "invalid", "body.size"},
		{"a place that is none", "POST", "/stock", jsonType, `{"mill":"M","size":"#5","length":"60'","bars":100,"place":"A-14"}`, 422, "invalid", "body.place"},
		{"mill bundles that do not add up", "POST", "/stock", jsonType, `{"mill":"M","size":"#5","length":"60'","bars":100,"mill_bundles":[{"number":"B1","bars":40}]}`, 422, "invalid", "bars"},
		{"a heat rule that is none", "PUT", "/jobs/26-015", jsonType, `{"heats":"some"}`, 422, "invalid", "body.heats"},
		{"a job with a number too long", "PUT", "/jobs/" + strings.Repeat("2", 31), jsonType, `{}`, 422, "invalid", "path.job"},
		{"a load for no job", "POST", "/loads", jsonType, `{"stops":[{"job":"26-999"}]}`, 422, "invalid", "stops[0].job"},
		{"a limit without its unit", "POST", "/loads", jsonType, `{"stops":[{"job":"26-014"}],"limit":"40000"}`, 422, "invalid", "body.limit"},
		{"a badge that is a bundle", "POST", "/places", jsonType, `{"name":"A-14","people":["` + bundle + `"]}`, 422, "invalid", "body.people[0]"},
		{"a time of a clock that is not set", "POST", "/places", jsonType, `{"name":"A-14","at":"1970-01-01T00:00:00Z"}`, 422, "invalid", "body.at"},
		{"a time that is none", "POST", "/places", jsonType, `{"name":"A-14","at":"yesterday"}`, 422, "invalid", "body.at"},
		{"undo of nothing", "POST", "/bundles/" + bundle + "/undo", jsonType, `{"reason":"wrong bundle"}`, 422, "invalid", "bundle"},
		{"undo for no reason", "POST", "/bundles/" + bundle + "/undo", jsonType, `{"reason":""}`, 422, "invalid", "reason"},
		{"a hold on a heat without its mill", "POST", "/holds", jsonType, `{"heat":"0123E5","reason":"r"}`, 422, "invalid", "body.mill"},
		{"a hold on what is not here", "POST", "/holds", jsonType, `{"heat":"0123E5","mill":"Example Mill","reason":"r"}`, 422, "invalid", "target"},
		{"a hold on a place", "POST", "/holds", jsonType, `{"number":"5-001-00000001-68","reason":"r"}`, 422, "invalid", "body.number"},
		{"a hold on a bundle never given out", "POST", "/holds", jsonType, `{"number":"` + absent + `","reason":"r"}`, 422, "invalid", "target"},
		{"lifting no hold", "POST", "/holds/lift", jsonType, `{"number":"` + bundle + `","reason":"r"}`, 422, "invalid", "target"},
		{"an alias of nothing", "POST", "/aliases", jsonType, `{"text":"X1","number":"` + absent + `"}`, 422, "invalid", "number"},
		{"nothing scanned", "POST", "/scans", jsonType, `{"code":"","station":"S1"}`, 422, "invalid", "body.code"},
		{"a command that is none", "POST", "/scans", jsonType, `{"code":"1","station":"S1","do":"stop"}`, 422, "invalid", "body.do"},
		{"bars of a bundle", "POST", "/scans", jsonType, `{"code":"1","station":"S1","bars":[{"lot":"` + bundle + `","bars":1}]}`, 422, "invalid", "body.bars[0].lot"},
		{"a remnant without a unit", "POST", "/scans", jsonType, `{"code":"1","station":"S1","remnants":[{"length":"6","bars":1}]}`, 422, "invalid", "body.remnants[0].length"},
		{"tags of nothing", "POST", "/tags", jsonType, `{}`, 422, "invalid", "body.numbers"},
		{"a tag never given out", "POST", "/tags", jsonType, `{"numbers":["` + absent + `"]}`, 422, "invalid", "body.numbers[0]"},
		{"a list with faults", "POST", "/lists?job=26-014&list=2", "text/csv", "mark,size,length,pieces\nA,10,12,x\n", 422, "invalid", "row 2, pieces"},
		{"a list under another's number", "POST", "/lists?job=26-014&list=1", "text/csv", "mark,size,length,pieces\nA,#5,12',4\n", 422, "invalid", "revision"},
		{"a form without its file", "POST", "/lists", "multipart/form-data; boundary=x", "--x--\r\n", 422, "invalid", "body.file"},
		{"a form that ends", "POST", "/lists", "multipart/form-data; boundary=x", "--x\r\nContent-Disp", 400, "bad-request", ""},
		{"a form of no boundary", "POST", "/lists", "multipart/form-data", "--x", 400, "bad-request", ""},
		{"stock with faults", "POST", "/stock/import", "text/csv", "mill,size,length,bars\nM,10,60,x\n", 422, "invalid", "row 2, bars"},
		{"a cert that is no form", "POST", "/certs", "application/pdf", "%PDF-1.7", 415, "media-type", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			before, err := s.Journal(s.ctx, -1, 1)
			require.NoError(t, err)
			status, kind, body := s.ask(tt.method, "/api/v1"+tt.path, tt.kind, tt.body)
			require.Equal(t, tt.status, status, body)
			require.Equal(t, "application/problem+json", kind)
			var p api.Problem
			require.NoError(t, json.Unmarshal([]byte(body), &p))
			require.Equal(t, []any{tt.status, http.StatusText(tt.status), "about:blank", tt.code}, []any{p.Status, p.Title, p.Type, p.Code})
			require.NotEmpty(t, p.Detail)
			require.True(t, strings.HasPrefix(p.Instance, "urn:uuid:"))
			var fields []string
			for _, f := range p.Errors {
				fields = append(fields, f.Location)
				require.NotEmpty(t, f.Message)
			}
			if tt.field == "" {
				require.Empty(t, fields)
			} else {
				require.Contains(t, fields, tt.field, body)
			}
			after, err := s.Journal(s.ctx, -1, 1)
			require.NoError(t, err)
			require.Equal(t, before.Head, after.Head, "nothing is recorded")
		})
	}
}

// The client gives a problem as an error whose text is the sentence for people.
func TestClientProblem(t *testing.T) {
	s := openShop(t)
	_, err := s.Bundle(s.ctx, "1-001-00000099-28")
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, 404, p.Status)
	require.Equal(t, "Bundle 1-001-00000099-28 was never given out here. Check the number, or look for it by /trace.", err.Error())
}

// All faults of a file come at once, each with its row and field.
func TestAllFaultsAtOnce(t *testing.T) {
	s := openShop(t)
	_, _, body := s.ask("POST", "/api/v1/lists?job=26-014&list=2&name=x.csv", "text/csv", "mark,size,length,pieces\nA,10,12,x\n,#5,12',4\n")
	var p api.Problem
	require.NoError(t, json.Unmarshal([]byte(body), &p))
	var fields []string
	for _, f := range p.Errors {
		fields = append(fields, f.Location)
	}
	require.ElementsMatch(t, []string{"row 2, size", "row 2, length", "row 2, pieces", "row 3, mark"}, fields)
	require.Contains(t, p.Detail, "x.csv was not taken: 4 faults")

	looked, err := s.TakeList(s.ctx, "x.csv", []byte("mark,size,length,pieces\nA,10,12,x\n"), api.ListOptions{Job: "26-014", List: "2", DryRun: true})
	require.NoError(t, err)
	require.Len(t, looked.Faults, 3)
	require.Equal(t, 2, looked.Faults[0].Row)
	lists, err := s.Lists(s.ctx, "", "", 0)
	require.NoError(t, err)
	require.Empty(t, lists.Lists)
}
