package barlist

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// barsSheet is the name of the sheet that is read where there is one.
const barsSheet = "bars"

// readXLSX reads the rows of a workbook. False means it has reported why there are none.
func readXLSX(data []byte, r *report) (t table, ok bool) {
	w, err := checkWorkbook(data)
	if err != nil {
		r.fault(0, "", "%s", err)
		return table{}, false
	}
	// The library indexes by what the parts of a file say of each other, and a file made to mislead
	// it ends in a panic there.
	defer func() {
		if recover() != nil {
			r.fault(0, "", "the workbook contradicts itself and cannot be read: save it again as XLSX, or as CSV")
			t, ok = table{}, false
		}
	}()
	t, err = readWorkbook(w, r)
	if err != nil {
		r.fault(0, "", "the workbook cannot be read (%s): save it again as XLSX, or as CSV", short(err.Error()))
		return table{}, false
	}
	return t, true
}

// sheetReader reads the cells of one sheet.
type sheetReader struct {
	file   *excelize.File
	name   string
	forms  map[int]*excelize.Style // by style number
	merged []mergedRange
	text   int // bytes read
}

// mergedRange is cells of which the first, at a reference, covers the others.
type mergedRange struct {
	col, row, lastCol, lastRow int
	first                      string
}

// readWorkbook reads the sheet of the bar list.
func readWorkbook(w *workbook, r *report) (table, error) {
	file, err := excelize.OpenReader(bytes.NewReader(w.packed), excelize.Options{
		RawCellValue: true, // 1E5 in a text cell stays 1E5
		// Nothing goes to temporary files: all of it was counted already.
		UnzipSizeLimit:    2 * maxXML,
		UnzipXMLSizeLimit: 2 * maxXML,
	})
	if err != nil {
		return table{}, err
	}
	defer file.Close()
	sheets := file.GetSheetList()
	if len(sheets) == 0 || len(sheets) > maxSheets {
		return table{}, fmt.Errorf("%d sheets, from 1 to %d are taken", len(sheets), maxSheets)
	}
	s := sheetReader{file: file, name: sheets[0], forms: map[int]*excelize.Style{}}
	if i := slices.IndexFunc(sheets, func(name string) bool { return strings.EqualFold(name, barsSheet) }); i >= 0 {
		s.name = sheets[i]
	} else if len(sheets) > 1 {
		r.warn(0, "", "the first sheet, %s, was read and the others were not; a sheet named %s would be", quote(s.name), barsSheet)
	}
	if seen, err := file.GetSheetVisible(s.name); err != nil || !seen {
		r.warn(0, "", "the sheet %s, which was read, is hidden", quote(s.name))
	}
	rows, err := file.GetRows(s.name)
	if err != nil {
		return table{}, err
	}
	head := slices.IndexFunc(rows, filled)
	if head < 0 {
		return table{}, fmt.Errorf("the sheet %s is empty", quote(s.name))
	}
	t := table{head: rows[head], headRow: head + 1}
	if len(t.head)*w.rows > maxGrid {
		return table{}, fmt.Errorf("%d columns and %d rows: delete the empty ones beside and below the list", len(t.head), w.rows)
	}
	if err := s.merges(r); err != nil {
		return table{}, err
	}
	if err := s.hiddenColumns(t, r); err != nil {
		return table{}, err
	}
	return t, s.rows(&t, rows, w.rows, r)
}

// filled tells whether any cell of a row has text.
func filled(row []string) bool {
	return slices.ContainsFunc(row, func(text string) bool { return strings.TrimSpace(text) != "" })
}

// rows reads the rows below the column names, down to the last one that any sheet has: a formula
// that was never computed shows nothing, but is there.
func (s *sheetReader) rows(t *table, shown [][]string, last int, r *report) error {
	var hidden []int
	for row := t.headRow + 1; row <= last; row++ {
		width := len(t.head)
		if row <= len(shown) {
			width = max(width, len(shown[row-1]))
		}
		cells := make([]cell, width)
		some := false
		for i := range cells {
			c, err := s.cell(i+1, row)
			if err != nil {
				return err
			}
			if over := s.covering(i+1, row); over == "" {
				some = some || c.wrong != "" || strings.TrimSpace(c.text) != ""
			} else if i < len(t.head) && mustHead(t.head[i]) {
				c = cell{wrong: "the cell is merged with " + over + ": unmerge them and write into each row"}
			}
			if s.text += len(c.text); s.text > maxAllText {
				return fmt.Errorf("the cells hold more than %d MB of text", maxAllText>>20)
			}
			cells[i] = c
		}
		if !some {
			continue
		}
		if len(t.rows) == MaxLines {
			r.fault(row, "", "the sheet has more than %d lines: split it by release", MaxLines)
			return nil
		}
		if seen, err := s.file.GetRowVisible(s.name, row); err != nil || !seen {
			hidden = append(hidden, row)
		}
		t.rows = append(t.rows, tableRow{row, cells})
	}
	if len(hidden) > 0 {
		r.warn(hidden[0], "", "%d hidden rows were read too, the first is row %d: delete them if they are not to be made", len(hidden), hidden[0])
	}
	return nil
}

// cell reads one cell.
func (s *sheetReader) cell(col, row int) (cell, error) {
	at, err := excelize.CoordinatesToCellName(col, row)
	if err != nil {
		return cell{}, err
	}
	raw, err := s.file.GetCellValue(s.name, at)
	if err != nil {
		return cell{}, fmt.Errorf("cell %s: %w", at, err)
	}
	kind, err := s.file.GetCellType(s.name, at)
	if err != nil {
		return cell{}, err
	}
	if raw == "" {
		// A formula that gives no text is a text without characters, one never computed has no type.
		if formula, err := s.file.GetCellFormula(s.name, at); kind == excelize.CellTypeUnset && (err != nil || formula != "") {
			return cell{wrong: "the formula in the cell has no value: compute and save the workbook, or paste values"}, nil
		}
		return cell{}, nil
	}
	switch kind {
	case excelize.CellTypeSharedString, excelize.CellTypeInlineString, excelize.CellTypeFormula:
		return cell{text: raw}, nil
	case excelize.CellTypeError:
		return cell{wrong: "the cell shows the error " + quote(raw) + ": correct its formula"}, nil
	case excelize.CellTypeBool:
		return cell{wrong: "the cell is TRUE or FALSE: " + asText}, nil
	case excelize.CellTypeDate:
		return numberCell("0", 14, ""), nil
	}
	if over := s.covering(col, row); over != "" {
		at = over
	}
	style, err := s.style(at)
	if err != nil {
		return cell{}, err
	}
	code := ""
	if style.CustomNumFmt != nil {
		code = *style.CustomNumFmt
	}
	return numberCell(raw, style.NumFmt, code), nil
}

// style gives the style of a cell.
func (s *sheetReader) style(at string) (*excelize.Style, error) {
	id, err := s.file.GetCellStyle(s.name, at)
	if err != nil {
		return nil, err
	}
	style, ok := s.forms[id]
	if !ok {
		style, err = s.file.GetStyle(id)
		if err != nil && id == 0 {
			style = &excelize.Style{} // a workbook may have no styles at all
		} else if err != nil {
			return nil, fmt.Errorf("cell %s: %w", at, err)
		}
		s.forms[id] = style
	}
	return style, nil
}

// merges notes the merged ranges.
func (s *sheetReader) merges(r *report) error {
	ranges, err := s.file.GetMergeCells(s.name, true)
	if err != nil {
		return err
	}
	for _, m := range ranges {
		to := mergedRange{first: m.GetStartAxis()}
		if to.col, to.row, err = excelize.CellNameToCoordinates(to.first); err != nil {
			return err
		}
		if to.lastCol, to.lastRow, err = excelize.CellNameToCoordinates(m.GetEndAxis()); err != nil {
			return err
		}
		s.merged = append(s.merged, to)
	}
	if len(ranges) > 0 {
		r.warn(0, "", "%d ranges of cells are merged, the first at %s: every row of one was read with its value", len(ranges), s.merged[0].first)
	}
	return nil
}

// covering gives the reference of the cell that covers another one, "" for none.
func (s *sheetReader) covering(col, row int) string {
	for _, m := range s.merged {
		if col >= m.col && col <= m.lastCol && row >= m.row && row <= m.lastRow {
			if col == m.col && row == m.row {
				return ""
			}
			return m.first
		}
	}
	return ""
}

// hiddenColumns warns of columns that were read and are not seen.
func (s *sheetReader) hiddenColumns(t table, r *report) error {
	for i, name := range t.head {
		letters, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		h, known := columnOf(name)
		if seen, err := s.file.GetColVisible(s.name, letters); err == nil && !seen && known {
			r.warn(0, h.name, "the column %s is hidden and was read too", h.name)
		}
	}
	return nil
}
