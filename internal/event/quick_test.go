package event

import (
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// written are the events of the first golden journal, as they were written.
func written(t testing.TB) (out [][]byte) {
	raw, err := os.ReadFile("../../testdata/journal/v1")
	require.NoError(t, err)
	for line := range strings.Lines(string(raw)) {
		_, rest, _ := strings.Cut(line, "\t")
		stored, _, _ := strings.Cut(rest, "\t")
		b, err := hex.DecodeString(stored)
		require.NoError(t, err)
		out = append(out, b)
	}
	require.NotEmpty(t, out)
	return out
}

// TestQuick: every kind is read by hand, and not only by the CBOR decoder, whose word both follow.
func TestQuick(t *testing.T) {
	for _, b := range written(t) {
		got, ok := quick(b[1:])
		require.True(t, ok, "%x", b)
		var want envelope
		require.NoError(t, decode(b[1:], &want))
		require.Equal(t, want, got)
	}
}

// TestQuickLeaves: what encode does not write is left to the CBOR decoder.
func TestQuickLeaves(t *testing.T) {
	for name, stored := range map[string]string{
		"nothing":               "",
		"no body":               "a20101021864",
		"not the shortest":      "a3010102180a0aa0",
		"not the shortest of 2": "a30101021900ff0aa0",
		"not the shortest of 4": "a30101021a0000ffff0aa0",
		"not the shortest of 8": "a30101021b00000000ffffffff0aa0",
		"without an end":        "bf010102000aa0ff",
		"out of order":          "a3020001010aa0",
		"twice the same":        "a40101020002000aa0",
		"a key of none":         "a40101020018630a0aa0",
		"more behind it":        "a3010102000aa000",
		"less than it says":     "a3010102000aa1",
		"kind too large":        "a31a0001000002000aa0",
		"not UTF-8":             "a401010200054180" + "0aa0",
		"text not UTF-8":        "a401010200056180" + "0aa0",
		"null":                  "a4010102000af605f6",
		"nobody":                "a401010200068" + "00aa0",
		"no verdict":            "a4010102000aa00b80",
		"no such sentence":      "a4010102000aa00b820081191000",
		"no such number":        "a4010102000aa00b820082001863",
		"much too many":         "a3010102000a9bffffffffffffffff",
	} {
		b, err := hex.DecodeString(stored)
		require.NoError(t, err, name)
		_, ok := quick(b)
		require.False(t, ok, name)
	}
}

// FuzzQuick: what is read by hand is just what the CBOR decoder reads.
func FuzzQuick(f *testing.F) {
	for _, b := range written(f) {
		f.Add(b[1:])
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		got, ok := quick(b)
		if !ok {
			return
		}
		var want envelope
		require.NoError(t, decode(b, &want))
		require.Equal(t, want, got)
	})
}

func BenchmarkDecode(b *testing.B) {
	all := written(b)
	b.ReportAllocs()
	for i := range b.N {
		if _, err := Decode(all[i%len(all)]); err != nil {
			b.Fatal(err)
		}
	}
}
