package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"
)

// The bounds of a workbook, far above a sheet of MaxRows. The library that reads workbooks fills
// the gaps between the cells that a sheet names, so a few bytes could ask for gigabytes.
const (
	maxParts    = 1_000
	maxXML      = 32 << 20 // bytes of all parts together, unpacked
	maxElements = 500_000
	maxTag      = 64 << 10 // bytes of one tag with its attributes
	maxSheets   = 200
	maxRows     = 10_000
	maxGrid     = 250_000    // cells of all sheets, gaps counted
	maxMerged   = 300        // merged ranges of all sheets
	maxSettings = 2_000      // settings of columns or number formats of one part
	maxRuns     = 1_000      // pieces of one text, each of another look
	maxCellText = 4 * 32_767 // bytes; a cell holds 32,767 characters
	maxAllText  = MaxBytes   // bytes of the cells that are read
)

// workbook is what checkWorkbook has found and counted.
type workbook struct {
	packed []byte // a ZIP archive of the checked parts
	widths []int  // of each row, up to the last one: the last column that any sheet has in it

	// uncomputed has by part, its name in small letters, the cells that have a formula and no value.
	uncomputed map[string]map[[2]int]bool

	xml, elements, grid, merged int
}

// checkWorkbook unpacks the XML parts of a workbook, counting what really comes out and not what
// the archive says, checks each, and packs them again: the library sees nothing that was not
// checked. Pictures, macros and whatever else is in the archive are left out.
func (f *Form) checkWorkbook(data []byte) (*workbook, error) {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, errors.New("the file begins as an XLSX workbook but is damaged or cut off: ask for it again")
	}
	if len(archive.File) > maxParts {
		return nil, fmt.Errorf("the workbook has %d parts, at most %d are taken: copy its rows into a new workbook", len(archive.File), maxParts)
	}
	w := &workbook{uncomputed: map[string]map[[2]int]bool{}}
	var packed bytes.Buffer
	pack := zip.NewWriter(&packed)
	seen, excel := map[string]bool{}, false
	for _, part := range archive.File {
		name := strings.ReplaceAll(part.Name, `\`, "/")
		folded := strings.ToLower(name)
		if folded == "xl/workbook.bin" {
			return nil, errors.New("this is an XLSB workbook: save it as XLSX")
		}
		excel = excel || strings.HasPrefix(folded, "xl/")
		if ext := path.Ext(folded); ext != ".xml" && ext != ".rels" {
			continue
		}
		if seen[folded] {
			return nil, fmt.Errorf("the workbook has the part %s twice: save it again as XLSX", Quote(name))
		}
		seen[folded] = true
		text, err := w.unpack(part)
		if err != nil {
			return nil, err
		}
		if err := w.check(name, text); err != nil {
			return nil, err
		}
		to, err := pack.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err == nil {
			_, err = to.Write(text)
		}
		if err != nil {
			return nil, fmt.Errorf("the part %s cannot be read: %w", Quote(name), err)
		}
	}
	if !excel {
		return nil, fmt.Errorf("this is a ZIP archive but no XLSX workbook: save the %[1]s as XLSX, or unpack the archive and give the %[1]s in it", f.What)
	}
	if err := pack.Close(); err != nil {
		return nil, err
	}
	w.packed = packed.Bytes()
	return w, nil
}

// unpack reads a part, at most as much as is left of maxXML.
func (w *workbook) unpack(part *zip.File) ([]byte, error) {
	damaged := fmt.Errorf("the part %s of the workbook is damaged or is not what the archive says: save it again as XLSX", Quote(part.Name))
	from, err := part.Open()
	if err != nil {
		return nil, damaged
	}
	defer from.Close()
	text, err := io.ReadAll(io.LimitReader(from, int64(maxXML-w.xml)+1))
	if w.xml += len(text); w.xml > maxXML {
		return nil, fmt.Errorf("the workbook unpacks to more than %d MB: copy its rows alone into a new workbook", maxXML>>20)
	}
	if err != nil {
		return nil, damaged
	}
	return text, nil
}

// check walks the tags of a part. Sheets are known by what is in them, not by their name.
func (w *workbook) check(name string, text []byte) error {
	for rest := text; ; {
		begin := bytes.IndexByte(rest, '<')
		if begin < 0 {
			break
		}
		end := bytes.IndexByte(rest[begin:], '>')
		if end < 0 {
			break // the decoder reports it
		}
		if end > maxTag {
			return fmt.Errorf("a tag in the part %s is over %d KB: save the workbook again", Quote(name), maxTag>>10)
		}
		rest = rest[begin+end:]
	}
	s := sheetCheck{workbook: w, uncomputed: map[[2]int]bool{}}
	for d := xml.NewDecoder(bytes.NewReader(text)); ; {
		token, err := d.RawToken()
		if err == io.EOF {
			w.uncomputed[strings.ToLower(name)] = s.uncomputed
			return nil
		}
		if err != nil {
			return fmt.Errorf("the part %s is no XML in UTF-8: save the workbook again as XLSX", Quote(name))
		}
		switch t := token.(type) {
		case xml.StartElement:
			err = s.start(t)
		case xml.EndElement:
			s.end(t.Name.Local)
		case xml.CharData:
			err = s.chars(len(t))
		}
		if err != nil {
			return err
		}
	}
}

// sheetCheck follows the rows and cells of one part.
type sheetCheck struct {
	*workbook
	inData     bool // inside sheetData
	row, col   int  // the last ones met
	inText     bool // inside a text of the table of texts, or of a cell
	text, runs int  // bytes of it, and its pieces
	formula    bool // the cell has a formula
	inValue    bool
	value      bool // the cell has a value, or is a text that may be empty
	settings   int  // of columns and number formats
	uncomputed map[[2]int]bool
}

func (s *sheetCheck) start(t xml.StartElement) error {
	if s.elements++; s.elements > maxElements {
		return fmt.Errorf("the workbook holds more than %d things: copy its rows alone into a new workbook", maxElements)
	}
	switch t.Name.Local {
	case "si", "is":
		s.inText, s.text, s.runs = true, 0, 0
	case "r":
		if s.runs++; s.inText && s.runs > maxRuns {
			return fmt.Errorf("a text changes its look more than %d times: format its cell plainly", maxRuns)
		}
	case "mergeCell":
		if s.merged++; s.merged > maxMerged {
			return fmt.Errorf("the workbook has more than %d merged ranges: unmerge its cells", maxMerged)
		}
	case "col", "numFmt":
		if s.settings++; s.settings > maxSettings {
			return fmt.Errorf("a part of the workbook has more than %d settings of columns or numbers: copy its rows alone into a new workbook", maxSettings)
		}
	case "sheetData":
		s.inData = true
	case "f":
		s.formula = true
	case "v":
		s.inValue = true
	case "row":
		if s.inData {
			return s.startRow(t)
		}
	case "c":
		if s.inData {
			return s.startCell(t)
		}
	}
	return nil
}

// startRow counts a row; rows without a number follow the last one.
func (s *sheetCheck) startRow(t xml.StartElement) error {
	row := s.row + 1
	if r := attribute(t, "r"); r != "" {
		n, err := strconv.Atoi(r)
		if err != nil || n <= s.row {
			return fmt.Errorf("a sheet has row %s after row %d: save the workbook again as XLSX", Quote(r), s.row)
		}
		row = n
	}
	if row > maxRows {
		return fmt.Errorf("a sheet goes down to row %d, at most %d rows are read: delete the empty rows below the others", row, maxRows)
	}
	s.row, s.col = row, 0
	for len(s.widths) < row {
		s.widths = append(s.widths, 0)
	}
	return nil
}

// startCell counts a cell and the gap before it; cells without a reference follow the last one.
func (s *sheetCheck) startCell(t xml.StartElement) error {
	if s.row == 0 {
		return errors.New("a sheet has a cell outside the rows: save the workbook again as XLSX")
	}
	col := s.col + 1
	if r := attribute(t, "r"); r != "" {
		c, row, ok := cellAt(r)
		if !ok || row != s.row || c <= s.col {
			return fmt.Errorf("a sheet has cell %s in row %d after column %d: save the workbook again as XLSX", Quote(r), s.row, s.col)
		}
		col = c
	}
	if col > maxColumns {
		return fmt.Errorf("row %d of a sheet goes beyond column %d: delete the columns that are not of the sheet", s.row, maxColumns)
	}
	if s.grid += col - s.col; s.grid > maxGrid {
		return fmt.Errorf("the workbook has more than %d cells: copy its rows alone into a new workbook", maxGrid)
	}
	s.col = col
	s.widths[s.row-1] = max(s.widths[s.row-1], col)
	s.formula, s.value = false, attribute(t, "t") == "str"
	return nil
}

func (s *sheetCheck) end(name string) {
	switch name {
	case "si", "is":
		s.inText = false
	case "v":
		s.inValue = false
	case "sheetData":
		s.inData = false
	case "c":
		if s.inData && s.formula && !s.value {
			s.uncomputed[[2]int{s.col, s.row}] = true
		}
	}
}

func (s *sheetCheck) chars(n int) error {
	s.value = s.value || s.inValue && n > 0
	if s.inText {
		s.text += n
	}
	if s.text > maxCellText {
		return errors.New("a cell holds more than 32,767 characters: shorten it")
	}
	return nil
}

// attribute gives an attribute by its name, "" for none.
func attribute(t xml.StartElement, name string) string {
	value := ""
	for _, a := range t.Attr {
		if a.Name.Local == name {
			value = a.Value
		}
	}
	return value
}

// cellAt reads a reference like AB12.
func cellAt(r string) (col, row int, ok bool) {
	letters := 0
	for letters < len(r) && letters < 3 && r[letters] >= 'A' && r[letters] <= 'Z' {
		col = col*26 + int(r[letters]-'A') + 1
		letters++
	}
	row, err := strconv.Atoi(r[letters:])
	return col, row, err == nil && letters > 0 && row > 0 && strconv.Itoa(row) == r[letters:]
}
