package floor_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func init() {
	actions = append(actions, []action{
		{5, (*history).stage}, {3, (*history).move}, {2, (*history).weigh}, {3, (*history).handOver}, {6, (*history).comeHome}, {4, (*history).takeBack},
		{3, (*history).complain}, {4, (*history).amend}, {6, (*history).bringBack}, {2, (*history).sendOff},
	}...)
}

// givenOnTrips are the numbers that go to what comes back, and to what replaces it.
func givenOnTrips(b event.Body) (out []tags.Number) {
	switch b := b.(type) {
	case event.BundleReturned:
		if b.Part != 0 {
			out = append(out, b.Part)
		}
	case event.BundlesBack:
		for _, part := range b.Into {
			if part.Number != b.From[0] {
				out = append(out, part.Number)
			}
		}
	}
	return out
}

// doneThere says whether a bundle is planned for a processor, and only steps are left that nobody does here.
func (h *history) doneThere(p *view.Past, b scan.Bundle) bool {
	s, ok := p.Spot(b.Planned, b.Number)
	l, _ := p.Load(b.Planned)
	return ok && l.Stops[s.Stop].Processor != "" && b.Next(p.Line(b.Line)) == "coat"
}

func (h *history) stage() {
	h.scan("G1", h.someBundle(func(b scan.Bundle) bool { return b.Planned != 0 && b.Load == 0 && b.Begun() }))
}

func (h *history) move() {
	h.scan("L1", h.someBundle(func(b scan.Bundle) bool { return b.Load != 0 && !b.Shipped }), func(x *scan.Scan) { x.Do = scan.Move })
}

// sendOff lets a load leave that has something on it, whatever the rules say.
func (h *history) sendOff() {
	for _, l := range h.loads {
		if l.Shipped == 0 && l.Count > 0 {
			h.scan("L1", l.Number, func(x *scan.Scan) { x.Do, x.Gone = scan.Ship, true })
			return
		}
	}
}

func (h *history) weigh() {
	t := scan.Ticket{Load: h.someLoad(), Gross: bar.Mass(30+h.upTo("gross", 40)) * 1000 * bar.Pound, Tare: bar.Mass(h.upTo("tare", 40)) * 1000 * bar.Pound}
	h.send("weigh", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Weigh(context.Background(), o, t) })
}

func (h *history) handOver() {
	d := scan.Delivery{Load: h.left(), Stop: pick(h, "stop", 0, 0, 1, 2), Date: "2026-11-26"}
	h.send("deliver", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Deliver(context.Background(), o, d) })
}

// left prefers a load that left.
func (h *history) left() tags.Number {
	for _, l := range h.loads {
		if l.Shipped != 0 && h.one("this load", 2) {
			return l.Number
		}
	}
	return h.someLoad()
}

func shipped(b scan.Bundle) bool { return b.Shipped && !b.Voided }

// comeHome scans what is back from a site or a processor.
func (h *history) comeHome() {
	n := h.someBundle(shipped)
	h.scan(pick(h, "station", "Y1", "Y1", "B1"), n, func(x *scan.Scan) {
		x.Do, x.Pieces, x.Why = pick(h, "do", scan.Return, scan.Return, scan.Back), pick(h, "pieces", 0, 0, 1+h.upTo("some", 5)), pick(h, "why", "", "too many")
	})
}

func (h *history) takeBack() {
	r := scan.CameBack{Bundle: h.someBundle(shipped), Pieces: pick(h, "pieces", 0, 1+h.upTo("some", 5)), Reason: "bent on the way", Scrap: h.one("scrap", 2)}
	h.send("take back", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.TakeBack(context.Background(), o, r) })
}

func (h *history) complain() {
	c := scan.Complaint{Bundle: h.someBundle(shipped), Pieces: 1 + h.upTo("pieces", 5), What: pick(h, "what", scan.Wrongs...)}
	for _, b := range h.bundles {
		if b.Number == c.Bundle {
			if c.Load = b.Load; h.one("by line", 3) {
				c.Line, c.Bundle = b.Line, 0
			}
			break
		}
	}
	if c.Load == 0 {
		c.Load = h.left()
	}
	h.send("complain", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Complain(context.Background(), o, c) })
}

// amend answers a claim. To replace is to lose, and to owe, no more than is claimed.
func (h *history) amend() {
	var open []uint64
	h.read(func(p *view.Past) {
		p.Claims(0, func(seq, answer uint64) bool {
			if answer == 0 || h.one("answered", 8) {
				open = append(open, seq)
			}
			return true
		})
	})
	if len(open) == 0 {
		return
	}
	a := scan.Amending{Claim: pick(h, "claim", open...), Answer: pick(h, "answer", append(scan.Amends, event.Replace, event.Replace)...), Reason: "by phone"}
	r, err := h.send("amend", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Amend(context.Background(), o, a) })
	if err != nil {
		return
	}
	e := r.Events[len(r.Events)-1].Body.(event.ClaimAnswered)
	require.Equal(h, a.Answer == event.Replace, e.Rest != 0)
	h.read(func(p *view.Past) {
		c, answer, ok := p.Claim(a.Claim)
		require.True(h, ok && answer == r.Seq+uint64(len(r.Events))-1)
		require.LessOrEqual(h, e.Owed, c.Pieces)
		if rest, ok := p.Bundle(e.Rest); ok && !r.Again {
			require.True(h, rest.Replaces() && rest.Pieces == e.Owed)
		}
	})
}

// bringBack says what came back from a processor: as it went, or tied anew under other tags. Of what was tied
// anew the heats are all of what went.
func (h *history) bringBack() {
	b := scan.Backing{Step: pick(h, "step", "", "", "coat", "none")}
	var line uint64
	h.keys++
	h.read(func(p *view.Past) {
		for _, x := range h.bundles {
			l, _ := p.Load(x.Load)
			if at := p.StopOf(l, x); !shipped(x) || at < 0 || at >= len(l.Stops) || l.Stops[at].Processor == "" {
				continue
			}
			if b.Load == 0 {
				b.Load, line = l.Number, x.Line
			}
			if x.Load == b.Load && (x.Line == line || h.one("other line", 4)) && len(b.From) < 3 {
				b.From = append(b.From, x.Number)
			}
		}
	})
	if len(b.From) == 0 {
		return
	}
	if h.one("anew", 2) {
		for i := range 1 + h.upTo("into", 2) {
			b.Into = append(b.Into, scan.BackInto{Pieces: 1 + h.upTo("pieces", 14), Alias: pick(h, "alias", "", fmt.Sprint("EC ", h.keys, " ", i))})
		}
	}
	var want []string
	h.read(func(p *view.Past) {
		for _, n := range b.From {
			x, _ := p.Bundle(n)
			d, _ := scan.HeatsOf(p, x)
			for _, k := range d.Heats {
				want = append(want, k.String())
			}
		}
	})
	r, err := h.send("back", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.BringBack(context.Background(), o, b) })
	if err != nil {
		return
	}
	h.read(func(p *view.Past) {
		for _, part := range r.Events[0].Body.(event.BundlesBack).Into {
			x, _ := p.Bundle(part.Number)
			d, _ := scan.HeatsOf(p, x)
			var got []string
			for _, k := range d.Heats {
				got = append(got, k.String())
			}
			require.Subset(h, got, want)
			if n, ok := p.Alias(part.Alias); part.Alias != "" {
				require.True(h, ok && n == part.Number, "the processor's tag %s finds it", part.Alias)
			}
		}
	})
}

// TestTrips makes up days on which much goes out and comes back: most begins with bundles that are made and
// loads that leave with them.
func TestTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := openHistory(t)
		defer h.Close()
		h.failing = false
		for _, job := range jobs {
			_, err := h.SetJob(context.Background(), floor.Origin{}, event.JobSet{Job: job})
			require.NoError(h, err)
		}
		for range 2 {
			h.makeAll()
			h.sendAll()
			h.trip(12)
		}
		h.failing = true
		h.trip(12)
		h.check(true)
	})
}

// trip does some of what happens to loads and what is on them, now and then something else.
func (h *history) trip(steps int) {
	for range h.upTo("steps", steps) {
		h.now = h.now.Add(10 * time.Second)
		h.look()
		pick(h, "trip", (*history).stage, (*history).move, (*history).weigh, (*history).handOver, (*history).comeHome, (*history).comeHome, (*history).takeBack,
			(*history).complain, (*history).complain, (*history).amend, (*history).amend, (*history).amend, (*history).bringBack, (*history).bringBack, (*history).lose,
			(*history).undo, (*history).load, (*history).goneAfterAll, (*history).split, (*history).merge, (*history).planLoad, (*history).step)(h)
	}
	h.check(false)
}

// makeAll takes a list whose last step a coater does, or none, and cuts all of it.
func (h *history) makeAll() {
	h.lists++
	f := barlist.File{Name: "made up, cut.csv", SHA256: [32]byte{byte(h.lists), byte(h.lists >> 8), 1}}
	for i := range 2 {
		f.Lines = append(f.Lines, barlist.Line{Row: i + 2, Job: pick(h, "job", jobs...), List: fmt.Sprint(h.lists), Mark: fmt.Sprint("M", i), Steel: steels[0],
			Length: 10 * bar.Foot, Pieces: 20 + h.upTo("pieces", 20), Route: pick(h, "route", []string{"cut"}, []string{"cut", "coat"}, []string{"cut", "coat", "bend"})})
	}
	if _, r, err := h.TakeList(context.Background(), floor.Origin{}, f); err == nil {
		h.saw(r.Events)
	}
	h.look()
	for _, b := range h.bundles {
		if !b.Begun() && !b.Voided && b.Load == 0 && len(h.steps[b.Number]) > 0 {
			x := scan.Scan{Station: "S1", Device: "gun 3", At: h.now.UnixMilli(), Read: tags.Scan{Number: b.Number, Text: b.Number.Digits()}, Pieces: b.Pieces}
			r, _, err := h.Scan(context.Background(), floor.Origin{Device: x.Device, Station: x.Station}, x)
			require.NoError(h, err)
			h.saw(r.Events)
		}
	}
}

// sendAll plans a load for the jobs and one for a coater, loads what there is and lets both leave.
func (h *history) sendAll() {
	for _, stops := range [][]load.StopPlan{{{Stop: load.Stop{Job: "J"}}, {Stop: load.Stop{Job: "K"}}}, {{Stop: load.Stop{Processor: "Example Coater (invented)"}}}} {
		h.look()
		planned, r, err := h.PlanLoad(context.Background(), floor.Origin{}, load.Plan{Stops: stops})
		require.NoError(h, err)
		l := planned.Set.Load
		h.saw(r.Events)
		do := func(n tags.Number, what scan.Do, gone bool) {
			h.now = h.now.Add(time.Minute)
			x := scan.Scan{Station: "L1", Device: "gun 3", At: h.now.UnixMilli(), Read: tags.Scan{Number: n, Text: n.Digits()}, Do: what, Gone: gone}
			_, _, err := h.Scan(context.Background(), floor.Origin{Device: x.Device, Station: "L1"}, x)
			require.NoError(h, err)
		}
		do(l, scan.Scanned, false)
		for _, b := range h.bundles {
			if b.Load == 0 && b.Begun() && h.one("this one", 2) {
				do(b.Number, scan.Scanned, false)
			}
		}
		do(l, scan.Ship, true)
	}
}

// goneAfterAll says of something that came back that it did not: it is scanned onto the load that left.
func (h *history) goneAfterAll() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.CameFrom() != 0 && b.Load == 0 && !b.Voided })
	for _, b := range h.bundles {
		if b.Number == n && b.CameFrom() != 0 {
			h.scan("L1", b.CameFrom(), func(x *scan.Scan) { x.Gone, x.Device = true, "gun 1" })
		}
	}
	h.scan("L1", n, func(x *scan.Scan) { x.Gone, x.Device = true, "gun 1" })
}
