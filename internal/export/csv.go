package export

import "strings"

// Cell makes a text safe to stand in a cell of a CSV table: where a spreadsheet program would take
// it for a formula (it begins with = + - @, a tab or a line end), an apostrophe is put in front.
// Source: OWASP, CSV Injection.
func Cell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n", rune(s[0])) {
		return "'" + s
	}
	return s
}
