package barlist

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// A BVBS file is lines of text, one record a line, ended by CR LF. A record is fields that each end
// in @. The first names the record; the others have a small letter for what they hold and their
// value, and the first field of a block has the block's capital letter before that:
//
//	BF2D@HjTestPDF@r417@ia@p1@l1000@n10@e0.888@d12@gB500A@s48@v@Gl400@w90@l600@w0@C72@
//
// Block H is the head: j project, r drawing, i index, p position, l length in mm, n pieces, e weight
// of one in kg, d diameter in mm, g grade, s diameter of the mandrel in mm, m mesh type, v free to
// the designer; a layer, t steps of length, c group. Block G is the geometry, walking along the bar:
// l leg in mm and w angle in degrees to the next one, 0 after the last; r inner radius in mm and w
// sweep of an arc. Legs are outer dimensions. Block C is the checksum. The record, and the worked
// examples in the tests, are those of the guideline for the exchange of reinforcement data of the
// Bundesverband Bausoftware, version 3.1 of May 2021.
//
// The geometry decides what is made. The length of a bent bar is taken as the guideline sums it, its
// outer legs together (Shape.Outer): nothing is taken off for bends. The head's length and weight
// are only compared.

// otherRecords are the records of the guideline that are no bars of a bar list.
var otherRecords = map[string]string{
	"BF3D": "a bar bent in space",
	"BFWE": "a helix",
	"BFMA": "a mesh",
	"BFGT": "a lattice girder",
	"BFAU": "a spacer",
}

// otherBlocks are the blocks of the guideline that are not taken over.
var otherBlocks = map[byte]string{
	'A': "spacers",
	'M': "a coupler",
	'P': "private data",
	'X': "bars of a mesh",
	'Y': "bars of a mesh",
}

// isRecord tells whether text begins with a record of a BVBS file.
func isRecord(text []byte) bool {
	return len(text) >= 5 && text[0] == 'B' && text[1] == 'F' && text[4] == '@'
}

// Checksum is the checksum of a BF2D record: 96 less the sum of all bytes modulo 32, from the first
// one to the C that heads it. Record is that part: "abcde@C" has 78. It lies between 65 and 96, and
// cannot see an @ or a blank more or less, nor two bytes that changed places.
func Checksum(record []byte) int {
	sum := 0
	for _, b := range record {
		sum += int(b)
	}
	return 96 - sum%32
}

// readBF2D reads the lines of a BVBS file.
func readBF2D(data []byte, d Defaults, r *sheet.Report) []Line {
	data = bytes.TrimPrefix(data, []byte(utf8BOM))
	var lines []Line
	row := 0
	for raw := range bytes.SplitSeq(data, []byte("\n")) {
		row++
		raw = bytes.TrimSuffix(raw, []byte("\r"))
		if len(bytes.TrimSpace(raw)) == 0 {
			continue
		}
		if len(lines) == MaxLines {
			r.Fault(row, "", "the file has more than %d lines: split it by drawing", MaxLines)
			break
		}
		p := recordReader{row: row, d: d, Report: r}
		if p.split(raw) {
			lines = append(lines, p.line())
		}
	}
	return lines
}

// recordReader reads one record.
type recordReader struct {
	row int
	d   Defaults
	*sheet.Report
	head     map[byte]string
	geometry []field
}

// field is one field of a record: its letter and its value.
type field struct {
	letter byte
	value  string
}

// split parts a record into its blocks and looks at its checksum. False means that it is none to
// make a line of, and that this has been reported.
func (p *recordReader) split(raw []byte) bool {
	name, _, more := bytes.Cut(raw, []byte("@"))
	if what, ok := otherRecords[string(name)]; ok {
		p.Fault(p.row, string(name), "this record is %s: it can be read but not taken, only BF2D records are; take it out of the file and order it another way", what)
		return false
	}
	if string(name) != "BF2D" || !more {
		p.Fault(p.row, "", "%s is no record of a BVBS file: a bar begins with BF2D@", sheet.Quote(string(name)))
		return false
	}
	text, ok := p.decode(raw)
	if !ok {
		return false
	}
	summed := p.sum(raw)
	body, whole := strings.CutSuffix(text[len("BF2D@"):], "@")
	if !whole && summed {
		p.Warn(p.row, "", "the record does not end in @")
	} else if !whole {
		p.Fault(p.row, "", "the record is cut off: it must end in @")
	}
	p.head = map[byte]string{}
	var block byte
	var seen []byte // blocks that began
	for token := range strings.SplitSeq(body, "@") {
		if token == "" {
			p.Fault(p.row, "", "an empty field (@@): every field has a letter, and ends in one @")
			continue
		}
		capital := token[0] >= 'A' && token[0] <= 'Z' && !(capitalI(token) && (block == 'H' || block == 'G'))
		switch {
		case block == 'C':
			p.Warn(p.row, "checksum", "%s behind the checksum was not read", sheet.Quote(token))
			continue
		case block == 'P' && !checksumLike(token):
			continue // private data may look like anything
		case capital:
			block, token = token[0], token[1:]
			if bytes.IndexByte(seen, block) < 0 {
				seen = append(seen, block)
				p.block(block, token)
			} else if block == 'H' || block == 'G' {
				p.Fault(p.row, string(block), "the record has block %c twice: leave one", block)
				block = '-'
			}
		}
		p.field(block, token)
	}
	return true
}

// block names a block that is not taken over.
func (p *recordReader) block(block byte, token string) {
	switch what, known := otherBlocks[block]; {
	case block == 'H' || block == 'G' || block == 'C':
	case known:
		p.Warn(p.row, "block "+string(block), "block %c, %s, was not taken: %s", block, what, sheet.Quote(token))
	default:
		p.Warn(p.row, "block "+string(block), "block %c is not known and was not taken: %s", block, sheet.Quote(token))
	}
}

// checksumLike tells whether a field is the checksum: it ends what private data may look like.
func checksumLike(token string) bool {
	return len(token) == 3 && token[0] == 'C' && strings.Trim(token[1:], "0123456789") == ""
}

// decode gives the text of a record. The guideline does not name an encoding; what is no UTF-8 is
// read as Windows-1252, which every byte of the ISO 8859-1 in use is too.
func (p *recordReader) decode(raw []byte) (string, bool) {
	if utf8.Valid(raw) {
		return string(raw), true
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(raw)
	if err != nil || bytes.ContainsRune(text, utf8.RuneError) {
		p.Fault(p.row, "", "the record is neither UTF-8 nor Windows-1252 text: save the file as UTF-8")
		return "", false
	}
	p.Warn(p.row, "", "the record is not UTF-8 and was read as Windows-1252: look at the names")
	return string(text), true
}

// sum compares the checksum of a record, and tells whether there is one that fits.
func (p *recordReader) sum(raw []byte) bool {
	at := bytes.LastIndex(raw, []byte("@C"))
	if at < 0 {
		p.Warn(p.row, "checksum", "the record has no checksum: a wrong digit in it would not be seen")
		return false
	}
	end := at + len("@C")
	found, _, _ := bytes.Cut(raw[end:], []byte("@"))
	want := Checksum(raw[:end])
	if string(found) == strconv.Itoa(want) {
		return true
	}
	p.Fault(p.row, "checksum", "the checksum is %q, expected %d: the record was changed or damaged, ask for the file again%s",
		sheet.Short(string(found)), want, latin(raw[:end], string(found)))
	return false
}

// latin says when a checksum was made of the text before it became UTF-8.
func latin(record []byte, found string) string {
	text, err := charmap.ISO8859_1.NewEncoder().Bytes(record)
	if err != nil || !utf8.Valid(record) || len(text) == len(record) || found != strconv.Itoa(Checksum(text)) {
		return ""
	}
	return " (it fits the same text in ISO 8859-1: save the file in that encoding)"
}

// capitalI tells whether a field has a capital I where the small l of a length is meant: they look
// alike on paper.
func capitalI(token string) bool {
	return len(token) > 1 && token[0] == 'I' && token[1] >= '0' && token[1] <= '9'
}

// field keeps a field of the head or the geometry.
func (p *recordReader) field(block byte, token string) {
	switch block {
	case 'H', 'G':
	case 0:
		p.Fault(p.row, "", "%s stands before the first block: BF2D@ is followed by H", sheet.Quote(token))
		return
	default:
		return
	}
	if capitalI(token) {
		p.Fault(p.row, string(block), "%s begins with a capital I: a length has a small l", sheet.Quote(token))
		token = "l" + token[1:] // or every field behind it would be said to be wrong
	}
	if token == "" || token[0] < 'a' || token[0] > 'z' {
		p.Fault(p.row, string(block), "%s has no small letter that says what it is", sheet.Quote(token))
		return
	}
	f := field{token[0], token[1:]}
	if block == 'G' {
		if len(p.geometry) > 2*bar.MaxLegs {
			return // walk reports it
		}
		p.geometry = append(p.geometry, f)
		return
	}
	if _, twice := p.head[f.letter]; twice {
		p.Fault(p.row, string(f.letter), "the head has %c twice: leave one", f.letter)
		return
	}
	p.head[f.letter] = f.value
}

// line makes the line of a record.
func (p *recordReader) line() Line {
	l := Line{
		Row:      p.row,
		Job:      p.text('j', "job", p.d.Job),
		List:     p.text('r', "list", p.d.List),
		Revision: p.text('i', "revision", p.d.Revision),
		Mark:     p.text('p', "mark", ""),
	}
	if l.Mark == "" {
		p.Fault(p.row, "mark", "the position (p) is missing: it is the mark of the line")
	}
	n, why := parsePieces(strings.TrimSpace(p.head['n']))
	if strings.TrimSpace(p.head['n']) == "" {
		why = "the number of pieces (n) is missing"
	}
	if why != "" {
		p.Fault(p.row, "pieces", "%s", why)
	}
	l.Pieces = n
	l.Steel = readSteel(p.size(), "", strings.TrimSpace(p.head['g']), "", p.d, p.row, p.Report)
	if pin, ok := p.head['s']; ok && strings.TrimSpace(pin) != "" {
		if l.Shape.Pin, why = parseMM(pin); why != "" {
			p.Fault(p.row, "pin", "%s", why)
		}
	}
	p.walk(&l)
	oddLength(l, p.d, p.Report)
	p.compare(l)
	for _, c := range []byte("mact") {
		if v := strings.TrimSpace(p.head[c]); v != "" && v != "0" {
			p.Warn(p.row, string(c), "%c%s was not taken", c, sheet.Short(v))
		}
	}
	for c := byte('a'); c <= 'z'; c++ {
		if _, there := p.head[c]; there && strings.IndexByte("jripnledgsmvact", c) < 0 {
			p.Warn(p.row, string(c), "the head field %c is not known and was not taken", c)
		}
	}
	return l
}

// text reads a text of the head.
func (p *recordReader) text(letter byte, column, otherwise string) string {
	text, why := sheet.Tidy(p.head[letter], longest[column])
	if why != "" {
		p.Fault(p.row, column, "%s", why)
	}
	if text == "" {
		return otherwise
	}
	return text
}

// size reads the diameter as a size, "" after a fault.
func (p *recordReader) size() string {
	d, why := parseMM(p.head['d'])
	if strings.TrimSpace(p.head['d']) == "" {
		why = "the diameter (d) is missing"
	}
	if why == "" && d%bar.Millimetre != 0 {
		why = "a bar of " + d.Millimetres() + ": a diameter of EN 10080 is whole millimetres"
	}
	if why != "" {
		p.Fault(p.row, "size", "%s", why)
		return ""
	}
	return fmt.Sprintf("%dmm", d/bar.Millimetre)
}

// walk reads the geometry into the shape and the length of a line.
func (p *recordReader) walk(l *Line) {
	if len(p.geometry) == 0 {
		p.Fault(p.row, "geometry", "the record has no geometry (Gl...@w...@)")
		return
	}
	if len(p.geometry) > 2*bar.MaxLegs {
		p.Fault(p.row, "geometry", "the bar has more than %d legs", bar.MaxLegs)
		return
	}
	var legs []bar.Leg
	for i := 0; i < len(p.geometry); i += 2 {
		f := p.geometry[i]
		if f.letter != 'l' && f.letter != 'r' {
			p.Fault(p.row, "geometry", "%c%s stands where a leg (l) or the radius of an arc (r) is due", f.letter, sheet.Short(f.value))
			return
		}
		if i+1 == len(p.geometry) || p.geometry[i+1].letter != 'w' {
			p.Fault(p.row, "geometry", "%c%s has no angle (w) behind it; the last leg has w0", f.letter, sheet.Short(f.value))
			return
		}
		size, why := parseMM(f.value)
		turn, whyNot := parseAngle(p.geometry[i+1].value)
		if why += whyNot; why != "" {
			p.Fault(p.row, "geometry", "%s", why)
			return
		}
		leg := bar.Leg{Length: size, Turn: turn}
		if f.letter == 'r' {
			leg = bar.Leg{Radius: size, Turn: turn}
		}
		legs = append(legs, leg)
	}
	shape := bar.Shape{Legs: legs}
	if err := shape.Check(); err != nil {
		p.Fault(p.row, "geometry", "%s", err)
		return
	}
	if l.Length = shape.Outer(); l.Length > bar.MaxLength {
		p.Fault(p.row, "geometry", "the bar is %s long, over %s: are the legs in mm?", l.Length.Millimetres(), bar.MaxLength.Millimetres())
		return
	}
	if !shape.Straight() {
		l.Shape.Legs = legs
	}
}

// compare warns where the head does not say what the geometry and the tables do. More than half a
// millimetre, or 2 % and 5 g: what rounding of the table and of the record leaves.
func (p *recordReader) compare(l Line) {
	if l.Length == 0 {
		return
	}
	if said, why := parseMM(p.head['l']); why != "" {
		p.Warn(p.row, "length", "the length in the head cannot be read; the geometry is taken, %s", l.Length.Millimetres())
	} else if off := said - l.Length; off > bar.Millimetre/2 || off < -bar.Millimetre/2 {
		p.Warn(p.row, "length", "the head says %s, the geometry %s: the geometry is taken", said.Millimetres(), l.Length.Millimetres())
	}
	e, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(p.head['e']), ",", ".", 1), 64)
	weight, unknown := bar.Weigh(l.Steel.Size, l.Length)
	if err != nil || unknown != nil {
		return
	}
	if kg := weight.Kilograms(); e < kg*0.98-0.005 || e > kg*1.02+0.005 {
		p.Warn(p.row, "weight", "the head says %s kg a piece, by the table of the standard it is %.3f kg", sheet.Short(p.head['e']), kg)
	}
}

// parseMM reads millimetres with at most six decimals, behind a point or a comma.
func parseMM(s string) (l bar.Length, why string) {
	s = strings.TrimSpace(s)
	whole, dec := s, ""
	if at := strings.IndexAny(s, ".,"); at >= 0 {
		whole, dec = s[:at], strings.TrimRight(s[at+1:], "0")
	}
	n, err := strconv.ParseUint(whole+(dec + "000000")[:max(6, len(dec))], 10, 64)
	switch {
	case s == "":
		return 0, "there is no number: write millimetres, like 400"
	case err != nil && !errors.Is(err, strconv.ErrRange) || len(dec) > 6 || strings.Trim(s, ".,") == "":
		return 0, sheet.Quote(s) + " is no number of millimetres: write it like 400 or 400.5"
	case err != nil || n > uint64(bar.MaxLength):
		return 0, sheet.Quote(s) + " is over " + bar.MaxLength.Millimetres() + ": is it in mm?"
	}
	return bar.Length(n), ""
}

// parseAngle reads degrees, which are rounded to tenths: no bender turns finer.
func parseAngle(s string) (tenths int32, why string) {
	s = strings.Replace(strings.TrimSpace(s), ",", ".", 1)
	deg, err := strconv.ParseFloat(s, 64)
	if err != nil || strings.Trim(s, "+-.0123456789") != "" || math.Abs(deg) > 3600 {
		return 0, sheet.Quote(s) + " is no angle: write degrees, like 90 or -45"
	}
	return int32(math.Round(deg * 10)), ""
}
