package rest_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/tags"
)

// A cert is filed with its paper, found by heat and by a text on it, read by a person, and given back
// byte for byte, as a file that no browser takes for a page of ours.
func TestCerts(t *testing.T) {
	s := openShop(t)
	paper := []byte("%PDF-1.7\n" + strings.Repeat("x", 50_000))
	filed, err := s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "01E5", Sizes: []string{"#5", "#4"}, Spec: "A706", Type: "3.1", Text: "C-77", Melted: "us"}, "../c.pdf", paper)
	require.NoError(t, err)
	sum := sha256.Sum256(paper)
	c := filed.Cert
	require.Equal(t, hex.EncodeToString(sum[:]), c.SHA256)
	require.Equal(t, []any{"01E5", []string{"#5", "#4"}, "US", true, false}, []any{c.Heat.Heat, c.Sizes, c.Melted, c.Specific, c.Reviewed})

	reviewed, err := s.ReviewCert(s.ctx, c.Seq, api.Review{Note: "read"})
	require.NoError(t, err)
	require.True(t, reviewed.Cert.Reviewed)
	other, err := s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "01E5", Sizes: []string{"#6"}, Type: "2.2"}, "", nil)
	require.NoError(t, err)
	require.Empty(t, other.Cert.SHA256)
	require.False(t, other.Cert.Specific, "EN 10204: 2.2 has no results of the delivered steel")

	for name, f := range map[string]api.CertFilter{"heat": {Mill: "Example Mill", Heat: "01E5"}, "text": {Text: "C-77"}} {
		page, err := s.Certs(s.ctx, f, "", 1)
		require.NoError(t, err)
		require.Equal(t, []api.Cert{reviewed.Cert}, page.Certs, name)
		require.Equal(t, name == "heat", page.Next != "")
	}
	page, err := s.Certs(s.ctx, api.CertFilter{Mill: "Example Mill", Heat: "1E5"}, "", 0)
	require.NoError(t, err)
	require.Empty(t, page.Certs, "01E5 and 1E5 are different heats")

	data, kind, err := s.CertFile(s.ctx, c.Seq)
	require.NoError(t, err)
	require.Equal(t, paper, data)
	require.Equal(t, "application/pdf", kind)
	a, err := http.Get(s.Base + "/api/v1/certs/" + itoa(c.Seq) + "/file")
	require.NoError(t, err)
	a.Body.Close()
	require.Equal(t, `attachment; filename="cert Example Mill 01E5.pdf"`, a.Header.Get("Content-Disposition"))
	require.Equal(t, "nosniff", a.Header.Get("X-Content-Type-Options"))
	_, _, err = s.CertFile(s.ctx, other.Cert.Seq)
	require.ErrorContains(t, err, "a record without paper")

	_, err = s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "01E5", Sizes: []string{"#5"}}, "c.pdf", []byte("<html>"))
	require.ErrorContains(t, err, "no PDF, JPEG or PNG")
	_, err = s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "01E5", Sizes: []string{"5"}}, "c.pdf", paper)
	require.ErrorContains(t, err, "body.sizes")
	_, err = s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "", Sizes: []string{"#5"}}, "c.pdf", paper)
	require.ErrorContains(t, err, "heat: is empty")
}

// The tag of every kind is given in three formats, for three printers and two papers, and nothing is
// recorded by looking at it.
func TestTags(t *testing.T) {
	s := openShop(t)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "Alder Creek Bridge", ShipTo: []string{"1 Example Road", "Example Town"}}})
	require.NoError(t, err)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	place, err := s.Place(s.ctx, api.MakePlace{Name: "A-14"})
	require.NoError(t, err)
	person, err := s.Person(s.ctx, api.MakePerson{Name: "Ana Example"})
	require.NoError(t, err)
	lot, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"01E5"}, Size: "#5", Length: "60'", Bars: 9, Place: "A-14"})
	require.NoError(t, err)
	require.Equal(t, "A-14", lot.Lots[0].Place.Name)
	load, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, Truck: "TRUCK 12", Date: "2026-11-25"})
	require.NoError(t, err)
	b := taken.Lines[0].Bundles[0]
	head, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	numbers := []string{b, lot.Lots[0].Number, load.Load.Number, place.Place.Number, person.Person.Number}
	for _, n := range numbers {
		for _, layout := range []string{"", "4x6", "100x150"} {
			pdf, err := s.Tag(s.ctx, n, "pdf", 300, layout)
			require.NoError(t, err)
			require.Equal(t, "%PDF-", string(pdf[:5]))
			svg, err := s.Tag(s.ctx, n, "svg", 0, layout)
			require.NoError(t, err)
			require.Contains(t, string(svg), "<svg")
			picture, err := s.Tag(s.ctx, n, "png", 203, layout)
			require.NoError(t, err)
			i, err := png.DecodeConfig(bytes.NewReader(picture))
			require.NoError(t, err)
			if layout == "100x150" {
				require.InDelta(t, 100/25.4*203, float64(i.Width), 1)
			} else {
				require.InDelta(t, 4*203, float64(i.Width), 1)
			}
		}
	}
	_, err = s.Tag(s.ctx, "3-001-00000001-00", "pdf", 0, "")
	require.Error(t, err)
	now, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	require.Equal(t, head.Head, now.Head)

	// A print is a copy more of each.
	for i := range 2 {
		sheet, err := s.PrintTags(s.ctx, api.PrintTags{Job: "26-014", List: "1"})
		require.NoError(t, err)
		require.Equal(t, 2, bytes.Count(sheet, []byte("/Type /Page\n")))
		got, err := s.Bundle(s.ctx, b)
		require.NoError(t, err)
		require.Equal(t, i+1, got.Copy)
	}
	sheet, err := s.PrintTags(s.ctx, api.PrintTags{Numbers: append(numbers, b), Layout: "100x150", DPI: 300})
	require.NoError(t, err)
	require.Equal(t, len(numbers), bytes.Count(sheet, []byte("/Type /Page\n")), "a number that is named twice is one tag")
	got, err := s.Bundle(s.ctx, b)
	require.NoError(t, err)
	require.Equal(t, 3, got.Copy)

	// A tag that cannot be printed is not recorded as printed.
	_, err = s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "桥"}})
	require.NoError(t, err)
	_, err = s.PrintTags(s.ctx, api.PrintTags{Numbers: []string{b}})
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, 422, p.Status)
	require.Contains(t, p.Detail, "cannot be printed")
	got, err = s.Bundle(s.ctx, b)
	require.NoError(t, err)
	require.Equal(t, 3, got.Copy)
}

// A tag of ours that is scanned back says the record: the copy, the bundle, the job and its list.
func TestTagSaysTheRecord(t *testing.T) {
	s := openShop(t)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	n, err := tags.ParseNumber(taken.Lines[0].Bundles[0])
	require.NoError(t, err)
	old, err := tags.Format("TAGS.EXAMPLE", tags.Tag{Number: n, Copy: 1, Job: "26-014", List: "1", Mark: "4F207", Size: "#5", Count: 40})
	require.NoError(t, err)
	for range 2 {
		_, err = s.PrintTags(s.ctx, api.PrintTags{Numbers: []string{n.String()}})
		require.NoError(t, err)
	}
	a := s.at("S1", old)
	require.Equal(t, "check", a.Verdict)
	require.Equal(t, "tag differs", a.Notes[len(a.Notes)-1].Code)
}
