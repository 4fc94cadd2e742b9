package rest

import (
	"encoding/hex"
	"reflect"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// eventOf is an event on the wire.
func (a *ops) eventOf(seq uint64, e event.Event) api.Event {
	out := api.Event{
		Seq: seq, Kind: e.Body.Kind().String(), Recorded: at(e.Recorded), Happened: when(e.Happened), Device: e.Device, Station: e.Station,
		Identified: identified(e.Identified), Key: keyText(e.Key),
		Tells: api.Said{English: scan.Tell(e, scan.English, a.units()), Spanish: scan.Tell(e, scan.Spanish, a.units())}, Body: fields(reflect.ValueOf(e.Body)),
	}
	if len(e.People) > 0 {
		out.People = shown(e.People)
	}
	if e.Answer != nil {
		out.Answer = &api.EventAnswer{Verdict: e.Answer.Verdict.String(), Says: []string{}, Codes: []string{}}
		for _, n := range e.Answer.Notes {
			says, _ := scan.Say(n, scan.English)
			out.Answer.Says = append(out.Answer.Says, says)
			out.Answer.Codes = append(out.Answer.Codes, n.Code)
		}
	}
	return out
}

func identified(how event.Identified) string {
	words := [...]string{"none", "badge", "pin", "password", "token"}
	if int(how) < len(words) {
		return words[how]
	}
	return "none"
}

// keyText is a key as the client gave it: a UUID is stored as its 16 bytes, which are no printable text.
func keyText(k []byte) string {
	text := string(k)
	printable := utf8.ValidString(text) && !strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) })
	if u, err := uuid.FromBytes(k); err == nil && !printable {
		return u.String()
	}
	return text
}

// fields gives the fields of a body by their names in lower case with underscores: numbers as shown,
// lengths in millimetres (_mm), masses in kilograms (_kg), angles in degrees, bytes in hexadecimal.
// Fields that may be left out and are empty are left out.
func fields(v reflect.Value) map[string]any {
	out := map[string]any{}
	t := v.Type()
	for i := range t.NumField() {
		f, value := t.Field(i), v.Field(i)
		if value.IsZero() && strings.Contains(f.Tag.Get("cbor"), "omitempty") {
			continue
		}
		name := snake(f.Name)
		switch value.Interface().(type) {
		case bar.Length:
			name += "_mm"
		case bar.Mass:
			name += "_kg"
		}
		out[name] = plain(value)
	}
	return out
}

// plain gives one value of a body.
func plain(v reflect.Value) any {
	switch x := v.Interface().(type) {
	case tags.Number:
		return x.String()
	case bar.Length:
		return x.MM()
	case bar.Mass:
		return x.Kilograms()
	case []byte:
		return hex.EncodeToString(x)
	case bar.Leg:
		leg := map[string]any{"turn_degrees": float64(x.Turn) / 10}
		if x.Radius != 0 {
			leg["radius_mm"] = x.Radius.MM()
		} else {
			leg["length_mm"] = x.Length.MM()
		}
		return leg
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return plain(v.Elem())
	case reflect.Struct:
		return fields(v)
	case reflect.Slice:
		out := make([]any, 0, v.Len())
		for i := range v.Len() {
			out = append(out, plain(v.Index(i)))
		}
		return out
	}
	return v.Interface()
}

// snake turns "ShipTo" into "ship_to" and "SHA256" into "sha256".
func snake(s string) string {
	var out []rune
	all := []rune(s)
	for i, c := range all {
		if unicode.IsUpper(c) && i > 0 && unicode.IsLower(all[i-1]) {
			out = append(out, '_')
		}
		out = append(out, unicode.ToLower(c))
	}
	return string(out)
}
