package rest

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/web"
)

// Upload is a request whose body is a file: bare, or as a part of a form. It is read by the operation
// and not before, so that a large file can go to the disk as it comes.
type Upload struct {
	body        io.Reader
	contentType string
	texts       map[string]string // fields of the form beside the file
}

// Resolve takes the body over.
func (u *Upload) Resolve(ctx huma.Context) []error {
	u.body, u.contentType = ctx.BodyReader(), ctx.Header("Content-Type")
	return nil
}

// part is a field or file of a form.
type part struct {
	name, file string
	io.Reader
}

// each calls f for each part of a form, or for the bare body as the part named bare.
func (u *Upload) each(bare string, f func(part) error) error {
	kind, params, err := mime.ParseMediaType(u.contentType)
	if u.contentType != "" && err != nil {
		return web.Refuse("media-type", "The Content-Type of the request cannot be read.", "Send the file bare, or as multipart/form-data.")
	}
	if kind != "multipart/form-data" {
		return f(part{name: bare, Reader: u.body})
	}
	form := multipart.NewReader(u.body, params["boundary"])
	for n := 0; ; n++ {
		p, err := form.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return brokenForm(err)
		case n == mostParts:
			return web.Refuse("bad-request", "The form has too many parts.", "Send the fields that /openapi.json names, each once.")
		}
		err = f(part{p.FormName(), p.FileName(), p})
		p.Close()
		if err != nil {
			return err
		}
	}
}

// mostUpload is the most bytes of a list that are read, so that its reader can say what is too large.
const mostUpload = 60 << 20

// mostParts is more than any form of ours has.
const mostParts = 100

// brokenForm is the problem of a body that ended, or was no form.
func brokenForm(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	return web.Refuse("bad-request", "The form in the request cannot be read: "+err.Error()+".", "Send it again.")
}

// text keeps a field of the form that is no file.
func (u *Upload) text(p part) error {
	b, err := io.ReadAll(io.LimitReader(p, mostText+1))
	if err != nil {
		return brokenForm(err)
	}
	if len(b) > mostText {
		return &http.MaxBytesError{Limit: mostText}
	}
	if u.texts == nil {
		u.texts = map[string]string{}
	}
	u.texts[p.name] = string(b)
	return nil
}

// mostText is the most bytes of a field that is no file.
const mostText = 4 << 20

// read gives the file of a request whole, and its name where the form says it. A file of more bytes
// than most is not read to its end. Fields of the form in also are kept as texts.
func (u *Upload) read(field string, most int64, also ...string) (name string, data []byte, err error) {
	found := false
	err = u.each(field, func(p part) error {
		if p.name != field && slices.Contains(also, p.name) {
			return u.text(p)
		}
		if p.name != field {
			return invalid("body."+p.name, "is no field of this form; the file is the field "+field)
		}
		if found {
			return invalid("body."+field, "is there twice; one file is taken at a time")
		}
		found, name = true, p.file
		var b bytes.Buffer
		if _, err := b.ReadFrom(io.LimitReader(p, most+1)); err != nil {
			return brokenForm(err)
		}
		if int64(b.Len()) > most {
			return &http.MaxBytesError{Limit: most}
		}
		data = b.Bytes()
		return nil
	})
	if err == nil && !found {
		err = invalid("body."+field, "is missing; it is the file")
	}
	return name, data, err
}

// file is the file of a request under the name that the request says beside it, else its own, else another.
func (u *Upload) file(said, otherwise string, also ...string) (name string, data []byte, err error) {
	name, data, err = u.read("file", mostUpload, also...)
	return cmp.Or(said, name, otherwise), data, err
}

// Sender is who sends a file, where the body has no room for it.
type Sender struct {
	Device string    `query:"device" maxLength:"100" doc:"What the request was made with."`
	People []string  `query:"people" maxItems:"20" doc:"Numbers of the badges of those who did it, with commas."`
	At     time.Time `query:"at" doc:"When it happened, by the device's clock. Left out: now."`
}

func (s Sender) by() api.By { return api.By{Device: s.Device, People: s.People, At: s.At} }

// formFields describes the fields of a form by their names, with those that say who sends it.
func formFields(says map[string]string) map[string]*huma.Schema {
	out := map[string]*huma.Schema{
		"device": {Type: "string", Description: "What the request was made with."},
		"people": {Type: "string", Description: "Numbers of the badges of those who did it."},
	}
	for name, text := range says {
		out[name] = &huma.Schema{Type: "string", Description: text}
	}
	return out
}

// uploads writes into the description what the body of a registered operation is: a form with these
// fields, of which file is the file, or the file bare as one of types. It gives the schema of the form,
// in which the file is what must be there.
func (a *ops) uploads(path, file string, fields map[string]*huma.Schema, types ...string) *huma.Schema {
	op := a.api.OpenAPI().Paths[path].Post
	form := &huma.Schema{Type: "object", Properties: map[string]*huma.Schema{file: {Type: "string", Format: "binary"}}, Required: []string{file}}
	for name, s := range fields {
		form.Properties[name] = s
	}
	op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"multipart/form-data": {Schema: form}}}
	for _, t := range types {
		op.RequestBody.Content[t] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
	}
	a.s.LargeBodies("/api/v1" + strings.NewReplacer("{", ":", "}", "").Replace(path))
	return form
}
