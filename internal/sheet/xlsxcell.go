package sheet

import (
	"math"
	"strconv"
	"strings"
	"unicode"
)

const asText = "format the column as text and type it again"

// numberCell reads a number of a sheet with its format: the number of a built-in one (ECMA-376 part
// 1, 18.8.30) or the code of the workbook's own.
//
// A workbook stores what its program made of the keys pressed: 11-06 became a date, 1E5 became
// 100000 shown as 1E+05, 007 became 7. So a number with a date's format is nothing, and one whose
// format shows other characters than are stored is no text.
func numberCell(raw string, id int, code string) cell {
	v, err := strconv.ParseFloat(raw, 64)
	if err != nil || math.Abs(v) >= 1e15 {
		return cell{wrong: "the number " + Quote(raw) + " cannot be read: " + asText}
	}
	// A cell shows 15 digits at most: 3505.1999999999998 is 3505.2.
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 15, 64), 64)
	c := cell{text: strconv.FormatFloat(v, 'f', -1, 64)}
	form := formOf(id, code)
	switch {
	case form.date:
		c.wrong = "the cell is a date, as spreadsheet programs make one of 11-06: " + asText
	case form.percent:
		c.wrong = "the cell is a percentage: " + asText
	case form.words:
		c.wrong = "the format of the cell shows letters (" + Quote(code) + ") that are not in it: write the unit into the cell, or into the column name"
	case !form.plain, math.Abs(v) >= 1e11, strings.ContainsAny(raw, "eE"):
		c.notText = "the cell is a number (" + c.text + ") and may show other characters than were typed, as 1E5 or 007: " + asText
	}
	return c
}

// numberForm is what the format of a number does to it.
type numberForm struct {
	plain   bool // shows the digits as they are
	date    bool // a date or a time
	percent bool
	words   bool // adds letters
}

// formOf tells what a number format does.
func formOf(id int, code string) numberForm {
	switch {
	case code != "":
		return customForm(code)
	case id == 0 || id == 1 || id == 49: // General, 0, @
		return numberForm{plain: true}
	case id == 9 || id == 10:
		return numberForm{percent: true}
	case id >= 14 && id <= 22, id >= 27 && id <= 36, id >= 45 && id <= 47, id >= 50 && id <= 58, id >= 71 && id <= 81:
		return numberForm{date: true}
	}
	return numberForm{}
}

// customForm reads a format code: letters of dates stand outside quotes, escapes and brackets, but
// elapsed time is in brackets.
func customForm(code string) numberForm {
	switch strings.ToLower(code) {
	case "general", "0", "@":
		return numberForm{plain: true}
	}
	var f numberForm
	chars := []rune(strings.ReplaceAll(strings.ToLower(code), "general", ""))
	for i := 0; i < len(chars); i++ {
		switch c := chars[i]; c {
		case '"':
			for i++; i < len(chars) && chars[i] != '"'; i++ {
				f.words = f.words || unicode.IsLetter(chars[i])
			}
		case '\\':
			if i++; i < len(chars) {
				f.words = f.words || unicode.IsLetter(chars[i])
			}
		case '_', '*': // the width of the next character, or a filling with it
			i++
		case '[':
			begin := i + 1
			for i < len(chars) && chars[i] != ']' {
				i++
			}
			if elapsed := strings.Trim(string(chars[begin:i]), "hms"); elapsed == "" && i > begin {
				f.date = true
			}
		case 'd', 'm', 'y', 'h', 's':
			f.date = true
		case '%':
			f.percent = true
		}
	}
	return f
}
