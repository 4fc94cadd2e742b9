package tags

import (
	"strings"
	"unicode"
)

// TestText is what the symbols of a scanner's test say: characters that keyboards of the world have in different
// places, between digits and letters of ours. QR's alphanumeric mode has all of them, and so has Code 128.
const TestText = "TAGD:YZ/AQ-WM.$%*1234567890"

// Keyboard is where a layout has what a scanner types for a US keyboard: for each character that it means, what
// comes instead. What is not named comes as it was meant; "" is a dead key, which waits for the next one.
type Keyboard struct {
	Name string
	Is   map[rune]string
}

// Keyboards are the layouts that a scanner's test tells apart, from the tables of the X Keyboard Extension
// (xkeyboard-config, symbols de, ch, es and latam, it, pt, br, ca, fr, be). A British one has all that a tag needs
// where a US one has it.
var Keyboards = []Keyboard{
	{"German", map[rune]string{'*': "(", '-': "ß", 'Y': "Z", 'Z': "Y", ']': "+", ':': "Ö", '/': "-"}},
	{"Swiss", map[rune]string{'$': "ç", '*': "(", '-': "'", 'Y': "Z", 'Z': "Y", ']': "", ':': "é", '/': "-"}},
	{"Spanish", map[rune]string{'*': "(", '-': "'", ']': "+", ':': "Ñ", '/': "-"}},
	{"Italian", map[rune]string{'*': "(", '-': "'", ']': "+", ':': "ç", '/': "-"}},
	{"Portuguese", map[rune]string{'*': "(", '-': "'", ']': "", ':': "Ç", '/': "-"}},
	{"Brazilian", map[rune]string{']': "[", ':': "Ç", '/': ";"}},
	{"Canadian French", map[rune]string{']': "", '/': "é"}},
	{"French", azerty('6', "-", '8', "_", '/', "!")},
	{"Belgian", azerty('6', "§", '8', "!", '/', "=")},
}

// azerty is a French keyboard, on which digits need Shift, with what differs from country to country.
func azerty(more ...any) map[rune]string {
	is := map[rune]string{'1': "&", '2': "é", '3': `"`, '4': "'", '$': "4", '5': "(", '%': "5", '7': "è", '*': "8", '9': "ç", '0': "à", '-': ")",
		'Q': "A", 'A': "Q", 'Z': "W", 'W': "Z", ':': "M", 'M': "?", '.': ":", ']': "$"}
	for i := 0; i < len(more); i += 2 {
		is[more[i].(rune)] = more[i+1].(string)
	}
	return is
}

// types is what comes of a text.
func (k Keyboard) types(text string) string {
	var b strings.Builder
	for _, c := range text {
		if is, ok := k.Is[c]; ok {
			b.WriteString(is)
		} else {
			b.WriteRune(c)
		}
	}
	return b.String()
}

// Typed is what a scanner's test found.
type Typed struct {
	Known  bool   // the test text came, as one of the keyboards types it
	Layout string // the keyboard that the computer is set to; "" is US, as scanners type
	// Caps says that Caps Lock turns capitals and small letters round.
	Caps bool
	// Prefix and Suffix are what came before and after it, as the scanner meant them.
	Prefix, Suffix string
}

// ReadTest understands what a scanner typed for TestText.
func ReadTest(typed string) Typed {
	typed = strings.TrimRight(typed, "\r\n")
	for _, k := range append([]Keyboard{{}}, Keyboards...) {
		for _, caps := range []bool{false, true} {
			want := k.types(TestText)
			if caps { // it turns the letters that come
				want = turned(want)
			}
			before, after, ok := strings.Cut(typed, want)
			if !ok {
				continue
			}
			return Typed{Known: true, Layout: k.Name, Caps: caps, Prefix: k.meant(before), Suffix: k.meant(after)}
		}
	}
	return Typed{}
}

// meant turns what came into what was typed for it. Of a dead key nothing came.
func (k Keyboard) meant(came string) string {
	was := map[string]rune{}
	for c, is := range k.Is {
		if is != "" {
			was[is] = c
		}
	}
	return strings.Map(func(c rune) rune {
		if m, ok := was[string(c)]; ok {
			return m
		}
		return c
	}, came)
}

// turned is a text with Caps Lock on.
func turned(text string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsUpper(c) {
			return unicode.ToLower(c)
		}
		return unicode.ToUpper(c)
	}, text)
}
