package barlist

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// magics are the first bytes of files that people take for bar lists, and what to do with them.
// They are the published signatures of those formats (from memory).
var magics = []struct{ bytes, says string }{
	{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "this is an old XLS workbook or one with a password: save it as XLSX without a password"},
	{"%PDF", "this is a PDF, a picture of a bar list: ask for the list as CSV, XLSX or BVBS"},
	{"\x89PNG", "this is a picture: ask for the list as CSV, XLSX or BVBS"},
	{"\xff\xd8\xff", "this is a picture: ask for the list as CSV, XLSX or BVBS"},
	{"\x1f\x8b", "this is a gzip archive: unpack it and give the bar list in it"},
	{"<", "this is a page or an XML document: save the list as CSV or XLSX"},
	{"{", "this is a JSON document: save the list as CSV or XLSX"},
}

// sniff tells the format by what is in the file. For "" it has reported why the file is none.
func sniff(data []byte, r *report) string {
	if bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		return XLSX
	}
	text := bytes.TrimLeft(bytes.TrimPrefix(data, []byte(utf8BOM)), " \t\r\n")
	if len(text) == 0 {
		r.fault(0, "", "the file is empty")
		return ""
	}
	if isRecord(text) {
		return BVBS
	}
	for _, m := range magics {
		if bytes.HasPrefix(text, []byte(m.bytes)) {
			r.fault(0, "", "%s", m.says)
			return ""
		}
	}
	return CSV
}

const (
	utf8BOM    = "\xef\xbb\xbf"
	utf16LEBOM = "\xff\xfe"
	utf16BEBOM = "\xfe\xff"
)

// decode gives the text of a text file without its byte order mark: UTF-8, or UTF-16 that begins
// with the mark. Anything else is refused with the place of the first byte that does not fit; a
// guess would turn the names of people and places into other names.
func decode(data []byte, r *report) (string, bool) {
	switch {
	case bytes.HasPrefix(data, []byte(utf16LEBOM)), bytes.HasPrefix(data, []byte(utf16BEBOM)):
		// The decoder writes U+FFFD for what is no character, which no bar list holds.
		text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if at := bytes.IndexRune(text, utf8.RuneError); err != nil || at >= 0 {
			r.fault(rowOf(text, at), "", "the file begins as UTF-16 but is broken here: save it as UTF-8")
			return "", false
		}
		return clean(text, r)
	case bytes.HasPrefix(data, []byte(utf8BOM)):
		data = data[len(utf8BOM):]
	}
	for at := 0; at < len(data); {
		char, n := utf8.DecodeRune(data[at:])
		if char == utf8.RuneError && n <= 1 {
			as := charmap.Windows1252.DecodeByte(data[at])
			r.fault(rowOf(data, at), "", "byte %#02x is not UTF-8 (in a western Windows file it would be %q): save the file as UTF-8, in spreadsheet programs \"CSV UTF-8\"",
				data[at], as)
			return "", false
		}
		at += n
	}
	return clean(data, r)
}

// clean refuses text with a NUL, which no text has: it is UTF-16 without its mark, or no text.
func clean(text []byte, r *report) (string, bool) {
	if at := bytes.IndexByte(text, 0); at >= 0 {
		r.fault(rowOf(text, at), "", "this is not a text file in UTF-8 (it holds a zero byte): save the list as CSV in UTF-8, XLSX or BVBS")
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
