// Package view is what the journal made: the state of every bundle, lot, run, heat, job and load, and
// the indexes that answer questions. It is derived from the journal alone, in the order of sequences,
// so it can be thrown away: a store with another Version is rebuilt, never migrated.
//
// Keys hold numbers as 8 bytes and sequences as 8 bytes, both big-endian, so that they sort as they
// were given out; texts end with a zero byte, which no text of ours contains. Values are CBOR.
//
//	table      key                        value
//	meta       word                       version, last serial of each kind, store UUID, plant
//	bundle     number                     scan.Bundle
//	lot        number                     heat.Lot
//	run        seq of its opening         scan.Run
//	floor      's' station 0              scan.Floor
//	           'd' device 0               scan.Device (in one table: every scan writes both)
//	job        job                        event.JobSet
//	list       job 0 list                 List
//	line       job 0 list 0 mark 0        seq of the line (its body is read from the journal)
//	           job 0 list 0 mark 0 seq    seq of an earlier line that is not what this one took the place of
//	later      seq of a line              seq of the event that took its place, 1 if that withdrew it
//	mark       mark 0 seq                 -
//	rest       line seq, number           - (bundles that a line got later: remainders, reassigned ones)
//	part       number, number             - (bundles that have pieces of another)
//	history    number, seq                - (events about a number that its own row does not name)
//	size       size 0 at, number          - (lots with bars or coil on hand, on no feed, oldest first)
//	heat       mill 0 heat 0 number       - (lots of a heat)
//	coming     number                     - (lots of which more is expected)
//	heattext   heat 0 mill                - (mills of a heat number)
//	lotrun     number, seq                - (runs that may have drawn from a lot)
//	child      number, number             - (remnants that may be left of a lot)
//	cert       mill 0 heat 0 seq          heat.Cert
//	certtext   text 0 seq                 mill 0 heat
//	load       number                     load.Load
//	loaded     load, bundle               seq
//	here       load                       - (loads that have not left)
//	planned    load, bundle               stop (from 0) in 2 bytes, place in its order in 4
//	back       load, bundle               pieces that went in 4 bytes, its stop (from 1) in 2, seq of its return in 8 (came back whole)
//	claim      load, seq                  seq of its answer; - while it is open
//	hold       target                     heat.Hold
//	place      number                     name
//	placename  name                       number
//	person     number                     -
//	alias      text                       number
//	told       what 0 name 0 seq          - (events about a heat, job, bar list or answer, by its name)
//	former     what 0 key                 what an index held, or a row said, before (see former.go)
//	look       seq                        - (answers that want a person, Check, until they are resolved)
package view

import "tagd/internal/store"

// Version is the form of the views that this program keeps. It changes whenever a key, a value or
// what Apply makes of an event does.
const Version = 3

// The tables of the views.
const (
	tMeta      store.Table = "meta"
	tBundle    store.Table = "bundle"
	tLot       store.Table = "lot"
	tRun       store.Table = "run"
	tFloor     store.Table = "floor"
	tJob       store.Table = "job"
	tList      store.Table = "list"
	tLine      store.Table = "line"
	tLater     store.Table = "later"
	tMark      store.Table = "mark"
	tRest      store.Table = "rest"
	tPart      store.Table = "part"
	tHistory   store.Table = "history"
	tSize      store.Table = "size"
	tHeat      store.Table = "heat"
	tComing    store.Table = "coming"
	tHeatText  store.Table = "heattext"
	tLotRun    store.Table = "lotrun"
	tChild     store.Table = "child"
	tCert      store.Table = "cert"
	tCertText  store.Table = "certtext"
	tLoad      store.Table = "load"
	tLoaded    store.Table = "loaded"
	tHere      store.Table = "here"
	tPlanned   store.Table = "planned"
	tBack      store.Table = "back"
	tClaim     store.Table = "claim"
	tHold      store.Table = "hold"
	tPlace     store.Table = "place"
	tPlaceName store.Table = "placename"
	tPerson    store.Table = "person"
	tAlias     store.Table = "alias"
	tTold      store.Table = "told"
	tFormer    store.Table = "former"
	tLook      store.Table = "look"
)

// Tables are all tables of the views.
var Tables = []store.Table{
	tMeta, tBundle, tLot, tRun, tFloor, tJob, tList, tLine, tLater, tMark, tRest, tPart, tHistory, tSize, tHeat,
	tComing, tHeatText, tLotRun, tChild, tCert, tCertText, tLoad, tLoaded, tHere, tPlanned, tBack, tClaim, tHold, tPlace, tPlaceName, tPerson, tAlias, tLook,
	tTold, tFormer,
}
