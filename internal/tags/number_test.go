package tags

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The worked example of ISO/IEC 7064, MOD 97-10: 794 gets 44, and 79444 leaves 1.
func TestMod97WorkedExample(t *testing.T) {
	require.EqualValues(t, 44, mod97(794))
	require.EqualValues(t, 1, 79444%97)
}

func TestNew(t *testing.T) {
	for _, c := range []struct {
		kind          Kind
		plant, serial int
		digits, shown string
	}{
		// Check digits computed with another language's integers: 98 - 100 n mod 97.
		{Bundle, 1, 42, "10010000004205", "1-001-00000042-05"},
		{Bundle, 1, 1, "10010000000131", "1-001-00000001-31"},
		{Person, 999, 99_999_999, "69999999999993", "6-999-99999999-93"},
	} {
		n, err := New(c.kind, c.plant, c.serial)
		require.NoError(t, err)
		require.Equal(t, c.digits, n.Digits())
		require.Equal(t, c.shown, n.String())
		require.Equal(t, c.kind, n.Kind())
		require.Equal(t, c.plant, n.Plant())
		require.Equal(t, c.serial, n.Serial())
		require.True(t, n.Valid())
	}
}

func TestNewRefuses(t *testing.T) {
	for _, c := range []struct {
		kind          Kind
		plant, serial int
		want          error
	}{
		{0, 1, 1, ErrKind},
		{7, 1, 1, ErrKind},
		{Bundle, 0, 1, ErrOutOfRange},
		{Bundle, 1000, 1, ErrOutOfRange},
		{Bundle, 1, 0, ErrOutOfRange},
		{Bundle, 1, -1, ErrOutOfRange},
		{Bundle, 1, 100_000_000, ErrOutOfRange},
	} {
		n, err := New(c.kind, c.plant, c.serial)
		require.ErrorIs(t, err, c.want)
		require.Zero(t, n)
	}
}

func TestParseNumberRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		want error
	}{
		{"", ErrNotNumber},
		{"1001000000420", ErrNotNumber},
		{"100100000042050", ErrNotNumber},
		{"1-001-00000042-5", ErrNotNumber},
		{"1-001-0000004-205", ErrNotNumber},
		{"1001-00000042-05-", ErrNotNumber},
		{"1_001_00000042_05", ErrNotNumber},
		{" 10010000004205", ErrNotNumber},
		{"10010000004205\n", ErrNotNumber},
		{"+1001000000420", ErrNotNumber},
		{"１0010000004205", ErrNotNumber},
		{"10010000004206", ErrMistyped},
		{"1-001-00000043-05", ErrMistyped},
		{"00010000004205", ErrKind},
		{"70010000004205", ErrKind},
		{fmt.Sprintf("100000000042%02d", mod97(100000000042)), ErrOutOfRange},
		{fmt.Sprintf("100100000000%02d", mod97(100100000000)), ErrOutOfRange},
		// 00, 01 and 99 are never check digits, though 97, 98 and 02 leave the same remainder.
		{"10010000001101", ErrMistyped},
		{"10010000007600", ErrMistyped},
		{"10010000004399", ErrMistyped},
	} {
		n, err := ParseNumber(c.text)
		require.ErrorIs(t, err, c.want, "%q", c.text)
		require.Zero(t, n)
		var numberErr *NumberError
		require.True(t, errors.As(err, &numberErr))
		require.Equal(t, c.text, numberErr.Text)
	}
}

func anyNumber(t *rapid.T) Number {
	n, err := New(Kind(rapid.IntRange(1, 6).Draw(t, "kind")), rapid.IntRange(1, MaxPlant).Draw(t, "plant"), rapid.IntRange(1, MaxSerial).Draw(t, "serial"))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// Every wrong digit in every place, and every two digits that change places, of each drawn number.
func TestMistypedIsRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right := anyNumber(t).Digits()
		try := func(b []byte) {
			if n, err := ParseNumber(string(b)); err == nil || n != 0 || Number(atoi(b)).Valid() {
				t.Fatalf("%s was taken for %s", b, right)
			}
		}
		for i := range right {
			for c := byte('0'); c <= '9'; c++ {
				if c != right[i] {
					b := []byte(right)
					b[i] = c
					try(b)
				}
			}
			for j := i + 1; j < len(right); j++ {
				if right[i] != right[j] {
					b := []byte(right)
					b[i], b[j] = b[j], b[i]
					try(b)
				}
			}
		}
	})
}

func atoi(b []byte) (n uint64) {
	for _, c := range b {
		n = n*10 + uint64(c-'0')
	}
	return n
}

func TestNumberAsText(t *testing.T) {
	type row struct {
		N Number `json:"n"`
	}
	n, err := New(Load, 12, 345)
	require.NoError(t, err)
	text, err := json.Marshal([]row{{n}, {}})
	require.NoError(t, err)
	require.JSONEq(t, `[{"n":"4-012-00000345-64"},{"n":""}]`, string(text))
	var back []row
	require.NoError(t, json.Unmarshal(text, &back))
	require.Equal(t, []row{{n}, {}}, back)
	_, err = Number(17).MarshalText()
	require.ErrorIs(t, err, ErrNotNumber)
	require.ErrorIs(t, json.Unmarshal([]byte(`[{"n":"4-012-00000345-65"}]`), &back), ErrMistyped)
	require.Empty(t, Number(0).String())
	require.False(t, Number(0).Valid())
	require.Equal(t, "kind 9", Kind(9).String())
	require.Equal(t, "stock", Stock.String())
	require.Zero(t, Number(1<<63).Kind())
	require.False(t, Number(1<<63).Valid())
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"10010000004205", "1-001-00000042-05", "1-001-00000042-5", "69999999999993", "10010000004206", "", "99999999999999999999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := ParseNumber(s)
		if err != nil {
			require.Zero(t, n)
			require.NotEmpty(t, err.Error())
			return
		}
		require.True(t, n.Valid())
		if s != n.Digits() {
			require.Equal(t, n.String(), s)
		}
	})
}
