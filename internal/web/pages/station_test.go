package pages_test

import (
	"context"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/web"
	"tagd/internal/web/pages"
)

// shop is a shop with a shear, a bender, and a machine for both.
func shop(t testing.TB) (*browser, *floor.Floor) {
	db := mem.Open(floor.Tables()...)
	f, err := floor.Open(func() (store.DB, error) { return db, nil }, floor.Config{Plant: 1, Settings: []byte("x"), Certs: t.TempDir(), Rules: scan.Rules{
		Plant: 1, Name: "Example Rebar Shop (invented)", Zone: time.UTC, Units: bar.Imperial,
		Keep: map[bar.Size]bar.Length{"": 4 * bar.Foot}, Stock: []bar.Length{60 * bar.Foot}, Days: 14,
		Stations: []scan.Station{
			{Name: "S1", Title: "Shear 1", Does: []scan.Work{"cut"}, Feeds: []string{"A", "B"}, Pockets: []string{"1", "2"},
				Stops: []bar.Length{8 * bar.Foot, 12 * bar.Foot}, Travel: 2 * bar.Foot},
			{Name: "B1", Title: "Bender 1", Does: []scan.Work{"bend"}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
		},
	}})
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	s := web.New(web.Options{})
	pages.Mount(s, f, pages.Options{})
	return newBrowser(t, s), f
}

// bars puts a lot of a steel into the shop.
func bars(t testing.TB, f *floor.Floor, st bar.Steel, length bar.Length, n int, heats ...string) tags.Number {
	r, err := f.Receive(context.Background(), floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: heats, Steel: st, Length: length, Bars: n})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	return lot.Lot
}

var (
	unseen = regexp.MustCompile(`(?s)<template.*?</template>`)
	tag    = regexp.MustCompile(`<[^>]*>`)
)

// inView is the page without what it keeps for later; text is what that says, without its tags.
func (b *browser) inView() string { return unseen.ReplaceAllString(b.page, "") }

func (b *browser) text() string {
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(b.inView(), " "))), " ")
}

func (b *browser) says(want ...string) {
	b.Helper()
	for _, w := range want {
		require.Contains(b, b.text(), w)
	}
}

func (b *browser) lacks(no ...string) {
	b.Helper()
	for _, w := range no {
		require.NotContains(b, b.inView(), w)
	}
}

// field is the value of a hidden field of the page.
func (b *browser) field(name string) string {
	m := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(b.page)
	require.NotNil(b, m, "no field %s", name)
	return m[1]
}

// The tags of the bundles in the order in which they are taken.
const first, second, third = "1-001-00000001-31", "1-001-00000002-28", "1-001-00000003-25"

// TestTheCardOfARun: a run of three marks shows every one of them in its bars, what to bring, and for whom it is.
func TestTheCardOfARun(t *testing.T) {
	b, f := shop(t)
	ctx := context.Background()
	take(t, f, barlist.Line{Mark: "4F207", Length: 14*bar.Foot + bar.Inch/2, Pieces: 20}, barlist.Line{Mark: "4F208", Length: 9 * bar.Foot, Pieces: 20}, barlist.Line{Mark: "4F209", Length: 3 * bar.Foot, Pieces: 12})
	_, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014", Name: "Alder Creek Bridge (invented)"})
	require.NoError(t, err)
	a := bars(t, f, number5, 60*bar.Foot, 4, "0041E5")
	bars(t, f, number5, 60*bar.Foot, 40, "77", "78")
	require.Equal(t, 200, b.get("/at/S1"))
	b.sees(`data-answer="ready"`, `class="answer ready big"`)
	b.says("Scan a bundle tag to cut it next, or a lot tag to charge it.", "No truck waits for anything here.", "Today 0 bundles, 0 lb")
	require.Equal(t, 200, b.scan("S1", a.Digits()))
	b.sees(`data-answer="accepted"`, `id="feeds" data-live`)
	b.says("On the feeds newest on top A 0041E5 #5 A615 60 · 60′-0″ 2-001-00000001-16 4 left")
	require.Equal(t, 200, b.scan("S1", first))
	b.says("Cut this next. Scan the tag again when all 20 are cut.", "Pieces 20", "14 feet 0 1/2 inches", "#5 A615 60", "Mark 4F207",
		"Gauge: stop + out", "Pocket 1", "Job 26-014 · List 1 · Bundle 1/1 Alder Creek Bridge (invented)", "Bring 5 bars", "A Feed 0041E5 60′-0″", "4 bars", "77, 78")
	b.lacks("The pieces go into pocket") // it stands on the card
	require.Equal(t, 200, b.scan("S1", second))
	b.says("Cut this too, in the same run.")
	require.Equal(t, 200, b.scan("S1", third))
	drawn := b.page[strings.Index(b.page, `<figure id="bars"`):]
	drawn = drawn[:strings.Index(drawn, "</figure>")]
	for _, mark := range []string{"4F207", "4F208", "4F209"} {
		require.Contains(t, drawn, mark, "every mark of the run")
	}
	b.sees(`class="kept"`, `aria-label="`)
	require.Equal(t, 1, strings.Count(b.page, `<pattern id="left"`), "an id stands once")

	// An empty box is no scan: a scanner's stray Enter ends nothing.
	require.Equal(t, 200, b.scan("S1", "", "card", third, "count", ""))
	b.says("Ready")
	// A count that is typed on the card is of the card, not of another tag.
	require.Equal(t, 200, b.scan("S1", second, "card", third, "count", "3"))
	b.says("Accepted", "Mark 4F208")
	require.Equal(t, 200, b.scan("S1", "", "card", second, "count", "18", "of", "card"))
	b.says("Check", "18 of 20 pieces: the other 2 are bundle 1b")
	require.Equal(t, 200, b.scan("S1", third, "card", third, "count", "12"))
	b.says("4F209 1/1: 12 pieces cut")
	// The key on the card without a count is its tag scanned again: all of it is cut.
	require.Equal(t, 200, b.scan("S1", first, "do", "show"))
	require.Equal(t, 200, b.get("/at/S1"))
	b.says("Ready", "Mark 4F207")
	require.Equal(t, 200, b.scan("S1", "", "card", first, "all", b.field("all"), "of", "card"))
	b.says("4F207 1/1: 20 pieces cut", "Run closed", "Today 3 bundles")
}

// TestWhatStopsTheMachine: wrong steel takes the whole screen, with what differs set side by side and steps to do;
// another refusal is a band, and the card stays in view. Each says that nothing was recorded.
func TestWhatStopsTheMachine(t *testing.T) {
	b, f := shop(t)
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20}, barlist.Line{Mark: "4F208", Length: 9 * bar.Foot, Pieces: 20})
	six := bars(t, f, bar.Steel{Size: "#6", Spec: "A615", Grade: "60"}, 60*bar.Foot, 9, "6X")
	five := bars(t, f, number5, 60*bar.Foot, 40, "77")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", six.Digits()))
	require.Equal(t, 200, b.scan("S1", first))
	b.sees(`<section class="stop refused" role="alert">`, `data-answer="refused"`, `id="scan"`)
	b.says("Nothing was recorded as done.", "Wrong steel: #6 A615 60 lies on the feeds, 4F207 1/1 needs #5 A615 60.", "On the feeds #6 #6 A615 60", "The card needs #5 4F207 1/1 #5 A615 60",
		"What to do Take #6 A615 60 off the feed. Bring #5 A615 60 and scan that lot.")
	require.Equal(t, 2, strings.Count(b.inView()[strings.Index(b.inView(), "<ol>"):strings.Index(b.inView(), "</ol>")], "<li>"))
	b.lang = "es"
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", second))
	b.says("Alto: no aceptado", "No se registró nada como hecho.", "En los alimentadores #6", "La tarjeta pide #5", "Qué hacer Quite #6 A615 60 del alimentador. Traiga #5 A615 60 y escanee ese lote.")
	b.lang = "en"
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", "", "do", "empty"))
	require.Equal(t, 200, b.scan("S1", five.Digits()))
	require.Equal(t, 200, b.scan("S1", first))
	require.Equal(t, 200, b.scan("S1", first+"9"))
	b.sees(`<section class="answer refused" role="status">`)
	b.says("Nothing was recorded as done.", "Mark 4F207")
	b.lacks(`class="stop`)
	// At a yard nothing is stopped by it.
	require.Equal(t, 200, b.get("/at/Y1"))
	require.Equal(t, 200, b.scan("Y1", "1-001-00000099-28"))
	b.lacks(`class="stop`)
}

// TestTheLastScans: refusals among them, the newest first, at the sill and as a list; what lies open at a dock is of
// the device, so another device's scans are not told there.
func TestTheLastScans(t *testing.T) {
	b, f := shop(t)
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20})
	lot := bars(t, f, number5, 60*bar.Foot, 40, "77")
	require.Equal(t, 200, b.get("/at/S1"))
	b.lacks("Last ten scans")
	for _, code := range []string{lot.Digits(), first, "1-001-00000099-28"} {
		require.Equal(t, 200, b.scan("S1", code))
	}
	b.sees(`id="scans" data-live`)
	b.says("✓ Accepted: 4F207 1/1 started", "⊘ Refused: 1-001-00000099-28 refused")
	list := b.text()[strings.LastIndex(b.text(), "Last ten scans 3"):]
	require.Less(t, strings.Index(list, "was never given out here"), strings.Index(list, "4F207 1/1: cut 20 pieces"))
	other := newBrowser(t, b.srv)
	require.Equal(t, 200, other.get("/at/S1"))
	other.says("4F207 1/1 started")
	require.Equal(t, 200, b.get("/at/L1"))
	require.Equal(t, 200, b.scan("L1", first))
	b.says("4F207 1/1 refused")
	require.Equal(t, 200, other.get("/at/L1"))
	other.lacks("Last ten scans")
}

// TestBadges: whoever comes to a station is asked for a badge in both languages, once; the badge sets the language
// and puts its person into the crew, a key signs them out, and a stale key does not sign them on again.
func TestBadges(t *testing.T) {
	b, f := shop(t)
	ctx := context.Background()
	require.Equal(t, 200, b.get("/at/S1"))
	b.lacks("Scan your badge") // nobody has one
	_, err := f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "Ana Example (invented)", Lang: scan.Spanish})
	require.NoError(t, err)
	_, err = f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "Ben Example (invented)", Lang: scan.English})
	require.NoError(t, err)
	ana, ben := "6-001-00000001-53", "6-001-00000002-50"
	require.Equal(t, 200, b.get("/at/S1"))
	b.says("Scan your badge Escanee su gafete", "No badge Sin gafete", "The badge also sets the language.", "Hello Hola")
	other := newBrowser(t, b.srv)
	require.Equal(t, 200, other.get("/at/S1"))
	require.Equal(t, 200, other.get("/at/S1?badge=none"))
	other.lacks("Scan your badge")
	require.Equal(t, 200, other.get("/at/S1"))
	other.lacks("Scan your badge")

	require.Equal(t, 200, b.scan("S1", ana))
	b.sees(`<html lang="es"`, `id="crew"`)
	b.says("Aceptado", "Equipo: Ana Example (invented)", "Salir: Ana Example (invented)")
	require.Equal(t, 200, b.get("/at/B1"))
	b.sees(`<html lang="es"`) // at this device, until another badge or the switch
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", ben))
	b.sees(`<html lang="en"`)
	b.says("Crew: Ana Example (invented), Ben Example (invented)")
	require.Equal(t, 200, b.post("/at/S1", "signout", ana))
	b.says("has left the crew", "Crew: Ben Example (invented)")
	require.Equal(t, 200, b.post("/at/S1", "signout", ana))
	b.says("Ready", "Crew: Ben Example (invented)")
	b.lacks("Sign out: Ana")
	require.Equal(t, 200, b.get("/at/S1?lang=es"))
	b.says("Listo")
}

// TestTheCardOfABend: the sketch with a figure for each leg, and what else the bender needs.
func TestTheCardOfABend(t *testing.T) {
	b, f := shop(t)
	legs, err := bar.ParseBends(`1'-4" [90] 6'-3" [45] 1'-5" [45R] 3'-9 3/4"`)
	require.NoError(t, err)
	route := []string{"bend"}
	take(t, f, barlist.Line{Mark: "B5-204", Length: 12*bar.Foot + 7*bar.Inch + bar.Inch/2, Pieces: 46, Route: route, Shape: bar.Shape{Code: "Z2", Pin: 3*bar.Inch + 3*bar.Inch/4, Legs: legs}},
		barlist.Line{Mark: "TH-1", Length: 9 * bar.Foot, Pieces: 4, Route: route})
	require.Equal(t, 200, b.get("/at/B1"))
	require.Equal(t, 200, b.scan("B1", first))
	b.says("Bend this next.", "Pieces 46", "Pin", "3 3/4 inches", "Straight length", "12 feet 7 1/2 inches", "Shape Z2", "Mark B5-204", "1′-4″", "6′-3″", "1′-5″", "3′-9 3/4″", "45°", "Out to out.")
	b.sees(`class="bent"`, `aria-label="Shape Z2: 1&#39;-4&#34; [90L]`)
	// The page opens at what was begun here last and is at work still, also at another device.
	other := newBrowser(t, b.srv)
	require.Equal(t, 200, other.get("/at/B1?lang=es"))
	other.says("Marca B5-204", "Por fuera.")
	require.Equal(t, 200, b.scan("B1", second))
	b.says("Straight", "Mark TH-1")
	b.lacks(`class="bent"`)
	require.Equal(t, 200, b.scan("B1", second))
	b.says("bend done", "Mark B5-204")
}

// TestTheFirstPage: a device chooses its station once, by kind, and finds the office.
func TestTheFirstPage(t *testing.T) {
	b, _ := shop(t)
	require.Equal(t, 200, b.get("/"))
	b.says("Choose the station of this device. Elija la estación de este aparato.", "Cut 1 Shear 1 cut", "Bend and finish 1 Bender 1", "Receiving and yard 1 Yard", "Trucks 1 Loadout", "List to resolve: 0")
	b.sees(`href="/at/S1"`, `href="/loads"`, `href="/stock"`, `href="/board"`)
	require.Equal(t, 200, b.get("/at/B1"))
	require.Equal(t, 200, b.get("/?lang=es"))
	b.says("Doblar y acabar 1 Bender 1 doblar · aquí antes", "La oficina")
}

// BenchmarkScanPage is a scan at a shear with its page: a bundle begins and ends in turn, on a store in memory. The
// second figure is of the page alone.
func BenchmarkScanPage(b *testing.B) {
	br, f := shop(b)
	var lines []barlist.Line
	for i := range 200 {
		lines = append(lines, barlist.Line{Mark: "M" + strings.Repeat("x", i%10) + string(rune('A'+i/10)), Length: bar.Length(4+i%20) * bar.Foot, Pieces: 40, Job: "26-014", List: "1", Steel: number5})
	}
	_, _, err := f.TakeList(context.Background(), floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: lines})
	require.NoError(b, err)
	lot := bars(b, f, number5, 60*bar.Foot, 1_000_000, "77")
	require.Equal(b, 200, br.get("/at/S1"))
	require.Equal(b, 200, br.scan("S1", lot.Digits()))
	n := 0
	b.Run("scan", func(b *testing.B) {
		for range b.N {
			code, _ := tags.New(tags.Bundle, 1, 1+n/2%200)
			n++
			if br.scan("S1", code.Digits()) != 200 {
				b.Fatal(br.page)
			}
		}
	})
	b.Run("page", func(b *testing.B) {
		for range b.N {
			if br.get("/at/S1") != 200 {
				b.Fatal(br.page)
			}
		}
	})
}
