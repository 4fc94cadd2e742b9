package event_test

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/event"
	"tagd/internal/tags"
)

var update = flag.Bool("update", false, "add what is missing to the golden journal")

// kinds are all kinds that are built, by number.
func kinds() []event.Kind {
	var out []event.Kind
	for k := range 1 << 16 {
		if _, ok := event.TypeOf(event.Kind(k)); ok {
			out = append(out, event.Kind(k))
		}
	}
	return out
}

// keyOf gives the CBOR key of a struct field, and whether an empty one is left out.
func keyOf(f reflect.StructField) (key string, omitted bool) {
	key, rest, _ := strings.Cut(f.Tag.Get("cbor"), ",")
	return key, strings.Contains(rest, "omitempty")
}

// draw fills v with anything that its type can hold. What is left out when empty is empty in one way
// only, nil, as it is read back.
func draw(t *rapid.T, v reflect.Value, omitted bool) {
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, "bool"))
	case reflect.Int, reflect.Int16, reflect.Int32, reflect.Int64:
		n := rapid.Int64().Draw(t, "int")
		v.SetInt(n >> (64 - v.Type().Bits()))
	case reflect.Uint8, reflect.Uint16, reflect.Uint64:
		n := rapid.Uint64().Draw(t, "uint")
		v.SetUint(n >> (64 - v.Type().Bits()))
	case reflect.String:
		v.SetString(rapid.OneOf(rapid.StringN(0, 12, -1), rapid.StringMatching(`[+-]?[0-9]{1,20}|[1-6]-001-000000[0-9]{2}-[0-9]{2}`),
			rapid.SampledFrom(event.Codes)).Draw(t, "string"))
	case reflect.Pointer:
		if rapid.Bool().Draw(t, "set") {
			v.Set(reflect.New(v.Type().Elem()))
			draw(t, v.Elem(), false)
		}
	case reflect.Slice:
		n := rapid.IntRange(0, 3).Draw(t, "len")
		if n == 0 && (omitted || rapid.Bool().Draw(t, "nil")) {
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			draw(t, v.Index(i), false)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			_, omitted := keyOf(v.Type().Field(i))
			draw(t, v.Field(i), omitted || v.Type() == reflect.TypeFor[event.Answer]() || v.Type() == reflect.TypeFor[event.Note]())
		}
	default:
		t.Fatalf("no generator for %v", v.Type())
	}
}

// TestRoundTrip: every kind comes back as it was written, in bytes that are always the same and that
// the core deterministic encoding of RFC 8949, 4.2.1, would give, as another writing of it checks.
func TestRoundTrip(t *testing.T) {
	// Sorting keys when they are written is what the library does for maps; structs it writes in an
	// order worked out once. Decoding to maps and encoding these is another way to the same bytes.
	plain, err := cbor.CoreDetEncOptions().EncMode()
	require.NoError(t, err)
	for _, k := range kinds() {
		t.Run(k.String(), func(t *testing.T) {
			typ, _ := event.TypeOf(k)
			rapid.Check(t, func(t *rapid.T) {
				var e event.Event
				draw(t, reflect.ValueOf(&e.Head).Elem(), false)
				e.Recorded, e.Happened = e.Recorded>>11, e.Happened>>11
				body := reflect.New(typ).Elem()
				draw(t, body, false)
				e.Body = body.Interface().(event.Body)
				raw, err := event.Encode(e)
				require.NoError(t, err)
				again, err := event.Encode(e)
				require.NoError(t, err)
				require.Equal(t, raw, again)
				got, err := event.Decode(raw)
				require.NoError(t, err)
				require.Equal(t, e, got)

				require.Equal(t, byte(1), raw[0])
				var loose any
				require.NoError(t, cbor.Unmarshal(raw[1:], &loose))
				want, err := plain.Marshal(loose)
				require.NoError(t, err)
				require.Equal(t, want, raw[1:])
			})
		})
	}
}

// TestNoFloatsNoMaps: nothing in a body has more than one writing: no floats, no maps, no interfaces,
// and no two fields with one key.
func TestNoFloatsNoMaps(t *testing.T) {
	var look func(t *testing.T, typ reflect.Type)
	look = func(t *testing.T, typ reflect.Type) {
		switch typ.Kind() {
		case reflect.Pointer, reflect.Slice:
			look(t, typ.Elem())
		case reflect.Struct:
			if typ == reflect.TypeFor[event.Answer]() {
				return // has a form of its own
			}
			keys := map[string]bool{}
			for i := range typ.NumField() {
				f := typ.Field(i)
				key, _ := keyOf(f)
				require.Contains(t, f.Tag.Get("cbor"), ",keyasint", "%v.%s", typ, f.Name)
				require.False(t, keys[key], "%v: key %s twice", typ, key)
				keys[key] = true
				look(t, f.Type)
			}
		case reflect.Map, reflect.Interface, reflect.Float32, reflect.Float64:
			t.Errorf("%v", typ)
		}
	}
	for _, k := range kinds() {
		typ, _ := event.TypeOf(k)
		look(t, typ)
	}
	look(t, reflect.TypeFor[event.Head]())
}

func encoded(t testing.TB, e event.Event) []byte {
	raw, err := event.Encode(e)
	require.NoError(t, err)
	return raw
}

// TestDecodeRefuses changes a good event in one way each.
func TestDecodeRefuses(t *testing.T) {
	good := event.Event{Head: event.Head{Recorded: 1, Station: "S1"}, Body: event.CardShown{Station: "S1", Bundle: 7}}
	raw := encoded(t, good)
	m := map[int]any{}
	require.NoError(t, cbor.Unmarshal(raw[1:], &m))
	det, err := cbor.CoreDetEncOptions().EncMode()
	require.NoError(t, err)
	with := func(key int, v any) []byte {
		c := map[int]any{}
		for k, v := range m {
			c[k] = v
		}
		if c[key] = v; v == nil {
			delete(c, key)
		}
		b, err := det.Marshal(c)
		require.NoError(t, err)
		return append([]byte{1}, b...)
	}
	require.Equal(t, raw, with(2, 1), "the test's own way of writing")
	for name, c := range map[string]struct {
		raw     []byte
		unknown bool
	}{
		"nothing":             {nil, true},
		"another format":      {append([]byte{2}, raw[1:]...), true},
		"no format":           {raw[1:], true},
		"format alone":        {raw[:1], false},
		"cut short":           {raw[:len(raw)-1], false},
		"more behind it":      {append(slices.Clone(raw), 0), false},
		"an unknown kind":     {with(1, 9999), true},
		"no kind":             {with(1, nil), true},
		"an unknown key":      {with(12, 1), true},
		"an unknown body key": {with(10, map[int]any{1: "S1", 2: 7, 99: 1}), true},
		"no body":             {with(10, nil), false},
		"body of another":     {with(1, 60), false},
		"an empty field":      {with(5, ""), false},
		"a missing time":      {with(2, nil), false},
		"a longer integer":    {bytes.Replace(raw, []byte{2, 1}, []byte{2, 0x18, 1}, 1), false},
		"an indefinite map":   {append(append([]byte{1, 0xbf}, raw[2:]...), 0xff), false},
		"a text not UTF-8":    {bytes.Replace(raw, []byte("bS1"), []byte("b\xff1"), 1), false},
		"a float time":        {with(2, 1.0), false},
		"too large":           {with(5, strings.Repeat("x", event.MaxSize)), false},
	} {
		t.Run(name, func(t *testing.T) {
			require.NotEqual(t, raw, c.raw)
			err := event.Exact(c.raw)
			require.Error(t, err)
			if c.unknown {
				require.ErrorIs(t, err, event.ErrUnknown)
			} else {
				require.NotErrorIs(t, err, event.ErrUnknown)
			}
		})
	}
}

// TestEncodeRefuses: what could not be read back is not written.
func TestEncodeRefuses(t *testing.T) {
	var r *event.Refusal
	_, err := event.Encode(event.Event{Body: event.HoldPut{Reason: "it is \xff broken"}})
	require.ErrorAs(t, err, &r)
	require.Equal(t, "hold put: holds a text that is not UTF-8", r.Error())
	_, err = event.Encode(event.Event{Head: event.Head{Answer: &event.Answer{Notes: []event.Note{{Args: []string{"\xc3"}}}}}, Body: event.PlaceMade{}})
	require.ErrorAs(t, err, &r)
	_, err = event.Encode(event.Event{Head: event.Head{Key: []byte{0xff}}, Body: event.PlaceMade{Name: "año"}})
	require.NoError(t, err, "a key is bytes")

	size := len(encoded(t, event.Event{Body: event.HoldPut{Reason: strings.Repeat("x", 60_000)}}))
	most := strings.Repeat("x", 60_000+event.MaxSize-size)
	require.Len(t, encoded(t, event.Event{Body: event.HoldPut{Reason: most}}), event.MaxSize)
	_, err = event.Encode(event.Event{Body: event.HoldPut{Reason: most + "x"}})
	require.ErrorAs(t, err, &r)
	require.Contains(t, r.Error(), "65537 bytes")
}

// TestAllTextIsChecked: whichever text of whichever kind is not UTF-8, the event is refused.
func TestAllTextIsChecked(t *testing.T) {
	var spoil func(v reflect.Value, each func())
	spoil = func(v reflect.Value, each func()) {
		switch v.Kind() {
		case reflect.String:
			v.SetString("x\xff")
			each()
			v.SetString("x")
		case reflect.Struct:
			for i := range v.NumField() {
				spoil(v.Field(i), each)
			}
		case reflect.Slice:
			v.Set(reflect.MakeSlice(v.Type(), 1, 1))
			spoil(v.Index(0), each)
		case reflect.Pointer:
			v.Set(reflect.New(v.Type().Elem()))
			spoil(v.Elem(), each)
		}
	}
	texts := 0
	for _, k := range kinds() {
		typ, _ := event.TypeOf(k)
		body, head := reflect.New(typ).Elem(), event.Head{}
		check := func() {
			texts++
			_, err := event.Encode(event.Event{Head: head, Body: body.Interface().(event.Body)})
			require.Error(t, err, "%v %+v", head, body)
		}
		spoil(body, check)
		spoil(reflect.ValueOf(&head).Elem(), check)
		require.NotEmpty(t, encoded(t, event.Event{Head: head, Body: body.Interface().(event.Body)}))
	}
	require.Greater(t, texts, 200)
}

// fieldName is a field's name as the package comment writes it.
func fieldName(s string) string {
	if strings.ToUpper(s) == s {
		return strings.ToLower(s)
	}
	var out []rune
	for i, r := range s {
		if unicode.IsUpper(r) && i > 0 {
			out = append(out, ' ')
		}
		out = append(out, unicode.ToLower(r))
	}
	return string(out)
}

// TestPackageComment: the package comment lists every kind with the keys of its body.
func TestPackageComment(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	require.NoError(t, err)
	text := regexp.MustCompile(`\n//\t    `).ReplaceAllString(string(src), " ")
	_, built, ok := strings.Cut(text, "// # Kinds")
	require.True(t, ok)
	line := regexp.MustCompile(`(?m)^//\t(\d+) +([a-z ]+: .*)$`)
	got := map[string]string{}
	for _, m := range line.FindAllStringSubmatch(built, -1) {
		got[m[1]] = m[2]
	}
	want := map[string]string{}
	for _, k := range kinds() {
		typ, _ := event.TypeOf(k)
		var fields []string
		for i := range typ.NumField() {
			key, _ := keyOf(typ.Field(i))
			fields = append(fields, key+" "+fieldName(typ.Field(i).Name))
		}
		want[fmt.Sprint(uint16(k))] = k.String() + ": " + strings.Join(fields, ", ")
	}
	require.Equal(t, want, got)
}

const golden = "../../testdata/journal/v1"

// sample fills v so that each field differs from its neighbours and nothing is empty.
func sample(v reflect.Value, n *int) {
	*n++
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(int64(*n))
	case reflect.Uint8:
		v.SetUint(uint64(*n)%2 + 1)
	case reflect.Uint16, reflect.Uint64:
		v.SetUint(uint64(*n))
		if number, ok := v.Addr().Interface().(*tags.Number); ok {
			*number, _ = tags.New(tags.Bundle, 1, *n)
		}
	case reflect.String:
		v.SetString(fmt.Sprintf("t%d ñ", *n))
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		sample(v.Elem(), n)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		sample(v.Index(0), n)
		sample(v.Index(1), n)
	case reflect.Struct:
		for i := range v.NumField() {
			sample(v.Field(i), n)
		}
	}
}

// TestGolden: the events of format 1, as they were first written, are read for ever, and mean what
// they meant. A line is the kind, the stored bytes in hexadecimal, and the event as JSON. With
// -update, kinds that have no line get one; what stands there never changes.
func TestGolden(t *testing.T) {
	raw, err := os.ReadFile(golden)
	if !*update {
		require.NoError(t, err)
	}
	have := map[string]bool{}
	lines := bufio.NewScanner(bytes.NewReader(raw))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		kind, rest, _ := strings.Cut(lines.Text(), "\t")
		stored, says, _ := strings.Cut(rest, "\t")
		have[kind] = true
		b, err := hex.DecodeString(stored)
		require.NoError(t, err, kind)
		e, err := event.Decode(b)
		require.NoError(t, err, kind)
		require.Equal(t, kind, e.Body.Kind().String())
		require.Equal(t, e.Body.Kind(), event.KindOf(encoded(t, e)))
		require.Equal(t, hex.EncodeToString(encoded(t, e)), stored, kind)
		require.JSONEq(t, says, asJSON(t, e), kind)
	}
	require.NoError(t, lines.Err())
	for _, k := range kinds() {
		if have[k.String()] {
			continue
		}
		require.True(t, *update, "no stored %v in %s: run with -update", k, golden)
		n := 0
		var e event.Event
		sample(reflect.ValueOf(&e.Head).Elem(), &n)
		typ, _ := event.TypeOf(k)
		body := reflect.New(typ).Elem()
		sample(body, &n)
		e.Body = body.Interface().(event.Body)
		raw = fmt.Appendf(raw, "%v\t%x\t%s\n", k, encoded(t, e), asJSON(t, e))
	}
	if *update {
		require.NoError(t, os.MkdirAll("../../testdata/journal", 0o755))
		require.NoError(t, os.WriteFile(golden, raw, 0o644))
	}
}

func asJSON(t *testing.T, e event.Event) string {
	b, err := json.Marshal(struct {
		event.Head
		Body event.Body
	}{e.Head, e.Body})
	require.NoError(t, err)
	return string(b)
}

// FuzzDecode: what decodes encodes to the same bytes, and nothing crashes.
func FuzzDecode(f *testing.F) {
	raw, err := os.ReadFile(golden)
	require.NoError(f, err)
	for line := range strings.Lines(string(raw)) {
		_, rest, _ := strings.Cut(line, "\t")
		stored, _, _ := strings.Cut(rest, "\t")
		b, err := hex.DecodeString(stored)
		require.NoError(f, err)
		f.Add(b)
	}
	f.Add([]byte{1, 0xa0})
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := event.Decode(b)
		if err != nil {
			require.Zero(t, e)
			return
		}
		if event.Exact(b) == nil {
			require.Equal(t, b, encoded(t, e))
		}
	})
}
