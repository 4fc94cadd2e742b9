package view

import (
	"encoding/binary"
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Hit is one thing that goes by a text. Which of the fields are set depends on the kind.
type Hit struct {
	Kind   string      // "bundle", "stock", "load", "place", "person", "heat", "cert", "mill", "job", "list" or "mark"
	Number tags.Number // of a bundle, lot, load, place or person
	Heat   heat.Key    // of a heat; of a cert the heat that it is of; of a mill the mill alone
	Job    string      // of a job, list or mark
	List   string
	Mark   string
	Text   string // of a cert, an alias or a place: what stands on it
}

// mostNear is how many of each kind are offered where nothing goes by a text.
const mostNear = 8

// Search finds what goes by a text, by whatever name: a number, an alias (as a mill's number of a lot), a heat
// with or without its mill, a cert's text, a mill, a job, a list, a mark, a place. It reads rows by their keys
// only, and follows nothing: see Ask for that.
func (p *Past) Search(text string, r tags.Reader) (out []Hit) {
	text, ok := question(text)
	if !ok {
		return nil
	}
	add := func(h Hit) {
		if !slices.Contains(out, h) {
			out = append(out, h)
		}
	}
	number := func(n tags.Number, alias string) {
		if n != 0 && p.Known(n) {
			add(Hit{Kind: n.Kind().String(), Number: n, Text: alias})
		}
	}
	heats := func(keys []heat.Key) {
		for _, k := range keys {
			add(Hit{Kind: "heat", Heat: k})
		}
	}
	read, _ := r.Read(text)
	number(read.Number, "")
	texts := []string{read.Text}
	if m := read.Mill; m != nil {
		heats(p.HeatsNamed(m.Heat))
		texts = append(texts, m.Bundle)
	}
	for _, t := range texts {
		if n, ok := p.Alias(t); ok && t != "" {
			number(n, t)
		}
	}
	heats(p.HeatsNamed(text))
	for _, k := range millHeats(text) {
		if p.KnownTarget(event.Target{Mill: k.Mill, Heat: k.Heat}) {
			add(Hit{Kind: "heat", Heat: k})
		}
	}
	for _, k := range p.CertsNamed(text) {
		add(Hit{Kind: "cert", Heat: k, Text: text})
	}
	if len(p.heatsOfMill(text)) > 0 {
		add(Hit{Kind: "mill", Heat: heat.Key{Mill: text}})
	}
	for _, h := range p.listed(text) {
		add(h)
	}
	if n, ok := p.PlaceNamed(text); ok {
		add(Hit{Kind: "place", Number: n, Text: text})
	}
	return out
}

// listed finds jobs, lists and marks.
func (p *Past) listed(text string) (out []Hit) {
	if p.HasJob(text) {
		out = append(out, Hit{Kind: "job", Job: text})
	}
	parts := strings.Split(text, "/")
	switch len(parts) {
	case 1:
		p.each(tList, func(k, _ []byte) bool {
			if job, rest, _ := strings.Cut(string(k), "\x00"); strings.TrimSuffix(rest, "\x00") == text {
				out = append(out, Hit{Kind: "list", Job: job, List: text})
			}
			return true
		})
		for _, l := range p.LinesMarked(text) {
			out = append(out, Hit{Kind: "mark", Job: l.Job, List: l.List, Mark: l.Mark})
		}
	case 2:
		if _, ok := p.ListOf(parts[0], parts[1]); ok {
			out = append(out, Hit{Kind: "list", Job: parts[0], List: parts[1]})
		}
	case 3:
		if l, ok := p.LineOf(parts[0], parts[1], parts[2]); ok {
			out = append(out, Hit{Kind: "mark", Job: l.Job, List: l.List, Mark: l.Mark})
		}
	}
	return out
}

// Near offers what begins with a text, where nothing goes by it: some of each kind, as it is written and in
// capitals.
func (p *Past) Near(text string) (out []Hit) {
	text, ok := question(text)
	if !ok {
		return nil
	}
	texts := []string{text}
	if upper := strings.ToUpper(text); upper != text {
		texts = append(texts, upper)
	}
	for _, t := range texts {
		begin := []byte(t)
		some := func(kind string, hit func(rest string, value []byte) (Hit, bool)) func(rest, value []byte) bool {
			n := 0
			return func(rest, value []byte) bool {
				h, ok := hit(t+string(rest), value)
				if h.Kind = kind; ok && !slices.Contains(out, h) {
					out = append(out, h)
					n++
				}
				return n < mostNear
			}
		}
		p.prefix(tHeatText, begin, some("heat", func(key string, _ []byte) (Hit, bool) {
			name, mill, _ := strings.Cut(key, "\x00")
			k := heat.Key{Mill: strings.TrimSuffix(mill, "\x00"), Heat: name}
			return Hit{Heat: k}, len(p.LotsOfHeat(k)) > 0
		}))
		p.prefix(tCertText, begin, some("cert", func(key string, value []byte) (Hit, bool) {
			name, _, _ := strings.Cut(key, "\x00")
			mill, rest, _ := strings.Cut(string(value), "\x00")
			return Hit{Heat: heat.Key{Mill: mill, Heat: strings.TrimSuffix(rest, "\x00")}, Text: name}, true
		}))
		p.prefix(tJob, begin, some("job", func(key string, _ []byte) (Hit, bool) { return Hit{Job: strings.TrimSuffix(key, "\x00")}, true }))
		p.prefix(tMark, begin, some("mark", func(key string, _ []byte) (Hit, bool) {
			if len(key) < 9 {
				return Hit{}, false
			}
			seq := binary.BigEndian.Uint64([]byte(key[len(key)-8:]))
			if newest, _ := p.Newest(seq); newest != seq {
				return Hit{}, false
			}
			l := p.Line(seq)
			return Hit{Job: l.Job, List: l.List, Mark: l.Mark}, true
		}))
		p.prefix(tPlaceName, begin, some("place", func(key string, value []byte) (Hit, bool) {
			return Hit{Number: tags.Number(binary.BigEndian.Uint64(value)), Text: strings.TrimSuffix(key, "\x00")}, true
		}))
		p.prefix(tAlias, begin, some("alias", func(key string, value []byte) (Hit, bool) {
			return Hit{Number: tags.Number(binary.BigEndian.Uint64(value)), Text: strings.TrimSuffix(key, "\x00")}, true
		}))
	}
	for i := range out {
		if out[i].Kind == "alias" {
			out[i].Kind = out[i].Number.Kind().String()
		}
	}
	return out
}
