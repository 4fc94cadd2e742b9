package main

import (
	"embed"
	"fmt"
)

// The invented shop: nobody of these exists.

//go:embed demo/*.csv demo/second/*.csv
var demoLists embed.FS

const (
	bridge = "26-014" // one heat in a bundle, certs on file
	garage = "26-021" // heats listed for each load
)

// demoStations are those of the second day, beside the usual ones: a second shear, and a machine that cuts and
// bends from coil.
const demoStations = `
[[station]]
name = "S2"
title = "Shear 2"
does = ["cut"]
feeds = ["A"]
pockets = ["1", "2", "3", "4"]

[[station]]
name = "C1"
title = "Tie machine"
does = ["cut and bend"]
feeds = ["1"]
`

// bought is a lot of the invented shop.
type bought struct {
	name               string // in the story
	mill, heat         string
	size, spec, length string
	bars               int
	place, tied        string
	cert               bool
}

const (
	northfork = "Northfork Bar Mill (invented)"
	tallgrass = "Tallgrass Steel (invented)"
	laguna    = "Siderúrgica Laguna (invented)"
)

// stockBought are the lots of the day: eight heats of three mills. 0041893 keeps its zeros, and
// 01E5227 is no number.
var stockBought = []bought{
	{"the #5 bridge lot", northfork, "0041893", "#5", "A706", "60'", 40, "A-01", "NF-88121", true},
	{"the #6 bridge lot", northfork, "0041902", "#6", "A706", "60'", 14, "A-02", "NF-88130", true},
	{"the second #6 lot", tallgrass, "TG77310", "#6", "A706", "60'", 30, "A-03", "T-5501", false},
	{"the #4 bridge lot", northfork, "0041911", "#4", "A706", "40'", 60, "A-04", "NF-88144", true},
	{"the #8 bridge lot", tallgrass, "TG77318", "#8", "A706", "40'", 10, "B-01", "T-5507", true},
	{"the first #4 garage lot", laguna, "01E5227", "#4", "A615", "60'", 60, "B-02", "L-201", false},
	{"the second #4 garage lot", laguna, "01E5230", "#4", "A615", "60'", 60, "B-03", "L-202", false},
	{"the #5 garage lot", tallgrass, "TG77402", "#5", "A615", "60'", 60, "B-04", "T-5512", false},
}

// invented is a one-page PDF that says what it is.
func invented(lines ...string) []byte {
	text := ""
	for i, l := range lines {
		text += fmt.Sprintf("BT /F 14 Tf 72 %d Td (%s) Tj ET\n", 720-24*i, l)
	}
	objects := []string{
		"<< /Type /Catalog /Pages 2 0 R >>",
		"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
		"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] /Resources << /Font << /F 4 0 R >> >> /Contents 5 0 R >>",
		"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
		fmt.Sprintf("<< /Length %d >>\nstream\n%sendstream", len(text), text),
	}
	pdf := "%PDF-1.4\n"
	var at []int
	for i, o := range objects {
		at = append(at, len(pdf))
		pdf += fmt.Sprintf("%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	xref := len(pdf)
	pdf += fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for _, o := range at {
		pdf += fmt.Sprintf("%010d 00000 n \n", o)
	}
	pdf += fmt.Sprintf("trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(objects)+1, xref)
	return []byte(pdf)
}
