package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
)

// Problem is an error as it goes out: problem details after RFC 9457, with our code, the next step
// and the fields at fault. Its type is always about:blank, so the title is the name of the status;
// programs tell problems apart by the code.
type Problem struct {
	Type     string  `json:"type" format:"uri" default:"about:blank" doc:"Always about:blank: the code tells problems apart."`
	Title    string  `json:"title" example:"Unprocessable Entity" doc:"The name of the HTTP status."`
	Status   int     `json:"status" example:"422" doc:"The HTTP status."`
	Detail   string  `json:"detail,omitempty" doc:"What is wrong, in a sentence for a person."`
	Instance string  `json:"instance,omitempty" format:"uri" doc:"The request, as the server's log knows it."`
	Code     string  `json:"code" example:"invalid" doc:"What is wrong, for a program. Codes keep their meaning."`
	Next     string  `json:"next,omitempty" doc:"What to do next, in a sentence for a person."`
	Errors   []Field `json:"errors,omitempty" doc:"The fields at fault, all of them."`
}

// Field is one field at fault.
type Field struct {
	Location string `json:"location,omitempty" example:"body.bars" doc:"Where: a path into the request, or row and column of a file."`
	Message  string `json:"message" doc:"What is wrong with it and what would be right."`
}

// Error gives where and what.
func (f Field) Error() string {
	if f.Location == "" {
		return f.Message
	}
	return f.Location + ": " + f.Message
}

// Error is the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus is the HTTP status.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is the media type of a problem written as ct.
func (p *Problem) ContentType(ct string) string {
	switch ct {
	case "application/json":
		return "application/problem+json"
	case "application/cbor":
		return "application/problem+cbor"
	}
	return ct
}

// Refusal is a no that the rooms below give on purpose: Error is its sentence, Next what to do, and
// Code says which it is. A code that the table does not know is one of a request that can be read
// but not done.
type Refusal interface {
	error
	Code() string
	Next() string
}

// codes is the table of all codes, with the HTTP status (RFC 9110) of each. A code keeps its
// meaning for ever.
var codes = map[string]int{
	"bad-request":    http.StatusBadRequest,
	"unauthorized":   http.StatusUnauthorized,
	"forbidden":      http.StatusForbidden,
	"cross-origin":   http.StatusForbidden, // a page of another site asked
	"not-found":      http.StatusNotFound,
	"method":         http.StatusMethodNotAllowed,
	"not-acceptable": http.StatusNotAcceptable,
	"too-slow":       http.StatusRequestTimeout,
	"conflict":       http.StatusConflict, // with what is recorded already
	"running":        http.StatusConflict, // the same key is being worked on
	"gone":           http.StatusGone,
	"too-large":      http.StatusRequestEntityTooLarge,
	"media-type":     http.StatusUnsupportedMediaType,
	"wrong-host":     http.StatusMisdirectedRequest,
	"invalid":        http.StatusUnprocessableEntity,
	"key-reused":     http.StatusUnprocessableEntity, // the same key with another body
	"too-many":       http.StatusTooManyRequests,
	"fault":          http.StatusInternalServerError,
	"busy":           http.StatusServiceUnavailable, // nothing was recorded
	"uncertain":      http.StatusServiceUnavailable, // it may have been recorded: same key again
	"closing":        http.StatusServiceUnavailable,
	"unhealthy":      http.StatusServiceUnavailable,
}

// general is the code of a status that came without one.
var general = map[int]string{
	http.StatusBadRequest:            "bad-request",
	http.StatusUnauthorized:          "unauthorized",
	http.StatusForbidden:             "forbidden",
	http.StatusNotFound:              "not-found",
	http.StatusMethodNotAllowed:      "method",
	http.StatusNotAcceptable:         "not-acceptable",
	http.StatusRequestTimeout:        "too-slow",
	http.StatusConflict:              "conflict",
	http.StatusGone:                  "gone",
	http.StatusRequestEntityTooLarge: "too-large",
	http.StatusUnsupportedMediaType:  "media-type",
	http.StatusMisdirectedRequest:    "wrong-host",
	http.StatusUnprocessableEntity:   "invalid",
	http.StatusTooManyRequests:       "too-many",
	http.StatusServiceUnavailable:    "busy",
}

// Refuse makes the problem of a code, with its sentence, what to do next, and the fields at fault.
func Refuse(code, detail, next string, fields ...Field) *Problem {
	status, ok := codes[code]
	if !ok {
		status = http.StatusUnprocessableEntity
	}
	return problem(status, code, detail, next, fields)
}

func problem(status int, code, detail, next string, fields []Field) *Problem {
	return &Problem{"about:blank", http.StatusText(status), status, detail, "", code, next, fields}
}

// fault is the problem that shows nothing of what went wrong.
func fault() *Problem {
	return Refuse("fault", "Something went wrong in the server. It is written down in its log.",
		"Try again. If it happens again, tell whoever looks after the server, with the number of this request.")
}

// ProblemOf says what an error is to a client. What is neither a Problem nor a refusal is a fault,
// and nothing of its text is shown.
func ProblemOf(err error) *Problem {
	var (
		p       *Problem
		large   *http.MaxBytesError
		refusal Refusal
		field   *event.Refusal
		he      *echo.HTTPError
	)
	switch {
	case errors.As(err, &large):
		return Refuse("too-large", "What was sent is larger than the "+inBytes(large.Limit)+" that are taken here.",
			"Send less at once.")
	case errors.As(err, &p):
		clone := *p
		return &clone
	case errors.As(err, &refusal):
		return Refuse(refusal.Code(), refusal.Error(), refusal.Next())
	case errors.As(err, &field):
		if field.Field == "" {
			return Refuse("invalid", field.Says, "")
		}
		return Refuse("invalid", field.Error(), "", Field{field.Field, field.Says})
	case errors.As(err, &he):
		return ofEcho(he)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return Refuse("too-slow", "The request took too long to arrive.", "Try again; a large file may need a better network.")
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return Refuse("busy", "The server did not get to it in time.", "Try again in a moment.")
	}
	return fault()
}

// ofEcho says what an error of echo's own is.
func ofEcho(he *echo.HTTPError) *Problem {
	switch he.Code {
	case http.StatusNotFound:
		if he == echo.ErrNotFound {
			return Refuse("not-found", "There is nothing at this address.", "Check the address, or begin at the front page.")
		}
	case http.StatusMethodNotAllowed:
		return Refuse("method", "This address cannot be asked in that way.", "The header Allow names the methods that it takes.")
	}
	if he.Code >= 500 || he.Code < 400 {
		if he.Code == http.StatusServiceUnavailable {
			return Refuse("busy", "The server cannot take this at the moment.", "Try again in a moment.")
		}
		return fault()
	}
	says, ok := he.Message.(string)
	if !ok {
		says = http.StatusText(he.Code)
	}
	return ofStatus(he.Code, says, nil)
}

func ofStatus(status int, says string, fields []Field) *Problem {
	code, ok := general[status]
	if !ok {
		code = "invalid"
	}
	return problem(status, code, says, "", fields)
}

// NewProblem makes a problem from what a library says: a status, a sentence, and errors. Errors that
// are refusals, or say that the body is too large, decide over the status. It has the arguments of
// huma's NewError; an error that is a Field becomes one. A fault made here shows nothing: whoever makes
// it keeps the errors for the log.
func NewProblem(status int, says string, errs ...error) *Problem {
	var fields []Field
	for _, err := range errs {
		if err == nil {
			continue
		}
		var f Field
		if errors.As(err, &f) {
			fields = append(fields, f)
			continue
		}
		if p := ProblemOf(err); p.Code != "fault" {
			return p
		}
		fields = append(fields, Field{Message: err.Error()})
	}
	if status >= 500 && status != http.StatusServiceUnavailable {
		return fault()
	}
	return ofStatus(status, says, fields)
}

// name puts the request's number into a problem.
func (s *Server) name(ctx context.Context, p *Problem) {
	if id := RequestID(ctx); id != "" && p.Instance == "" {
		p.Instance = "urn:uuid:" + id
	}
}

// inBytes is a number of bytes for people, in MB or kB where those are whole.
func inBytes(n int64) string {
	for _, u := range []struct {
		n    int64
		word string
	}{{1 << 20, "MB"}, {1 << 10, "kB"}} {
		if n >= u.n && n%u.n == 0 {
			return fmt.Sprintf("%d %s", n/u.n, u.word)
		}
	}
	return fmt.Sprintf("%d bytes", n)
}
