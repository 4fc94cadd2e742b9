package rest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humaecho"
	"github.com/labstack/echo/v4"

	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/tags"
	"tagd/internal/web"
)

// huma makes its errors by these variables; there is no other way to give it ours.
func init() {
	huma.DefaultArrayNullable = false
	huma.NewError = func(status int, says string, errs ...error) huma.StatusError {
		return newProblem(status, says, errs)
	}
	huma.NewErrorWithContext = func(ctx huma.Context, status int, says string, errs ...error) huma.StatusError {
		p := newProblem(status, says, errs)
		fail(ctx.Context(), p)
		return p
	}
}

// newProblem says what huma found wrong with a request in our words.
func newProblem(status int, says string, errs []error) *web.Problem {
	fields := make([]error, len(errs))
	for i, err := range errs {
		fields[i] = err
		var d *huma.ErrorDetail
		if errors.As(err, &d) {
			fields[i] = web.Field{Location: d.Location, Message: d.Message}
		}
	}
	p := web.NewProblem(status, says, fields...)
	if says == "validation failed" && len(p.Errors) > 0 {
		p.Detail = "The request is not as it should be: " + p.Errors[0].Error() + "."
		if n := len(p.Errors); n > 1 {
			p.Detail = fmt.Sprintf("%d things in the request are not as they should be; the first: %s.", n, p.Errors[0].Error())
		}
		p.Next = "See /openapi.json for what is taken."
	}
	return p
}

// failure is why a request came to nothing.
type failure struct{ err error }

type failureKey struct{}

// fail keeps the first reason why a request came to nothing.
func fail(ctx context.Context, err error) {
	if f, ok := ctx.Value(failureKey{}).(*failure); ok && f.err == nil {
		f.err = err
	}
}

const failedKey = "rest.failure"

// unescape gives the values of a path as they were meant. echo takes them as they stand in the address
// where that holds an escape that matters, as of the / in job 26/014.
func unescape(c echo.Context) {
	if c.Request().URL.RawPath == "" {
		return
	}
	values := slices.Clone(c.ParamValues())
	for i, v := range values {
		if plain, err := url.PathUnescape(v); err == nil {
			values[i] = plain
		}
	}
	c.SetParamValues(values...)
}

// collect lets huma write nothing once the request has failed, and keeps the reason for failures.
func collect(ctx huma.Context, next func(huma.Context)) {
	unescape(humaecho.Unwrap(ctx))
	f := &failure{}
	next(&quiet{huma.WithValue(ctx, failureKey{}, f), f})
	if f.err != nil {
		humaecho.Unwrap(ctx).Set(failedKey, f.err)
	}
}

// failures hands the reason why a request came to nothing to the one error writer.
func failures(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := next(c); err != nil {
			return err
		}
		err, _ := c.Get(failedKey).(error)
		return err
	}
}

type inner huma.Context

// quiet is a request's context that takes no answer once the request has failed.
type quiet struct {
	inner
	f *failure
}

// Unwrap is the context of the adapter.
func (q *quiet) Unwrap() huma.Context { return q.inner }

func (q *quiet) SetStatus(code int) {
	if q.f.err == nil {
		q.inner.SetStatus(code)
	}
}

func (q *quiet) SetHeader(name, value string) {
	if q.f.err == nil {
		q.inner.SetHeader(name, value)
	}
}

func (q *quiet) AppendHeader(name, value string) {
	if q.f.err == nil {
		q.inner.AppendHeader(name, value)
	}
}

func (q *quiet) BodyWriter() io.Writer {
	if q.f.err != nil {
		return io.Discard
	}
	return q.inner.BodyWriter()
}

// problem names the row of a refusal that is about one of several things. What else the floor and the
// rooms say is left to the error writer.
func problem(err error) error {
	var row *floor.RowError
	var wrong *event.Refusal
	var open *barlist.Undecided
	if errors.As(err, &open) {
		return undecided(open)
	}
	if errors.As(err, &row) && errors.As(row.Err, &wrong) {
		return invalid(fmt.Sprintf("[%d].%s", row.Row, wrong.Field), wrong.Says)
	}
	return err
}

// invalid is the problem of one field.
func invalid(location, says string) error {
	return web.Refuse("invalid", location+": "+says, "", web.Field{Location: location, Message: says})
}

// missing is the problem of something that is not here.
func missing(format string, args ...any) error {
	return web.Refuse("not-found", fmt.Sprintf(format, args...), "Check the number, or look for it by /trace.")
}

// number reads a number in a path. One of another kind is as little there as one never given out.
func number(text string, kinds ...tags.Kind) (tags.Number, error) {
	n, err := tags.ParseNumber(text)
	if err != nil {
		return 0, missing("%v.", err)
	}
	for _, k := range kinds {
		if n.Kind() == k {
			return n, nil
		}
	}
	return 0, missing("%v is the number of a %v, not of a %v.", n, n.Kind(), kinds[0])
}

// numbers reads numbers in a body; location names their field.
func numbers(location string, texts []string, kinds ...tags.Kind) ([]tags.Number, error) {
	var out []tags.Number
	for i, text := range texts {
		n, err := oneNumber(fmt.Sprintf("%s[%d]", location, i), text, kinds...)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}

func oneNumber(location, text string, kinds ...tags.Kind) (tags.Number, error) {
	n, err := tags.ParseNumber(text)
	if err != nil {
		return 0, invalid(location, err.Error())
	}
	for _, k := range kinds {
		if n.Kind() == k {
			return n, nil
		}
	}
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = k.String()
	}
	return 0, invalid(location, fmt.Sprintf("%v is the number of a %v; what belongs here is a %s", n, n.Kind(), strings.Join(words, " or ")))
}
