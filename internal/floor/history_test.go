package floor_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/store/storetest"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// TestHistories makes up days of a shop, with one commit in four failing, lost or kept, and looks after
// every few steps whether the views are what the journal says, told another way. TAGD_SOAK=1 makes ten
// thousand of them, and looks after every step.
func TestHistories(t *testing.T) {
	checks := flag.Lookup("rapid.checks").Value
	every := 10
	if os.Getenv("TAGD_SOAK") == "1" {
		every = 1
		require.NoError(t, checks.Set("10000"))
	} else if checks.String() == "100" { // nobody asked for another number
		require.NoError(t, checks.Set("150"))
	}
	rapid.Check(t, func(t *rapid.T) {
		h := openHistory(t)
		defer h.Close()
		steps := rapid.IntRange(20, 90).Draw(t, "steps")
		for i := range steps {
			h.step()
			if i%every == every-1 {
				h.check(false)
			}
		}
		h.check(true)
	})
}

// history is a shop whose day is made up.
type history struct {
	*rapid.T
	*floor.Floor
	disk *mem.DB
	now  time.Time
	keys int
	done []request // of all that were recorded
	next struct{ fail, keep bool }
	// stuck is how many times the store cannot be opened again after a failure.
	stuck   int
	failing bool

	bundles []scan.Bundle
	lots    []heat.Lot
	loads   []load.Load
	places  []tags.Number
	people  []tags.Number
	certs   []uint64
	lists   int
	away    offline
	steps   map[tags.Number][]string // of the route of each bundle
	seen    map[tags.Number]bool     // all numbers that were ever given out in a receipt
}

// request is a command that can be sent again.
type request struct {
	name string
	o    floor.Origin
	do   func(floor.Origin) (floor.Receipt, error)
	got  floor.Receipt
}

func openHistory(t *rapid.T) *history {
	h := &history{T: t, now: time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC), disk: mem.Open(floor.Tables()...), seen: map[tags.Number]bool{}}
	h.start()
	// A day begins with some of everything, before disks fail.
	for range 2 {
		h.setJob()
		h.receive()
		h.takeList()
		h.look()
		h.charge()
		h.planLoad()
		h.look()
		h.openLoad()
	}
	h.failing = true
	return h
}

var errStuck = errors.New("no such disk")

// start opens the floor, as the program does when it begins.
func (h *history) start() {
	first := true
	open := func() (store.DB, error) {
		if h.stuck > 0 {
			h.stuck--
			return nil, errStuck
		}
		if !first {
			h.disk = h.disk.Reopen()
		}
		first = false
		return &storetest.Faulty{DB: h.disk, Fault: func() (bool, bool) {
			fail, keep := h.next.fail, h.next.keep
			h.next.fail = false
			return fail, keep
		}}, nil
	}
	var err error
	h.Floor, err = floor.Open(open, floor.Config{
		Plant: 1, Rules: shifts(), Limits: barlist.Limits{Pieces: 12}, Settings: []byte("plant = 1\n"), Now: func() time.Time { return h.now },
	})
	require.NoError(h, err)
}

// upTo gives all of 0 to n alike; what rapid gives by itself is mostly small. Coins are fair.
func (h *history) upTo(name string, n int) int {
	bits := rapid.SliceOfN(rapid.Bool(), 10, 10).Draw(h.T, name)
	v := 0
	for _, b := range bits {
		v <<= 1
		if b {
			v++
		}
	}
	return v * (n + 1) >> len(bits)
}

func pick[T any](h *history, name string, from ...T) T { return from[h.upTo(name, len(from)-1)] }
func (h *history) one(name string, in int) bool        { return h.upTo(name, in-1) == 0 }

// look reads what there is to choose from.
func (h *history) look() {
	h.bundles, h.lots, h.loads, h.places = nil, nil, nil, nil
	h.read(func(p *view.Past) {
		h.steps = map[tags.Number][]string{}
		p.Bundles(0, func(b scan.Bundle) bool {
			h.bundles = append(h.bundles, b)
			h.steps[b.Number] = b.Steps(p.Line(b.Line))
			return true
		})
		p.Lots(0, func(l heat.Lot) bool { h.lots = append(h.lots, l); return true })
		p.Loads(func(l load.Load) bool { h.loads = append(h.loads, l); return true })
		p.Places(func(_ string, n tags.Number) bool { h.places = append(h.places, n); return true })
	})
}

// action is what can happen, with how often.
type action struct {
	often int
	do    func(*history)
}

var actions = []action{
	{6, (*history).receive}, {3, (*history).takeList}, {1, (*history).setJob},
	{10, (*history).charge}, {4, (*history).empty}, {40, (*history).cut}, {10, (*history).bend},
	{3, (*history).planLoad}, {4, (*history).openLoad}, {12, (*history).load}, {2, (*history).unload}, {2, (*history).ship},
	{2, (*history).hold}, {3, (*history).lift}, {8, (*history).undo}, {1, (*history).void}, {2, (*history).setHeats},
	{1, (*history).place}, {2, (*history).putDown}, {1, (*history).print}, {1, (*history).paper}, {1, (*history).alias},
	{4, (*history).expect}, {9, (*history).confirm}, {3, (*history).countYard},
	{4, (*history).goOffline}, {8, (*history).comeBack}, {8, (*history).resolve}, {1, (*history).hire},
	{5, (*history).again}, {2, (*history).otherRequest}, {1, (*history).restart},
}

func (h *history) step() {
	h.now = h.now.Add(time.Duration(pick(h, "wait", 1, 2, 4, 10, 100)) * time.Second)
	h.look()
	if len(h.bundles) == 0 {
		h.takeList()
		return
	}
	all := 0
	for _, a := range actions {
		all += a.often
	}
	n := h.upTo("action", all-1)
	for _, a := range actions {
		if n -= a.often; n < 0 {
			a.do(h)
			return
		}
	}
}

// send sends a new request, until it is recorded or refused, or the caller gives up.
func (h *history) send(name string, o floor.Origin, do func(floor.Origin) (floor.Receipt, error)) (floor.Receipt, error) {
	h.keys++
	o.Key = fmt.Sprintf("key %d", h.keys)
	o.Request = name + o.Key
	o.Happened = h.now
	return h.sendAs(name, o, do)
}

// sendAs sends a request under the key that it has.
func (h *history) sendAs(name string, o floor.Origin, do func(floor.Origin) (floor.Receipt, error)) (floor.Receipt, error) {
	r := request{name: name, o: o, do: do}
	for try := 0; ; try++ {
		before := h.head()
		h.next.fail, h.next.keep = h.failing && h.one("fail", 4), h.one("keep", 2)
		if h.next.fail && h.one("stuck", 4) {
			h.stuck = 1
		}
		got, err := do(o)
		failed := !h.next.fail // it was asked for, and used up
		h.next.fail = false
		if !failed {
			h.stuck = 0
		}
		var no *event.Refusal
		switch {
		case err == nil:
			r.got = got
			h.recorded(before, r)
			return got, nil
		case errors.As(err, &no):
			require.Equal(h, before, h.head(), "refused, and recorded all the same: %v", err)
			return got, err
		case errors.Is(err, floor.ErrNotRecorded):
			require.True(h, failed || try > 0, err)
			require.Equal(h, before, h.head(), "not recorded, and there all the same")
		case errors.Is(err, floor.ErrUncertain), errors.Is(err, floor.ErrStopped):
		default:
			h.Fatalf("%s: %v", name, err)
		}
		if try > 5 || h.one("give up", 3) {
			h.stuck = 0
			h.revive()
			return got, err
		}
	}
}

// read looks into the views.
func (h *history) read(do func(*view.Past)) {
	require.NoError(h, h.View(func(p *view.Past) error { do(p); return nil }))
}

// revive asks for nothing, so that a store that was stuck is opened again.
func (h *history) revive() {
	if err := h.View(func(*view.Past) error { return nil }); err != nil {
		require.ErrorIs(h, err, floor.ErrStopped)
		_, err := h.Do(context.Background(), floor.Origin{}, func(*view.Past) (floor.Decision, error) { return floor.Decision{}, nil })
		require.ErrorIs(h, err, floor.ErrNotRecorded)
	}
}

func (h *history) head() (n uint64) {
	// What the disk has, also while the store is closed.
	require.NoError(h, h.disk.Reopen().View(func(tx store.Tx) error {
		n = view.New(1).At(tx).Head()
		return nil
	}))
	return n
}

// recorded looks at a receipt: its events are there, and its numbers are new.
func (h *history) recorded(before uint64, r request) {
	if len(r.got.Events) == 0 {
		require.Equal(h, before, h.head())
		return
	}
	require.NoError(h, h.disk.View(func(tx store.Tx) error {
		p := view.New(1).At(tx)
		for i, e := range r.got.Events {
			require.Equal(h, encoded(h, p.Event(r.got.Seq+uint64(i))), encoded(h, e))
		}
		return nil
	}))
	for i, e := range r.got.Events {
		h.Logf("%d %v %+v", r.got.Seq+uint64(i), e.Body.Kind(), e.Body)
	}
	h.done = append(h.done, r)
	if r.got.Again {
		return // an earlier try was kept, though nobody could say so
	}
	require.Equal(h, before+1, r.got.Seq)
	require.Equal(h, before+uint64(len(r.got.Events)), h.head())
	h.saw(r.got.Events)
}

// saw notes the numbers that events give out. None comes twice.
func (h *history) saw(events []event.Event) {
	for _, e := range events {
		for _, n := range given(e.Body) {
			require.True(h, n.Valid(), "%d", uint64(n))
			require.False(h, h.seen[n], "%v came twice", n)
			h.seen[n] = true
		}
	}
}

func encoded(t require.TestingT, e event.Event) []byte {
	raw, err := event.Encode(e)
	require.NoError(t, err)
	return raw
}

// given are the numbers that an event gives out.
func given(b event.Body) (out []tags.Number) {
	remnants := func(c *event.RunClosed) {
		if c != nil {
			for _, r := range c.Remnants {
				out = append(out, r.Lot)
			}
		}
	}
	switch b := b.(type) {
	case event.LineTaken:
		for i := range b.Bundles {
			n, _ := tags.New(tags.Bundle, 1, b.First.Serial()+i)
			out = append(out, n)
		}
	case event.LotReceived:
		out = append(out, b.Lot)
	case event.LotExpected:
		out = append(out, b.Lot)
	case event.CoilReceived:
		out = append(out, b.Lot)
	case event.HeatsDeclared:
		out = append(out, b.Lot)
	case event.CoilCut:
		if b.Rest != 0 {
			out = append(out, b.Rest)
		}
	case event.CutDone:
		if b.Rest != 0 {
			out = append(out, b.Rest)
		}
		remnants(b.Closed)
	case event.PartDone:
		remnants(b.Closed)
	case event.Undone:
		remnants(b.Closed)
	case event.PlaceMade:
		out = append(out, b.Place)
	case event.PersonMade:
		out = append(out, b.Person)
	}
	return slices.Concat(out, givenAside(b), givenInLists(b), givenOnTrips(b))
}

var (
	mills   = []string{"Example Mill", "Sample Steel"}
	heats   = []string{"H1", "H2", "01E5"}
	steels  = []bar.Steel{{Size: "#5", Spec: "A615", Grade: "60"}, {Size: "#5", Spec: "A706", Grade: "60"}, {Size: "#8", Spec: "A615", Grade: "60"}}
	stocked = append([]bar.Steel{{Size: "#5", Spec: "A615/A706", Grade: "60"}}, steels...)
	jobs    = []string{"J", "K"}
)

func (h *history) someHeats() []string {
	switch h.upTo("heats", 9) {
	case 0:
		return nil
	case 1:
		return []string{"H1", "H2"}
	}
	return []string{pick(h, "heat", heats...)}
}

func (h *history) receive() {
	lot := event.LotReceived{
		Mill: pick(h, "mill", mills...), Heats: h.someHeats(), Steel: pick(h, "steel", stocked...), Bars: 1 + h.upTo("bars", 30),
		Length: bar.Length(pick(h, "length", 20, 40, 60)) * bar.Foot, Melted: pick(h, "melted", "US", "US", "TR"), Rolled: "US",
	}
	h.send("receive", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Receive(context.Background(), o, lot) })
}

func (h *history) takeList() {
	h.lists++
	f := barlist.File{Name: "made up.csv", SHA256: [32]byte{byte(h.lists), byte(h.lists >> 8)}}
	job := pick(h, "job", jobs...)
	for i := range 1 + h.upTo("lines", 3) {
		l := barlist.Line{
			Row: i + 2, Job: job, List: fmt.Sprint(h.lists), Mark: fmt.Sprint("M", i), Steel: pick(h, "steel", steels...),
			Length: bar.Length(1+h.upTo("length", 60)) * bar.Foot / 2, Pieces: 1 + h.upTo("pieces", 30),
		}
		l.Route = pick(h, "route", []string{"cut"}, []string{"cut"}, []string{"cut"}, []string{"cut", "bend"}, []string{"cut", "bend"}, []string{"cut", "coat"}, []string{})
		f.Lines = append(f.Lines, l)
	}
	h.send("take list", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		_, r, err := h.TakeList(context.Background(), o, f)
		return r, err
	})
}

func (h *history) setJob() {
	j := event.JobSet{Job: pick(h, "job", jobs...), Heats: pick(h, "heats", event.HeatsNone, event.HeatsSingle, event.HeatsLoad)}
	j.Certs = pick(h, "certs", event.CertsNone, event.CertsNone, event.CertsOnFile)
	j.Country = pick(h, "country", "", "", "US")
	h.send("set job", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.SetJob(context.Background(), o, j) })
}

// scan scans a number, or with 0 nothing.
func (h *history) scan(station string, n tags.Number, more ...func(*scan.Scan)) {
	x := scan.Scan{Station: station, Device: pick(h, "device", "gun 1", "gun 1", "gun 2"), At: h.now.UnixMilli()}
	if n != 0 {
		x.Read = tags.Scan{Number: n, Text: n.Digits()}
	}
	for _, m := range more {
		m(&x)
	}
	if h.keeps(x) {
		return
	}
	r, err := h.send(fmt.Sprintf("scan %+v", x), floor.Origin{Device: x.Device, Station: station}, func(o floor.Origin) (floor.Receipt, error) {
		r, _, err := h.Scan(context.Background(), o, x)
		return r, err
	})
	if err != nil {
		return
	}
	for _, n := range r.Answer.Notes {
		require.Contains(h, scan.Sentences, n.Code)
	}
	h.Logf("%s %v: %v %v", station, n, r.Answer.Verdict, r.Answer.Notes)
}

func (h *history) someLot() tags.Number {
	if len(h.lots) == 0 {
		return num(h, tags.Stock, 1)
	}
	return pick(h, "lot", h.lots...).Number
}

// someBundle prefers bundles of which a thing is true.
func (h *history) someBundle(prefer func(scan.Bundle) bool) tags.Number {
	good := slices.DeleteFunc(slices.Clone(h.bundles), func(b scan.Bundle) bool { return !prefer(b) })
	if len(good) == 0 || h.one("any", 10) {
		good = h.bundles
	}
	return pick(h, "bundle", good...).Number
}

func (h *history) someLoad() tags.Number {
	if len(h.loads) == 0 {
		return num(h, tags.Load, 1)
	}
	return pick(h, "load", h.loads...).Number
}

func (h *history) charge() {
	feed := pick(h, "feed", "", "", "A", "B", "Z")
	h.scan(pick(h, "shear", "S1", "S1", "S2"), h.someLot(), func(x *scan.Scan) { x.Feed = feed })
}

func (h *history) empty() {
	n := pick(h, "what", 0, h.someLot())
	h.scan(pick(h, "shear", "S1", "S2", "Y1"), n, func(x *scan.Scan) { x.Do, x.Feed = scan.Empty, pick(h, "feed", "", "A", "B") })
}

func (h *history) cut() {
	shear := pick(h, "shear", "S1", "S1", "S1", "S2")
	begun := h.one("begun", 2)
	n := h.someBundle(func(b scan.Bundle) bool {
		if begun {
			return b.Started && b.Done == 0 && b.Station == shear
		}
		return !b.Started && b.Done == 0 && !b.Voided && b.Load == 0
	})
	h.scan(shear, n, func(x *scan.Scan) {
		if h.one("count", 4) {
			x.Pieces = 1 + h.upTo("pieces", 14)
		}
		if h.one("lots", 8) {
			x.Lots = []tags.Number{h.someLot(), h.someLot()}[:1+h.upTo("lots", 1)]
		}
		if h.one("bars", 8) {
			for range 1 + h.upTo("draws", 1) {
				x.Bars = append(x.Bars, event.Draw{Lot: h.someLot(), Bars: 1 + h.upTo("bars", 8)})
			}
		}
		if h.one("left", 8) {
			x.Remnants = []event.Remnant{}
			for range h.upTo("remnants", 2) {
				x.Remnants = append(x.Remnants, event.Remnant{Length: bar.Length(1+h.upTo("length", 40)) * bar.Foot, Bars: 1 + h.upTo("bars", 3)})
			}
		}
		x.Pocket = pick(h, "pocket", "", "", "1")
	})
}

func (h *history) bend() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Done == 1 && len(h.steps[b.Number]) == 2 })
	h.scan(pick(h, "bender", "B1", "B2", "B3", "B3"), n, func(x *scan.Scan) { x.Pieces = pick(h, "pieces", 0, 0, 0, 12) })
}

func (h *history) gone(x *scan.Scan) { x.Gone = h.one("gone", 4) }

func (h *history) openLoad() { h.scan("L1", h.someLoad(), h.gone) }

func (h *history) load() {
	h.scan("L1", h.someBundle(func(b scan.Bundle) bool { return b.Done == len(h.steps[b.Number]) && b.Load == 0 }), h.gone)
}

func (h *history) unload() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Load != 0 })
	h.scan(pick(h, "station", "L1", "B1"), n, func(x *scan.Scan) { x.Do = scan.Unload })
}

func (h *history) ship() {
	h.scan("L1", h.someLoad(), h.gone, func(x *scan.Scan) { x.Do = scan.Ship })
}

func (h *history) target() event.Target {
	switch h.upTo("target", 3) {
	case 0:
		return event.Target{Number: h.someLot()}
	case 1:
		return event.Target{Number: h.someBundle(func(scan.Bundle) bool { return true })}
	case 2:
		return event.Target{Number: h.someLoad()}
	}
	return event.Target{Mill: pick(h, "mill", mills...), Heat: pick(h, "heat", heats...)}
}

func (h *history) hold() {
	e := event.HoldPut{Target: h.target(), Reason: "rib height"}
	h.send("hold", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Hold(context.Background(), o, e) })
}

func (h *history) lift() {
	e := event.HoldLifted{Target: h.target(), Reason: "measured again"}
	h.read(func(p *view.Past) {
		p.Holds(func(x heat.Hold) bool { e.Target = x.Target; return h.one("other", 2) })
	})
	h.send("lift", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Lift(context.Background(), o, e) })
}

func (h *history) undo() {
	n := h.someBundle(func(b scan.Bundle) bool { return len(b.Progress) > 0 && !b.Shipped })
	h.send("undo", floor.Origin{Device: "gun 1"}, func(o floor.Origin) (floor.Receipt, error) { return h.Undo(context.Background(), o, n, "wrong one") })
}

func (h *history) void() {
	n := h.someBundle(func(b scan.Bundle) bool { return len(b.Progress) == 0 })
	h.send("void", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Void(context.Background(), o, n, "revised") })
}

func (h *history) setHeats() {
	e := event.LotHeatSet{Lot: h.someLot(), Mill: pick(h, "mill", mills...), Heats: h.someHeats(), Reason: "read again"}
	h.send("set heats", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.SetHeats(context.Background(), o, e) })
}

func (h *history) place() {
	name := fmt.Sprint("Bay ", h.upTo("bay", 5))
	h.send("make place", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.MakePlace(context.Background(), o, name) })
	h.send("make person", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.MakePerson(context.Background(), o, floor.Person{Name: "A. Sample"})
	})
}

func (h *history) putDown() {
	if len(h.places) > 0 && h.one("open", 2) {
		h.scan("Y1", pick(h, "place", h.places...))
		return
	}
	h.scan("Y1", pick(h, "what", h.someLot(), h.someBundle(func(scan.Bundle) bool { return true })))
}

func (h *history) print() {
	ns := []tags.Number{h.someBundle(func(scan.Bundle) bool { return true }), h.someLot()}
	h.send("print", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Print(context.Background(), o, ns) })
}

func (h *history) paper() {
	e := event.CertFiled{Mill: pick(h, "mill", mills...), Heat: pick(h, "heat", heats...), Sizes: []bar.Size{"#5"}, Type: "MTR", Text: pick(h, "text", "", "C-17")}
	r, err := h.send("file cert", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.FileCert(context.Background(), o, e) })
	if err != nil {
		return
	}
	seq := r.Seq + uint64(h.upTo("cert", 1))
	h.send("review cert", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.ReviewCert(context.Background(), o, event.CertReviewed{Cert: seq})
	})
}

func (h *history) alias() {
	e := event.AliasSet{Text: fmt.Sprint("X", h.upTo("alias", 9)), Number: h.someBundle(func(scan.Bundle) bool { return true })}
	h.send("alias", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.SetAlias(context.Background(), o, e) })
}

// again sends an old request again: it gets its first receipt, and counts no second time.
func (h *history) again() {
	if len(h.done) == 0 {
		return
	}
	r := pick(h, "old", h.done...)
	before := h.head()
	got, err := r.do(r.o)
	require.NoError(h, err, r.name)
	require.True(h, got.Again)
	require.Equal(h, r.got.Seq, got.Seq, r.name)
	require.Len(h, got.Events, len(r.got.Events))
	for i, e := range got.Events {
		require.Equal(h, encoded(h, r.got.Events[i]), encoded(h, e), r.name)
	}
	require.Equal(h, r.got.Answer, got.Answer, r.name)
	require.Equal(h, before, h.head())
}

// otherRequest sends another request under an old key.
func (h *history) otherRequest() {
	if len(h.done) == 0 {
		return
	}
	r := pick(h, "old", h.done...)
	before := h.head()
	r.o.Request = "another"
	_, err := r.do(r.o)
	require.ErrorIs(h, err, floor.ErrOtherRequest)
	require.Equal(h, before, h.head())
}

// restart stops the program and starts it again.
func (h *history) restart() {
	require.NoError(h, h.Close())
	before := h.head()
	h.disk = h.disk.Reopen()
	h.start()
	require.Equal(h, before, h.head(), "the settings are the same, so nothing happened")
}
