package plant

import (
	"crypto/sha256"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func zone(t testing.TB, name string) *time.Location {
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

func TestDefault(t *testing.T) {
	text := Default("")
	s, err := Parse(text)
	require.NoError(t, err)
	usual := load.Calendar{Zone: zone(t, "America/Chicago"), Shifts: []load.Shift{{
		Name: "day", Days: []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday}, From: 6 * time.Hour, To: 14*time.Hour + 30*time.Minute,
	}}}
	require.Equal(t, Settings{
		Number: 1, Name: "Example Rebar Shop (invented)", Zone: zone(t, "America/Chicago"), Units: bar.Imperial,
		Address:   "TAGS.SHOP.EXAMPLE",
		MaxPieces: 200, MaxWeight: 3000 * bar.Pound, LoadLimit: 48000 * bar.Pound,
		Stock: []bar.Length{60 * bar.Foot, 40 * bar.Foot, 30 * bar.Foot, 20 * bar.Foot},
		Keep:  map[bar.Size]bar.Length{"": 4 * bar.Foot},
		Pause: 3 * time.Second, Repeat: time.Minute, Least: 20 * time.Second,
		List:     List{Spec: "A615", Grade: "60", ShapeEdition: "ACI 315-99"},
		Routes:   barlist.Routes{"straight": {"cut"}, "bent": {"cut", "bend"}, "stirrup": {"cut", "bend"}, "spiral": {"cut", "bend"}},
		Calendar: usual, Days: 14,
		Stations: []scan.Station{
			{Name: "S1", Title: "Shear 1", Does: []scan.Work{"cut"}, Feeds: []string{"A", "B"}, Pockets: []string{"1", "2", "3", "4", "5", "6", "7", "8"}},
			{Name: "B1", Title: "Bender 1", Does: []scan.Work{"bend"}},
			{Name: "R1", Title: "Receiving", Does: []scan.Work{scan.Receiving}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout, scan.Staging}},
		},
		Text: text, SHA256: sha256.Sum256(text),
	}, s)

	r := s.Rules()
	require.Equal(t, scan.Rules{Plant: 1, Name: s.Name, Zone: s.Zone, Units: bar.Imperial, Stations: s.Stations,
		Pause: 3 * time.Second, Repeat: time.Minute, Least: 20 * time.Second, Ends: []scan.Clock{14*60 + 30}, Keep: s.Keep, Stock: s.Stock, Calendar: usual, Days: 14}, r)
}

// A key that is left out has the value that the default file has, and every key stands in it.
func TestLeftOut(t *testing.T) {
	want, err := Parse(Default(""))
	require.NoError(t, err)
	lines := strings.Split(string(Default("")), "\n")
	keys := 0
	for i, line := range lines {
		if strings.HasPrefix(line, "[[shift]]") {
			break
		}
		if line == "" || strings.ContainsAny(line[:1], "#[") {
			continue
		}
		keys++
		got, err := Parse([]byte(strings.Join(append(lines[:i:i], lines[i+1:]...), "\n")))
		require.NoError(t, err, line)
		got.Text, got.SHA256 = want.Text, want.SHA256
		require.Equal(t, want, got, line)
	}
	require.Equal(t, 29, keys)

	got, err := Parse([]byte("[[station]]\nname = \"S1\"\ndoes = [\"cut\"]\nfeeds = [\"A\"]\n"))
	require.NoError(t, err)
	require.Equal(t, []scan.Station{{Name: "S1", Title: "S1", Does: []scan.Work{"cut"}, Feeds: []string{"A"}}}, got.Stations)
	got.Stations, got.Text, got.SHA256 = want.Stations, want.Text, want.SHA256
	require.Equal(t, want, got)
}

func TestParse(t *testing.T) {
	s, err := Parse([]byte("\ufeff" + `
[plant]
number = 42
name = " Ferralla de Ejemplo (inventada) "
zone = "Europe/Madrid"
units = "mm"
[tags]
address = "t.example:8443"
[server]
hosts = ["tagd.shop.lan", "192.0.2.7", "tagd:8000"]
[bundle]
pieces = 0
weight = "1.5 t"
[load]
weight = "24000 kg"
[stock]
lengths = ["12 m", "14 m"]
[remnant]
other = "1 m"
"16mm" = "800 mm"
"32mm" = "60 cm"
[scan]
pause = "500 ms"
repeat = "0s"
least = "0s"
[scanner]
gs = "^]"
rs = "^^"
eot = "{EOT}"
[list]
length_unit = "mm"
spec = ""
grade = "b500b"
shape_edition = "BS 8666:2005"
[routes]
stirrup = "cut and bend"
spiral = "none"
[calendar]
closed = ["2026-12-25"]
[forecast]
days = 30
[[shift]]
from = "07:00"
to = "15:00"
[[shift]]
name = "noche"
days = ["sun", "Wed"]
from = "22:00"
to = "06:00"
[[station]]
name = "C1"
title = "Estribadora"
does = ["cut and bend", "cut"]
feeds = [1, 2]
pockets = [1]
stops = ["50 cm", "1 m", "1500 mm"]
travel = "500 mm"
[[station]]
name = "saw"
does = ["saw", "yard"]
feeds = ["A"]
runs = "single"
`))
	require.NoError(t, err)
	s.Text, s.SHA256 = nil, [32]byte{}
	require.Equal(t, Settings{
		Number: 42, Name: "Ferralla de Ejemplo (inventada)", Zone: zone(t, "Europe/Madrid"), Units: bar.Metric,
		Address: "T.EXAMPLE:8443", Hosts: []string{"tagd.shop.lan", "192.0.2.7", "tagd:8000"},
		MaxWeight: 1500 * bar.Kilogram, LoadLimit: 24 * bar.Tonne,
		Stock:  []bar.Length{12 * bar.Metre, 14 * bar.Metre},
		Keep:   map[bar.Size]bar.Length{"": bar.Metre, "16mm": 800 * bar.Millimetre, "32mm": 600 * bar.Millimetre},
		Pause:  500 * time.Millisecond,
		Wedge:  tags.Wedge{GS: "^]", RS: "^^", EOT: "{EOT}"},
		Routes: barlist.Routes{"straight": {"cut"}, "bent": {"cut", "bend"}, "stirrup": {"cut and bend"}, "spiral": {}},
		List:   List{LengthUnit: "mm", Spec: "BS4449", Grade: "B500B", ShapeEdition: "BS 8666:2005"},
		Calendar: load.Calendar{Zone: zone(t, "Europe/Madrid"), Closed: []string{"2026-12-25"}, Shifts: []load.Shift{
			{Days: []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday}, From: 7 * time.Hour, To: 15 * time.Hour},
			{Name: "noche", Days: []time.Weekday{time.Sunday, time.Wednesday}, From: 22 * time.Hour, To: 6 * time.Hour},
		}}, Days: 30,
		Stations: []scan.Station{
			{Name: "C1", Title: "Estribadora", Does: []scan.Work{"cut and bend", "cut"}, Feeds: []string{"1", "2"}, Pockets: []string{"1"},
				Stops: []bar.Length{500 * bar.Millimetre, bar.Metre, 1500 * bar.Millimetre}, Travel: 500 * bar.Millimetre},
			{Name: "saw", Title: "saw", Does: []scan.Work{"saw", "yard"}, Feeds: []string{"A"}, Single: true},
		},
	}, s)
}

// with is the default file with one text in it replaced, and where that is.
func with(t *testing.T, old, new string) (text string, from int) {
	d := string(Default(""))
	from = strings.Index(d, old)
	require.GreaterOrEqual(t, from, 0, "the default file has %q", old)
	return d[:from] + new + d[from+len(old):], from
}

func TestFaults(t *testing.T) {
	shear := "name = \"S1\"\ntitle = \"Shear 1\"\ndoes = [\"cut\"]\nfeeds = [\"A\", \"B\"]"
	for _, tt := range []struct {
		old, new string // of the default file
		at       string // begins the line of the fault; "" is the first line of new
		key      string
		says     string
	}{
		{`number = 1`, `number = 0`, "", "plant.number", "a whole number from 1 to 999"},
		{`number = 1`, `number = 1000`, "", "plant.number", "from 1 to 999"},
		{`number = 1`, `number = "1"`, "", "plant.number", "without quotes"},
		{`number = 1`, `number = 1.5`, "", "plant.number", "a whole number"},
		{`number = 1`, `nummer = 1`, "", "plant.nummer", "is no setting; [plant] has number, name, zone, units"},
		{`number = 1`, `"a b" = 1`, "", `plant."a b"`, "is no setting"},
		{standardName, `""`, "", "plant.name", "is empty"},
		{standardName, `7`, "", "plant.name", `write it in "quotes"`},
		{standardName, `"a\u0007b"`, "", "plant.name", "cannot be printed"},
		{standardName, `"` + strings.Repeat("ñ", 61) + `"`, "", "plant.name", "has 61 characters; 60 are the most"},
		{`zone = "America/Chicago"`, `zone = "America/Chikago"`, "", "plant.zone", "IANA"},
		{`zone = "America/Chicago"`, `zone = "CST"`, "", "plant.zone", `"CST" is no time zone`},
		{`zone = "America/Chicago"`, `zone = "EST"`, "", "plant.zone", "America/Chicago"},
		{`zone = "America/Chicago"`, `zone = "Local"`, "", "plant.zone", "is no time zone"},
		{`zone = "America/Chicago"`, `zone = ""`, "", "plant.zone", "is no time zone"},
		{`zone = "America/Chicago"`, `zone = "../../etc/passwd"`, "", "plant.zone", "is no time zone"},
		{`units = "ft-in"`, `units = "feet"`, "", "plant.units", `is "feet"; write one of "ft-in", "mm"`},
		{`"TAGS.SHOP.EXAMPLE"`, `"https://tags.shop.example"`, "", "tags.address", "without https://"},
		{`"TAGS.SHOP.EXAMPLE"`, `""`, "", "tags.address", "is no host"},
		{`"TAGS.SHOP.EXAMPLE"`, `"tags.shop.example:0"`, "", "tags.address", "port from 1 to 65535"},
		{`"TAGS.SHOP.EXAMPLE"`, `"tags.shop.example:65536"`, "", "tags.address", "port from 1 to 65535"},
		{`"TAGS.SHOP.EXAMPLE"`, `"tags_shop.example"`, "", "tags.address", "letters, digits and dashes"},
		{`"TAGS.SHOP.EXAMPLE"`, `"tags..example"`, "", "tags.address", "letters, digits and dashes"},
		{`"TAGS.SHOP.EXAMPLE"`, `"-tags.example"`, "", "tags.address", "letters, digits and dashes"},
		{`"TAGS.SHOP.EXAMPLE"`, `"192.0.2.300"`, "", "tags.address", "no IP address"},
		{`"TAGS.SHOP.EXAMPLE"`, `"[2001:db8::7]:80"`, "", "tags.address", "write a host or host:port"},
		{`"TAGS.SHOP.EXAMPLE"`, `"` + strings.Repeat("a.", 29) + `exa"`, "", "tags.address", "squares of the QR code larger"},
		{`hosts = []`, `hosts = "tagd"`, "", "server.hosts", "is a list"},
		{`hosts = []`, `hosts = ["tagd", "tagd"]`, "", "server.hosts", `has "tagd" twice`},
		{`hosts = []`, `hosts = ["http://tagd"]`, "", "server.hosts", "without https://"},
		{`hosts = []`, `hosts = [[]]`, "", "server.hosts", "a list of texts"},
		{`pieces = 200`, `pieces = -1`, "", "bundle.pieces", "from 0 to 100000"},
		{`weight = "3,000 lb"`, `weight = "3000"`, "", "bundle.weight", "has no unit"},
		{`weight = "3,000 lb"`, `weight = 3000`, "", "bundle.weight", "is text"},
		{`weight = "3,000 lb"`, `weight = "50,000 lb"`, "", "bundle.weight", "more than a whole load may weigh (48,000 lb)"},
		{`weight = "48,000 lb"`, `weight = "24 tons"`, "", "load.weight", "2,000 lb here and 1000 kg there"},
		{`closed = []`, `closed = ["26.11.2026"]`, "", "calendar.closed", `has "26.11.2026", which is no day`},
		{`certs = false`, `certs = "no"`, "", "field.certs", "is true or false, without quotes"},
		{`days = 14`, `days = 0`, "", "forecast.days", "a whole number from 1 to 366"},
		{`days = ["Mon", "Tue", "Wed", "Thu", "Fri"]`, `days = []`, "", "shift 1.days", "is empty"},
		{`days = ["Mon", "Tue", "Wed", "Thu", "Fri"]`, `days = ["Lunes"]`, "", "shift 1.days", `has "Lunes"; write one or more of "Mon"`},
		{`from = "06:00"`, `from = "6:00"`, "", "shift 1.from", "write a time of day"},
		{`to = "14:30"`, `to = "24:00"`, "", "shift 1.to", "write a time of day"},
		{`to = "14:30"`, "to = \"14:30\"\ncrew = 2", "crew", "shift 1.crew", "is no setting; [shift 1] has name, days, from, to"},
		{"[[shift]]\nname = \"day\"\ndays = [\"Mon\", \"Tue\", \"Wed\", \"Thu\", \"Fri\"]\nfrom = \"06:00\"", "[[shift]]\nname = \"day\"", "", "shift 1.from", "is missing"},
		{`lengths = ["60 ft", "40 ft", "30 ft", "20 ft"]`, `lengths = []`, "", "stock.lengths", "is empty"},
		{`"30 ft", "20 ft"]`, `"30", "20 ft"]`, "", "stock.lengths", "30"},
		{`"30 ft", "20 ft"]`, `"30 ft", "720 in"]`, "", "stock.lengths", "twice"},
		{`other = "4 ft"`, `other = "0 ft"`, "", "remnant.other", "more than nothing"},
		{`other = "4 ft"`, `other = "60 ft"`, "", "remnant.other", "no leftover would ever be kept"},
		{`other = "4 ft"`, "other = \"4 ft\"\n10 = \"4 ft\"", "10", "remnant.10", "neither other nor a size"},
		{`other = "4 ft"`, "\"16mm\" = \"4 ft\"\n\"16 mm\" = \"4 ft\"", `"16 mm"`, `remnant."16 mm"`, "has a line already"},
		{`pause = "3s"`, `pause = "3"`, "", "scan.pause", `write figure and unit`},
		{`pause = "3s"`, `pause = "1h"`, "", "scan.pause", "from 500ms to 30s"},
		{`repeat = "1m"`, `repeat = "-1s"`, "", "scan.repeat", "from 0s to 1h0m0s"},
		{`least = "20s"`, `least = "2h"`, "", "scan.least", "from 0s to 1h0m0s"},
		{`gs = ""`, `gs = "GS"`, "", "scanner.gs", "is only letters and digits"},
		{`gs = ""`, `gs = "{GROUPSEP}"`, "", "scanner.gs", "has 10 characters; 8 are the most"},
		{"rs = \"\"\neot = \"\"", "rs = \"~\"\neot = \"~\"", "eot", "scanner.eot", `is "~", as rs is`},
		{`[list]`, "[mill]\nname = 'M'\n[list]", "", "mill", "write [[mill]] with two brackets"},
		{`[list]`, "[[mill]]\npattern = '(?P<heat>.+)'\n[list]", "", "mill 1.name", "is missing; write the mill as the stock lots name it"},
		{`[list]`, "[[mill]]\nname = 'M'\n[list]", "", "mill 1.pattern", "is missing; write a regular expression"},
		{`[list]`, "[[mill]]\nname = ''\npattern = '(?P<heat>.+)'\n[list]", "name", "mill 1.name", "is empty"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<heat>.+'\n[list]", "pattern", "mill 1.pattern", "is no regular expression: missing closing )"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<colour>.+)'\n[list]", "pattern", "mill 1.pattern", "the names are heat, size, length, bars, weight, bundle, grade"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<size>.+)'\n[list]", "pattern", "mill 1.pattern", "names neither heat nor bundle"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<heat>.+)'\n[[mill]]\nname = 'N'\npattern = '(?P<heat>.+)' # again\n[list]", "pattern = '(?P<heat>.+)' # again", "mill 2.pattern", "is that of mill 1"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<heat>.+)'\n[[mill]]\nname = 'N'\npattern = 'H(?P<heat>.+)'\nexample = 'H7'\n[list]", "example", "mill 2.example", "read by the pattern of mill 1, which is tried before"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = 'H(?P<heat>.+)'\nexample = 'h7'\n[list]", "example", "mill 1.example", `"h7" does not fit the pattern`},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<heat>.+)'\nexample = '1TH7'\n[list]", "example", "mill 1.example", "is read by data identifiers (1T)"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = '(?P<heat>.+)'\nexample = '10010000004205'\n[list]", "example", "mill 1.example", "is read as tag number 1-001-00000042-05"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = 'H(?P<heat>.+)'\nexample = ''\n[list]", "example", "mill 1.example", "nothing was scanned"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = 'H(?P<heat>.+)'\nexample = 7\n[list]", "example", "mill 1.example", "is text"},
		{`[list]`, "[[mill]]\nname = 'M'\npattern = 'H(?P<heat>.+)'\nexpample = 'H7'\n[list]", "expample", "mill 1.expample", "is no setting; [mill 1] has name, pattern, example"},
		{`length_unit = ""`, `length_unit = "yd"`, "", "list.length_unit", `write one of "", "mm", "cm", "m", "in", "ft"`},
		{`spec = "A615"`, `spec = "A15"`, "", "list.spec", "A15"},
		{`spec = "A615"`, `spec = ""`, "", "list.spec", "may be"},
		{`grade = "60"`, `grade = "61"`, "", "list.grade", "A615 has no grade"},
		{`grade = "60"`, `grade = ""`, "", "list.grade", "is empty"},
		{shear, strings.Replace(shear, `name = "S1"`, `name = "S 1"`, 1), "", "station 1.name", "letters, digits and dashes"},
		{shear, strings.Replace(shear, `name = "S1"`, `name = "b1"`, 1), `name = "B1"`, "station 2.name", `is "B1", as that of station 1`},
		{shear, strings.Replace(shear, `name = "S1"`, ``, 1), "[[station]]", "station 1.name", "is missing"},
		{shear, strings.Replace(shear, `"cut"`, `"shear"`, 1), "does", "station 1.does", `has "shear"; write one or more of "cut", "cut and bend", "saw", "bend"`},
		{shear, strings.Replace(shear, `does = ["cut"]`, ``, 1), "[[station]]", "station 1.does", "is missing"},
		{shear, strings.Replace(shear, `feeds = ["A", "B"]`, ``, 1), "[[station]]", "station 1.feeds", "are missing"},
		{shear, strings.Replace(shear, `["A", "B"]`, `[]`, 1), "feeds", "station 1.feeds", "are missing"},
		{shear, strings.Replace(shear, `"B"]`, `"A"]`, 1), "feeds", "station 1.feeds", `has "A" twice`},
		{shear, strings.Replace(shear, `"B"]`, `"A/B"]`, 1), "feeds", "station 1.feeds", `has "A/B"`},
		{shear, shear + "\nstops = [\"1 ft\"]", "stops", "station 1.stops", "need the travel too"},
		{shear, shear + "\ntravel = \"2 ft\"", "travel", "station 1.travel", "write the stops too"},
		{shear, shear + "\nstops = [\"2 ft\", \"1 ft\"]\ntravel = \"2 ft\"", "stops", "station 1.stops", `have "1 ft" after "2 ft"; write them rising`},
		{shear, shear + "\nstops = [\"1 ft\", \"12 in\"]\ntravel = \"2 ft\"", "stops", "station 1.stops", `have "12 in" after "1 ft"`},
		{shear, shear + "\nstops = [\"1 ft\", \"1 ft\"]\ntravel = \"2 ft\"", "stops", "station 1.stops", `has "1 ft" twice`},
		{shear, shear + "\nstops = [\"1\"]\ntravel = \"2 ft\"", "stops", "station 1.stops", "no unit"},
		{shear, shear + "\nstops = [\"1 ft\"]\ntravel = \"2\"", "travel", "station 1.travel", "no unit"},
		{`does = ["bend"]`, "does = [\"bend\"]\nstops = [\"1 ft\"]\ntravel = \"2 ft\"", "stops", "station 2.stops", "this one does bend"},
		{shear, shear + "\nruns = \"one\"", "runs", "station 1.runs", `is "one"; write one of "several", "single"`},
		{`does = ["yard"]`, "does = [\"yard\"]\nruns = \"single\"", "runs", "station 4.runs", "this one does yard"},
		{`does = ["bend"]`, "does = [\"bend\"]\nfeeds = [\"A\"]", "feeds", "station 2.feeds", "this one does bend"},
		{`does = ["bend"]`, "does = [\"bend\"]\nshift = 2", "shift", "station 2.shift", "is no setting; [station 2] has name, title"},
		{`[tags]`, `[tag]`, "", "tag", "the file has the tables plant, tags, server"},
		{`[tags]`, "[plant2]\n[tags]", "", "plant2", "is no setting"},
	} {
		t.Run(tt.new, func(t *testing.T) {
			text, from := with(t, tt.old, tt.new)
			line := 1 + strings.Count(text[:from], "\n")
			if tt.at != "" {
				from -= len("\n[[station]]\n")
				i := strings.Index(text[from:], "\n"+tt.at)
				require.GreaterOrEqual(t, i, 0)
				line = 2 + strings.Count(text[:from+i], "\n")
			}
			s, err := Parse([]byte(text))
			var faults Faults
			require.ErrorAs(t, err, &faults)
			require.Zero(t, s)
			require.Len(t, faults, 1, "%v", err)
			require.Equal(t, tt.key, faults[0].Key)
			require.Contains(t, faults[0].Says, tt.says)
			require.Equal(t, line, faults[0].Line, "%v", faults[0])
			require.Positive(t, faults[0].Column)
		})
	}
}

func TestAllFaultsAtOnce(t *testing.T) {
	_, err := Parse([]byte(`plant.number = 0
tag = 1
bundle = "big"

[scan]
pause = "3"
colour = "red"

[[station]]
name = "S1"
does = ["cut"]

[[station]]
name = "S1"
does = []
`))
	require.EqualError(t, err, `line 1, plant.number: is a whole number from 1 to 999, without quotes
line 2, tag: is no setting; the file has the tables plant, tags, server, bundle, load, stock, remnant, scan, scanner, mill, list, routes, calendar, forecast, field, shift, station
line 3, bundle: is a table: write [bundle] on a line of its own and its keys below
line 6, scan.pause: "3" is no time from 500ms to 30s; write figure and unit, as "500ms", "3s" or "1m"
line 7, scan.colour: is no setting; [scan] has pause, repeat, least
line 9, station 1.feeds: are missing: a station that cuts has one at least, as ["A"]
line 14, station 2.name: is "S1", as that of station 1; small and capital letters are the same
line 15, station 2.does: is missing; write one or more of "cut", "cut and bend", "saw", "bend", "thread", "head", "coat", "tie", "receiving", "yard", "staging", "loadout"`)
}

func TestFaultsOfTheFile(t *testing.T) {
	for _, tt := range []struct{ text, says string }{
		{"", "station: is missing: nothing could be scanned"},
		{"[plant\nnumber = 1", "line 1"},
		{"[plant]\nnumber = 1\nnumber = 2", "line 3"},
		{"[plant]\nname = Example", "line 2"},
		{"\xff\xfe[\x00", "the file is UTF-16; save it as UTF-8"},
		{"# one\n# two\n# \xe9\n", "line 3: a character that is not UTF-8"},
		{"#" + strings.Repeat(" ", 60<<10), "larger than 60 kB"},
		{"[routes]\nbent = \"cut, weld\"", "is no step: write cut, bend"},
		{"[routes]\nbent = \"\"", "line 2, routes.bent: is empty"},
		{"station = 1", "line 1, station: is a table of a list: write [[station]]"},
		{"\n[station]\nname = \"S1\"", "line 2, station: is a table of a list: write [[station]]"},
		{"station = [1]", "line 1, station: is a table of a list"},
		{"station = [{name = \"S1\"}]", "line 1, station 1.does: is missing"},
		{strings.Repeat("a.", 30_000) + "a = 1", "line 1, a: is no setting"},
		{"x = " + strings.Repeat("{a = ", 9_000) + "1" + strings.Repeat("}", 9_000), "line 1, x: is no setting"},
		{strings.Repeat("[[station]]\n", 201), "stands there 201 times; 200 are the most"},
		{strings.Repeat("[[station]]\n", 60), "\nand 70 more faults"},
	} {
		_, err := Parse([]byte(tt.text))
		require.ErrorContains(t, err, tt.says, "%.40q", tt.text)
		require.NotContains(t, err.Error(), "toml:")
	}
}

// The comments of the default file are the manual: each key has one above it, with its default.
func TestDefaultIsCommented(t *testing.T) {
	d := string(Default(""))
	head, _, ok := strings.Cut(d, "[[station]]\nname")
	require.True(t, ok)
	key := regexp.MustCompile(`(?m)^[a-z_]+ = `)
	for _, block := range strings.Split(head, "\n\n") {
		if key.MatchString(block) {
			require.Contains(t, block, "# ")
			require.Contains(t, strings.ToLower(block), "default", block)
		}
	}
	for _, line := range strings.Split(d, "\n") {
		require.LessOrEqual(t, len(line), 100, line)
	}
}

// The example of a mill that the default file shows can be taken as it stands.
func TestDefaultMill(t *testing.T) {
	head, shown, ok := strings.Cut(string(Default("")), "# [[mill]]\n")
	require.True(t, ok)
	shown, rest, _ := strings.Cut(shown, "\n\n")
	s, err := Parse([]byte(head + "[[mill]]\n" + strings.ReplaceAll("\n"+shown, "\n# ", "\n") + "\n\n" + rest))
	require.NoError(t, err)
	got, err := s.Reader().Read("0041893-05-60-40")
	require.NoError(t, err)
	require.Equal(t, "Example Bar Mill (invented)", got.Mill.Supplier)
	require.Equal(t, "0041893", got.Mill.Heat)
	require.Equal(t, 40, got.Mill.Quantity)
}

// Whatever the name, the file that is made has it.
func TestDefaultName(t *testing.T) {
	for _, name := range []string{`Bars "R" Us \ Co (invented)`, "Ferralla Peñón (inventada)", `back\slash\`, "$1"} {
		s, err := Parse(Default(name))
		require.NoError(t, err)
		require.Equal(t, name, s.Name)
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.String().Draw(t, "name")
		d, faults := readDocument(Default(name))
		if faults != nil {
			t.Fatal(faults)
		}
		got := d.tree["plant"].(map[string]any)["name"]
		if want := strings.ToValidUTF8(name, "\ufffd"); name != "" && got != want {
			t.Fatalf("got %q, want %q", got, want)
		}
	})
}

func FuzzParse(f *testing.F) {
	f.Add(Default(""))
	for _, s := range []string{"", "\ufeff", "a.b.c = 1\na.b = 2", "[[station]]\n[station.a]\n[[station.a.b]]\nx=1\n[[station]]",
		"station = [{name = 'S1', does = ['cut'], feeds = [1]}]",
		"station = [{name = 'S1', does = ['cut'], feeds = [1], stops = ['1 ft', '2 ft'], travel = '2 ft'}]", "remnant = {\"#5\" = '1 m', '#05' = '1 m'}",
		"\"\" = 1\n'' . x = 2", "plant.zone = 'Europe/Madrid'", "x = [[[[{a=[{}]}]]]]", "plant = 1979-05-27", "station = []",
		"[[mill]]\nname = 'M'\npattern = 'H(?P<heat>.+)'\nexample = 'H7'\n[[station]]\nname = 'S1'\ndoes = ['yard']", "mill = [1]"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Parse(data)
		if err != nil {
			faults, ok := err.(Faults)
			if !ok || len(faults) == 0 {
				t.Fatalf("error is %T %v", err, err)
			}
			for _, f := range faults {
				if f.Says == "" || f.Line < 0 || f.Line > 1+strings.Count(string(data), "\n") {
					t.Fatalf("fault %+v", f)
				}
			}
			return
		}
		if s.Number < 1 || s.Name == "" || s.Zone == nil || s.Units == "" || s.Address == "" || s.MaxWeight <= 0 ||
			s.LoadLimit < s.MaxWeight || len(s.Stock) == 0 || s.Keep[""] <= 0 || len(s.Stations) == 0 {
			t.Fatalf("taken, but not whole: %+v", s)
		}
		for _, st := range s.Stations {
			if st.Name == "" || st.Title == "" || len(st.Does) == 0 || st.Can("cut") && len(st.Feeds) == 0 {
				t.Fatalf("station %+v", st)
			}
			if !slices.IsSorted(st.Stops) || len(slices.Compact(slices.Clone(st.Stops))) != len(st.Stops) || len(st.Stops) > 0 && st.Travel <= 0 {
				t.Fatalf("stops of %+v", st)
			}
		}
		if string(s.Text) != string(data) || s.SHA256 != sha256.Sum256(data) {
			t.Fatal("text is not what was read")
		}
	})
}

func BenchmarkParse(b *testing.B) {
	text := Default("")
	for b.Loop() {
		if _, err := Parse(text); err != nil {
			b.Fatal(err)
		}
	}
}
