package tags

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// MillTag is what a mill's tag says by ANSI MH10.8.2 data identifiers, or by a pattern of the plant.
// Empty fields are not on the tag. Fields holds everything as it stood, in order; the others are what a
// receipt of stock needs.
type MillTag struct {
	Heat     string // 1T
	Bundle   string // S, else a licence plate (J, 1J, 2J ...)
	Quantity int    // pieces: Q, or 7Q in pieces
	Length   string // 7Q in a unit of length, such as "60 ft"
	Weight   string // 7Q in a unit of weight, such as "4250 lb"; else 2Q, whose unit is by agreement
	Supplier string // V, else 1V or 2V
	Item     string // 1P (the mill's), else P
	Order    string // K (ours), else 1K (the mill's)
	Country  string // 4L, two capital letters by ISO 3166; AA is mixed
	Rolled   string // 16D or 17D, as 2006-01-02
	Size     string // as it stands there; by a pattern only, as is Grade
	Grade    string
	Pattern  string // the expression of the pattern that read it; empty: data identifiers did
	Fields   []Field
	// Faults tells in sentences what of the tag could not be understood or was not read.
	Faults []string
}

// Field is one data field of a mill's tag.
type Field struct {
	DI      string // data identifier, such as "1T"; empty when the field begins with none
	Value   string // what follows it
	Meaning string // empty when the identifier is not in our table; of a pattern, the group
}

// dataIdentifiers are those of ANSI MH10.8.2 (ISO/IEC 15418) that a tag on steel may hold, with
// their meaning in short. 1S, 1P, 7Q, 1Q, 2Q and W are from memory, the others from public tables.
var dataIdentifiers = map[string]string{
	"T":   "lot or heat, assigned by the customer",
	"1T":  "lot or heat, assigned by the supplier",
	"S":   "serial number, assigned by the supplier",
	"1S":  "further code, assigned by the supplier",
	"25S": "globally unique serial number",
	"J":   "licence plate",
	"1J":  "licence plate of the smallest unit",
	"2J":  "licence plate of several units",
	"3J":  "licence plate of the smallest unit, with electronic data",
	"4J":  "licence plate of several units, with electronic data",
	"5J":  "licence plate of a mixed load",
	"6J":  "licence plate of a master load",
	"Q":   "quantity",
	"1Q":  "theoretical length or weight",
	"2Q":  "actual weight",
	"7Q":  "quantity with its unit",
	"P":   "item, named by the customer",
	"1P":  "item, named by the supplier",
	"K":   "order of the customer",
	"1K":  "order of the supplier",
	"2K":  "bill of lading of the shipper",
	"4K":  "order line",
	"11K": "packing list",
	"14K": "order and line",
	"V":   "supplier, coded by the customer",
	"1V":  "supplier, coded by itself",
	"2V":  "supplier, by its UPC prefix",
	"W":   "work order",
	"12D": "date (year, month, day)",
	"14D": "expiration date (year, month, day)",
	"15D": "expiration date (day, month, year)",
	"16D": "production date (year, month, day)",
	"17D": "production date (day, month, year)",
	"4L":  "country of origin",
}

// units are the units of 7Q (ANSI X12 element 355) that bars come in, from memory.
var units = map[string]struct {
	text  string
	field func(*MillTag) *string // nil: pieces
}{
	"PC": {"pc", nil},
	"EA": {"pc", nil},
	"FT": {"ft", func(m *MillTag) *string { return &m.Length }},
	"IN": {"in", func(m *MillTag) *string { return &m.Length }},
	"MM": {"mm", func(m *MillTag) *string { return &m.Length }},
	"MR": {"m", func(m *MillTag) *string { return &m.Length }},
	"LB": {"lb", func(m *MillTag) *string { return &m.Weight }},
	"KG": {"kg", func(m *MillTag) *string { return &m.Weight }},
}

// splitField takes the data identifier off a field: up to three digits and one capital letter.
func splitField(s string) (di, value string) {
	for i := range min(len(s), 4) {
		switch c := s[i]; {
		case c >= 'A' && c <= 'Z':
			return s[:i+1], s[i+1:]
		case c < '0' || c > '9':
			return "", s
		}
	}
	return "", s
}

// readFields understands the data fields of a mill's tag.
func readFields(fields []string) *MillTag {
	m := &MillTag{}
	rank := map[*string]int{} // how good the source of each field is that was set
	for _, s := range fields {
		if s == "" {
			continue
		}
		di, value := splitField(s)
		f := Field{DI: di, Value: value, Meaning: dataIdentifiers[di]}
		m.Fields = append(m.Fields, f)
		switch {
		case di == "":
			m.fault("%q begins with no data identifier", shorten(s))
		case f.Meaning == "":
			m.fault("data identifier %s is not in our table: %q", di, shorten(value))
		case value == "":
			m.fault("data identifier %s (%s) has no value", di, f.Meaning)
		default:
			m.take(f, rank)
		}
	}
	return m
}

func (m *MillTag) fault(format string, args ...any) {
	m.Faults = append(m.Faults, fmt.Sprintf(format, args...))
}

// take puts a field where a receipt looks for it. rank holds the rank of what stands there: a
// better source replaces a worse one, and the same source saying two things is a fault.
func (m *MillTag) take(f Field, rank map[*string]int) {
	set := func(at *string, value string, r int) {
		switch {
		case rank[at] == r && *at != value:
			m.fault("data identifier %s says both %q and %q", f.DI, shorten(*at), shorten(value))
			*at = ""
		case rank[at] < r:
			*at, rank[at] = value, r
		}
	}
	switch f.DI {
	case "1T":
		set(&m.Heat, f.Value, 1)
	case "S":
		set(&m.Bundle, f.Value, 2)
	case "J", "1J", "2J", "3J", "4J", "5J", "6J":
		set(&m.Bundle, f.Value, 1)
	case "V":
		set(&m.Supplier, f.Value, 2)
	case "1V", "2V":
		set(&m.Supplier, f.Value, 1)
	case "1P":
		set(&m.Item, f.Value, 2)
	case "P":
		set(&m.Item, f.Value, 1)
	case "K":
		set(&m.Order, f.Value, 2)
	case "1K":
		set(&m.Order, f.Value, 1)
	case "2Q":
		set(&m.Weight, f.Value, 1)
	case "4L":
		if len(f.Value) != 2 || strings.Trim(f.Value, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
			m.fault("country of origin %q is not two capital letters", shorten(f.Value))
			return
		}
		set(&m.Country, f.Value, 1)
	case "12D", "14D", "15D", "16D", "17D":
		date, err := readDate(f.DI, f.Value)
		if err != nil {
			m.fault("%s", err)
		} else if f.DI == "16D" || f.DI == "17D" {
			set(&m.Rolled, date, 1)
		}
	case "Q":
		m.pieces(f.Value)
	case "7Q":
		m.quantity(f.Value, set)
	}
}

// readDate gives a date field as 2006-01-02.
func readDate(di, value string) (string, error) {
	layout, right := "20060102", "year, month and day"
	if di == "15D" || di == "17D" {
		layout, right = "02012006", "day, month and year"
	}
	d, err := time.Parse(layout, value)
	if err != nil || d.Format(layout) != value {
		return "", fmt.Errorf("%s %q is no date of eight digits: %s", di, shorten(value), right)
	}
	return d.Format(time.DateOnly), nil
}

func (m *MillTag) pieces(value string) {
	n, err := strconv.Atoi(value)
	switch {
	case err != nil || n < 1 || n > MaxCount || strings.HasPrefix(value, "+"):
		m.fault("quantity %q is no count of pieces from 1 to %d", shorten(value), MaxCount)
	case m.Quantity != 0 && m.Quantity != n:
		m.fault("the quantity is both %d and %d", m.Quantity, n)
		m.Quantity = 0
	default:
		m.Quantity = n
	}
}

func (m *MillTag) quantity(value string, set func(*string, string, int)) {
	if len(value) < 3 {
		m.fault("quantity %q has no unit of two letters", shorten(value))
		return
	}
	amount, code := value[:len(value)-2], value[len(value)-2:]
	unit, ok := units[code]
	switch {
	case !ok:
		m.fault("quantity %q has a unit that is not in our table", shorten(value))
	case unit.field == nil:
		m.pieces(amount)
	case !decimal(amount):
		m.fault("quantity %q is not a number and a unit", shorten(value))
	default:
		set(unit.field(m), amount+" "+unit.text, 2)
	}
}

// decimal says whether s is digits, with digits after one point where there is one.
func decimal(s string) bool {
	whole, part, point := strings.Cut(s, ".")
	digits := func(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
	return digits(whole) && (!point || digits(part))
}

// The control characters of ISO/IEC 15434.
const (
	groupSep  = "\x1d" // GS, between fields
	recordSep = "\x1e" // RS, between formats
	endMark   = "\x04" // EOT, at the end
	envelope  = "[)>"  // at the beginning, before RS
)

// formats are the formats of ISO/IEC 15434 that a message can hold.
var formats = map[string]string{
	"01": "transport data",
	"02": "a whole EDI message",
	"03": "X12 segments",
	"04": "EDIFACT segments",
	"05": "GS1 application identifiers",
	"06": "ANSI MH10.8.2 data identifiers",
	"07": "free text",
	"08": "CII data",
	"09": "binary data",
	"10": "structured data",
	"12": "text elements",
}

// readEnvelope takes an ISO/IEC 15434 message apart. It fails when nothing in it is format 06. The
// fields can be told apart without RS and EOT, which some scanners lose, but not without GS.
func readEnvelope(s string) (*MillTag, error) {
	body := strings.TrimPrefix(strings.TrimPrefix(s, envelope), recordSep)
	if !strings.Contains(body, groupSep) {
		return nil, errors.New("the tag's data separators are missing: the scanner does not send the control characters GS and RS. Set it to send them, or a visible character in their place that the settings name")
	}
	body = strings.TrimSuffix(strings.TrimSuffix(body, endMark), recordSep)
	var fields, skipped []string
	found := false
	for block := range strings.SplitSeq(body, recordSep) {
		parts := strings.Split(block, groupSep)
		if parts[0] == "06" {
			found = true
			fields = append(fields, parts[1:]...)
			continue
		}
		code := parts[0][:min(2, len(parts[0]))]
		name := "format " + strconv.Quote(code)
		if what, ok := formats[code]; ok {
			name = "format " + code + " (" + what + ")"
		}
		if !slices.Contains(skipped, name) {
			skipped = append(skipped, name)
		}
	}
	if !found {
		return nil, fmt.Errorf("the tag holds ISO/IEC 15434 %s, which is not read here: only format 06 (data identifiers) is", strings.Join(skipped, ", "))
	}
	m := readFields(fields)
	for _, name := range skipped {
		m.fault("%s on the same tag was not read", name)
	}
	return m, nil
}

// readBare takes text of data identifiers without an envelope: fields between GS, or one field. It
// gives nil when the text does not look like that. One field alone must have an identifier of our
// table before a value of capitals, digits and - . / that holds a digit: a heat number can begin
// with the same letters, so a single letter that is followed by a letter is left alone.
func readBare(s string) *MillTag {
	s = strings.Trim(s, groupSep+recordSep+endMark)
	if strings.Contains(s, groupSep) {
		for f := range strings.SplitSeq(s, groupSep) {
			if di, _ := splitField(f); dataIdentifiers[di] == "" {
				return nil
			}
		}
		return readFields(strings.Split(s, groupSep))
	}
	di, value := splitField(s)
	switch {
	case dataIdentifiers[di] == "" || value == "",
		strings.Trim(value, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./") != "",
		len(di) == 1 && (value[0] < '0' || value[0] > '9'):
		return nil
	}
	m := readFields([]string{s})
	if len(m.Faults) > 0 {
		return nil
	}
	return m
}
