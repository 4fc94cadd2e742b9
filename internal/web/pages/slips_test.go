package pages_test

import (
	"context"
	"encoding/csv"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/web"
	"tagd/internal/web/pages"
)

// Quality sees what did not go as it should, by station and by the names of people; the same refusal again and
// again is one row.
func TestWhatWentWrong(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	require.Equal(t, 200, b.get("/quality"))
	b.sees("Nothing in these days.")
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 10 * bar.Foot, Pieces: 12, Route: []string{"cut"}})
	r, err := f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "Ana <Example> (invented)"})
	require.NoError(t, err)
	ana := r.Events[0].Body.(event.PersonMade).Person
	const n = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", ana.String()))
	for range 3 {
		require.Equal(t, 200, b.get("/at/L1"))
		require.Equal(t, 200, b.scan("L1", n))
	}
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", n, "pieces", "11"))
	require.Equal(t, 200, b.scan("S1", n, "do", "lost", "pieces", "2", "why", "miscut"))
	lot := lotOf(t, f, 10, "01/E5")
	_, err = f.CountYard(ctx, floor.Origin{}, []floor.Stocktaking{{Lot: lot, Amount: heat.Amount{Bars: 9}}})
	require.NoError(t, err)

	require.Equal(t, 200, b.get("/quality"))
	b.sees("Refusals", "Ana &lt;Example&gt; (invented)", "&lt;4F207&gt; 1/1", "Loadout", "Shear 1", "2 pieces lost", "3 × since", lot.String())
	require.Equal(t, 200, b.get("/quality?kind=lost"))
	b.sees("2 pieces lost")
	require.NotContains(t, b.page, "</svg>Refused")
	require.Equal(t, 200, b.get("/quality?station=L1&days=30"))
	b.sees("</svg>Refused")
	require.NotContains(t, b.page, "2 pieces lost")
	require.Equal(t, 200, b.get("/quality?person="+ana.String()))
	b.sees("Ana &lt;Example&gt; (invented)")
	require.Equal(t, 200, b.get("/quality?person=Ana"))
	b.sees("Refused", "is no number of a badge")
	require.Equal(t, 200, b.get("/quality?lang=es"))
	b.sees("Lo que no salió como debía", "No aceptado", "Por persona")
	require.Equal(t, 200, b.get("/quality?format=csv&lang=en"))
	require.True(t, strings.HasPrefix(b.page, "record,kind,first,last,times"), b.page)
	b.sees(",refused,", "Ana <Example> (invented)", ",lost,")
	// Names stand on pages of quality only.
	require.Equal(t, 200, b.get("/bundle/"+n))
	b.sees(ana.String())
	require.NotContains(t, b.page, "Ana &lt;Example&gt;")
}

// An error is a page in our look, in both languages, that says what to do next.
func TestAProblemsPage(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 404, b.get("/nowhere"))
	b.sees("There is nothing here", "Check the number, or search for it above.", `class="office"`, "Number of this request")
	require.Equal(t, 404, b.get("/bundle/x?lang=es"))
	b.sees("Aquí no hay nada", "There is no bundle x.", "Página inicial", `lang="es"`)
	require.Equal(t, 405, b.send("/recall?lang=en", nil))
	b.sees("use the page&#39;s own keys")
}

// The page after a tag's QR says what the record says; what the tag says otherwise stands out; certs and history
// only where the plant shows them.
func TestAFieldPage(t *testing.T) {
	b, f := open(t)
	bent, err := bar.ParseBends(`2'-0" [90] 8'-0"`)
	require.NoError(t, err)
	take(t, f, barlist.Line{Mark: "<4F207>", Length: 10 * bar.Foot, Pieces: 12, Shape: bar.Shape{Legs: bent}, Route: []string{"cut"}})
	lot := lotOf(t, f, 10, "01/E5")
	const at = "/T/10010000000131"
	require.Equal(t, 200, b.get(at))
	b.sees("&lt;4F207&gt;", "not known yet", "10 feet 0 inches", "<svg", "1-001-00000001-31")
	require.NotContains(t, b.page, "<form")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", lot.Digits()))
	require.Equal(t, 200, b.scan("S1", "10010000000131", "pieces", "12"))
	require.Equal(t, 200, b.get(at+"/J26-014/N12"))
	b.sees("01/E5", "certain")
	require.NotContains(t, b.page, "Look at the tag")
	require.NotContains(t, b.page, "no cert")
	require.NotContains(t, b.page, "still ahead")
	require.Equal(t, 200, b.get(at+"/J26-015/N11"))
	b.sees("Look at the tag", "26-015")
	require.Equal(t, 200, b.get("/T/"+lot.Digits()))
	b.sees("01/E5", exampleMillShown)

	// A number that is not known: what the tag itself says.
	other, err := tags.New(tags.Bundle, 1, 99)
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/T/"+other.Digits()+"/C1/J26-099/L7/MZ%3C9/S%235/N40/HAB12"))
	b.sees("Not in this record", "26-099", "Z&lt;9", "AB12", "#5", "40")
	require.Equal(t, 200, b.get("/T/nothing"))
	b.sees("This address is of no tag.")
	require.Equal(t, 200, b.get(at+"/N11?lang=es"))
	b.sees("Vea la etiqueta", "Coladas")

	// The same plant with its settings saying so.
	db := mem.Open(floor.Tables()...)
	shown, err := floor.Open(func() (store.DB, error) { return db, nil }, floor.Config{Plant: 1, Settings: []byte("x"), Certs: t.TempDir(), Rules: f.Rules()})
	require.NoError(t, err)
	t.Cleanup(func() { shown.Close() })
	s := web.New(web.Options{})
	pages.Mount(s, shown, pages.Options{Field: pages.Field{Certs: true, History: true}})
	b.srv = s
	take(t, shown, barlist.Line{Mark: "<4F207>", Length: 10 * bar.Foot, Pieces: 12, Route: []string{"cut"}})
	lotOf(t, shown, 10, "01/E5")
	require.Equal(t, 200, b.get("/at/S1?lang=en"))
	require.Equal(t, 200, b.scan("S1", lot.Digits()))
	require.Equal(t, 200, b.scan("S1", "10010000000131", "pieces", "12"))
	require.Equal(t, 200, b.get(at))
	b.sees("Cert missing", "no cert on file", "Loaded", "not yet")
}

const exampleMillShown = "Example Mill &amp; Sons (invented)"

// The table of what did not go as it should has every row, also where a page would be full.
func TestTheWholeTableOfSlips(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 200, b.get("/at/S1"))
	const many = 450 // a page has 200
	for i := range many {
		require.Equal(t, 200, b.scan("S1", fmt.Sprintf("NOTAG%d", i)))
	}
	require.Equal(t, 200, b.get("/quality?format=csv"))
	rows, err := csv.NewReader(strings.NewReader(b.page)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+many)
	require.Contains(t, rows[1][11], "NOTAG449")
	require.Contains(t, rows[many][11], "NOTAG0")
}
