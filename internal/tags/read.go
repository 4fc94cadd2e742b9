package tags

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
)

// MaxScan is the most bytes that one scan can have. The largest QR code holds 7089 digits.
const MaxScan = 8192

// ErrTwoNumbers is the error of a text that holds two different numbers of ours.
var ErrTwoNumbers = errors.New("two different tag numbers in one scan")

// Scan is what one scan said. At most one of Number and Mill is set; when neither is, Text is plain
// and may be an alias, a heat or a bundle number of somebody else.
type Scan struct {
	Symbology string // the identifier by ISO/IEC 15424, such as "]C0"; empty if the scanner sent none
	Number    Number
	Tag       *Tag     // what our QR code said besides the number
	Mill      *MillTag // a mill's data
	// Text is the scan without its symbology identifier and the blanks and line ends around it. It
	// is set whatever was found. A bare field like T4567 is both a data identifier with a value and
	// a possible heat number: who looks things up tries Text first.
	Text string
	// Garbled says that Number was found in a text that did not arrive as it was printed, so that
	// nothing else in it can be relied on.
	Garbled bool
}

// Wedge tells what a scanner types for the control characters that ISO/IEC 15434 uses and that a
// keyboard does not have. Empty means that it sends the character itself.
type Wedge struct {
	GS  string // between fields
	RS  string // between formats
	EOT string // at the end
}

// Read understands what a scanner typed that sends control characters as they are.
func Read(s string) (Scan, error) { return Wedge{}.Read(s) }

// Read understands what a scanner typed, where the mills follow a standard.
func (w Wedge) Read(s string) (Scan, error) { return Reader{Wedge: w}.Read(s) }

// Read understands what a scanner typed: a number of ours, our QR text, a mill's data by standard,
// then what the first pattern that fits says, then a number of ours in a spoiled text. One bare
// field that names neither heat nor bundle gives way to a pattern, for any text may begin with a few
// letters that are a data identifier. A pattern sees GS, RS and EOT whatever the scanner types for
// them. With an error, the Scan still holds Symbology and Text, so
// that a code of somebody else that looks like a mistyped number of ours can be looked up before it
// is refused. Errors are sentences for the person who scanned: a *NumberError for a number that is
// wrong, ErrTwoNumbers (wrapped), or what else is wrong with the text.
func (r Reader) Read(s string) (Scan, error) {
	if len(s) > MaxScan {
		return Scan{}, fmt.Errorf("the scan has %d characters: at most %d are read", len(s), MaxScan)
	}
	if !utf8.ValidString(s) {
		return Scan{}, errors.New("the scan is not valid text: the scanner must send UTF-8")
	}
	var scan Scan
	scan.Symbology, scan.Text = cutSymbology(strings.TrimSpace(s))
	scan.Text = strings.TrimSpace(scan.Text)
	text := scan.Text
	if text == "" {
		return scan, errors.New("nothing was scanned")
	}
	n, numberErr := ParseNumber(text)
	if numberErr == nil {
		scan.Number = n
		return scan, nil
	}
	if _, t, err := Parse(text); err == nil {
		scan.Number, scan.Tag = t.Number, &t
		return scan, nil
	}
	// Caps Lock turns every letter of our text, which are all capitals, into a small one; a browser
	// does it to the host alone.
	if _, t, err := Parse(strings.ToUpper(text)); err == nil {
		scan.Number, scan.Tag, scan.Garbled = t.Number, &t, true
		return scan, nil
	}
	data := r.Wedge.restore(text)
	var envelopeErr error
	if strings.HasPrefix(data, envelope) {
		scan.Mill, envelopeErr = readEnvelope(data)
	} else {
		scan.Mill = readBare(data)
	}
	if m := scan.Mill; m == nil || len(m.Fields) == 1 && m.Heat == "" && m.Bundle == "" {
		if m := r.byPattern(data); m != nil {
			scan.Mill = m
			return scan, nil
		}
	}
	if scan.Mill != nil || envelopeErr != nil {
		return scan, envelopeErr
	}
	n, err := FindNumber(text)
	switch {
	case err == nil:
		scan.Number, scan.Garbled = n, true
		return scan, nil
	case errors.Is(err, ErrTwoNumbers):
		return scan, err
	case !errors.Is(numberErr, ErrNotNumber):
		return scan, numberErr
	}
	return scan, nil
}

// restore puts back the control characters that the scanner types otherwise.
func (w Wedge) restore(s string) string {
	for _, sub := range []struct{ typed, meant string }{{w.GS, groupSep}, {w.RS, recordSep}, {w.EOT, endMark}} {
		if sub.typed != "" {
			s = strings.ReplaceAll(s, sub.typed, sub.meant)
		}
	}
	return s
}

// cutSymbology takes the symbology identifier of ISO/IEC 15424 off the front: ], a letter, and a
// letter or digit. No text of ours begins with ].
func cutSymbology(s string) (symbology, rest string) {
	if len(s) < 3 || s[0] != ']' || !letter(s[1]) || !letter(s[2]) && !digit(s[2]) {
		return "", s
	}
	return s[:3], s[3:]
}

func letter(c byte) bool { return c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' }
func digit(c byte) bool  { return c >= '0' && c <= '9' }

// FindNumber finds the one number of ours within a text, whatever stands around it: 14 digits with
// no digit before or after, or the groups of the shown form with one character between them. When a
// keyboard layout has spoiled the ] of a symbology identifier, its digit stands before the 14 and is
// passed over. No number is ErrNotNumber, two different ones are ErrTwoNumbers, both wrapped.
func FindNumber(s string) (Number, error) {
	var runs [][2]int
	for i := 0; i < len(s); i++ {
		if !digit(s[i]) {
			continue
		}
		start := i
		for i < len(s) && digit(s[i]) {
			i++
		}
		runs = append(runs, [2]int{start, i})
	}
	var found Number
	two := false
	try := func(text string) {
		n, err := ParseNumber(text)
		if err != nil || n == found {
			return
		}
		two = two || found != 0
		found = n
	}
	groups := [...]int{1, 3, 8, 2}
	for i, run := range runs {
		switch length := run[1] - run[0]; {
		case length == digits:
			try(s[run[0]:run[1]])
		case length == digits+1 && i == 0 && spoiledSymbology(s[:run[0]]):
			try(s[run[0]+1 : run[1]])
		case length == groups[0] && i+len(groups) <= len(runs):
			text, whole := s[run[0]:run[1]], true
			for j := 1; j < len(groups); j++ {
				last, next := runs[i+j-1], runs[i+j]
				whole = whole && next[1]-next[0] == groups[j] && utf8.RuneCountInString(s[last[1]:next[0]]) == 1
				text += s[next[0]:next[1]]
			}
			if whole {
				try(text)
			}
		}
	}
	switch {
	case two:
		return 0, fmt.Errorf("%w: scan one tag at a time", ErrTwoNumbers)
	case found == 0:
		return 0, &NumberError{Text: shorten(s), Says: fmt.Sprintf("%q holds no tag number", shorten(s)), Err: ErrNotNumber}
	}
	return found, nil
}

// spoiledSymbology says whether s, all that stands before the digits, can be what is left of the ]
// and the letter of a symbology identifier.
func spoiledSymbology(s string) bool {
	return s != "" && letter(s[len(s)-1]) && utf8.RuneCountInString(s) <= 2
}
