package pages

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/scan"
)

func TestFigures(t *testing.T) {
	for text, want := range map[string]string{
		`12'-7 1/2"`: `<span class="vh">12 feet 7 1/2 inches</span><span class="nowrap" aria-hidden="true">12′-7<span class="fr"><i>1</i><i>2</i></span>″</span>`,
		`60'-0"`:     `<span class="vh">60 feet 0 inches</span><span class="nowrap" aria-hidden="true">60′-0″</span>`,
		`1/2"`:       `<span class="vh">1/2 inches</span><span class="nowrap" aria-hidden="true"><span class="fr"><i>1</i><i>2</i></span>″</span>`,
		`8"`:         `<span class="vh">8 inches</span><span class="nowrap" aria-hidden="true">8″</span>`,
	} {
		l, err := bar.ParseLength(text)
		require.NoError(t, err)
		require.Equal(t, want, string(bigLength(scan.English, l, bar.Imperial)), text)
	}
	l, err := bar.ParseLength("3850 mm")
	require.NoError(t, err)
	require.Equal(t, `<span class="nowrap">3850 <span class="u">mm</span></span>`, string(bigLength(scan.Spanish, l, bar.Metric)))
	st, err := bar.ParseSteel("#5", "A706", "60", "")
	require.NoError(t, err)
	require.Equal(t, `#5 <span class="stack"><i>A706</i><i>60</i></span>`, string(bigSteel(st)))
}
