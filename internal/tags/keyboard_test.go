package tags

import (
	"maps"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestReadTest(t *testing.T) {
	for _, tt := range []struct {
		name, typed string
		want        Typed
	}{
		{"as it should", TestText, Typed{Known: true}},
		{"with what scanners add", "]C0" + TestText + "\r\n", Typed{Known: true, Prefix: "]C0"}},
		{"Tab behind it", TestText + "\t", Typed{Known: true, Suffix: "\t"}},
		{"Caps Lock", "tagd:yz/aq-wm.$%*1234567890", Typed{Known: true, Caps: true}},
		{"German", "+Q1TAGDÖZY-AQßWM.$%(1234567890", Typed{Known: true, Layout: "German", Prefix: "]Q1"}},
		{"Spanish", "TAGDÑYZ-AQ'WM.$%(1234567890", Typed{Known: true, Layout: "Spanish"}},
		{"Spanish with Caps Lock", "tagdñyz-aq'wm.$%(1234567890", Typed{Known: true, Layout: "Spanish", Caps: true}},
		{"French", "TQGDMYW!QA)Z?:458&é\"'(-è_çà", Typed{Known: true, Layout: "French"}},
		{"a tag", "10010000004205", Typed{}},
		{"nothing", "", Typed{}},
	} {
		require.Equal(t, tt.want, ReadTest(tt.typed), tt.name)
	}
}

// Every keyboard types the test in a way of its own, with and without Caps Lock: one of them is named.
func TestKeyboardsDiffer(t *testing.T) {
	seen := map[string]string{TestText: "US"}
	for _, k := range Keyboards {
		typed := k.types(TestText)
		require.NotContains(t, seen, typed, "%s and %s", k.Name, seen[typed])
		seen[typed] = k.Name
		require.Equal(t, Typed{Known: true, Layout: k.Name}, ReadTest(typed))
		require.NotContains(t, typed, "]", "a dead key within the test would spoil it: %s", k.Name)
	}
}

// The tables are those of the X Keyboard Extension, where the machine has them.
func TestKeyboardsAsInXKB(t *testing.T) {
	const folder = "/usr/share/X11/xkb/symbols/"
	if _, err := os.Stat(folder + "de"); err != nil {
		if os.Getenv("TAGD_PEERS") == "1" {
			t.Fatal("xkb-data, which comes with Chromium, is not installed")
		}
		t.Skip("xkb-data is not installed")
	}
	us := xkb(t, folder, "us", "basic")
	files := map[string]string{"German": "de", "Swiss": "ch", "Spanish": "es", "Italian": "it", "Portuguese": "pt", "Brazilian": "br",
		"Canadian French": "ca", "French": "fr", "Belgian": "be"}
	names := map[string]string{"exclam": "!", "at": "@", "numbersign": "#", "percent": "%", "minus": "-", "plus": "+", "equal": "=", "quotedbl": `"`,
		"apostrophe": "'", "parenleft": "(", "parenright": ")", "ampersand": "&", "underscore": "_", "semicolon": ";", "colon": ":", "comma": ",",
		"period": ".", "slash": "/", "question": "?", "bracketleft": "[", "bracketright": "]", "asterisk": "*", "dollar": "$", "sterling": "£",
		"section": "§", "ssharp": "ß", "odiaeresis": "ö", "Odiaeresis": "Ö", "ntilde": "ñ", "Ntilde": "Ñ", "periodcentered": "·", "ograve": "ò",
		"ccedilla": "ç", "Ccedilla": "Ç", "eacute": "é", "egrave": "è", "agrave": "à"}
	sign := func(s string) string {
		if strings.HasPrefix(s, "dead_") {
			return ""
		}
		if n, ok := names[s]; ok {
			return n
		}
		return s
	}
	different := map[rune]bool{}
	for _, c := range TestText + "]" {
		different[c] = true
	}
	for _, k := range Keyboards {
		is := xkb(t, folder, files[k.Name], "")
		compared := 0
		for key, meant := range us {
			for level, c := range meant {
				c = sign(c)
				if r := []rune(c); len(r) == 1 && strings.ContainsRune(TestText+"]", r[0]) && level < len(is[key]) {
					require.Equal(t, sign(is[key][level]), k.types(c), "%s for %s", k.Name, c)
					compared++
				}
			}
		}
		require.Equal(t, len(different), compared, k.Name)
	}
}

var (
	xkbComment = regexp.MustCompile(`//.*`)
	xkbBlock   = regexp.MustCompile(`(?s)((?:\w+\s+)*)xkb_symbols\s+"([^"]+)"\s*\{(.*?)\n\};`)
	xkbEntry   = regexp.MustCompile(`include\s+"([^"(]+)(?:\(([^)]+)\))?"|key\s+<(\w+)>\s*\{[^\[}]*\[([^\]]*)\]`)
)

// xkb reads the two lower levels of a layout: what each key types alone and with Shift. The variant "" is the
// file's default.
func xkb(t *testing.T, folder, file, variant string) map[string][]string {
	text, err := os.ReadFile(folder + file)
	require.NoError(t, err)
	keys := map[string][]string{}
	plain := strings.ReplaceAll(xkbComment.ReplaceAllString(string(text), ""), "[Group1]", "")
	for _, block := range xkbBlock.FindAllStringSubmatch(plain, -1) {
		if block[2] != variant && (variant != "" || !strings.Contains(block[1], "default")) {
			continue
		}
		for _, e := range xkbEntry.FindAllStringSubmatch(block[3], -1) {
			if _, err := os.Stat(folder + e[1]); e[1] != "" && err == nil {
				maps.Copy(keys, xkb(t, folder, e[1], e[2]))
			} else if e[3] != "" {
				levels := strings.Split(e[4], ",")
				for i := range levels {
					levels[i] = strings.TrimSpace(levels[i])
				}
				keys[e[3]] = levels[:min(2, len(levels))]
			}
		}
		return keys
	}
	return keys
}
