package pages_test

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/web"
	"tagd/internal/web/pages"
)

// browser keeps cookies and forms as a browser does, without script.
type browser struct {
	testing.TB
	srv     http.Handler
	cookies map[string]*http.Cookie
	page    string
	lang    string
	at      string // the address of the page
	// location is where the last answer sent on to.
	location string
}

func (b *browser) do(r *http.Request) int {
	r.Host = "localhost"
	r.Header.Set("Accept", "text/html")
	r.Header.Set("Accept-Language", b.lang)
	for _, c := range b.cookies {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	b.srv.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		b.cookies[c.Name] = c
	}
	b.page, b.location = w.Body.String(), w.Header().Get("Location")
	if w.Code == 500 {
		b.Log(b.page)
	}
	return w.Code
}

// get opens a page, and goes on where it is sent.
func (b *browser) get(path string) int {
	code := b.do(httptest.NewRequest("GET", path, nil))
	if code == http.StatusSeeOther {
		b.at = b.location
		return b.get(b.location)
	}
	b.at = path
	return code
}

// post fills a form of the page that is open, name and value in turn, and sends it.
func (b *browser) post(path string, fields ...string) int {
	form := url.Values{"key": {b.key()}}
	for i := 0; i < len(fields); i += 2 {
		form.Add(fields[i], fields[i+1])
	}
	return b.send(path, form)
}

func (b *browser) send(path string, form url.Values) int {
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

// postFile sends a form that has a place for a file, with one or without.
func (b *browser) postFile(path, name, text string, fields ...string) int {
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		require.NoError(b, w.WriteField(fields[i], fields[i+1]))
	}
	if name != "" {
		part, err := w.CreateFormFile("file", name)
		require.NoError(b, err)
		_, err = part.Write([]byte(text))
		require.NoError(b, err)
	}
	require.NoError(b, w.Close())
	r := httptest.NewRequest("POST", path, &body)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return b.do(r)
}

// scan fills the form of a station.
func (b *browser) scan(station, code string, more ...string) int {
	return b.post("/at/"+station, append([]string{"code", code}, more...)...)
}

var key = regexp.MustCompile(`name="key" value="([^"]+)"`)

func (b *browser) key() string {
	m := key.FindStringSubmatch(b.page)
	require.NotNil(b, m, "no form on the page:\n%s", b.page)
	return m[1]
}

func (b *browser) sees(want ...string) {
	b.Helper()
	for _, w := range want {
		require.Contains(b, b.page, w)
	}
}

// newBrowser is a device that was never here before.
func newBrowser(t testing.TB, srv http.Handler) *browser {
	return &browser{TB: t, srv: srv, cookies: map[string]*http.Cookie{}, lang: "en"}
}

func open(t *testing.T) (*browser, *floor.Floor) {
	db := mem.Open(floor.Tables()...)
	f, err := floor.Open(func() (store.DB, error) { return db, nil }, floor.Config{Plant: 1, Settings: []byte("x"), Certs: t.TempDir(), Rules: scan.Rules{
		Plant: 1, Name: "Example Rebar Shop (invented)", Zone: time.UTC, Units: bar.Imperial,
		Keep: map[bar.Size]bar.Length{"": 4 * bar.Foot}, Stock: []bar.Length{60 * bar.Foot},
		Calendar: load.Calendar{Zone: time.UTC, Shifts: []load.Shift{{Days: []time.Weekday{0, 1, 2, 3, 4, 5, 6}}}},
		Stations: []scan.Station{
			{Name: "S1", Title: "Shear 1", Does: []scan.Work{"cut"}, Feeds: []string{"A"}, Pockets: []string{"1"},
				Stops: []bar.Length{8 * bar.Foot, 10 * bar.Foot, 12 * bar.Foot}, Travel: 2 * bar.Foot},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
			{Name: "R1", Title: "Receiving", Does: []scan.Work{scan.Receiving}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard}},
			{Name: "G1", Title: "Staging", Does: []scan.Work{scan.Staging}},
		},
	}})
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	s := web.New(web.Options{})
	pages.Mount(s, f, pages.Options{Host: "TAGS.EXAMPLE", Open: true})
	return newBrowser(t, s), f
}

// number5 is the steel of the tests' lists and lots.
var number5 = bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}

// take takes lines of number 5 bars as list 1 of job 26-014.
func take(t testing.TB, f *floor.Floor, lines ...barlist.Line) {
	for i := range lines {
		lines[i].Job, lines[i].List, lines[i].Steel = "26-014", "1", number5
	}
	_, _, err := f.TakeList(context.Background(), floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: lines})
	require.NoError(t, err)
}

func TestAStationWithoutScript(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	taken, _, err := f.TakeList(ctx, floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: []barlist.Line{
		{Job: "26-014", List: "1", Mark: "<4F207>", Steel: number5, Length: 14 * bar.Foot, Pieces: 20},
	}})
	require.NoError(t, err)
	require.Equal(t, 1, taken.Bundles)
	r, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 20})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	bundle := "1-001-00000001-31"

	require.Equal(t, 200, b.get("/"))
	b.sees("Shear 1", "Loadout", "nobody signs on")
	require.Equal(t, 200, b.get("/at/S1"))
	b.sees("Ready", "nothing")
	require.Equal(t, 200, b.scan("S1", lot.Lot.Digits()))
	b.sees("Accepted", "0041E5", "lies on feed A")
	first := url.Values{"code": {bundle}, "key": {b.key()}}
	require.Equal(t, 200, b.send("/at/S1", first))
	b.sees("Accepted", "&lt;4F207&gt;", "14′-0″", "Gauge: stop", "12 feet 0 inches", "2 feet 0 inches", "Bring", "Cut this next. <strong>Scan the tag again when all 20 are cut.")
	// The same form again is the same scan: it starts, and does not end, the bundle.
	require.Equal(t, 200, b.send("/at/S1", first))
	b.sees("Scan the tag again when all 20 are cut")
	require.Equal(t, 200, b.scan("S1", bundle, "pieces", "19"))
	b.sees("Check", "19 of 20 pieces")
	require.Equal(t, 200, b.scan("S1", "1-001-00000001-32"))
	b.sees("Refused", "check digits do not match")
	require.Equal(t, 200, b.scan("S1", bundle, "pieces", "many"))
	b.sees("Refused", "is no count")
	require.Equal(t, 422, b.scan("S1", "1-001-00000002-28", "pieces", "1", "from", lot.Lot.String()+"=some"))
	b.sees("neither a count of bars nor a weight")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", "1-001-00000002-28", "pieces", "1", "from", lot.Lot.String()+"=2"))
	b.sees("1 piece cut", "Run closed: 2 bars drawn")
	require.Equal(t, 200, b.scan("S1", "", "do", "empty"))
	b.sees("Accepted", "is off feed A")

	b.lang = "es"
	require.Equal(t, 200, b.get("/at/L1"))
	require.Equal(t, 200, b.scan("L1", bundle))
	b.sees("Alto: no aceptado", "No hay carga abierta")

	require.Equal(t, 200, b.get("/search?q=0041E5"))
	b.sees("&lt;4F207&gt;", "cortar: hecho", "0041E5", "segura")
	require.Equal(t, 200, b.get("/T/"+strings.ReplaceAll(bundle, "-", "")+"/C1/S%235"))
	b.sees("&lt;4F207&gt;")
	require.Equal(t, 404, b.get("/at/S9"))
	b.sees("no station S9")
}

// TestAShift: a part is typed into the form, the page says what is left to do, and who works there.
func TestAShift(t *testing.T) {
	b, f := open(t)
	ctx := context.Background()
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20})
	_, err := f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "Ana <Ruiz> (invented)"})
	require.NoError(t, err)
	bundle, ana := "1-001-00000001-31", "6-001-00000001-53"

	require.Equal(t, 200, b.get("/at/S1"))
	b.sees("Part done: the pieces typed", "Take over from another station", "Cut it here too")
	require.Equal(t, 200, b.get("/at/L1"))
	require.NotContains(t, b.page, "Take over")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", ana))
	b.sees("is in the crew of Shear 1 now", "Crew", "Ana &lt;Ruiz&gt; (invented)")
	require.Equal(t, 200, b.scan("S1", bundle))
	part := url.Values{"code": {bundle}, "do": {"part"}, "pieces": {"12"}, "key": {b.key()}}
	require.Equal(t, 200, b.send("/at/S1", part))
	b.sees("12 pieces made now, 12 of 20 in all", "To do", "<dd>8</dd>", "Made already", "12 / 20")
	// The same form sent again counts no second time.
	require.Equal(t, 200, b.send("/at/S1", part))
	b.sees("12 pieces made now, 12 of 20 in all", "12 / 20")
	b.lang = "es"
	require.Equal(t, 200, b.scan("S1", bundle))
	b.sees("12 de 20 ya se hicieron antes", "Faltan", "Equipo")
}

// TestEnterSaysNothingButTheCode: a scanner presses Enter, and a browser then presses the first key of the form in the
// order of the page (HTML, Implicit submission), also one that stands outside of it: that must be one without a name.
func TestEnterSaysNothingButTheCode(t *testing.T) {
	b, _ := open(t)
	for _, station := range []string{"S1", "L1", "R1"} {
		require.Equal(t, 200, b.get("/at/"+station))
		keys := regexp.MustCompile(`<button[^>]*form="scan"[^>]*>|<form[^>]*id="scan"`).FindAllString(b.page, -1)
		require.NotEmpty(t, keys, station)
		require.NotContains(t, keys[0], "name=", station)
		require.Contains(t, keys[0], "<button", station)
	}
}
