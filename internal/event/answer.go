package event

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/fxamacker/cbor/v2"

	"tagd/internal/tags"
)

// Note is one sentence of an answer: a code of the sentence table, and what fills its gaps.
type Note struct {
	Code string
	Args []string
}

// Answer is what the person at the machine was told. It is stored with the first event of a scan,
// so that a receipt asked for again is the first receipt.
//
// It is stored as [verdict, note, ...] with a note as [code, arg, ...]: a code by its place in Codes
// (a code that is not there as text), a number of ours as an unsigned integer, a count as -1 minus
// itself, any other argument as text. So a usual answer has some 30 bytes.
type Answer struct {
	Verdict Verdict
	Notes   []Note
}

// Codes are the codes of sentences by number. A place here is for ever: new ones are added at the
// end, and one that is no longer used stays.
var Codes = []string{
	"cut started",
	"cut joined",
	"card shown",
	"cut done",
	"run closed",
	"remnant",
	"step started",
	"step done",
	"charged",
	"charged already",
	"emptied",
	"load opened",
	"loaded",
	"unloaded",
	"shipped",
	"place opened",
	"placed",
	"found",
	"found on feed",
	"found new",
	"found at work",
	"found lying",
	"found loaded",
	"found left",
	"found voided",
	"undone",
	"person",
	"once",
	"count short",
	"count over",
	"count differs",
	"count difference",
	"nothing on the feed",
	"bring stock",
	"too short",
	"left over",
	"started elsewhere",
	"metal missing",
	"drew other steel",
	"other steel charged",
	"held lot charged",
	"used up",
	"held while worked",
	"rule broken by now",
	"not planned",
	"planned elsewhere",
	"tag differs",
	"no limit",
	"left with held",
	"on two feeds",
	"went unscanned",
	"opened after",
	"left empty",
	"not a tag",
	"mistyped",
	"two tags",
	"another plant",
	"not known",
	"no station",
	"not here",
	"voided",
	"done already",
	"loaded already",
	"shipped already",
	"not cut yet",
	"not ready",
	"nothing to do",
	"wrong job",
	"no load open",
	"held",
	"one heat only",
	"heat not known",
	"heats not met",
	"cert missing",
	"origin",
	"origin not met",
	"origin unknown",
	"over the limit",
	"other run",
	"other station",
	"wrong steel",
	"lot not right",
	"no feed",
	"no pocket",
	"not on the feed",
	"not on a load",
	"load left",
	"load empty",
	"held on load",
	"command alone",
	"not for this",
	"too many",
	"length wrong",
	"count wrong",
	"into pocket",
	"pocket taken",
	"several lots fit",
	"another mill",
	"not in stock",
	"cut aside",
	"route set",
	"pieces lost",
	"all lost",
	"replacement",
	"lost after it left",
	"no such loss",
	"how many lost",
	"nothing made",
	"on the truck",
	"not so many",
	"would be none",
	"part done",
	"merged",
	"all are lost",
	"found merged",
	"found lost",
	"lost copy",
	"split",
	"part",
	"parts held",
	"merged into",
	"tag lost",
	"part made",
	"share done",
	"made before",
	"joined in",
	"taken over",
	"crew joined",
	"crew left",
	"found part",
	"count taken as the rest",
	"very soon",
	"closed at full count",
	"no part",
	"nothing to take",
	"nothing left",
	"several make it",
	"no join",
	"list revised",
	"line withdrawn",
	"cut though revised",
	"confirmed",
	"confirmed all",
	"confirmed already",
	"not on the paper",
	"paper differs",
	"not counted",
	"beyond the paper",
	"held lot came",
	"taken as received",
	"found coming",
	"counted",
	"counted otherwise",
	"count missing",
	"by weight",
	"not expected",
	"came after all",
	"disputed",
	"kept not read",
	"worked on since",
	"station went on",
	"charged late",
	"resolved",
	"taken",
	"charge mended",
	"charge taken out",
	"mended bundles",
	"left against a rule",
	"here against a rule",
	"assigned",
	"heats declared",
	"reassigned",
	"still owed",
	"length differs",
	"taken from a job",
	"reassigned after",
	"not assigned",
	"assigned already",
	"coil drawn",
	"coil difference",
	"coil missing",
	"coil left over",
	"no remnant of coil",
	"scrap not counted",
	"coil apart",
	"is coil",
	"is bars",
	"bars and coil",
	"weight wrong",
	"not of coil",
	"both in one",
	"cut only",
	"one step for both",
	"load planned",
	"plan moved",
	"stays planned",
	"stays aboard",
	"stays gone",
	"plan over the limit",
	"aboard unplanned",
	"is held",
	"staged",
	"staged already",
	"for no truck",
	"found staged",
	"found away",
	"found delivered",
	"away already",
	"later stop first",
	"moved from",
	"not left",
	"not so many back",
	"returned",
	"some returned",
	"back as scrap",
	"no reason said",
	"weighed",
	"over by scale",
	"delivered",
	"claimed",
	"claims more than went",
	"claim answered",
	"back",
	"not away",
	"more back than went",
	"fewer back than went",
	"only whole",
	"bent already",
}

var placeOf = func() map[string]uint64 {
	m := map[string]uint64{}
	for i, c := range Codes {
		m[c] = uint64(i)
	}
	return m
}()

// MarshalCBOR writes the compact form.
func (a Answer) MarshalCBOR() ([]byte, error) {
	out := []any{uint64(a.Verdict)}
	for _, n := range a.Notes {
		note := make([]any, 0, 1+len(n.Args))
		if i, ok := placeOf[n.Code]; ok {
			note = append(note, i)
		} else {
			note = append(note, n.Code)
		}
		for _, s := range n.Args {
			note = append(note, packed(s))
		}
		out = append(out, note)
	}
	return encMode.Marshal(out)
}

// packed is an argument in its shortest form that reads back as the same text.
func packed(s string) any {
	if len(s) == 17 {
		if n, err := tags.ParseNumber(s); err == nil && n.String() == s {
			return uint64(n)
		}
	}
	if len(s) <= 9 {
		if n, err := strconv.ParseUint(s, 10, 32); err == nil && strconv.FormatUint(n, 10) == s {
			return -1 - int64(n)
		}
	}
	return s
}

func unpacked(v any) (string, error) {
	switch v := v.(type) {
	case string:
		return v, nil
	case uint64:
		if n := tags.Number(v); n.Valid() {
			return n.String(), nil
		}
	case int64:
		if v < 0 && v >= -1-math.MaxUint32 {
			return strconv.FormatInt(-1-v, 10), nil
		}
	}
	return "", fmt.Errorf("event: %v is no argument of an answer", v)
}

// UnmarshalCBOR reads the compact form.
func (a *Answer) UnmarshalCBOR(b []byte) error {
	var parts []cbor.RawMessage
	if err := decMode.Unmarshal(b, &parts); err != nil {
		return err
	}
	if len(parts) == 0 {
		return fmt.Errorf("event: an answer without a verdict")
	}
	*a = Answer{}
	if err := decMode.Unmarshal(parts[0], &a.Verdict); err != nil {
		return err
	}
	for _, p := range parts[1:] {
		var note []any
		if err := decMode.Unmarshal(p, &note); err != nil {
			return err
		}
		if len(note) == 0 {
			return fmt.Errorf("event: a note without a code")
		}
		var n Note
		switch c := note[0].(type) {
		case string:
			n.Code = c
		case uint64:
			if c >= uint64(len(Codes)) {
				return fmt.Errorf("%w: sentence %d", ErrUnknown, c)
			}
			n.Code = Codes[c]
		default:
			return fmt.Errorf("event: %v is no code of a sentence", c)
		}
		n.Args = slices.Grow(n.Args, len(note)-1)
		for _, v := range note[1:] {
			s, err := unpacked(v)
			if err != nil {
				return err
			}
			n.Args = append(n.Args, s)
		}
		a.Notes = append(a.Notes, n)
	}
	return nil
}
