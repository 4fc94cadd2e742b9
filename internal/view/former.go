package view

import (
	"bytes"
	"slices"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// What an index held once. The present indexes answer what is; to answer what was, one must also find
// what was taken out of them, so a row that is deleted from one of these tables is kept in "former",
// under the table's name. Rows of a bundle or run that name something else than before leave it there
// too. Such changes are corrections, and rare: a plain scan writes nothing here.
var keptTables = map[store.Table]bool{
	tHeat: true, tLotRun: true, tChild: true, tLoaded: true, tPlanned: true, tRest: true, tLine: true, tMark: true, tAlias: true, tPart: true, tBack: true,
}

// The names of what is kept of rows that changed.
const (
	formerLine   = "bundle line"  // bundle, seq of a line that it was of
	formerMember = "run member"   // run, bundle that was in it
	formerLot    = "run lot"      // run, lot that it may have drawn from
	formerMended = "run restated" // run, seq of an event that restated it
)

// del takes a row out of a table.
func (a *apply) del(t store.Table, key []byte) {
	if keptTables[t] {
		if v := a.tx.Get(t, key); v != nil {
			a.was(string(t), key, bytes.Clone(v))
		}
	}
	a.fail(a.tx.Delete(t, key))
}

// replace sets the value of a row, and keeps the one that it had.
func (a *apply) replace(t store.Table, key, value []byte) {
	if v := a.tx.Get(t, key); v != nil && !bytes.Equal(v, value) {
		a.was(string(t), append(bytes.Clone(key), v...), bytes.Clone(v))
	}
	a.raw(t, key, value)
}

func (a *apply) was(what string, key, value []byte) {
	a.raw(tFormer, append(textKey(what), key...), value)
}

// wasOf keeps what a bundle's row no longer says.
func (a *apply) wasOf(was, is scan.Bundle) {
	if was.Line != is.Line {
		a.was(formerLine, twoKey(uint64(is.Number), was.Line), nil)
	}
}

// wasIn keeps what a run's row no longer says.
func (a *apply) wasIn(was, is scan.Run) {
	for _, m := range was.Members {
		if !slices.ContainsFunc(is.Members, func(o scan.Member) bool { return o.Bundle == m.Bundle }) {
			a.was(formerMember, twoKey(is.Seq, uint64(m.Bundle)), nil)
		}
	}
	for _, n := range was.Lots {
		if !slices.Contains(is.Lots, n) {
			a.was(formerLot, twoKey(is.Seq, uint64(n)), nil)
		}
	}
	if was.Mended != 0 && was.Mended != is.Mended {
		a.was(formerMended, twoKey(is.Seq, was.Mended), nil)
	}
}

// told keeps that the event is about something that has no number: a heat, a job, a bar list, an answer.
func (a *apply) told(what ...string) { a.raw(tTold, textSeqKey(a.seq, what...), nil) }

// toldOf keeps that the event is about the target of a hold.
func (a *apply) toldOf(t event.Target) {
	if t.Number != 0 {
		a.history(t.Number)
	} else {
		a.told("heat", t.Mill, t.Heat)
	}
}

// Told are the sequences of the events about a heat ("heat", mill, heat), a job ("job", job) or a bar
// list ("list", job, list), or that settle the answer of a record ("look", its sequence), oldest first.
func (p *Past) Told(what ...string) []uint64 { return p.seqs(tTold, textKey(what...)) }

// ever calls f with the rest of each key that begins with prefix and is in a table, or was.
func (p *Past) ever(t store.Table, prefix []byte, f func(rest, value []byte)) {
	p.prefix(t, prefix, func(rest, v []byte) bool { f(rest, v); return true })
	p.former(string(t), prefix, f)
}

func (p *Past) former(what string, prefix []byte, f func(rest, value []byte)) {
	p.prefix(tFormer, append(textKey(what), prefix...), func(rest, v []byte) bool { f(rest, v); return true })
}

// number8 reads the number that a key ends with.
func number8(rest []byte) tags.Number { return tags.Number(seq8(rest)) }

// seq8 reads the sequence that a key or value ends with.
func seq8(rest []byte) (n uint64) {
	for _, c := range rest[max(0, len(rest)-8):] {
		n = n<<8 | uint64(c)
	}
	return n
}
