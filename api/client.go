package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Client asks a running server. Every method returns a *Problem where the server says that something
// is wrong, and another error where it could not be asked. A limit of 0 is the server's.
type Client struct {
	Base string       // of the server: "http://127.0.0.1:8080"
	HTTP *http.Client // nil is http.DefaultClient
}

// call is one request below /api/v1.
type call struct {
	method, path string
	query        url.Values
	kind         string // media type of body
	body         io.Reader
	key          string // for the header, where the body has no room for it
}

// maxAnswer is the most bytes of an answer that are read.
const maxAnswer = 256 << 20

// do makes a call and gives the body of the answer and its media type. An answer of 400 or more is an
// error: a *Problem, if the server says what is wrong.
func (c *Client) do(ctx context.Context, k call) ([]byte, string, error) {
	address := strings.TrimSuffix(c.Base, "/") + "/api/v1" + k.path
	if len(k.query) > 0 {
		address += "?" + k.query.Encode()
	}
	r, err := http.NewRequestWithContext(ctx, k.method, address, k.body)
	if err != nil {
		return nil, "", fmt.Errorf("api: %w", err)
	}
	if k.kind != "" {
		r.Header.Set("Content-Type", k.kind)
	}
	if k.key != "" {
		r.Header.Set("Idempotency-Key", k.key)
	}
	client := c.HTTP
	if client == nil {
		client = http.DefaultClient
	}
	answer, err := client.Do(r)
	if err != nil {
		return nil, "", fmt.Errorf("api: %w", err)
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(io.LimitReader(answer.Body, maxAnswer+1))
	if err == nil && len(b) > maxAnswer {
		err = fmt.Errorf("the answer is larger than %d MB", maxAnswer>>20)
	}
	if err != nil {
		return nil, "", fmt.Errorf("api: %s %s: %w", k.method, k.path, err)
	}
	kind, _, _ := mime.ParseMediaType(answer.Header.Get("Content-Type"))
	if answer.StatusCode >= 400 {
		p := &Problem{}
		if kind != "application/problem+json" || json.Unmarshal(b, p) != nil {
			return nil, "", fmt.Errorf("api: %s %s: the server answered %s", k.method, k.path, answer.Status)
		}
		return nil, "", p
	}
	return b, kind, nil
}

// ask makes a call whose answer is JSON.
func ask[T any](ctx context.Context, c *Client, k call) (T, error) {
	var out T
	b, _, err := c.do(ctx, k)
	if err != nil {
		return out, err
	}
	if err := json.Unmarshal(b, &out); err != nil {
		return out, fmt.Errorf("api: %s %s: the answer is not as the contract says: %w", k.method, k.path, err)
	}
	return out, nil
}

func get[T any](ctx context.Context, c *Client, path string, query url.Values) (T, error) {
	return ask[T](ctx, c, call{method: http.MethodGet, path: path, query: query})
}

// file is an answer that is a file.
func (c *Client) file(ctx context.Context, path string, query url.Values) ([]byte, error) {
	b, _, err := c.do(ctx, call{method: http.MethodGet, path: path, query: query})
	return b, err
}

// send sends JSON.
func send[T any](ctx context.Context, c *Client, method, path string, body any) (T, error) {
	b, err := json.Marshal(body)
	if err != nil {
		var none T
		return none, fmt.Errorf("api: %s %s: %w", method, path, err)
	}
	return ask[T](ctx, c, call{method: method, path: path, kind: "application/json", body: bytes.NewReader(b)})
}

// sendFile sends the fields of a form, and after them a file where there is one.
func sendFile[T any](ctx context.Context, c *Client, path string, query, fields url.Values, name string, data []byte, key string) (T, error) {
	var b bytes.Buffer // a write to memory cannot fail
	w := multipart.NewWriter(&b)
	for field, values := range fields {
		for _, v := range values {
			_ = w.WriteField(field, v)
		}
	}
	if data != nil {
		f, _ := w.CreateFormFile("file", name)
		_, _ = f.Write(data)
	}
	_ = w.Close()
	return ask[T](ctx, c, call{method: http.MethodPost, path: path, query: query, kind: w.FormDataContentType(), body: &b, key: key})
}

// values are the pairs of name and value that are not empty.
func values(pairs ...string) url.Values {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	return q
}

// flag is the value of what is asked for or left out.
func flag(asked bool) string {
	if asked {
		return "true"
	}
	return ""
}

// moment is the value of a time, "" where none is said.
func moment(at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return at.Format(time.RFC3339Nano)
}

// page is the query of a page of a list.
func page(after string, limit int, more ...string) url.Values {
	q := values(append(more, "after", after)...)
	if limit > 0 {
		q.Set("limit", strconv.Itoa(limit))
	}
	return q
}

// at is a path of escaped parts.
func at(parts ...string) string {
	out := ""
	for _, p := range parts {
		out += "/" + url.PathEscape(p)
	}
	return out
}
