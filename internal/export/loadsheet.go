package export

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
)

// LoadSheet is the paper that goes with a truck: what lies on it, to be ticked off and signed for.
// Dates and times are in the plant's zone, as they are printed.
type LoadSheet struct {
	Number  tags.Number
	Copy    int      // 1 for the first print, which 0 means too
	Plant   []string // name of the plant, and lines of its address
	Host    string   // of the QR code's address: "TAGS.EXAMPLE"
	Date    string
	Leaves  string // by the plant's clock, as hh:mm; "" is not said
	Truck   string
	Limit   bar.Mass // 0: none known
	Stops   []Stop   // in the order of the trip
	NoCert  []HeatSize
	Holds   []Hold // on what is loaded, standing and released
	Units   bar.Units
	Printed string // when
	// Longest is the longest piece and Widest the widest bent shape, as they lie flat; without a length
	// there is none.
	Longest, Widest Extent
	Scale           bar.Mass // net of the newest scale ticket; 0: none
}

// Extent is how far a piece of a load reaches, and which it is.
type Extent struct {
	Length bar.Length
	Mark   string // and which bundle of how many
}

// Stop is one address of a load with the bundles for it, in any order.
type Stop struct {
	Job, JobName string
	ShipTo       []string // lines of the address
	Contact      string
	From, Until  string // hh:mm, between which the site takes it; "" is not said
	Bundles      []Bundle
}

// site is whom to call at a stop, and when it takes the load.
func (s Stop) site() (out []string) {
	if s.Contact != "" {
		out = append(out, "Contact · Contacto: "+s.Contact)
	}
	switch {
	case s.From != "" && s.Until != "":
		out = append(out, "Takes it · Recibe: "+s.From+"–"+s.Until)
	case s.From != "":
		out = append(out, "Takes it from · Recibe desde las "+s.From)
	case s.Until != "":
		out = append(out, "Takes it until · Recibe hasta las "+s.Until)
	}
	return out
}

// PDF writes the load sheet. It goes by stop, then mark in natural order, then k of n. The error
// names a character that cannot be printed, or a row that no page can hold; then nothing has been
// written to w.
func (l LoadSheet) PDF(w io.Writer, paper Paper) error {
	pages, err := l.pages(paper)
	return write(w, pages, err)
}

// pages lays the load sheet out.
func (l LoadSheet) pages(paper Paper) ([]*page, error) {
	if l.Number.Kind() != tags.Load {
		return nil, fmt.Errorf("number: a load sheet needs the number of a load, not %q", l.Number.String())
	}
	l.Copy = max(1, l.Copy)
	text, err := tags.Format(l.Host, tags.Tag{Number: l.Number, Copy: l.Copy})
	if err != nil {
		return nil, err
	}
	l.Stops = l.ordered()
	s := &sheet{
		title: "LOAD SHEET", titulo: "Hoja de carga", plant: l.Plant, number: l.Number, qr: text,
		foot: fmt.Sprintf("%s · printed · impreso %s · copy · copia %d", l.Number, l.Printed, l.Copy),
	}
	if err := s.begin(paper); err != nil {
		return nil, err
	}
	blocks := []block{s.facts(l.facts()...)}
	blocks = append(blocks, s.box(l.cautions()...)...)
	blocks = append(blocks, l.rows(s, paper)...)
	blocks = append(blocks, l.totals(s)...)
	if err := s.put(blocks...); err != nil {
		return nil, err
	}
	return s.finish()
}

// ordered gives the stops with their bundles in order and weights as they are shown.
func (l LoadSheet) ordered() []Stop {
	stops := slices.Clone(l.Stops)
	var weights []bar.Mass
	for i := range stops {
		stops[i].Bundles = slices.Clone(stops[i].Bundles)
		slices.SortFunc(stops[i].Bundles, Bundle.compare)
		for _, b := range stops[i].Bundles {
			weights = append(weights, b.Weight)
		}
	}
	weights = shown(weights, l.Units)
	for _, s := range stops {
		for i := range s.Bundles {
			s.Bundles[i].Weight, weights = weights[0], weights[1:]
		}
	}
	return stops
}

// bundles are those of all stops.
func (l LoadSheet) bundles() []Bundle {
	var all []Bundle
	for _, s := range l.Stops {
		all = append(all, s.Bundles...)
	}
	return all
}

func (l LoadSheet) sum() sum {
	var t sum
	for _, b := range l.bundles() {
		t.add(b.Pieces, b.Weight)
	}
	return t
}

// heatName names the heats of the sheet.
func (l LoadSheet) heatName() func(heat.Key) string {
	var all []heat.Key
	for _, b := range l.bundles() {
		all = append(all, b.Draw.Heats...)
	}
	for _, m := range l.NoCert {
		all = append(all, m.Key)
	}
	return heatNames(all...)
}

// fewStops is how many stops and jobs the facts name.
const fewStops = 6

// facts are the three columns below the head.
func (l LoadSheet) facts() [][]fact {
	t := l.sum()
	weight := t.weight.Text(l.Units)
	if l.Limit > 0 {
		weight = figure(t.weight, l.Units) + " / " + l.Limit.Text(l.Units)
	}
	to := fact{name: "Ship to · Entregar en"}
	var jobs []string
	for i, s := range l.Stops {
		if !slices.Contains(jobs, s.Job) {
			jobs = append(jobs, s.Job)
		}
		switch {
		case len(l.Stops) == 1:
			to.values = slices.Concat(s.ShipTo, s.site())
		case len(s.ShipTo) > 0:
			to.values = append(to.values, strconv.Itoa(i+1)+"\u00a0\u00a0"+s.ShipTo[0])
		}
	}
	if len(l.Stops) > 1 {
		to.name = "Stops · Paradas"
	}
	if n := len(l.Stops); n > fewStops {
		to.values = []string{fmt.Sprintf("%d, see below · %d, véase abajo", n, n)}
	}
	if n := len(jobs); n > fewStops {
		jobs = []string{fmt.Sprintf("%d, see below · %d, véase abajo", n, n)}
	}
	date := []string{l.Date}
	if l.Leaves != "" {
		date = append(date, "Leaves · Sale "+l.Leaves)
	}
	return [][]fact{
		{to, {name: "Jobs · Obras", values: []string{strings.Join(jobs, ", ")}}},
		{
			{name: "Truck, trailer · Camión, remolque", values: []string{l.Truck}},
			{name: "Driver · Chofer"},
			{name: "Weight (nominal) / limit · Peso (nominal) / límite", values: []string{weight}},
		},
		{
			{name: "Date · Fecha", values: date},
			{name: "Bundles / pieces · Atados / piezas", values: []string{count(t.bundles, l.Units) + " / " + count(t.pieces, l.Units)}},
		},
	}
}

// cautions are what a person must know before the truck leaves or is unloaded, most pressing first.
func (l LoadSheet) cautions() []string {
	var out, released []string
	if t := l.sum(); l.Limit > 0 && t.weight > l.Limit {
		out = append(out, fmt.Sprintf("OVER THE LIMIT: %s on a limit of %s. · PASA DEL LÍMITE: %s con límite de %s.",
			t.weight.Text(l.Units), l.Limit.Text(l.Units), t.weight.Text(l.Units), l.Limit.Text(l.Units)))
	}
	for _, h := range l.Holds {
		if h.Released != nil {
			released = append(released, h.says())
		} else {
			out = append(out, h.says())
		}
	}
	oneOf, unknown := 0, 0
	for _, b := range l.bundles() {
		switch b.Draw.Certainty {
		case heat.Certain, heat.Declared:
		case heat.OneOf:
			oneOf++
		default:
			unknown++
		}
	}
	out = append(out, unknownCaution(unknown), oneOfCaution(oneOf), noCert(l.NoCert, l.heatName()))
	return append(out, released...)
}

// rows is the table of bundles.
func (l LoadSheet) rows(s *sheet, paper Paper) []block {
	wide := 0.0 // Letter is wider than A4
	if paper == Letter {
		wide = 1
	}
	t := newTable(s, true,
		column{24 + wide, "Mark", "Marca", label.Bold, false},
		column{13 + wide, "Bundle", "Atado", label.Regular, false},
		column{14, "Size", "Calibre", label.Bold, false},
		column{20.5 + 1.5*wide, "Grade", "Grado", label.Regular, false},
		column{12, "Pcs", "Pzas", label.Bold, true},
		column{21.5 + 0.5*wide, "Length", "Largo", label.Regular, true},
		column{14.5 + 0.5*wide, unitName(l.Units), "peso", label.Regular, true},
		column{32 + wide, "Heat", "Colada", label.Mono, false},
		column{22, "Number", "Número", label.Mono, false},
	)
	name := l.heatName()
	for i, stop := range l.Stops {
		lists := map[string]bool{}
		for _, b := range stop.Bundles {
			lists[b.List] = true
		}
		t.group(l.stopTitle(i, len(lists) == 1), l.stopLines(i)...)
		var sub sum
		for _, b := range stop.Bundles {
			sub.add(b.Pieces, b.Weight)
			mark := words(b.Mark)
			var notes []string
			if b.Returned {
				notes = append(notes, "returned/devuelto")
			}
			if len(lists) > 1 {
				notes = append(notes, "list/lista "+b.List)
			}
			mark.note = strings.Join(notes, " · ")
			heats, below := heatsOf(b.Draw, name)
			t.row(b.name(), below, mark, words(b.kOfN()), words(string(b.Steel.Size)), gradeOf(b.Steel), words(count(b.Pieces, l.Units)),
				words(b.Length.Text(l.Units)), words(figure(b.Weight, l.Units)), heats, words(serial(b.Number)))
		}
		title := fmt.Sprintf("Stop total · Total de la parada: %s bundles · atados", count(sub.bundles, l.Units))
		t.total(4, title, count(sub.pieces, l.Units), "", figure(sub.weight, l.Units))
	}
	return t.blocks
}

// stopTitle heads the bundles of a stop. It names the bar list where there is only one.
func (l LoadSheet) stopTitle(i int, oneList bool) string {
	stop := l.Stops[i]
	title := "Job · Obra " + stop.Job
	if oneList && stop.Bundles[0].List != "" {
		title += "   List · Lista " + stop.Bundles[0].List
	}
	if len(l.Stops) > 1 {
		title = fmt.Sprintf("Stop %d · Parada %d   %s", i+1, i+1, title)
	}
	return title + "   " + stop.JobName
}

// stopLines is the address of a stop, whom to call there and when, where the head of the sheet has not said it.
func (l LoadSheet) stopLines(i int) (out []string) {
	if len(l.Stops) == 1 {
		return nil
	}
	stop := l.Stops[i]
	if len(stop.ShipTo) > 0 {
		out = append(out, strings.Join(stop.ShipTo, ", "))
	}
	if site := stop.site(); len(site) > 0 {
		out = append(out, strings.Join(site, "   "))
	}
	return out
}

// reach says how long and wide what lies on the load is, and what a scale showed, on one line.
func (l LoadSheet) reach() string {
	var out []string
	for _, x := range []struct {
		is   Extent
		says string
	}{{l.Longest, "Longest piece · Pieza más larga"}, {l.Widest, "Widest bent shape · Forma doblada más ancha"}} {
		if x.is.Length > 0 {
			out = append(out, fmt.Sprintf("%s: %s (%s).", x.says, x.is.Length.Text(l.Units), x.is.Mark))
		}
	}
	if l.Scale > 0 {
		out = append(out, "Scale, net · Báscula, neto: "+l.Scale.Text(l.Units)+".")
	}
	return strings.Join(out, "  ")
}

// totals is all that stands below the table, and stays on one page.
func (l LoadSheet) totals(s *sheet) []block {
	t := l.sum()
	sizes, sums := bySize(l.bundles())
	var parts []string
	for _, size := range sizes {
		x := sums[size]
		parts = append(parts, strings.ReplaceAll(fmt.Sprintf("%s:  %s bundles/atados · %s pcs/pzas · %s", size, count(x.bundles, l.Units), count(x.pieces, l.Units), x.weight.Text(l.Units)), " ", "\u00a0"))
	}
	total := fmt.Sprintf("LOAD TOTAL · TOTAL DE LA CARGA:  %s bundles · atados   %s pieces · piezas   %s",
		count(t.bundles, l.Units), count(t.pieces, l.Units), t.weight.Text(l.Units))
	blocks := []block{
		s.line(3.4, 8.5, label.Regular, strings.Join(parts, "     ")),
		s.line(3.2, 11, label.Bold, total),
		s.line(2.6, 7.5, label.Regular, "Weights are nominal, from size and length. · Los pesos son nominales, según calibre y largo."),
		s.line(1.6, 7.5, label.Regular, "Securement, flags and permits are the driver's and carrier's. · La sujeción, las banderas y los permisos corresponden al chofer y al transportista."),
		s.signatures([2]string{"Loaded by", "Cargó"}, [2]string{"Driver", "Chofer"}, [2]string{"Received by", "Recibió"}),
		s.toWrite("Missing or damaged (write marks) · Faltante o dañado (anote marcas):"),
	}
	if reach := l.reach(); reach != "" {
		blocks = slices.Insert(blocks, 3, s.line(2.6, 7.5, label.Regular, reach))
	}
	for i := range blocks[:len(blocks)-1] {
		blocks[i].keep = true
	}
	return blocks
}
