package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"tagd/api"
	"tagd/internal/tags"
)

type tagsCmd struct {
	dataFlag
	Numbers []string `arg:"" optional:"" name:"number"`
	Job     string
	List    string
	Mark    string
	Load    string
	Out     string `required:""`
	Format  string `enum:"png,svg" default:"png"`
	DPI     int    `name:"dpi" enum:"203,300,600" default:"203"`
	Layout  string `enum:"4x6,100x150" default:"4x6"`
}

func (tagsCmd) Help() string {
	return `Usage: tagd tags [NUMBER...] [--job JOB] [--list LIST] [--mark MARK]
                 [--load LOAD] --out FILE.pdf|DIR [--format png|svg]
                 [--dpi DPI] [--layout LAYOUT] [--data DIR]

Writes tags: of the numbers that are named, or of all bundles of a job, of a
list or mark of it, or of a load. A number may be of a bundle, lot, load, place
or person.

Into a FILE.pdf they go a tag a page, 1,000 at most, and each counts as one more
copy: from the second on it says so. Into a folder they go a file each, as PNG
or, with --format svg, as SVG; that is for looking at, and counts as no copy.

--dpi is the printer's: 203 (without --dpi), 300 or 600 dots an inch; every bar
is a whole number of dots. --layout is the paper: 4x6 (inches) or 100x150 (mm).

A file that is there already is left alone.

Examples:

    tagd tags --job 26-014 --list A1 --out tags.pdf
    tagd tags 1-001-00000042-05 --out tag.pdf --dpi 300
    tagd tags --load 4-001-00000001-83 --out look
`
}

func (c *tagsCmd) Run(ctx context.Context, s streams) error {
	chosen := c.Job != "" || c.Load != "" || c.Mark != ""
	switch {
	case chosen && len(c.Numbers) > 0, c.Load != "" && c.Job+c.List+c.Mark != "":
		return misuse("", "name numbers, or a job with its list and mark, or a load; one of these")
	case !chosen && len(c.Numbers) == 0:
		return misuse("tagd help tags explains it.", "which tags? Name their numbers, or a job, mark or load")
	}
	if !c.Data.exists() {
		return misuse("--data names another folder.", "%s has no store to ask", c.Data)
	}
	sheet := strings.EqualFold(filepath.Ext(c.Out), ".pdf")
	if _, err := os.Lstat(c.Out); err == nil && sheet {
		return misuse("Name another file, or take it away first.", "%s is there already", c.Out)
	}
	w, err := c.Data.ask(ctx, s)
	if err != nil {
		return err
	}
	defer w.close()
	if sheet {
		return c.sheet(ctx, w)
	}
	if chosen {
		if c.Numbers, err = c.choose(ctx, w); err != nil {
			return err
		}
	}
	return c.each(ctx, s, w)
}

// choose finds the bundles of a job, list, mark or load.
func (c *tagsCmd) choose(ctx context.Context, w *door) (numbers []string, err error) {
	if c.Load != "" {
		load, err := w.Load(ctx, c.Load)
		for _, b := range load.Bundles {
			numbers = append(numbers, b.Number)
		}
		return numbers, err
	}
	for after, more := "", true; more; {
		page, err := w.Bundles(ctx, api.BundleFilter{Job: c.Job, List: c.List, Mark: c.Mark}, after, 0)
		if err != nil {
			return nil, err
		}
		for _, b := range page.Bundles {
			if b.State != "voided" {
				numbers = append(numbers, b.Number)
			}
		}
		after, more = page.Next, page.Next != ""
	}
	if len(numbers) == 0 {
		return nil, no("tagd trace finds what there is.", "there are no such bundles")
	}
	return numbers, nil
}

// sheet prints all tags into one file.
func (c *tagsCmd) sheet(ctx context.Context, w *door) error {
	pdf, err := w.PrintTags(ctx, api.PrintTags{
		Numbers: c.Numbers, Job: c.Job, List: c.List, Mark: c.Mark, Load: c.Load, DPI: c.DPI, Layout: c.Layout,
		By: api.By{Device: device},
	})
	if err != nil {
		return err
	}
	return writeFile(c.Out, func(f io.Writer) error { _, err := f.Write(pdf); return err })
}

// each writes every tag into a file of its own.
func (c *tagsCmd) each(ctx context.Context, s streams, w *door) error {
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return misuse("", "%v", err)
	}
	for _, text := range c.Numbers {
		n, err := tags.ParseNumber(text)
		if err != nil {
			return no("", "%v", err)
		}
		path := filepath.Join(c.Out, n.String()+"."+c.Format)
		if _, err := os.Lstat(path); err == nil {
			return misuse("Name another folder, or take it away first.", "%s is there already", path)
		}
		tag, err := w.Tag(ctx, n.String(), c.Format, c.DPI, c.Layout)
		if err != nil {
			return err
		}
		if err := writeFile(path, func(f io.Writer) error { _, err := f.Write(tag); return err }); err != nil {
			return err
		}
		fmt.Fprintln(s.out, path)
	}
	return nil
}
