package rest

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humaecho"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/view"
	"tagd/internal/web"
)

func (a *ops) certs() {
	register(a, http.MethodGet, "/certs", "list-certs", "Mill certs of a heat, or by a text on them, oldest first", a.listCerts, group("certs"))
	register(a, http.MethodPost, "/certs", "file-cert", "Put a mill cert on file, with its paper", a.fileCert, group("certs"), created,
		about("A form: the fields, and the paper as PDF, JPEG or PNG, 60 MB at most. A cert covers only the sizes that stand on it. What is filed says what the paper says; that steel meets a standard is for a person to judge."))
	a.uploads("/certs", "file", formFields(map[string]string{
		"mill": "Name of the mill.", "heat": "Heat number, as on it.",
		"sizes":  "Sizes that stand on it, with commas or as several fields.",
		"spec":   "Standard of the steel.",
		"type":   "As written on it: MTR, or 2.1, 2.2, 3.1, 3.2 of EN 10204.",
		"text":   "Number or other text of the cert to find it by.",
		"melted": "Country of melt, ISO 3166 alpha-2.", "rolled": "Country of rolling, ISO 3166 alpha-2.",
	})).Required = []string{"mill", "heat", "sizes"}
	register(a, http.MethodGet, "/certs/{seq}", "get-cert", "A mill cert", a.getCert, group("certs"))
	register(a, http.MethodGet, "/certs/{seq}/file", "get-cert-file", "The paper of a mill cert", a.certFile, group("certs"),
		gives("application/pdf", "image/jpeg", "image/png"))
	register(a, http.MethodPost, "/certs/{seq}/review", "review-cert", "Say that a person has read a cert", a.reviewCert, group("certs"))
}

// gives says which media types an operation answers with beside problems.
func gives(types ...string) func(*huma.Operation) {
	return func(op *huma.Operation) {
		r := &huma.Response{Description: "OK", Content: map[string]*huma.MediaType{}}
		for _, t := range types {
			r.Content[t] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
		}
		op.Responses = map[string]*huma.Response{"200": r}
	}
}

type certIn struct {
	Seq uint64 `path:"seq" doc:"Sequence of the event that filed it."`
}

// certAt finds the cert filed at a sequence.
func certAt(p *view.Past, seq uint64) (heat.Cert, error) {
	if p.IsCert(seq) {
		filed := p.Event(seq).Body.(event.CertFiled)
		for _, c := range p.Certs(heat.Key{Mill: filed.Mill, Heat: filed.Heat}) {
			if c.Seq == seq {
				return c, nil
			}
		}
	}
	return heat.Cert{}, missing("No cert was filed as %d.", seq)
}

func (a *ops) listCerts(_ context.Context, in *struct {
	Heat  string `query:"heat" maxLength:"32" doc:"Of this heat. Without mill: of the mills that stock of such a heat came from."`
	Mill  string `query:"mill" maxLength:"60" doc:"With heat: of this mill only."`
	Text  string `query:"text" maxLength:"100" doc:"With this number or text on it."`
	After uint64 `query:"after" doc:"The next of the page before; left out, the list begins."`
	Limit int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most things in the page."`
}) (*answer[api.Certs], error) {
	if in.Heat == "" && in.Text == "" {
		return nil, invalid("query.heat", "is missing; name a heat, or a text on the cert")
	}
	return look(a, func(p *view.Past) (api.Certs, error) {
		var keys []heat.Key
		switch {
		case in.Text != "":
			keys = p.CertsNamed(in.Text)
		case in.Mill != "":
			keys = []heat.Key{{Mill: in.Mill, Heat: in.Heat}}
		default:
			keys = p.HeatsNamed(in.Heat)
		}
		slices.SortFunc(keys, heat.Key.Compare)
		var all []heat.Cert
		for _, k := range slices.Compact(keys) {
			for _, c := range p.Certs(k) {
				if c.Seq > in.After && (in.Text == "" || c.Filed.Text == in.Text) && (in.Heat == "" || k.Heat == in.Heat) && (in.Mill == "" || k.Mill == in.Mill) {
					all = append(all, c)
				}
			}
		}
		slices.SortFunc(all, func(x, y heat.Cert) int { return int(int64(x.Seq) - int64(y.Seq)) })
		out := api.Certs{Certs: []api.Cert{}}
		for i, c := range all {
			if i == in.Limit {
				out.Next = seqText(all[i-1].Seq)
				break
			}
			out.Certs = append(out.Certs, cert(c))
		}
		return out, nil
	})
}

func (a *ops) getCert(_ context.Context, in *certIn) (*answer[api.Cert], error) {
	return look(a, func(p *view.Past) (api.Cert, error) {
		c, err := certAt(p, in.Seq)
		return cert(c), err
	})
}

// mostField is the most bytes of a field of a form.
const mostField = 4 << 10

func (a *ops) fileCert(ctx context.Context, in *struct {
	Keyed
	Upload
}) (*answer[api.CertFiled], error) {
	form, paper, err := a.form(&in.Upload, "A cert", "mill", "heat", "sizes", "spec", "type", "text", "melted", "rolled", "device", "people")
	defer paper.Drop()
	if err != nil {
		return nil, err
	}
	e, by, err := certOf(form)
	if err != nil {
		return nil, err
	}
	e.SHA256 = paper.Sum()
	o, err := a.origin("", by, in.Key, []any{"cert", form, e.SHA256})
	if err != nil {
		return nil, err
	}
	if _, err := heat.File(e); err != nil { // before the paper is kept for nothing
		return nil, err
	}
	if err := paper.Keep(); err != nil {
		return nil, err
	}
	r, err := a.f.FileCert(ctx, o, e)
	if err != nil {
		return nil, err
	}
	return a.filed(r, r.Seq)
}

// form reads a form with some fields, each as often as it comes, and its paper as it comes, if there is one.
// Whoever gets a paper drops it, also with an error; without a file it is nil.
func (a *ops) form(in *Upload, what string, fields ...string) (form map[string][]string, paper *floor.Paper, err error) {
	form = map[string][]string{}
	err = in.each("", func(p part) error {
		switch {
		case p.name == "":
			return web.Refuse("media-type", what+" comes as a form.", "Send multipart/form-data with the fields that /openapi.json names.")
		case p.name == "file" && paper != nil:
			return invalid("body.file", "is there twice; one paper is taken at a time")
		case p.name == "file":
			var err error
			paper, err = a.f.TakePaper(p)
			return err
		case !slices.Contains(fields, p.name):
			return invalid("body."+p.name, "is no field of this form")
		}
		b, err := io.ReadAll(io.LimitReader(p, mostField+1))
		switch {
		case err != nil:
			return brokenForm(err)
		case len(b) > mostField:
			return invalid("body."+p.name, "is too long")
		}
		form[p.name] = append(form[p.name], strings.TrimSpace(string(b)))
		return nil
	})
	return form, paper, err
}

// single is the only value of a field of a form, "" when it is not there.
func single(form map[string][]string, name string) (string, error) {
	switch v := form[name]; len(v) {
	case 0:
		return "", nil
	case 1:
		return v[0], nil
	}
	return "", invalid("body."+name, "is there several times; write it once")
}

// certOf reads the fields of a form.
func certOf(form map[string][]string) (e event.CertFiled, by api.By, err error) {
	get := func(name string) string {
		v, wrong := single(form, name)
		if err == nil {
			err = wrong
		}
		return v
	}
	e = event.CertFiled{Mill: get("mill"), Heat: get("heat"), Spec: get("spec"), Type: get("type"), Text: get("text"), Melted: get("melted"), Rolled: get("rolled")}
	by.Device = get("device")
	for _, one := range []struct {
		name, text string
		most       int
	}{{"spec", e.Spec, 40}, {"type", e.Type, 40}, {"text", e.Text, 100}} {
		if len([]rune(one.text)) > one.most && err == nil {
			err = invalid("body."+one.name, "has more than "+itoa(one.most)+" characters")
		}
	}
	by.People = words(form["people"])
	for _, s := range words(form["sizes"]) {
		size, wrong := bar.ParseSize(s)
		if wrong != nil && err == nil {
			err = invalid("body.sizes", wrong.Error())
		}
		if !slices.Contains(e.Sizes, size) {
			e.Sizes = append(e.Sizes, size)
		}
	}
	if len(e.Sizes) > 100 && err == nil {
		err = invalid("body.sizes", "are more than 100; a standard has fewer")
	}
	return e, by, err
}

// words are the parts of fields between commas.
func words(fields []string) (out []string) {
	for _, f := range fields {
		for w := range strings.SplitSeq(f, ",") {
			if w = strings.TrimSpace(w); w != "" {
				out = append(out, w)
			}
		}
	}
	return out
}

func (a *ops) filed(r floor.Receipt, seq uint64) (*answer[api.CertFiled], error) {
	return look(a, func(p *view.Past) (api.CertFiled, error) {
		c, err := certAt(p, seq)
		return api.CertFiled{Recorded: recorded(r), Cert: cert(c)}, err
	})
}

func (a *ops) reviewCert(ctx context.Context, in *struct {
	Seq uint64 `path:"seq" doc:"Sequence of the event that filed it."`
	Keyed
	Body api.Review
}) (*answer[api.CertFiled], error) {
	if err := a.f.View(func(p *view.Past) error { _, err := certAt(p, in.Seq); return err }); err != nil {
		return nil, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"review", in.Seq, in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.ReviewCert(ctx, o, event.CertReviewed{Cert: in.Seq, Note: in.Body.Note})
	if err != nil {
		return nil, err
	}
	return a.filed(r, in.Seq)
}

func (a *ops) certFile(_ context.Context, in *certIn) (*stream, error) {
	var c heat.Cert
	if err := a.f.View(func(p *view.Past) (err error) { c, err = certAt(p, in.Seq); return err }); err != nil {
		return nil, err
	}
	if len(c.Filed.SHA256) == 0 {
		return nil, missing("Cert %d is a record without paper.", in.Seq)
	}
	return a.photoOf(c.Filed.SHA256, "cert "+c.Filed.Mill+" "+c.Filed.Heat)
}

// photoOf gives a paper that is kept, under a name without its ending.
func (a *ops) photoOf(sum []byte, name string) (*stream, error) {
	file, kind, err := a.f.OpenPaper(sum)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, missing("The paper of %s is not in the folder of certs.", name)
	} else if err != nil {
		return nil, err
	}
	_, ext, _ := strings.Cut(kind, "/")
	name += "." + strings.Replace(ext, "octet-stream", "bin", 1)
	return &stream{func(ctx huma.Context) {
		defer file.Close()
		w, r := humaecho.Unwrap(ctx).Response(), humaecho.Unwrap(ctx).Request()
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Content-Disposition", web.Attachment(name))
		http.ServeContent(w, r, "", time.Time{}, file)
	}}, nil
}
