package pages

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
)

// No text of the pages is missing in either language, none stands twice, and all are in order.
func TestWords(t *testing.T) {
	rows, err := csv.NewReader(bytes.NewReader(wordsFile)).ReadAll()
	require.NoError(t, err)
	require.Equal(t, wordsHead, rows[0])
	for i, r := range rows[1:] {
		require.NotEmpty(t, r[1], r[0])
		require.NotEmpty(t, r[2], r[0])
		if i > 0 {
			require.Less(t, rows[i][0], r[0], "the rows are sorted, and none stands twice")
		}
	}
}

// A foreman corrects words and sentences in one file; the rest stays as it was.
func TestAPlantsOwnWords(t *testing.T) {
	w, err := ReadWords(strings.NewReader("\ufeffwhat,English,Spanish\nready,Go ahead,Adelante\nsays cut done,{1|# piece|# pieces} of {0} {1|is|are} off the shear.,{1} piezas de {0} salieron de la cizalla.\n"))
	require.NoError(t, err)
	p := &pages{opt: Options{Words: w}}
	require.Equal(t, "Adelante", p.word(scan.Spanish, "ready"))
	require.Equal(t, "Accepted", p.word(scan.English, "accepted"))
	n := event.Note{Code: "cut done", Args: []string{"4F207", "20", "bend"}}
	require.Equal(t, sentence{"20 pieces of 4F207 are off the shear.", "Next: bend."}, p.say(n, scan.English))
	require.Equal(t, sentence{"20 piezas de 4F207 salieron de la cizalla.", "Sigue: doblar."}, p.say(n, scan.Spanish))

	// What is written is read back, all of it.
	var all bytes.Buffer
	require.NoError(t, w.WriteWords(&all))
	again, err := ReadWords(&all)
	require.NoError(t, err)
	require.Equal(t, text{"Go ahead", "Adelante"}, again["ready"])
	require.Len(t, again, len(ours))
}

func TestWordsThatCannotBe(t *testing.T) {
	for file, says := range map[string]string{
		"":                                   "the first row must be what,English,Spanish",
		"a,b\n":                              "the first row must be what,English,Spanish",
		"what,English,Spanish\nreedy,a,b\n":  `row 2: no page says "reedy"; tagd words prints all that they say`,
		"what,English,Spanish\nready,,b\n":   `row 2: "ready" has no text in English`,
		"what,English,Spanish\n\nready,a,\n": `row 3: "ready" has no text in Spanish`,
		"what,English,Spanish\nsays cut done,{0} is cut,{0} y {1}\n": `row 2: English of "says cut done" must have the gaps {0} {1}`,
		"what,English,Spanish\nready,a\n":                            "wrong number of fields",
	} {
		_, err := ReadWords(strings.NewReader(file))
		require.ErrorContains(t, err, says, file)
	}
}

// Nothing that a file of words holds makes reading it fall over, and what it takes keeps every gap.
func FuzzReadWords(f *testing.F) {
	f.Add("what,English,Spanish\nready,Go,Ya\n")
	f.Add("what,English,Spanish\nsays cut done,{0} {1},{1} {0}\n")
	f.Fuzz(func(t *testing.T, file string) {
		w, err := ReadWords(strings.NewReader(file))
		if err != nil {
			return
		}
		for what, says := range w {
			for i := range says {
				if !slices.Equal(gaps(says[i]), gaps(ours[what][i])) {
					t.Fatalf("%q: %q", what, says[i])
				}
			}
		}
	})
}
