package plant

import (
	"crypto/sha256"
	"fmt"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/scan"
)

// Bounds that no plant reaches.
const (
	maxStations = 200
	maxPlaces   = 200 // feeds, or pockets, of a station
)

// Parse reads a settings file. An error is Faults. It needs the data base of time zones, which the
// program may embed.
func Parse(data []byte) (Settings, error) {
	doc, faults := readDocument(data)
	if faults != nil {
		return Settings{}, faults
	}
	standard, faults := readDocument([]byte(standard))
	if faults != nil {
		return Settings{}, fmt.Errorf("plant: the default file: %w", faults)
	}
	root := table{doc: doc, values: doc.tree, defaults: standard.tree}
	root.only([]string{"plant", "tags", "server", "bundle", "load", "stock", "remnant", "scan", "scanner", "mill", "list", "routes", "calendar", "forecast", "field", "shift", "station"})
	s := Settings{Text: slices.Clone(data), SHA256: sha256.Sum256(data)}
	s.readPlant(root.in("plant", "number", "name", "zone", "units"))
	s.readHosts(root.in("tags", "address"), root.in("server", "hosts"))
	s.readLimits(root.in("bundle", "pieces", "weight"), root.in("load", "weight"))
	s.readStock(root.in("stock", "lengths"), root.in("remnant"))
	scans := root.in("scan", "pause", "repeat", "least")
	s.Pause = scans.duration("pause", 500*time.Millisecond, 30*time.Second)
	s.Repeat = scans.duration("repeat", 0, time.Hour)
	s.Least = scans.duration("least", 0, time.Hour)
	s.readWedge(root.in("scanner", "gs", "rs", "eot"))
	s.readMills(root)
	s.readList(root.in("list", "length_unit", "spec", "grade", "shape_edition"))
	s.readRoutes(root.in("routes", "straight", "bent", "stirrup", "spiral"))
	s.readShifts(root, root.in("calendar", "closed"))
	s.Days = root.in("forecast", "days").whole("days", 1, 366)
	field := root.in("field", "certs", "history")
	s.Field = Field{Certs: field.yes("certs"), History: field.yes("history")}
	s.readStations(root)
	if faults := doc.all(); len(faults) > 0 {
		return Settings{}, faults
	}
	return s, nil
}

func (s *Settings) readPlant(t table) {
	s.Number = t.whole("number", 1, 999)
	var ok bool
	if s.Name, ok = t.text("name", 60); ok && s.Name == "" {
		t.fault("name", "is empty; write the name that tags print")
	}
	s.Zone, _ = parsed(t, "zone", func(name string) (*time.Location, error) {
		zone, err := time.LoadLocation(name)
		// Without a region, a name is an old one that says nothing of summer time, or depends on
		// the machine.
		if err != nil || !strings.Contains(name, "/") && name != "UTC" {
			return nil, fmt.Errorf("%q is no time zone; write its IANA name, as \"America/Chicago\"", name)
		}
		return zone, nil
	})
	units, ok := t.oneOf("units", string(bar.Imperial), string(bar.Metric))
	if ok {
		s.Units = bar.Units(units)
	}
}

func (s *Settings) readHosts(tags, server table) {
	s.Address, _ = parsed(tags, "address", func(a string) (string, error) {
		if len(a) > 60 {
			return "", fmt.Errorf("has %d characters; 60 are the most, and each one fewer makes the squares of the QR code larger", len(a))
		}
		return strings.ToUpper(a), checkHost(a)
	})
	s.Hosts, _ = server.texts("hosts", 50, 255)
	for _, h := range s.Hosts {
		if err := checkHost(h); err != nil {
			server.fault("hosts", "%v", err)
		}
	}
}

// checkHost says what is wrong with a host or host:port: a name of labels after RFC 1123, or an
// IPv4 address.
func checkHost(s string) error {
	wrong := func(why string) error {
		return fmt.Errorf("%q %s; write a host or host:port, as \"tags.shop.example\" or \"tags.shop.example:8443\"", s, why)
	}
	if strings.Contains(s, "/") {
		return wrong("has a slash: a host stands alone, without https://")
	}
	host, port, hasPort := strings.Cut(s, ":")
	if hasPort {
		if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 || port[0] == '0' || port[0] == '+' {
			return wrong("has no port from 1 to 65535 after the colon")
		}
	}
	if host == "" || len(host) > 253 {
		return wrong("is no host of 1 to 253 characters")
	}
	digits := true
	for label := range strings.SplitSeq(host, ".") {
		if label == "" || len(label) > 63 || label[0] == '-' || label[len(label)-1] == '-' || !word(label, "-") {
			return wrong("is no host: its parts have letters, digits and dashes, with dots between them")
		}
		digits = digits && strings.Trim(label, "0123456789") == ""
	}
	if _, err := netip.ParseAddr(host); digits && err != nil {
		return wrong("is no IP address")
	}
	return nil
}

// word says whether s is ASCII letters, digits and those of extra, and not empty.
func word(s, extra string) bool {
	for i := range len(s) {
		c := s[i]
		if !('0' <= c && c <= '9' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || strings.IndexByte(extra, c) >= 0) {
			return false
		}
	}
	return s != ""
}

func (s *Settings) readLimits(bundle, load table) {
	s.MaxPieces = bundle.whole("pieces", 0, 100_000)
	var one, all bool
	s.MaxWeight, one = parsed(bundle, "weight", bar.ParseMass)
	s.LoadLimit, all = parsed(load, "weight", bar.ParseMass)
	if one && all && s.MaxWeight > s.LoadLimit {
		bundle.fault("weight", "is %s, more than a whole load may weigh (%s)", s.MaxWeight.Text(s.units()), s.LoadLimit.Text(s.units()))
	}
}

// units are those that faults are told in.
func (s *Settings) units() bar.Units {
	if s.Units == bar.Metric {
		return bar.Metric
	}
	return bar.Imperial
}

func (s *Settings) readStock(stock, remnant table) {
	texts, ok := stock.texts("lengths", 20, 80)
	if ok && len(texts) == 0 {
		stock.fault("lengths", "is empty; write what the plant buys, as [\"60 ft\"] or [\"12 m\"]")
	}
	for _, text := range texts {
		l, err := bar.ParseLength(text)
		switch {
		case err != nil:
			stock.fault("lengths", "%v", err)
		case slices.Contains(s.Stock, l):
			stock.fault("lengths", "has %s twice", l.Text(s.units()))
		default:
			s.Stock = append(s.Stock, l)
		}
	}
	s.Keep = map[bar.Size]bar.Length{}
	keep := func(key string, size bar.Size) {
		l, ok := parsed(remnant, key, bar.ParseLength)
		if ok && len(s.Stock) > 0 && l >= slices.Max(s.Stock) {
			remnant.fault(key, "is %s, as long as the longest stock: no leftover would ever be kept", l.Text(s.units()))
		}
		s.Keep[size] = l
	}
	keep("other", "")
	for _, key := range remnant.keys() {
		if key == "other" {
			continue
		}
		size, err := bar.ParseSize(key)
		if err != nil {
			remnant.fault(key, "is neither other nor a size: %v", err)
		} else if _, twice := s.Keep[size]; twice {
			remnant.fault(key, "is size %s, which has a line already", size)
		} else {
			keep(key, size)
		}
	}
}

func (s *Settings) readWedge(t table) {
	typed := map[string]string{}
	for _, w := range []struct {
		key string
		to  *string
	}{{"gs", &s.Wedge.GS}, {"rs", &s.Wedge.RS}, {"eot", &s.Wedge.EOT}} {
		text, ok := t.text(w.key, 8)
		switch {
		case !ok || text == "":
			continue
		case word(text, ""):
			t.fault(w.key, "is only letters and digits, which data has too; write what no code has, as \"^]\"")
		case typed[text] != "":
			t.fault(w.key, "is %q, as %s is; the scanner has to type them differently", text, typed[text])
		}
		typed[text] = w.key
		*w.to = text
	}
}

func (s *Settings) readRoutes(t table) {
	s.Routes = barlist.Routes{}
	for _, form := range []barlist.Form{barlist.Straight, barlist.Bent, barlist.Stirrup, barlist.Spiral} {
		route, ok := parsed(t, string(form), barlist.ParseRoute)
		if ok && route == nil {
			t.fault(string(form), "is empty; write its steps, as \"cut, bend\", or \"none\"")
		}
		s.Routes[form] = route
	}
}

func (s *Settings) readList(t table) {
	s.List.LengthUnit, _ = t.oneOf("length_unit", "", "mm", "cm", "m", "in", "ft")
	s.List.ShapeEdition, _ = t.text("shape_edition", 40)
	spec, hasSpec := t.text("spec", 40)
	grade, hasGrade := t.text("grade", 40)
	if !hasSpec || !hasGrade || spec == "" && grade == "" {
		return
	}
	// A steel has a size; one that every grade of its system is made in stands for all. The first
	// error that is not about the size says what is wrong.
	var wrong error
	for _, size := range []string{"#5", "16mm", "15M"} {
		steel, err := bar.ParseSteel(size, spec, grade, "")
		if err == nil {
			s.List.Spec, s.List.Grade = steel.Spec, steel.Grade
			return
		}
		if wrong == nil || strings.HasPrefix(wrong.Error(), "size: ") {
			wrong = err
		}
	}
	key, says := bar.SteelField(wrong)
	if key != "grade" {
		key = "spec"
	}
	t.fault(key, "%s", says)
}

func (s *Settings) readStations(root table) {
	if list, ok := root.values["station"].([]any); !root.has("station") || ok && len(list) == 0 {
		root.doc.fault("station", "is missing: nothing could be scanned; write [[station]] and its name, and what it does, for each")
		return
	}
	names := map[string]string{}
	root.each("station", maxStations, func(t table) {
		t.only([]string{"name", "title", "does", "feeds", "pockets", "runs", "stops", "travel"})
		st := readStation(t)
		if st.Name == "" {
			return
		}
		if other, twice := names[strings.ToLower(st.Name)]; twice {
			t.fault("name", "is %q, as that of %s; small and capital letters are the same", st.Name, other)
		}
		names[strings.ToLower(st.Name)] = t.path
		s.Stations = append(s.Stations, st)
	})
}

// each calls do for each table of a list. It is false for what is no such list, or one that is too long,
// which has been reported.
func (t table) each(key string, most int, do func(table)) bool {
	list, ok := t.value(key).([]any)
	if !ok {
		t.fault(key, "is a table of a list: write [[%s]] with two brackets", key)
		return false
	}
	if len(list) > most {
		t.fault(key, "stands there %d times; %d are the most", len(list), most)
		return false
	}
	for i, v := range list {
		one := table{doc: t.doc, path: numbered(key, i+1)}
		if one.values, ok = v.(map[string]any); !ok {
			t.fault(key, "is a table of a list: write [[%s]] with two brackets", key)
			return false
		}
		do(one)
	}
	return true
}

// readStation reads one station. Its name is empty where that has a fault.
func readStation(t table) scan.Station {
	var st scan.Station
	if !t.has("name") {
		t.fault("name", "is missing; write a short one, as \"S1\"")
	} else if name, ok := t.text("name", 16); ok {
		if !word(name, "-") {
			t.fault("name", "is %q; write letters, digits and dashes, as \"S1\"", name)
		} else {
			st.Name = name
		}
	}
	st.Title = st.Name
	if t.has("title") {
		if title, ok := t.text("title", 40); ok && title != "" {
			st.Title = title
		}
	}
	works := []scan.Work{scan.Receiving, scan.Yard, scan.Staging, scan.Loadout}
	for i, step := range scan.Steps {
		works = slices.Insert(works, i, scan.Work(step))
	}
	does, ok := t.texts("does", len(works), 40)
	if ok && len(does) == 0 {
		t.fault("does", "is missing; write one or more of %s", listed(works))
	}
	known := len(does) > 0
	for _, w := range does {
		if !slices.Contains(works, scan.Work(w)) {
			known = false
			t.fault("does", "has %q; write one or more of %s", w, listed(works))
		}
		st.Does = append(st.Does, scan.Work(w))
	}
	st.Feeds, ok = t.places("feeds")
	st.Pockets, _ = t.places("pockets")
	readStops(t, &st)
	if t.has("runs") {
		runs, _ := t.oneOf("runs", "several", "single")
		st.Single = runs == "single"
	}
	cuts := st.Can(scan.Work(scan.Cut)) || st.Can(scan.Work(scan.CutAndBend))
	switch {
	case cuts && ok && len(st.Feeds) == 0:
		t.fault("feeds", "are missing: a station that cuts has one at least, as [\"A\"]")
	case len(st.Feeds) > 0 && known && !cuts && !st.Can(scan.Work(scan.Saw)):
		t.fault("feeds", "belong to a station that cuts or saws; this one does %s", strings.Join(does, ", "))
	}
	steps := slices.ContainsFunc(scan.Steps, func(step scan.Step) bool { return st.Can(scan.Work(step)) })
	if t.has("runs") && known && !steps {
		t.fault("runs", "are of a station that does steps of bundles; this one does %s", strings.Join(does, ", "))
	}
	if t.has("stops") && known && !cuts && !st.Can(scan.Work(scan.Saw)) {
		t.fault("stops", "belong to a station that cuts or saws; this one does %s", strings.Join(does, ", "))
	}
	return st
}

// readStops reads where the table of a station has its stops, and how far it moves out from one.
func readStops(t table, st *scan.Station) {
	texts, ok := t.texts("stops", maxPlaces, 80)
	if !ok {
		return
	}
	for _, text := range texts {
		l, err := bar.ParseLength(text)
		n := len(st.Stops)
		if err != nil {
			t.fault("stops", "%v", err)
			return
		}
		if n > 0 && l <= st.Stops[n-1] {
			t.fault("stops", "have %q after %q; write them rising, each once", text, texts[n-1])
			return
		}
		st.Stops = append(st.Stops, l)
	}
	switch {
	case t.has("travel") && !t.has("stops"):
		t.fault("travel", "is how far the table moves out from a stop; write the stops too, as [\"1 ft\", \"2 ft\"]")
	case t.has("travel"):
		st.Travel, _ = parsed(t, "travel", bar.ParseLength)
	case len(st.Stops) > 0:
		t.fault("stops", "need the travel too: how far the table moves out from a stop, as travel = \"2 ft\"")
	}
}

// places gives the names of feeds or pockets of a station.
func (t table) places(key string) ([]string, bool) {
	names, ok := t.texts(key, maxPlaces, 12)
	for _, n := range names {
		if ok && !word(n, "-") {
			t.fault(key, "has %q; write letters, digits and dashes, as \"A\" or \"1\"", n)
			return nil, false
		}
	}
	return names, ok
}
