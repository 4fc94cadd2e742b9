// Package event knows everything that can happen in a plant, and how it is written down for ever.
//
// # The envelope
//
// A stored event is one byte, the format (1), and after it one CBOR map (RFC 8949) in the core
// deterministic encoding of its section 4.2.1: shortest integers, definite lengths, keys in order.
// Keys are integers that are never reused. What may be empty, in the envelope or a body, is left out
// when it is. Encode and Decode are twins, and Exact says whether bytes are just those that Encode
// gives: the stored bytes can be hashed as they are, and are never encoded anew.
//
//	1   kind         what happened; always there
//	2   recorded     when the server recorded it, Unix milliseconds, never less than the event before;
//	                 always there
//	3   happened     when the device says it happened: milliseconds since recorded, and one more where
//	                 that is not negative; shown, never an order
//	4   offset       of the plant from UTC then, in minutes
//	5   device       that scanned or asked
//	6   people       numbers of badges; names live outside the journal
//	7   identified   how they were told apart: 0 nobody asked, 1 badge, 2 PIN, 3 password, 4 token
//	8   station
//	9   key          the client's own id of the request: 16 bytes of a UUID, or the text
//	10  body         a map by kind, as below; always there
//	11  answer       what the person was told, with the first event of a scan: [verdict, note, ...],
//	                 a verdict 0 accepted, 1 check, 2 refused; a note [sentence, argument, ...], the
//	                 sentence by its place in Codes, an argument as Answer says
//
// An event has 65,536 bytes at most. A bar list is one event a line and a closing event. An unknown
// format, kind or key is refused: a newer program wrote the store, and to fold without the event
// would lose what it meant. A kind never gets another meaning; a new meaning is a new kind, and the
// old one is turned into it here, as it is read.
//
// # Types
//
// Numbers of things are unsigned integers of 14 digits (package tags), lengths nanometres, masses
// micrograms. Where an event names another one (line, run, cert, seq) it is by sequence. Countries
// are ISO 3166 alpha-2, days are yyyy-mm-dd.
//
//	steel        1 size, 2 spec, 3 grade, 4 coating
//	shape        1 code, 2 edition, 3 pin, 4 legs, each 1 length, 2 radius, 3 turn in tenths of a degree
//	mill bundle  1 number, 2 bars
//	draw         1 lot, 2 bars, 3 over: how many of them the lot did not have by the record
//	remnant      1 lot, 2 length, 3 bars, 4 place
//	mass draw    1 lot, 2 mass, 3 over
//	run closed   1 draws, 2 remnants, 3 scrap, 4 missing, 5 lots, 6 steel, 7 assumed
//	coil closed  1 draws, 2 scrap, 3 missing, 4 lots, 5 assumed
//	run mended   1 run, 2 lots, 3 closed, 4 coil
//	mill coil    1 number, 2 mass
//	part         1 number, 2 pieces
//	stop         1 job, 2 ship to
//	load stop    1 job, 2 ship to, 3 contact, 4 from, 5 until, 6 bundles, 7 processor,
//	             8 step
//	was planned  1 bundle, 2 load, 3 stop
//	back part    1 number, 2 pieces, 3 alias
//	target       1 number, or 2 mill and 3 heat
//
// # Kinds
//
// The number is the kind, then its name as the journal shows it, and the keys of its body. The types
// of the same names say more.
//
// The store:
//
//	1   store opened: 1 format, 2 plant, 3 uuid
//	2   settings changed: 1 sha256, 2 text
//	3   store restored: 1 uuid, 2 jump
//
// Jobs and bar lists:
//
//	10  job set: 1 job, 2 name, 3 customer, 4 po, 5 agency, 6 ship to, 7 heats, 8 certs, 9 spec,
//	    10 edition, 11 coating, 12 country, 13 stock
//	11  line taken: 1 job, 2 list, 3 mark, 4 steel, 5 length, 6 pieces, 7 shape, 8 route, 9 note,
//	    10 row, 11 first, 12 bundles
//	12  list taken: 1 job, 2 list, 3 revision, 4 file, 5 sha256, 6 lines
//	13  line changed: 1 line, 2 taken, 3 stay
//	14  line withdrawn: 1 line, 2 revision, 3 reason
//	15  line decided: 1 line, 2 bundle, 3 fate, 4 reason
//
// Stock and its papers:
//
//	20  lot received: 1 lot, 2 mill, 3 heats, 4 steel, 5 length, 6 bars, 7 bundles, 8 place,
//	    9 melted, 10 rolled, 11 po
//	21  lot heat set: 1 lot, 2 mill, 3 heats, 4 reason
//	22  cert filed: 1 mill, 2 heat, 3 sizes, 4 spec, 5 type, 6 text, 7 sha256, 8 melted, 9 rolled
//	23  cert reviewed: 1 cert, 2 note
//	24  alias set: 1 text, 2 number
//	25  coil received: 1 lot, 2 mill, 3 heats, 4 steel, 5 mass, 6 coils, 7 place, 8 melted, 9 rolled,
//	    10 po
//	26  lot expected: 1 lot, 2 mill, 3 heats, 4 steel, 5 length, 6 bars, 7 bundles, 8 mass, 9 melted,
//	    10 rolled, 11 po, 12 date, 13 coils
//	27  lot confirmed: 1 lot, 2 bars, 3 mass, 4 bundles, 5 place, 6 note, 7 coils, 8 last
//	28  yard counted: 1 lot, 2 bars, 3 record, 4 mass, 5 record mass, 6 place
//
// Feeds and runs:
//
//	30  feed charged: 1 station, 2 feed, 3 lot, 4 run
//	31  feed emptied: 1 station, 2 feed, 3 lot, 4 place
//	32  charge mended: 1 station, 2 feed, 3 lot, 4 runs, 5 reason
//	40  run opened: 1 station, 2 bundle, 3 lots, 4 said, 5 pocket, 6 aside
//	41  run joined: 1 run, 2 bundle, 3 pocket, 4 lots
//	42  card shown: 1 station, 2 bundle
//	43  cut done: 1 run, 2 bundle, 3 pieces, 4 rest, 5 owed, 6 closed, 7 asked, 8 lots
//	44  step started: 1 station, 2 bundle, 3 step
//	45  step done: 1 station, 2 bundle, 3 step, 4 pieces
//	46  coil cut: 1 run, 2 bundle, 3 pieces, 4 rest, 5 owed, 6 closed, 7 asked
//	48  part done: 1 station, 2 bundle, 3 step, 4 pieces, 5 run, 6 closed, 7 over, 8 lots, 9 coil
//	49  pieces lost: 1 bundle, 2 pieces, 3 rest, 4 owed, 5 why, 6 note
//
// Bundles and tags:
//
//	50  bundle voided: 1 bundle, 2 reason
//	51  tag printed: 1 number, 2 copy
//	52  undone: 1 bundle, 2 seq, 3 reason, 4 closed, 5 lots
//	53  bundle split: 1 bundle, 2 into, 3 reason
//	54  bundles merged: 1 into, 2 from, 3 pieces, 4 reason
//	55  bundle assigned: 1 bundle, 2 closed, 3 station, 4 said
//	56  bundle reassigned: 1 bundle, 2 line, 3 reason, 4 instead, 5 left, 6 route
//	57  route set: 1 bundle, 2 route, 3 reason
//	58  tag lost: 1 number, 2 copy, 3 reason
//	59  heats declared: 1 bundle, 2 mill, 3 heats, 4 lot, 5 melted, 6 rolled, 7 paper
//
// Places and people:
//
//	60  place made: 1 place, 2 name
//	61  person made: 1 person
//	62  place opened: 1 place
//	63  placed: 1 number, 2 place
//	64  crew joined: 1 station, 2 person
//	65  crew left: 1 station, 2 person
//
// Loads and holds:
//
//	70  load planned: 1 load, 2 date, 3 truck, 4 limit, 5 stops, 6 bundles
//	71  load opened: 1 load
//	72  loaded: 1 load, 2 bundle, 3 mass, 4 gone
//	73  unloaded: 1 load, 2 bundle, 3 mass
//	74  shipped: 1 load, 2 bundles, 3 gone
//	75  staged: 1 load, 2 bundle, 3 place
//	76  load set: 1 load, 2 date, 3 leaves, 4 truck, 5 trailer, 6 limit, 7 stops,
//	    8 was
//	77  load weighed: 1 load, 2 ticket, 3 gross, 4 tare, 5 sha256
//	78  load delivered: 1 load, 2 stop, 3 date, 4 signed, 5 sha256
//	79  bundle returned: 1 load, 2 bundle, 3 pieces, 4 place, 5 reason, 6 part, 7 scrap
//	80  hold put: 1 target, 2 reason
//	81  hold lifted: 1 target, 2 reason
//	82  claimed: 1 load, 2 bundle, 3 line, 4 pieces, 5 what, 6 who, 7 note
//	83  claim answered: 1 claim, 2 answer, 3 reason, 4 rest, 5 owed
//	84  bundles back: 1 load, 2 from, 3 into, 4 step, 5 place
//
// Scans that were not taken, and what was settled:
//
//	90  scan refused: 1 number, 2 text
//	91  scan disputed: 1 number, 2 text, 3 do, 4 pieces, 5 feed, 6 pocket, 7 lots, 8 bars, 9 remnants,
//	    10 gone, 11 why, 12 coils, 13 load, 14 put, 15 scrap
//	92  resolved: 1 seq, 2 reason, 3 took, 4 as
//	93  scan noted: 1 number
package event
