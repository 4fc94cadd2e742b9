package sheet

import "strings"

// maxColumns is far above the columns of any sheet.
const maxColumns = 256

// readCSV reads the rows of a CSV file. For nil it has reported why there are none.
func (f *Form) readCSV(data []byte, r *Report) *Table {
	text, ok := f.decode(data, r)
	if !ok {
		return nil
	}
	if f.Not != nil {
		if why := f.Not(text); why != "" {
			r.Fault(0, "", "%s", why)
			return nil
		}
	}
	if strings.Contains(text, "\r") {
		text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	}
	at, sep := 1, byte(0)
	for text != "" {
		line, rest, _ := strings.Cut(text, "\n")
		// Some spreadsheet programs announce the separator on a line of its own.
		if is, ok := strings.CutPrefix(line, "sep="); ok && len(is) == 1 && strings.Contains(",;\t", is) {
			sep = is[0]
		} else if strings.TrimSpace(line) != "" {
			break
		}
		text, at = rest, at+1
	}
	if sep == 0 {
		sep = f.separator(text)
	}
	head, rest, ok := strict(text, sep)
	if !ok {
		r.Fault(at, "", "the row of column names cannot be read: its quotes do not match, or it has more than %d columns", maxColumns)
		return nil
	}
	t := &Table{Format: CSV, head: head, headRow: at}
	at += strings.Count(text[:len(text)-len(rest)], "\n")
	for text = rest; text != ""; text = rest {
		var fields []string
		if line, after, _ := strings.Cut(text, "\n"); strings.TrimSpace(line) == "" {
			rest = after
		} else if len(t.rows) == MaxRows {
			r.Fault(at, "", "the file has more than %d lines: %s", MaxRows, f.Split)
			return t
		} else if fields, rest = f.record(text, sep, head, at, r); filled(fields) {
			cells := make([]cell, len(fields))
			for i, field := range fields {
				cells[i].text = field
			}
			t.rows = append(t.rows, row{at, cells})
		}
		at += strings.Count(text[:len(text)-len(rest)], "\n")
	}
	return t
}

// separator chooses what parts the columns: what makes the most column names known, else the most
// columns.
func (f *Form) separator(text string) byte {
	best, bestKnown, bestFields := byte(','), 0, 0
	for _, sep := range []byte{',', ';', '\t'} {
		head, _, _ := strict(text, sep)
		known := 0
		for _, name := range head {
			if _, ok := f.column(name); ok {
				known++
			}
		}
		if known > bestKnown || known == bestKnown && len(head) > bestFields {
			best, bestKnown, bestFields = sep, known, len(head)
		}
	}
	return best
}

// record reads the row at the start of text and gives what comes after it. No fields means that it
// has reported why.
//
// Rows as RFC 4180 wants them are read so. But the inch mark is also the quote of CSV, and people
// write "11'-6"" where "11'-6""" is meant; a reader that trusts the quotes then swallows the cells
// and rows that follow. So a row is also read alone, a cell ending at the first quote before a
// separator, and the number of columns decides. Where both fit, a line break in a note is possible
// and nothing is guessed; in any other column there is none.
func (f *Form) record(text string, sep byte, head []string, row int, r *Report) (fields []string, rest string) {
	line, after, _ := strings.Cut(text, "\n")
	want := len(head)
	byRule, rest, ok := strict(text, sep)
	fits := ok && len(byRule) == want
	one := ok && len(text)-len(rest) <= len(line)+1
	if fits && one {
		return byRule, rest
	}
	alone, okAlone := sloppy(line, sep)
	switch fitsAlone := okAlone && len(alone) == want; {
	case fits && fitsAlone && f.broken(byRule, head):
		return alone, after
	case fits && fitsAlone:
		r.Fault(row, "", "it cannot be told where the text in quotes ends, on this row or on a later one: write an inch mark in quotes twice, as in \"11'-6\"\"\", or leave the quotes off")
		return nil, after
	case fits:
		return byRule, rest
	case fitsAlone:
		return alone, after
	case one:
		return byRule, rest
	case okAlone:
		return alone, after
	case ok:
		return byRule, rest
	}
	r.Fault(row, "", "the quotes do not match, or there are more than %d cells: write an inch mark in quotes twice, as in \"11'-6\"\"\", or leave the quotes off", maxColumns)
	return nil, after
}

// broken tells whether a line break stands in a column that has none.
func (f *Form) broken(fields, head []string) bool {
	for i, field := range fields {
		if h, known := f.column(head[i]); known && !h.lines && strings.Contains(field, "\n") {
			return true
		}
	}
	return false
}

// strict reads one row by RFC 4180: a cell that begins with a quote ends at the quote before a
// separator or the end of the row, and a quote inside is written twice. A quote later in a cell is
// an ordinary character: 11'-6" needs no quotes.
func strict(text string, sep byte) (fields []string, rest string, ok bool) {
	for len(fields) < maxColumns {
		var field string
		if begin := blanks(text, sep); begin < len(text) && text[begin] == '"' {
			if field, text, ok = quoted(text[begin+1:], sep); !ok {
				return fields, text, false
			}
		} else {
			end := strings.IndexAny(text, string([]byte{sep, '\n'}))
			if end < 0 {
				end = len(text)
			}
			field, text = text[:end], text[end:]
		}
		fields = append(fields, field)
		if text == "" || text[0] == '\n' {
			return fields, strings.TrimPrefix(text, "\n"), true
		}
		text = text[1:]
	}
	return fields, text, false
}

// quoted reads a cell from behind its opening quote up to the separator or the end of the row.
func quoted(text string, sep byte) (field, rest string, ok bool) {
	var b strings.Builder
	for {
		end := strings.IndexByte(text, '"')
		if end < 0 {
			return "", text, false
		}
		b.WriteString(text[:end])
		text = text[end+1:]
		if strings.HasPrefix(text, `"`) {
			b.WriteByte('"')
			text = text[1:]
			continue
		}
		if rest, ok = ends(text, sep); ok {
			return b.String(), rest, true
		}
		return "", text, false
	}
}

// sloppy reads one row of one line, where the quotes inside cells may or may not be doubled.
func sloppy(line string, sep byte) (fields []string, ok bool) {
	for len(fields) < maxColumns {
		var field string
		if begin := blanks(line, sep); begin < len(line) && line[begin] == '"' {
			inside := line[begin+1:]
			at := 0
			for ok = false; !ok; at++ {
				quote := strings.IndexByte(inside[at:], '"')
				if quote < 0 {
					return nil, false
				}
				at += quote
				line, ok = ends(inside[at+1:], sep)
			}
			field = strings.ReplaceAll(inside[:at-1], `""`, `"`)
		} else if end := strings.IndexByte(line, sep); end >= 0 {
			field, line = line[:end], line[end:]
		} else {
			field, line = line, ""
		}
		fields = append(fields, field)
		if line == "" {
			return fields, true
		}
		line = line[1:]
	}
	return nil, false
}

// ends tells whether a cell may end here, and gives the text from the separator on.
func ends(text string, sep byte) (string, bool) {
	text = text[blanks(text, sep):]
	return text, text == "" || text[0] == sep || text[0] == '\n'
}

// blanks counts the spaces and tabs at the start of text that are no separator.
func blanks(text string, sep byte) int {
	n := 0
	for n < len(text) && text[n] != sep && (text[n] == ' ' || text[n] == '\t') {
		n++
	}
	return n
}
