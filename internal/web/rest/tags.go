package rest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/press"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
	"tagd/internal/web"
)

func (a *ops) tags() {
	for _, one := range []struct {
		path, id string
		kind     tags.Kind
	}{
		{"bundles", "bundle", tags.Bundle}, {"stock", "lot", tags.Stock}, {"loads", "load", tags.Load},
		{"places", "place", tags.Place}, {"persons", "person", tags.Person},
	} {
		register(a, http.MethodGet, "/"+one.path+"/{number}/tag.{format}", "get-"+one.id+"-tag", "The tag of a "+one.kind.String()+", as its newest copy",
			func(_ context.Context, in *tagIn) (*stream, error) { return a.tag(in, one.kind) }, group("tags"),
			about("Nothing is recorded: a print that hangs on something is asked for by /tags."),
			gives("application/pdf", "image/svg+xml", "image/png"))
	}
	register(a, http.MethodPost, "/tags", "print-tags", "Record one more copy of each tag, and give them as one PDF", a.printTags, group("tags"),
		about("A tag a page, by number, at most 1,000. The tags are those named, or those of all bundles of a job, list or mark, or of a load."),
		gives("application/pdf"))
}

type tagIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Format string `path:"format" enum:"pdf,svg,png"`
	DPI    string `query:"dpi" enum:"203,300,600" default:"203" doc:"Dots per inch of the printer."`
	Layout string `query:"layout" enum:"4x6,100x150" default:"4x6" doc:"Paper: 4 x 6 in, or 100 x 150 mm."`
}

func paperOf(layout string) label.Paper {
	if layout == "100x150" {
		return label.MetricA6
	}
	return label.FourBySix
}

func (a *ops) tag(in *tagIn, kind tags.Kind) (*stream, error) {
	n, err := number(in.Number, kind)
	if err != nil {
		return nil, err
	}
	labels, err := a.press.Tags([]tags.Number{n}, paperOf(in.Layout), press.Newest)
	if err != nil {
		return nil, labelProblem(err)
	}
	dpi, _ := strconv.Atoi(in.DPI) // one of three
	var b bytes.Buffer
	types := map[string]string{"pdf": "application/pdf", "svg": "image/svg+xml", "png": "image/png"}
	switch in.Format {
	case "pdf":
		err = label.PDF(&b, dpi, labels...)
	case "svg":
		err = label.SVG(&b, labels[0], dpi)
	case "png":
		err = label.PNG(&b, labels[0], dpi)
	}
	if err != nil {
		return nil, labelProblem(press.NewUnfit(n, err))
	}
	return file(types[in.Format], "tag-"+n.String()+"."+in.Format, b.Bytes()), nil
}

// file is an answer that is a file, shown in the browser where it can be.
func file(kind, name string, data []byte) *stream {
	return &stream{func(ctx huma.Context) {
		ctx.SetHeader("Content-Type", kind)
		ctx.SetHeader("Content-Disposition", strings.Replace(web.Attachment(name), "attachment", "inline", 1))
		ctx.SetHeader("Content-Length", itoa(len(data)))
		ctx.SetStatus(http.StatusOK)
		_, _ = ctx.BodyWriter().Write(data) // a client that left needs no answer
	}}
}

// labelProblem says what of a tag cannot be printed, or that a number is not known.
func labelProblem(err error) error {
	var unknown press.Unknown
	var unfit *press.Unfit
	switch {
	case errors.As(err, &unknown):
		return missing("%v was never given out here.", unknown.Number)
	case errors.As(err, &unfit):
		return web.Refuse("invalid", fmt.Sprintf("The tag of %v cannot be printed: %v.", unfit.Number, unfit.Err), "", web.Field{Location: unfit.Field, Message: unfit.Err.Error()})
	}
	return err
}

type printIn struct {
	Keyed
	Body api.PrintTags
}

func (a *ops) printTags(ctx context.Context, in *printIn) (*stream, error) {
	b := in.Body
	numbers, err := a.selected(b)
	if err != nil {
		return nil, err
	}
	o, err := a.origin("", b.By, in.Key, []any{"print", b})
	if err != nil {
		return nil, err
	}
	dpi, paper := b.DPI, paperOf(b.Layout)
	if dpi == 0 {
		dpi = 203
	}
	sheet, r, err := a.press.Print(ctx, o, numbers, dpi, paper)
	if err != nil {
		return nil, labelProblem(err)
	}
	return file("application/pdf", fmt.Sprintf("tags-%d.pdf", r.Seq), sheet), nil
}

// selected are the numbers whose tags are asked for, in order, each once.
func (a *ops) selected(b api.PrintTags) ([]tags.Number, error) {
	out, err := numbers("body.numbers", b.Numbers, tags.Bundle, tags.Stock, tags.Load, tags.Place, tags.Person)
	if err != nil {
		return nil, err
	}
	err = a.f.View(func(p *view.Past) error {
		for i, n := range out {
			if !p.Known(n) {
				return invalid(fmt.Sprintf("body.numbers[%d]", i), n.String()+" was never given out here")
			}
		}
		if b.Job != "" || b.Mark != "" {
			for _, one := range bundlesOf(p, b.Job, b.List, b.Mark) {
				if !one.Voided {
					out = append(out, one.Number)
				}
			}
		}
		if b.Load == "" {
			return nil
		}
		n, err := oneNumber("body.load", b.Load, tags.Load)
		if err != nil {
			return err
		}
		if _, ok := p.Load(n); !ok {
			return invalid("body.load", n.String()+" was never given out here")
		}
		out = append(out, p.PlannedOn(n)...)
		p.Loaded(n, func(m tags.Number) bool { out = append(out, m); return true })
		return nil
	})
	slices.Sort(out)
	out = slices.Compact(out)
	switch {
	case err != nil:
		return nil, err
	case b.List != "" && b.Job == "":
		return nil, invalid("body.job", "is missing; a list number belongs to a job")
	case len(out) == 0:
		return nil, invalid("body.numbers", "select no tag; name numbers, or a job, list, mark or load that has bundles")
	case len(out) > press.Most:
		return nil, invalid("body.numbers", fmt.Sprintf("select %d tags; %d are printed at once", len(out), press.Most))
	}
	return out, nil
}
