package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"tagd/api"
)

type scanCmd struct {
	dataFlag
	Station string    `arg:"" optional:""`
	Code    string    `arg:"" optional:""`
	Do      string    `placeholder:"WORD"`
	Pieces  int       `placeholder:"N"`
	Feed    string    `placeholder:"NAME"`
	Pocket  string    `placeholder:"NAME"`
	Lot     []string  `placeholder:"NUMBER" sep:"none"`
	Bars    []string  `placeholder:"LOT=N" sep:"none"`
	Coil    []string  `placeholder:"LOT=WEIGHT" sep:"none"`
	Scrap   string    `placeholder:"WEIGHT"`
	Remnant []string  `placeholder:"N x LENGTH" sep:"none"`
	Gone    bool      ``
	Why     string    `placeholder:"TEXT"`
	Device  string    `default:"command line" placeholder:"NAME"`
	Person  []string  `placeholder:"NUMBER" sep:"none"`
	At      time.Time `placeholder:"TIME"`
	Key     string    `placeholder:"TEXT"`
	Lang    string    `default:"en" placeholder:"en|es"`
	Kept    string    `placeholder:"FILE"`
	JSON    bool      `name:"json"`
}

func (scanCmd) Help() string {
	return `Usage: tagd scan STATION [CODE] [--do WORD] [--pieces N] [--feed NAME]
                 [--pocket NAME] [--lot NUMBER]... [--bars LOT=N]...
                 [--coil LOT=WEIGHT]... [--scrap WEIGHT]
                 [--remnant "N x LENGTH"]... [--gone] [--why TEXT]
                 [--device NAME] [--person NUMBER]... [--at TIME] [--key TEXT]
                 [--lang en|es] [--json] [--data DIR]
       tagd scan --kept FILE [--json] [--data DIR]

Scans a tag at a station, as a scanner there would, and prints the answer in
words: accepted, check (recorded, and a person should look) or refused, why, and
what to do next. CODE is whatever a scanner can read: a number, a tag's address,
a mill's code. What the scan means, the station decides.

What can be said beside the tag is what the station's page has keys for:

    --do WORD       a command: empty, ship, show; unload, move (to the load that
                    is open), return (it came back from a load that left), back
                    (from who worked on it); part (--pieces are done, and the
                    bundle waits), take (over what another station started, with
                    --pieces made there), join (cut here too what is being cut
                    elsewhere); or lost, which wants --pieces and, as --why,
                    miscut, misbent, sample, damaged, site or revised
    --pieces N      a count, where it is not as the tag says
    --feed NAME     a feed of the station; its first one if left out
    --pocket NAME   a pocket, in place of the next free one
    --lot NUMBER    a lot that the bars are from, as somebody has seen
    --bars LOT=N    how many bars of a lot the run took, said at its last bundle
    --coil LOT=WEIGHT
                    how much of a coil it took, where somebody weighed it; else
                    what the pieces weigh by the table
    --scrap WEIGHT  what was cut off from coil
    --remnant ...   what the run left: "2 x 8'", and "2 x 8' at A-01" for where
                    it lies; none for nothing worth keeping. As planned if left
                    out
    --gone          the truck has left already
    --why TEXT      a reason, where one is asked for

    --person NUMBER a badge of who does it; that of the crew if left out
    --device NAME   what it is scanned with: two scans of one tag by one device
                    within the pause of the settings are one pull of the trigger
    --at TIME       when, by the device's clock: 2026-01-05T14:00:00Z; now if
                    left out
    --key TEXT      the scan's own id: sent again with the same one it counts
                    once, and the first answer comes again

With --json the answer is one object, with the card of a bundle in "card".

--kept sends the scans that a device kept while it had no network: a JSON array
in the device's order, each scan as POST /api/v1/scans takes it, with "at" and
"key". Each is judged as if it came now. One that the rules refuse by now, or
that cannot be read, goes onto the list to resolve (tagd help open) and is not
lost. The file may be sent again: each scan counts once.

Examples:

    tagd scan S1 2-001-00000001-16
    tagd scan S1 1-001-00000042-05 --pieces 12
    tagd scan S1 --do empty --feed B
    tagd scan L1 4-001-00000001-83 --do ship
    tagd scan --kept tablet-3.json

Exit codes: 0 accepted or check, 1 refused.
`
}

func (c *scanCmd) Run(ctx context.Context, s streams) error {
	switch {
	case c.Kept != "" && c.Station != "":
		return misuse("Each scan of the file says its station.", "--kept %s goes without STATION", c.Kept)
	case c.Kept != "":
		return c.sendKept(ctx, s)
	case c.Station == "":
		return misuse("Name the station: tagd scan S1 1-001-00000042-05", "STATION is missing")
	}
	ask, err := c.scan()
	if err != nil {
		return err
	}
	w, err := c.Data.asking(ctx, s, "to scan into", makers)
	if err != nil {
		return err
	}
	defer w.close()
	a, err := w.Scan(ctx, ask)
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(s.out, a)
	} else {
		err = writeAnswer(s.out, a)
	}
	if err == nil && a.Verdict == "refused" {
		err = errSaid
	}
	return err
}

// sendKept sends the scans of a file that a device kept.
func (c *scanCmd) sendKept(ctx context.Context, s streams) error {
	f, err := openInput(c.Kept)
	if err != nil {
		return err
	}
	defer f.Close()
	var scans []json.RawMessage
	if err := json.NewDecoder(f).Decode(&scans); err != nil {
		return no(`It holds a JSON array of scans: [{"code": ..., "station": ..., "device": ..., "at": ..., "key": ...}, ...]`, "%s: %v", c.Kept, err)
	}
	w, err := c.Data.asking(ctx, s, "to scan into", makers)
	if err != nil {
		return err
	}
	defer w.close()
	got, err := w.Kept(ctx, scans)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(s.out, got)
	}
	for _, a := range got.Answers {
		if err := writeAnswer(s.out, a); err != nil {
			return err
		}
	}
	return nil
}

// scan is what is asked of the plant.
func (c *scanCmd) scan() (api.Scan, error) {
	ask := api.Scan{
		Code: c.Code, Station: c.Station, Do: c.Do, Pieces: c.Pieces, Feed: c.Feed, Pocket: c.Pocket, Lots: c.Lot,
		Gone: c.Gone, Why: c.Why, Lang: c.Lang, By: api.By{Device: c.Device, People: c.Person, At: c.At, Key: c.Key},
	}
	var err error
	ask.Scrap = c.Scrap
	for _, text := range c.Coil {
		lot, weight, ok := strings.Cut(text, "=")
		if !ok {
			return ask, misuse(`Write the lot's number, =, and the weight: --coil "2-001-00000001-16=125 lb"`, "--coil %s is no weight of a lot", text)
		}
		ask.Coils = append(ask.Coils, api.Weighed{Lot: strings.TrimSpace(lot), Weight: strings.TrimSpace(weight)})
	}
	if ask.Bars, err = lotBars(c.Bars); err != nil {
		return ask, err
	}
	if len(c.Remnant) > 0 {
		ask.Remnants = []api.Remnant{}
	}
	if slices.Equal(c.Remnant, []string{"none"}) {
		return ask, nil
	}
	for _, text := range c.Remnant {
		bars, length, ok := strings.Cut(text, "x")
		n, err := strconv.Atoi(strings.TrimSpace(bars))
		if !ok || err != nil {
			return ask, misuse(`Write how many, x, and how long: --remnant "2 x 8'"`, "--remnant %s is no remnant", text)
		}
		length, place, _ := strings.Cut(length, " at ")
		ask.Remnants = append(ask.Remnants, api.Remnant{Bars: n, Length: strings.TrimSpace(length), Place: strings.TrimSpace(place)})
	}
	return ask, nil
}

// lotBars reads counts of bars of lots: LOT=N.
func lotBars(texts []string) (out []api.Drawn, err error) {
	for _, text := range texts {
		lot, bars, ok := strings.Cut(text, "=")
		n, err := strconv.Atoi(strings.TrimSpace(bars))
		if !ok || err != nil {
			return nil, misuse("Write the lot's number, =, and the bars: --bars 2-001-00000001-16=4", "--bars %s is no count of bars of a lot", text)
		}
		out = append(out, api.Drawn{Lot: strings.TrimSpace(lot), Bars: n})
	}
	return out, nil
}

// signs are how a verdict begins an answer.
var signs = map[string]string{"accepted": "Accepted", "check": "CHECK   ", "refused": "REFUSED "}

// answerLines are the sentences of an answer, each with what to do next, behind the sign of its verdict.
func answerLines(a api.ScanAnswer) []string {
	var out []string
	head := signs[a.Verdict]
	for _, n := range a.Notes {
		out = append(out, head+"  "+sentence(n))
		head = strings.Repeat(" ", len(head))
	}
	return out
}

// writeAnswer shows an answer to a person.
func writeAnswer(out io.Writer, a api.ScanAnswer) error {
	_, err := fmt.Fprintln(out, strings.Join(answerLines(a), "\n"))
	if a.Load != nil && (a.Verdict != "accepted" || a.Kind == "load") {
		writeList(out, *a.Load)
	}
	return err
}
