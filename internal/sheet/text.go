package sheet

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// magics are the first bytes of files that people take for sheets, and what to do with them: %[1]s is
// what is wanted, %[2]s the formats it is taken in. They are the published signatures of those formats
// (from memory).
var magics = []struct{ bytes, says string }{
	{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "this is an old XLS workbook or one with a password: save it as XLSX without a password"},
	{"%PDF", "this is a PDF, a picture of a %[1]s: ask for the %[1]s as %[2]s"},
	{"\x89PNG", "this is a picture: ask for the %[1]s as %[2]s"},
	{"\xff\xd8\xff", "this is a picture: ask for the %[1]s as %[2]s"},
	{"\x1f\x8b", "this is a gzip archive: unpack it and give the %[1]s in it"},
	{"<", "this is a page or an XML document: save the %[1]s as CSV or XLSX"},
	{"{", "this is a JSON document: save the %[1]s as CSV or XLSX"},
}

// sniff tells whether the file may be a text of rows. For false it has reported why it is none.
func (f *Form) sniff(data []byte, r *Report) bool {
	text := bytes.TrimLeft(bytes.TrimPrefix(data, []byte(utf8BOM)), " \t\r\n")
	if len(text) == 0 {
		r.Fault(0, "", "the file is empty")
		return false
	}
	for _, m := range magics {
		if bytes.HasPrefix(text, []byte(m.bytes)) {
			r.Fault(0, "", "%s", f.worded(m.says))
			return false
		}
	}
	return true
}

// worded puts what is wanted, and the formats it is taken in, into a sentence.
func (f *Form) worded(says string) string {
	return strings.NewReplacer("%[1]s", f.What, "%[2]s", f.Formats).Replace(says)
}

const (
	utf8BOM    = "\xef\xbb\xbf"
	utf16LEBOM = "\xff\xfe"
	utf16BEBOM = "\xfe\xff"
)

// decode gives the text of a text file without its byte order mark: UTF-8, or UTF-16 that begins
// with the mark. Anything else is refused with the place of the first byte that does not fit; a
// guess would turn the names of people and places into other names.
func (f *Form) decode(data []byte, r *Report) (string, bool) {
	switch {
	case bytes.HasPrefix(data, []byte(utf16LEBOM)), bytes.HasPrefix(data, []byte(utf16BEBOM)):
		// The decoder writes U+FFFD for what is no character, which no sheet holds.
		text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if at := bytes.IndexRune(text, utf8.RuneError); err != nil || at >= 0 {
			r.Fault(rowOf(text, at), "", "the file begins as UTF-16 but is broken here: save it as UTF-8")
			return "", false
		}
		return f.clean(text, r)
	case bytes.HasPrefix(data, []byte(utf8BOM)):
		data = data[len(utf8BOM):]
	}
	for at := 0; at < len(data); {
		char, n := utf8.DecodeRune(data[at:])
		if char == utf8.RuneError && n <= 1 {
			as := charmap.Windows1252.DecodeByte(data[at])
			r.Fault(rowOf(data, at), "", "byte %#02x is not UTF-8 (in a western Windows file it would be %q): save the file as UTF-8, in spreadsheet programs \"CSV UTF-8\"",
				data[at], as)
			return "", false
		}
		at += n
	}
	return f.clean(data, r)
}

// clean refuses text with a NUL, which no text has: it is UTF-16 without its mark, or no text.
func (f *Form) clean(text []byte, r *Report) (string, bool) {
	if at := bytes.IndexByte(text, 0); at >= 0 {
		r.Fault(rowOf(text, at), "", "%s", f.worded("this is not a text file in UTF-8 (it holds a zero byte): save the %[1]s in UTF-8, as %[2]s"))
		return "", false
	}
	return string(text), true
}

// rowOf gives the row, from 1, of the byte at an offset; 0 for no offset.
func rowOf(data []byte, at int) int {
	if at < 0 {
		return 0
	}
	return 1 + bytes.Count(data[:at], []byte("\n"))
}
