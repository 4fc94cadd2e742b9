package rest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"reflect"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/web"
)

// mostKept is how many kept scans are taken at once: a shift of one device.
const mostKept = 1000

func (a *ops) keptScans() {
	register(a, http.MethodPost, "/scans/kept", "scan-kept", "Send the scans that a device kept while it had no network", a.kept, group("scans"),
		about("In the device's order, each with its own key and time. They are judged and recorded one after another; the answer has one receipt for each. What the rules refuse by now goes onto the list to resolve, and so does what cannot even be read, so one bad scan never loses the others. Sent again, whole or in part, each gets its first receipt; a scan without a key goes by its text."),
		func(op *huma.Operation) {
			op.SkipValidateBody = true // one by one, so that one does not lose the others
			op.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"application/json": {
				Schema: &huma.Schema{Type: "array", Items: a.scanSchema()},
			}}}
		})
}

func (a *ops) scanSchema() *huma.Schema {
	return a.schema(reflect.TypeFor[api.Scan]())
}

func (a *ops) kept(ctx context.Context, in *struct{ Body []json.RawMessage }) (*answer[api.KeptAnswers], error) {
	if n := len(in.Body); n > mostKept {
		return nil, invalid("body", fmt.Sprintf("has %d scans; %d are the most at once: send the first ones first", n, mostKept))
	}
	out := api.KeptAnswers{Answers: []api.ScanAnswer{}}
	for _, raw := range in.Body {
		one, err := a.keptOne(ctx, raw)
		if err != nil {
			return nil, err // what was recorded has its receipt when all are sent again
		}
		out.Answers = append(out.Answers, one)
	}
	return &answer[api.KeptAnswers]{out}, nil
}

// keptOne takes one kept scan. An error is a fault of ours: whatever is wrong with the scan becomes a
// dispute.
func (a *ops) keptOne(ctx context.Context, raw json.RawMessage) (api.ScanAnswer, error) {
	why := ""
	b, err := a.readKept(raw)
	if err == nil {
		if b.Key == "" {
			b.Key = ownKey(raw)
		}
		x, wrong := a.scanOf(b)
		if err = wrong; err == nil {
			var out api.ScanAnswer
			if out, _, err = a.scanned(ctx, b.Station, b.By, "", b.Lang, []any{"scan", b}, x); err == nil {
				return out, nil
			}
		}
	}
	var no *event.Refusal
	var field *web.Problem
	switch {
	case errors.Is(err, floor.ErrOtherRequest):
		why = "its key was used for another request"
	case errors.As(err, &no), errors.As(err, &field), errors.Is(err, errKept):
		why = strings.TrimPrefix(err.Error(), "body.")
	default:
		return api.ScanAnswer{}, err
	}
	return a.unread(ctx, raw, why)
}

var errKept = errors.New("kept scan")

// readKept reads one kept scan as the contract has it.
func (a *ops) readKept(raw json.RawMessage) (b api.Scan, err error) {
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		return b, fmt.Errorf("%w: %v", errKept, err)
	}
	var wrong huma.ValidateResult
	huma.Validate(a.api.OpenAPI().Components.Schemas, a.scanSchema(), huma.NewPathBuffer(nil, 0), huma.ModeWriteToServer, v, &wrong)
	if len(wrong.Errors) > 0 {
		var d *huma.ErrorDetail
		if errors.As(wrong.Errors[0], &d) {
			return b, &event.Refusal{Field: d.Location, Says: d.Message}
		}
		return b, fmt.Errorf("%w: %v", errKept, wrong.Errors[0])
	}
	if err := json.Unmarshal(raw, &b); err != nil {
		return b, fmt.Errorf("%w: %v", errKept, err)
	}
	b.Kept = true
	return b, nil
}

// ownKey is the key of a kept scan that has none: its own text, which holds its time.
func ownKey(raw []byte) string {
	sum := sha256.Sum256(raw)
	return "kept " + hex.EncodeToString(sum[:16])
}

// unread puts a kept scan that cannot be read onto the list to resolve, with whatever of it can be.
func (a *ops) unread(ctx context.Context, raw json.RawMessage, why string) (api.ScanAnswer, error) {
	var plain bytes.Buffer
	if json.Compact(&plain, raw) != nil {
		plain.Write(raw)
	}
	text := strings.ToValidUTF8(plain.String(), "?")
	var head map[string]any
	_ = json.Unmarshal(raw, &head) // what is no object has none of these
	word := func(field string) string {
		if s, _ := head[field].(string); len(s) <= 100 {
			return strings.ToValidUTF8(s, "?")
		}
		return ""
	}
	by := api.By{Device: word("device"), Key: ownKey(raw)}
	if t, err := time.Parse(time.RFC3339, word("at")); err == nil && t.Year() >= 2000 && t.Year() < 3000 {
		by.At = t
	}
	o, err := a.origin(word("station"), by, "", []any{"kept scan", text})
	if err != nil {
		return api.ScanAnswer{}, err
	}
	o.Happened = a.happened(by)
	r, err := a.f.Unread(ctx, o, text, strings.ToValidUTF8(why, "?"))
	if err != nil {
		return api.ScanAnswer{}, err
	}
	return a.scanAnswer(r, 0, word("lang")), nil
}
