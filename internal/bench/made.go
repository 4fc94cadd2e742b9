// Package bench makes stores of a known size and measures what the floor does on them. It prints
// rates beside those of a peer taken in the same run, since absolute figures do not carry over from
// one machine to another.
package bench

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"time"

	"github.com/google/uuid"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// Clients is how many scanners work at once, each at a shear of its own. There is one shear more, for
// the client that works alone.
const Clients = 64

// steel and sizes of the made shop: everything is invented.
var steel = bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}

func station(i int) string { return fmt.Sprintf("S%d", i+1) }

// rules is a shop of many shears, a bender and a loadout, without a pause between scans.
func rules() scan.Rules {
	r := scan.Rules{
		Plant: 1, Name: "Made Shop (invented)", Zone: time.UTC, Units: bar.Imperial,
		Keep: map[bar.Size]bar.Length{"": 10 * bar.Foot}, Stock: []bar.Length{60 * bar.Foot},
		Stations: []scan.Station{
			{Name: "B1", Title: "Bender", Does: []scan.Work{"bend"}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
		},
	}
	for i := range Clients + 1 {
		r.Stations = append(r.Stations, scan.Station{Name: station(i), Title: "Shear " + station(i), Does: []scan.Work{"cut"}, Feeds: []string{"A"}})
	}
	return r
}

// open opens the store of a folder; without sync it is for making stores only.
func open(dir string, sync bool) func() (store.DB, error) {
	return func() (store.DB, error) {
		return bolt.Open(filepath.Join(dir, "plant.db"), floor.Tables(), bolt.Options{NoSync: !sync, FillPercent: floor.FillPercent})
	}
}

// openFloor opens the made shop's floor.
func openFloor(dir string, sync bool) (*floor.Floor, error) {
	return floor.Open(open(dir, sync), config())
}

func config() floor.Config {
	return floor.Config{Plant: 1, Rules: rules(), Limits: barlist.Limits{Pieces: 40}, Settings: []byte("made shop")}
}

// newKey is a request key as devices make it: time-ordered.
func newKey() string { return uuid.Must(uuid.NewV7()).String() }

// card makes the card that goes out with the receipt of a start.
func card(f *floor.Floor, station string, n tags.Number) error {
	return f.View(func(p *view.Past) error {
		scan.CardOf(p, f.Rules(), station, n)
		return nil
	})
}

const bar60 = 60 * bar.Foot

// perLine is how many bundles a line of a made list has.
const perLine = 8

// makeBundles takes bar lists until there are n bundles, waiting to be cut.
func makeBundles(f *floor.Floor, n int, say func(string, ...any)) error {
	ctx := context.Background()
	if _, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-001", Name: "Made Job (invented)", Heats: event.HeatsBundle}); err != nil {
		return err
	}
	lengths := []bar.Length{11*bar.Foot + 6*bar.Inch, 14 * bar.Foot, 8*bar.Foot + 3*bar.Inch, 19 * bar.Foot, 5*bar.Foot + 9*bar.Inch}
	for list, made := 1, 0; made < n; list++ {
		file := barlist.File{Name: "made.csv", SHA256: [32]byte{byte(list), byte(list >> 8)}}
		for row := 0; row < barlist.MaxLines && made < n; row++ {
			line := barlist.Line{
				Row: row + 2, Job: "26-001", List: fmt.Sprint(list), Mark: fmt.Sprintf("%dF%d", 3+row%9, 100+row),
				Steel: steel, Length: lengths[row%len(lengths)], Pieces: perLine * 40,
			}
			if bent(row) {
				line.Shape.Legs = []bar.Leg{{Length: 2 * bar.Foot, Turn: 900}, {Length: line.Length - 2*bar.Foot}}
			}
			file.Lines = append(file.Lines, line)
			made += perLine
		}
		if _, _, err := f.TakeList(ctx, floor.Origin{}, file); err != nil {
			return err
		}
		say("%d bundles", made)
	}
	return nil
}

// bent says which lines are bent: every other one, as about half of all bars are.
func bent(row int) bool { return row%2 == 1 }

// charge receives a lot for each shear and puts it on its feed.
func charge(f *floor.Floor) error {
	for i := range Clients + 1 {
		r, err := f.Receive(context.Background(), floor.Origin{}, event.LotReceived{
			Mill: "Made Mill (invented)", Heats: []string{fmt.Sprintf("7%06d", i)}, Steel: steel, Length: 60 * bar.Foot, Bars: 1_000_000,
		})
		if err != nil {
			return err
		}
		lot, err := floor.Body[event.LotReceived](r)
		if err != nil {
			return err
		}
		if err := scanned(f, i, lot.Lot, event.Accepted); err != nil {
			return err
		}
	}
	return nil
}

// bundle is the n-th bundle of the made lists.
func bundle(n int) tags.Number {
	b, err := tags.New(tags.Bundle, 1, n+1)
	if err != nil {
		panic(err)
	}
	return b
}

// worker is one client, which starts and ends one bundle of its own run of serials after another.
type worker struct {
	f    *floor.Floor
	i    int
	next int // scans made
	from int // first bundle
}

// scan makes the worker's next scan.
func (w *worker) scan() error {
	n := bundle(w.from + w.next/2)
	w.next++
	return scanned(w.f, w.i, n, event.Accepted)
}

// scanned makes one scan as a device does, the card of a start included, and checks its answer.
func scanned(f *floor.Floor, i int, n tags.Number, want event.Verdict) error {
	st := station(i)
	now := time.Now()
	read, wrong := tags.Read(n.Digits())
	s := scan.Scan{Read: read, Wrong: wrong, Station: st, Device: st, At: now.UnixMilli()}
	o := floor.Origin{Device: st, Station: st, Key: newKey(), Happened: now, Request: n.Digits()}
	r, show, err := f.Scan(context.Background(), o, s)
	if err != nil {
		return err
	}
	if r.Answer.Verdict != want {
		says, _ := scan.Say(r.Answer.Notes[0], scan.English)
		return fmt.Errorf("bench: scan of %v at %s: %s: %s", n, st, r.Answer.Verdict, says)
	}
	if _, started := r.Events[0].Body.(event.RunOpened); started {
		return card(f, st, show)
	}
	return nil
}

// both runs do for each of n clients at once and returns the first error.
func both(n int, do func(i int) error) error {
	var wg sync.WaitGroup
	errs := make([]error, n)
	for i := range n {
		wg.Add(1)
		go func() {
			defer wg.Done()
			errs[i] = do(i)
		}()
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
