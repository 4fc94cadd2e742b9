// Package label lays out tags for paper and draws them.
//
// A Label says how large it is, draws itself on a Device, and names the texts that its bar codes
// must read as. PNG, SVG and PDF give one drawing three ways; Sheet gives many tags as one PDF, a
// tag a page. All three use the same letters (Go Regular, Go Bold and Go Mono Bold) at the same
// places, so that a tag looks alike on a screen, in a browser and from a label printer.
//
// # Measures
//
// Places and sizes are millimetres from the top left corner of the tag, sizes of letters are
// points (1 pt is 0.255 mm of capital height in these faces). Whatever a scanner reads is drawn in
// whole dots of the printer from the first bar on, so each output is made for a number of dots per
// inch: 203, 300 or 600.
//
// # Rules of every tag
//
// Black on white only; white letters on a black bar mark a reprint, mixed heats, stock, remnants
// and loads. A text that does not fit its place is set smaller, then wrapped, then refused with the
// name of its field: nothing is ever cut off. A character that the faces do not have is refused
// likewise.
package label
