package scan_test

import (
	"reflect"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// TestTell: every kind of event is told in both languages, with nothing of it left unfilled, be all of its
// body filled in or none.
func TestTell(t *testing.T) {
	count := 0
	for k := event.Kind(0); k < 256; k++ {
		of, ok := event.TypeOf(k)
		if !ok {
			continue
		}
		count++
		for _, full := range []bool{false, true} {
			v := reflect.New(of).Elem()
			if full {
				fillBody(v)
			}
			e := event.Event{Body: v.Interface().(event.Body)}
			english, spanish := scan.Tell(e, scan.English, bar.Imperial), scan.Tell(e, scan.Spanish, bar.Imperial)
			for _, text := range []string{english, spanish} {
				require.Regexp(t, `\.$`, text, "%v", k)
				require.NotRegexp(t, `[\[\]{}]|<nil>|invalid`, text, "%v", k)
				require.NotEqual(t, k.String(), text)
			}
			if full {
				require.NotEqual(t, english, spanish, "%v is not translated", k)
				require.Equal(t, numbersOf(english), numbersOf(spanish), "%v: %s / %s", k, english, spanish)
			}
		}
	}
	require.Greater(t, count, 60)
}

func numbersOf(s string) []string {
	out := regexp.MustCompile(`\d-\d{3}-\d{8}-\d\d`).FindAllString(s, -1)
	slices.Sort(out)
	return out
}

// fillBody fills in all fields, so that nothing is left out.
func fillBody(v reflect.Value) {
	switch v.Interface().(type) {
	case tags.Number:
		n, _ := tags.New(tags.Bundle, 1, 7)
		v.Set(reflect.ValueOf(n))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			fillBody(v.Field(i))
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range 2 {
			fillBody(v.Index(i))
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fillBody(v.Elem())
	case reflect.String:
		v.SetString("x")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64, reflect.Int16, reflect.Int8, reflect.Int32:
		v.SetInt(3)
	case reflect.Uint64, reflect.Uint8, reflect.Uint16, reflect.Uint32:
		v.SetUint(3)
	}
}

func TestTellSays(t *testing.T) {
	lot, rest := number(tags.Stock, 1), number(tags.Bundle, 9)
	e := event.Event{Body: event.CutDone{
		Bundle: number(tags.Bundle, 1), Pieces: 12, Asked: 20, Rest: rest, Owed: 8,
		Closed: &event.RunClosed{Draws: []event.Draw{{Lot: lot, Bars: 3}}, Scrap: bar.Foot},
	}}
	require.Equal(t, "1-001-00000001-31: 12 pieces cut, of 20; the other 8 are 1-001-00000009-07; the run closed: 3 x 2-001-00000001-16, scrap 1'-0\".", scan.Tell(e, scan.English, bar.Imperial))
	require.Equal(t, "Empezó doblar en B1.", scan.Tell(event.Event{Body: event.StepStarted{Station: "B1", Step: "bend"}}, scan.Spanish, bar.Imperial))
}
