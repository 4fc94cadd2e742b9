package pages

import (
	"fmt"
	"mime/multipart"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// receivingPart is what is expected, and the form for steel that is not.
type receivingPart struct {
	Expected []comingLot
	Form     *unexpected
	Took     []tags.Number // lots that the form took in: their tags want to be printed
}

// unexpected is the form of a lot that nobody expected. What the mill's tag said is filled in, and says so; what
// is missing stands first.
type unexpected struct {
	receiveForm
	Read     bool   // from a mill's tag
	Says     string // how many bars the weight on the tag comes to
	Refused  string
	Need     []field // missing: these stand first
	Given    []field // by the tag, or typed
	Rare     []field // may stay empty
	HasCert  bool
	CertSeen bool // heat and size are known, so HasCert says something
}

// field is a field of the form.
type field struct {
	Name, Value string
	Mono, Digit bool
	From        string // who said it: a word
}

// receiving is what a station that receives shows.
func (p *pages) receiving(past *view.Past, c echo.Context, code string, a *event.Answer, place string) *receivingPart {
	d := &receivingPart{Expected: p.coming(past), Form: p.notInStock(past, code, a, place)}
	if d.Form == nil && c.QueryParam("new") != "" {
		d.Form = &unexpected{receiveForm: receiveForm{Place: place}}
		d.Form.lay(past, true)
	}
	return d
}

// notInStock is the form of receiving filled from a mill's tag that was refused since no lot of it is here;
// nil for any other answer.
func (p *pages) notInStock(past *view.Past, code string, a *event.Answer, place string) *unexpected {
	if a == nil || a.Verdict != event.Refused || len(a.Notes) == 0 || a.Notes[0].Code != "not in stock" {
		return nil
	}
	read, _ := p.opt.Reader.Read(code)
	if read.Mill == nil {
		return nil
	}
	f := &unexpected{receiveForm: receiveOf(read.Mill), Read: true}
	f.Place = place
	f.countBy(read.Mill.Weight)
	f.lay(past, true)
	return f
}

// countBy says how many bars a weight on a mill's tag comes to.
func (f *unexpected) countBy(weight string) {
	m, err := bar.ParseMass(weight)
	if err != nil || f.Bars != "" {
		return
	}
	size, err := bar.ParseSize(f.Size)
	if err != nil {
		return
	}
	length, err := bar.ParseLength(f.Length)
	if err != nil || length <= 0 {
		return
	}
	if one, ok := bar.Weigh(size, length); ok == nil && one > 0 {
		f.Says = strconv.Itoa(int((m + one/2) / one))
	}
}

// lay sorts the fields: what is missing first, then what is there, then what may stay empty.
func (f *unexpected) lay(past *view.Past, tag bool) {
	from := "typed"
	if tag {
		from = "from the tag"
	}
	coil := f.Weight != ""
	f.Need, f.Given, f.Rare = nil, nil, nil
	for _, one := range []struct {
		field
		need bool
	}{
		{field{Name: "bars", Value: f.Bars, Digit: true}, !coil},
		{field{Name: "place", Value: f.Place}, true},
		{field{Name: "heats", Value: f.Heats, Mono: true}, true},
		{field{Name: "mill", Value: f.Mill}, true},
		{field{Name: "size", Value: f.Size}, true},
		{field{Name: "spec", Value: f.Spec}, false},
		{field{Name: "grade", Value: f.Grade}, false},
		{field{Name: "length", Value: f.Length}, !coil},
		{field{Name: "weight", Value: f.Weight}, false},
		{field{Name: "mill_bundles", Value: f.MillBundles, Mono: true}, false},
		{field{Name: "mill_coils", Value: f.MillCoils, Mono: true}, false},
		{field{Name: "coating", Value: f.Coating}, false},
		{field{Name: "melted", Value: f.Melted}, false},
		{field{Name: "rolled", Value: f.Rolled}, false},
		{field{Name: "po", Value: f.PO}, false},
	} {
		switch {
		case one.Value != "":
			one.From = from
			if one.Name == "place" && tag {
				one.From = "the open place"
			}
			f.Given = append(f.Given, one.field)
		case one.need:
			f.Need = append(f.Need, one.field)
		default:
			f.Rare = append(f.Rare, one.field)
		}
	}
	size, err := bar.ParseSize(f.Size)
	if f.CertSeen = err == nil && f.Heats != ""; f.CertSeen {
		for _, c := range past.Certs(heat.Key{Mill: f.Mill, Heat: f.Heats}) {
			f.HasCert = f.HasCert || c.Covers(size)
		}
	}
}

// receiveAt takes in a lot that was typed at a station, with a photo or the file of its cert.
func (p *pages) receiveAt(c echo.Context) error {
	st, err := p.stationOf(c)
	if err != nil {
		return err
	}
	o, err := origin(c, "receive "+st.Name)
	if err != nil {
		return err
	}
	o.Station = st.Name
	var d stockPage
	var r floor.Receipt
	cert, paper, err := p.certOf(c)
	defer paper.Drop()
	if err == nil {
		o.Request += fmt.Sprintf(" %x", paper.Sum())
		r, err = p.takeForm(c, o, &d, heat.AsReceived)
	}
	if err == nil && cert != nil {
		if err = paper.Keep(); err == nil {
			of := o
			of.Key, of.Request = o.Key+" cert", "cert "+o.Request
			_, err = p.floor.FileCert(c.Request().Context(), of, *cert)
		}
	}
	says, err := refusal(err)
	if err != nil {
		return err
	}
	d.took(r)
	answer := &event.Answer{}
	if says != "" {
		answer.Verdict = event.Refused
	}
	return p.showWith(c, st, answer, func(past *view.Past, part *receivingPart) {
		part.Took = d.Took
		if says != "" {
			p.readForm(c, &d)
			part.Form = &unexpected{receiveForm: d.Receive, Refused: says}
			part.Form.lay(past, false)
		}
	})
}

// certOf is the cert of the lot that a form takes in, with its photo or file; nil where the form has none.
func (p *pages) certOf(c echo.Context) (*event.CertFiled, *floor.Paper, error) {
	var sent *multipart.FileHeader
	for _, name := range []string{"photo", "file"} {
		if h, err := c.FormFile(name); err == nil && h.Size > 0 {
			sent = h
		}
	}
	if sent == nil {
		return nil, nil, nil
	}
	size, err := bar.ParseSize(strings.TrimSpace(c.FormValue("size")))
	if err != nil {
		return nil, nil, &event.Refusal{Field: "size", Says: err.Error()}
	}
	e, err := heat.File(event.CertFiled{
		Mill: c.FormValue("mill"), Heat: c.FormValue("heats"), Sizes: []bar.Size{size}, Spec: c.FormValue("spec"), Type: c.FormValue("type"),
		Melted: c.FormValue("melted"), Rolled: c.FormValue("rolled"),
	})
	if err != nil {
		return nil, nil, err
	}
	f, err := sent.Open()
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	paper, err := p.floor.TakePaper(f)
	e.SHA256 = paper.Sum()
	return &e, paper, err
}
