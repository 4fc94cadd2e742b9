package pages

import (
	"io/fs"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every text that a template names by itself stands in the table of words, and so does every noun that is counted.
func TestTemplatesSayWhatTheTableHas(t *testing.T) {
	said := regexp.MustCompile(`\bt (?:\$lang|\.Lang|\$\.Lang|\.|"en"|"es") "([^"]+)"`)
	many := regexp.MustCompile(`\b(?:counted|figures) (?:\$lang|\.Lang) (?:\([^)]*\)|\S+) "([^"]+)"`)
	pages, err := fs.Glob(files, "templates/*.html")
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	for _, page := range pages {
		text, err := files.ReadFile(page)
		require.NoError(t, err)
		for _, m := range said.FindAllSubmatch(text, -1) {
			require.Contains(t, ours, string(m[1]), page)
		}
		for _, m := range many.FindAllSubmatch(text, -1) {
			require.Contains(t, ours, "many "+string(m[1]), page)
		}
	}
}

func TestACountAsksForItsForm(t *testing.T) {
	p := &pages{}
	require.Equal(t, "1 bundle", p.speak("en").counted(1, "bundles"))
	require.Equal(t, "0 bundles", p.speak("en").counted(0, "bundles"))
	require.Equal(t, "1 barra", p.speak("es").counted(1, "bars"))
	require.Equal(t, "46 barras", p.speak("es").counted(46, "bars"))
	require.Equal(t, `1 <span class="u">barra</span>`, string(figure(p.speak("es").counted(1, "bars"))))
}
