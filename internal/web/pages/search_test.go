package pages_test

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
)

// look asks the search box, and goes on where it sends.
func (b *browser) look(text string) int { return b.get("/search?q=" + url.QueryEscape(text)) }

// One box finds anything by any of its names: one thing is its page, several are a list by kind.
func TestSearch(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	take(t, f, barlist.Line{Mark: "A1", Length: 10 * bar.Foot, Pieces: 12}, barlist.Line{Mark: "777", Length: 10 * bar.Foot, Pieces: 500})
	_, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014", Name: "Alder <Creek> (invented)"})
	require.NoError(t, err)
	r, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: exampleMill, Heats: []string{"01/E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 40, Bundles: []event.MillBundle{{Number: "B-17", Bars: 40}}})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	lotOf(t, f, 4, "777")
	_, err = f.FileCert(ctx, floor.Origin{}, event.CertFiled{Mill: exampleMill, Heat: "01/E5", Sizes: []bar.Size{"#5"}, Type: "MTR", Text: "C-17"})
	require.NoError(t, err)
	_, err = f.MakePlace(ctx, floor.Origin{}, "Y-04")
	require.NoError(t, err)

	const n = "1-001-00000001-31"
	for text, at := range map[string]string{
		n: "/bundle/" + n, strings.ReplaceAll(n, "-", ""): "/bundle/" + n, "HTTPS://TAGS.EXAMPLE/T/10010000000131/C1": "/bundle/" + n,
		lot.Lot.String(): "/stock/" + lot.Lot.String(), "B-17": "/stock/" + lot.Lot.String(),
		"01/E5": ofHeat("01/E5"), exampleMill + "  01/E5": ofHeat("01/E5"), "C-17": ofHeat("01/E5"), "A1": "/bundle/" + n, "26-014/1/A1": "/bundle/" + n,
		"Y-04": "/find?place=Y-04", exampleMill: "/recall?q=" + url.QueryEscape(exampleMill),
	} {
		require.Equal(t, 200, b.look(text), text)
		wanted, err := url.Parse(at)
		require.NoError(t, err)
		got, err := url.Parse(b.at)
		require.NoError(t, err)
		require.Equal(t, wanted.Path, got.Path, text)
		require.Equal(t, wanted.Query(), got.Query(), text)
	}
	// A heat and a mark with one name are two things.
	require.Equal(t, 200, b.look("777"))
	b.sees("Heats", "Marks", "26-014 / 1 / 777", "heat=777")
	require.Equal(t, 200, b.look("26-014"))
	require.Equal(t, "/jobs/26-014", b.at)
	require.Equal(t, 200, b.look("26-014/1"))
	b.sees("Bar lists", "A1 1/1")

	// Where nothing goes by the text, the page says why, and what comes near.
	require.Equal(t, 200, b.look("1-001-00000001-32"))
	b.sees("Nothing found", "the check digits do not match", "How to search")
	require.Equal(t, 200, b.look("1-001-00000099-28"))
	b.sees("was never given out here")
	require.Equal(t, 200, b.look("01"))
	b.sees("Begins with it", "01/E5")
	require.Equal(t, 200, b.look("a"))
	b.sees("Begins with it", "A1")
	require.Equal(t, 200, b.look("<zz>"))
	b.sees("Nothing found", "&lt;zz&gt;")
	require.Equal(t, 200, b.look(""))
	b.sees("How to search")
	require.Equal(t, 200, b.get("/search?q=01&lang=es"))
	b.sees("No se encontró nada", "Empieza así")
}

// A hold says beforehand what it stops; its key names the numbers.
func TestAHoldIsLookedAtFirst(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "A1", Length: 10 * bar.Foot, Pieces: 12, Route: []string{"cut"}})
	lot := lotOf(t, f, 10, "01/E5")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", lot.Digits()))
	require.Equal(t, 200, b.scan("S1", "1-001-00000001-31", "pieces", "12"))
	require.Equal(t, 200, b.get("/holds?what="+url.QueryEscape(exampleMill+" 01/E5")))
	b.sees("From the moment you press Hold", "Hold 1 bundle, 1 lot<", "The loading of 1 bundle", "Do not hold", "Held now")
	require.Equal(t, 200, b.get("/holds?what=zz"))
	b.sees("Refused", "is not known")
	require.Equal(t, 200, b.get("/holds?lang=es&what=1-001-00000001-31"))
	b.sees("Retener 1 atado<", "No retener")
}
