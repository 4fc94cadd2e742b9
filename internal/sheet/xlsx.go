package sheet

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// readXLSX reads the rows of a workbook. For nil it has reported why there are none.
func (f *Form) readXLSX(data []byte, r *Report) (t *Table) {
	w, err := f.checkWorkbook(data)
	if err != nil {
		r.Fault(0, "", "%s", err)
		return nil
	}
	// No file may end the program, and that the library never panics is not ours to prove.
	defer func() {
		if recover() != nil {
			r.Fault(0, "", "the workbook contradicts itself and cannot be read: save it again as XLSX, or as CSV")
			t = nil
		}
	}()
	t, err = f.readWorkbook(w, r)
	if err != nil {
		r.Fault(0, "", "the workbook cannot be read (%s): save it again as XLSX, or as CSV", Short(err.Error()))
		return nil
	}
	return t
}

// sheetReader reads the cells of one sheet.
type sheetReader struct {
	form       *Form
	file       *excelize.File
	name       string
	codes      map[int]string  // number formats of the workbook's own
	uncomputed map[[2]int]bool // cells, column and row, with a formula and no value
	merged     []mergedRange
	text       int // bytes read
}

// mergedRange is cells of which the first, at a reference, covers the others.
type mergedRange struct {
	col, row, lastCol, lastRow int
	first                      string
}

// readWorkbook reads the one sheet of a workbook that is of the form.
func (f *Form) readWorkbook(w *workbook, r *Report) (*Table, error) {
	file, err := excelize.OpenReader(bytes.NewReader(w.packed), excelize.Options{
		RawCellValue: true, // 1E5 in a text cell stays 1E5
		// Nothing goes to temporary files: all of it was counted already.
		UnzipSizeLimit:    2 * maxXML,
		UnzipXMLSizeLimit: 2 * maxXML,
	})
	if err != nil {
		return nil, err
	}
	defer file.Close()
	sheets := file.GetSheetList()
	if len(sheets) == 0 || len(sheets) > maxSheets {
		return nil, fmt.Errorf("%d sheets, from 1 to %d are taken", len(sheets), maxSheets)
	}
	names := map[string]bool{}
	for _, name := range sheets {
		if folded := strings.ToLower(name); !names[folded] {
			names[folded] = true
			continue
		}
		return nil, fmt.Errorf("two sheets are named %s", Quote(name))
	}
	s := sheetReader{form: f, file: file, name: sheets[0], codes: map[int]string{}}
	if file.Styles != nil && file.Styles.NumFmts != nil {
		for _, form := range file.Styles.NumFmts.NumFmt {
			s.codes[form.NumFmtID] = form.FormatCode
		}
	}
	if i := slices.IndexFunc(sheets, func(name string) bool { return strings.EqualFold(name, f.Sheet) }); i >= 0 {
		s.name = sheets[i]
	} else if len(sheets) > 1 {
		r.Warn(0, "", "the first sheet, %s, was read and the others were not; a sheet named %s would be", Quote(s.name), f.Sheet)
	}
	if seen, err := file.GetSheetVisible(s.name); err != nil || !seen {
		r.Warn(0, "", "the sheet %s, which was read, is hidden", Quote(s.name))
	}
	if err := s.merges(r); err != nil {
		return nil, err
	}
	// The sheet is loaded now, and the only one: under the name of its part.
	file.Sheet.Range(func(part, _ any) bool {
		s.uncomputed = w.uncomputed[strings.ToLower(part.(string))]
		return true
	})
	return s.table(w.widths, r)
}

// filled tells whether any cell of a row has text.
func filled(row []string) bool {
	return slices.ContainsFunc(row, func(text string) bool { return strings.TrimSpace(text) != "" })
}

// table reads the rows of the sheet, which are at most as wide as widths says; the first that is not
// empty has the column names.
func (s *sheetReader) table(widths []int, r *Report) (*Table, error) {
	t := &Table{Format: XLSX}
	var hidden []int
	for i, width := range widths {
		at := i + 1
		cells, some, err := s.row(at, width, t.head)
		if err != nil {
			return nil, err
		}
		switch {
		case !some:
			continue
		case t.head == nil:
			t.headRow = at
			for _, c := range cells {
				t.head = append(t.head, c.text)
			}
			s.hiddenColumns(t, r)
			continue
		case len(t.rows) == MaxRows:
			r.Fault(at, "", "the sheet has more than %d lines: %s", MaxRows, s.form.Split)
			return t, nil
		}
		if seen, err := s.file.GetRowVisible(s.name, at); err != nil || !seen {
			hidden = append(hidden, at)
		}
		t.rows = append(t.rows, row{at, cells})
	}
	if t.head == nil {
		return nil, fmt.Errorf("the sheet %s is empty", Quote(s.name))
	}
	if len(hidden) > 0 {
		r.Warn(hidden[0], "", "%d hidden rows were read too, the first is row %d: delete them if they are not meant", len(hidden), hidden[0])
	}
	return t, nil
}

// row reads a row, and tells whether it has a cell of its own that is not empty.
func (s *sheetReader) row(row, width int, head []string) (cells []cell, some bool, err error) {
	cells = make([]cell, max(width, len(head)))
	for i := range cells {
		over := s.covering(i+1, row)
		if i >= width && over == "" {
			continue
		}
		c, err := s.cell(i+1, row)
		if err != nil {
			return nil, false, err
		}
		if over == "" {
			some = some || c.wrong != "" || strings.TrimSpace(c.text) != ""
		} else if i < len(head) && s.form.must(head[i]) {
			c = cell{wrong: "the cell is merged with " + over + ": unmerge them and write into each row"}
		}
		if s.text += len(c.text); s.text > maxAllText {
			return nil, false, fmt.Errorf("the cells hold more than %d MB of text", maxAllText>>20)
		}
		cells[i] = c
	}
	for len(cells) > len(head) && cells[len(cells)-1] == (cell{}) {
		cells = cells[:len(cells)-1] // what another sheet is wider
	}
	return cells, some, nil
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
	if raw == "" {
		if s.uncomputed[[2]int{col, row}] {
			return cell{wrong: "the formula in the cell has no value: compute and save the workbook, or paste values"}, nil
		}
		return cell{}, nil
	}
	kind, err := s.file.GetCellType(s.name, at)
	if err != nil {
		return cell{}, err
	}
	switch kind {
	case excelize.CellTypeSharedString, excelize.CellTypeInlineString, excelize.CellTypeFormula:
		return cell{text: raw}, nil
	case excelize.CellTypeError:
		return cell{wrong: "the cell shows the error " + Quote(raw) + ": correct its formula"}, nil
	case excelize.CellTypeBool:
		return cell{wrong: "the cell is TRUE or FALSE: " + asText}, nil
	case excelize.CellTypeDate:
		return numberCell("0", 14, ""), nil
	}
	if over := s.covering(col, row); over != "" {
		at = over
	}
	style, err := s.file.GetCellStyle(s.name, at)
	if err != nil {
		return cell{}, err
	}
	form := 0
	if xfs := s.file.Styles.CellXfs; xfs != nil && style >= 0 && style < len(xfs.Xf) && xfs.Xf[style].NumFmtID != nil {
		form = *xfs.Xf[style].NumFmtID
	}
	return numberCell(raw, form, s.codes[form]), nil
}

// merges notes the merged ranges.
func (s *sheetReader) merges(r *Report) error {
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
		r.Warn(0, "", "%d ranges of cells are merged, the first at %s: every row of one was read with its value", len(ranges), s.merged[0].first)
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
func (s *sheetReader) hiddenColumns(t *Table, r *Report) {
	for i, name := range t.head {
		h, known := s.form.column(name)
		letters, err := excelize.ColumnNumberToName(i + 1)
		if err != nil || !known {
			continue
		}
		if seen, err := s.file.GetColVisible(s.name, letters); err == nil && !seen {
			r.Warn(0, h.name, "the column %s is hidden and was read too", h.name)
		}
	}
}
