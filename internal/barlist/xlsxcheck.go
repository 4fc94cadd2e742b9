package barlist

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

// The bounds of a workbook, far above a bar list of MaxLines. The library that reads workbooks fills
// the gaps between the cells that a sheet names, so a few bytes could ask for gigabytes.
const (
	maxParts    = 1_000
	maxXML      = 32 << 20 // bytes of all parts together, unpacked
	maxElements = 1_000_000
	maxTag      = 64 << 10 // bytes of one tag with its attributes
	maxSheets   = 200
	maxRows     = 10_000
	maxGrid     = 400_000    // cells of all sheets, gaps counted
	maxMerged   = 500        // merged ranges of all sheets
	maxCellText = 4 * 32_767 // bytes; a cell holds 32,767 characters
	maxAllText  = MaxBytes   // bytes of the cells that are read
)

// workbook is what checkWorkbook has found and counted.
type workbook struct {
	packed []byte // a ZIP archive of the checked parts
	rows   int    // the last row of any sheet

	xml, elements, grid, merged int
}

// checkWorkbook unpacks the XML parts of a workbook, counting what really comes out and not what
// the archive says, checks each, and packs them again: the library sees nothing that was not
// checked. Pictures, macros and whatever else is in the archive are left out.
func checkWorkbook(data []byte) (*workbook, error) {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, errors.New("the file begins as an XLSX workbook but is damaged or cut off: ask for it again")
	}
	if len(archive.File) > maxParts {
		return nil, fmt.Errorf("the workbook has %d parts, at most %d are taken: copy the list into a new workbook", len(archive.File), maxParts)
	}
	w := &workbook{}
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
			return nil, fmt.Errorf("the workbook has the part %s twice: save it again as XLSX", quote(name))
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
			return nil, fmt.Errorf("the part %s cannot be read: %w", quote(name), err)
		}
	}
	if !excel {
		return nil, errors.New("this is a ZIP archive but no XLSX workbook: save the list as XLSX, or unpack the archive and give the bar list in it")
	}
	if err := pack.Close(); err != nil {
		return nil, err
	}
	w.packed = packed.Bytes()
	return w, nil
}

// unpack reads a part, at most as much as is left of maxXML.
func (w *workbook) unpack(part *zip.File) ([]byte, error) {
	damaged := fmt.Errorf("the part %s of the workbook is damaged or is not what the archive says: save it again as XLSX", quote(part.Name))
	from, err := part.Open()
	if err != nil {
		return nil, damaged
	}
	defer from.Close()
	text, err := io.ReadAll(io.LimitReader(from, int64(maxXML-w.xml)+1))
	if w.xml += len(text); w.xml > maxXML {
		return nil, fmt.Errorf("the workbook unpacks to more than %d MB: copy the list alone into a new workbook", maxXML>>20)
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
			return fmt.Errorf("a tag in the part %s is over %d KB: save the workbook again", quote(name), maxTag>>10)
		}
		rest = rest[begin+end:]
	}
	var s sheetCheck
	for d := xml.NewDecoder(bytes.NewReader(text)); ; {
		token, err := d.RawToken()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("the part %s is no XML in UTF-8: save the workbook again as XLSX", quote(name))
		}
		switch t := token.(type) {
		case xml.StartElement:
			if w.elements++; w.elements > maxElements {
				return fmt.Errorf("the workbook holds more than %d things: copy the list alone into a new workbook", maxElements)
			}
			err = s.start(t, w)
		case xml.EndElement:
			s.end(t)
		case xml.CharData:
			if s.inText {
				s.text += len(t)
			}
			if s.text > maxCellText {
				err = errors.New("a cell holds more than 32,767 characters: shorten it")
			}
		}
		if err != nil {
			return err
		}
	}
}

// sheetCheck follows the rows and cells of one sheet.
type sheetCheck struct {
	inData   bool // inside sheetData
	row, col int  // the last ones met
	inText   bool // inside a text of the table of texts, or of a cell
	text     int  // bytes of it
}

func (s *sheetCheck) start(t xml.StartElement, w *workbook) error {
	switch t.Name.Local {
	case "si", "is":
		s.inText, s.text = true, 0
	case "mergeCell":
		if w.merged++; w.merged > maxMerged {
			return fmt.Errorf("the workbook has more than %d merged ranges: unmerge the cells of the list", maxMerged)
		}
	case "sheetData":
		s.inData = true
	case "row":
		if !s.inData {
			return nil
		}
		row := s.row + 1
		if r, ok := reference(t); ok {
			n, err := strconv.Atoi(r)
			if err != nil || n <= s.row {
				return fmt.Errorf("a sheet has row %s after row %d: save the workbook again as XLSX", quote(r), s.row)
			}
			row = n
		}
		if row > maxRows {
			return fmt.Errorf("a sheet goes down to row %d, at most %d rows are read: delete the empty rows below the list", row, maxRows)
		}
		s.row, s.col = row, 0
		w.rows = max(w.rows, row)
	case "c":
		if !s.inData {
			return nil
		}
		col := s.col + 1
		if r, ok := reference(t); ok {
			c, row, ok := cellAt(r)
			if !ok || row != s.row || c <= s.col {
				return fmt.Errorf("a sheet has cell %s in row %d after column %d: save the workbook again as XLSX", quote(r), s.row, s.col)
			}
			col = c
		}
		if col > maxColumns {
			return fmt.Errorf("row %d of a sheet goes beyond column %d: delete the columns that are not of the list", s.row, maxColumns)
		}
		if w.grid += col - s.col; w.grid > maxGrid {
			return fmt.Errorf("the workbook has more than %d cells: copy the list alone into a new workbook", maxGrid)
		}
		s.col = col
	}
	return nil
}

func (s *sheetCheck) end(t xml.EndElement) {
	switch t.Name.Local {
	case "si", "is":
		s.inText = false
	case "sheetData":
		s.inData = false
	}
}

// reference gives the attribute r of a row or a cell.
func reference(t xml.StartElement) (string, bool) {
	r := ""
	for _, a := range t.Attr {
		if a.Name.Local == "r" {
			r = a.Value
		}
	}
	return r, r != ""
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
