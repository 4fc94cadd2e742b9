// Package export gives out what the records say: papers as PDF, and cells that are safe in tables.
//
// A paper is a value, filled by whoever knows the records, and writes itself. Papers are laid out for
// a laser printer on Letter or A4 in two languages, in the letters and symbols of tags/label:
//
//   - what a person must know first stands in a box before the table, never in a footnote;
//   - a paper with a number carries it as Code 128 on every page, so that a loose sheet still says
//     whose it is, and as QR code on the first;
//   - a row is never split over two pages, a group's head keeps two rows with it, a subtotal the last
//     row, and totals stay on one page with the signatures below them;
//   - a long text is set smaller, then broken into lines, and never cut off; a character that the
//     letters do not have is refused with the name of its field, as on tags.
//
// Weights are nominal and rounded by the largest remainder (bar.Round), so that the rows of a paper
// add up to its totals as they are printed.
package export
