package floor_test

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/journal"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/store/storetest"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// disk is a store in memory that is opened again and again, and fails as it is told.
type disk struct {
	mu    sync.Mutex
	mem   *mem.DB
	fault func() (fail, keep bool)
	stuck int // openings that fail
	opens int
}

func newDisk() *disk { return &disk{mem: mem.Open(floor.Tables()...)} }

func (d *disk) open() (store.DB, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.opens++
	if d.stuck > 0 {
		d.stuck--
		return nil, errStuck
	}
	d.mem = d.mem.Reopen()
	return &storetest.Faulty{DB: d.mem, Fault: func() (bool, bool) {
		if d.fault == nil {
			return false, false
		}
		return d.fault()
	}}, nil
}

// once makes the next commit fail.
func (d *disk) once(keep bool) {
	done := false
	d.fault = func() (bool, bool) {
		fail := !done
		done = true
		return fail, keep
	}
}

var eight = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)

func config() floor.Config {
	return floor.Config{Plant: 1, Rules: rules(), Settings: []byte("plant = 1\n"), Now: func() time.Time { return eight }}
}

func openOn(t *testing.T, d *disk, cfg floor.Config) *floor.Floor {
	f, err := floor.Open(d.open, cfg)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f
}

var ctx = context.Background()

func key(device, key string) floor.Origin {
	return floor.Origin{Device: device, Key: key, Request: key}
}

// kinds are the kinds of all records, in order.
func kinds(t require.TestingT, f *floor.Floor) (out []string) {
	require.NoError(t, f.View(func(p *view.Past) error {
		for seq := uint64(0); seq <= p.Head(); seq++ {
			out = append(out, p.Event(seq).Body.Kind().String())
		}
		return nil
	}))
	return out
}

func TestFirstRecords(t *testing.T) {
	d := newDisk()
	f := openOn(t, d, config())
	require.Equal(t, []string{"store opened", "settings changed"}, kinds(t, f))
	require.NoError(t, f.View(func(p *view.Past) error {
		o := p.Event(0).Body.(event.StoreOpened)
		require.Equal(t, 1, o.Plant)
		require.Len(t, o.UUID, 36)
		require.Equal(t, "plant = 1\n", p.Event(1).Body.(event.SettingsChanged).Text)
		return nil
	}))
}

// TestSettings: settings are recorded when they changed, and only then.
func TestSettings(t *testing.T) {
	d := newDisk()
	require.NoError(t, openOn(t, d, config()).Close())
	f := openOn(t, d, config())
	require.Len(t, kinds(t, f), 2)
	require.NoError(t, f.Close())
	other := config()
	other.Settings = []byte("plant = 1\nname = \"Example\"\n")
	f = openOn(t, d, other)
	require.Equal(t, []string{"store opened", "settings changed", "settings changed"}, kinds(t, f))
	require.NoError(t, f.Close())
	require.Len(t, kinds(t, openOn(t, d, other)), 3)
}

func TestAnotherPlant(t *testing.T) {
	d := newDisk()
	require.NoError(t, openOn(t, d, config()).Close())
	other := config()
	other.Plant = 2
	_, err := floor.Open(d.open, other)
	require.ErrorContains(t, err, "this store is of plant 1, the settings say plant 2")
	require.Len(t, kinds(t, openOn(t, d, config())), 2)
}

// TestRebuild: views of another version are folded anew, also when a fold was cut short before.
func TestRebuild(t *testing.T) {
	for name, spoil := range map[string]func(store.Tx) error{
		"another version": func(tx store.Tx) error {
			return tx.Put("meta", []byte("version"), binary.BigEndian.AppendUint16(nil, view.Version+1))
		},
		"a fold cut short": func(tx store.Tx) error {
			for _, table := range view.Tables[:9] {
				var keys [][]byte
				tx.Ascend(table, nil, nil, func(k, _ []byte) bool { keys = append(keys, append([]byte{}, k...)); return true })
				for _, k := range keys {
					if err := tx.Delete(table, k); err != nil {
						return err
					}
				}
			}
			return nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDisk()
			f := openOn(t, d, config())
			for i := range 3 {
				_, err := f.MakePlace(ctx, floor.Origin{}, fmt.Sprint("Bay ", i))
				require.NoError(t, err)
			}
			require.NoError(t, f.Close())
			want := dump(t, d.mem.Reopen())
			db, err := d.open()
			require.NoError(t, err)
			require.NoError(t, db.Update(spoil))
			require.NoError(t, db.Close())
			require.NotEqual(t, want, dump(t, d.mem.Reopen()))

			var told [][2]uint64
			cfg := config()
			cfg.Progress = func(done, all uint64) { told = append(told, [2]uint64{done, all}) }
			f = openOn(t, d, cfg)
			require.Equal(t, [][2]uint64{{5, 5}}, told)
			require.Len(t, kinds(t, f), 5, "nothing is recorded for it")
			require.NoError(t, f.Close())
			require.Equal(t, want, dump(t, d.mem.Reopen()))
			told = nil
			openOn(t, d, cfg)
			require.Empty(t, told, "only once")
		})
	}
}

// TestFailedCommits: what was answered is there, what was said not to be recorded is not, and can be
// sent again under its key.
func TestFailedCommits(t *testing.T) {
	for _, keep := range []bool{false, true} {
		for _, stuck := range []int{0, 1, 3} {
			t.Run(fmt.Sprintf("keep %v stuck %d", keep, stuck), func(t *testing.T) {
				d := newDisk()
				f := openOn(t, d, config())
				d.once(keep)
				d.stuck = stuck
				r, err := f.MakePlace(ctx, key("gun", "1"), "Bay 1")
				switch {
				case stuck > 0:
					require.ErrorIs(t, err, floor.ErrUncertain)
					require.ErrorIs(t, f.View(func(*view.Past) error { return nil }), floor.ErrStopped)
				case keep:
					require.NoError(t, err)
					require.EqualValues(t, 2, r.Seq)
					require.False(t, r.Again)
				default:
					require.ErrorIs(t, err, floor.ErrNotRecorded)
				}
				for range max(0, stuck-1) {
					_, err = f.MakePlace(ctx, key("gun", "1"), "Bay 1")
					require.ErrorIs(t, err, floor.ErrStopped)
				}
				if stuck > 0 {
					_, err = f.MakePlace(ctx, key("gun", "1"), "Bay 1")
					require.ErrorIs(t, err, floor.ErrNotRecorded, "it opened the store")
				}
				r, err = f.MakePlace(ctx, key("gun", "1"), "Bay 1")
				require.NoError(t, err)
				require.Equal(t, keep, r.Again)
				require.EqualValues(t, 2, r.Seq)
				require.Equal(t, []string{"store opened", "settings changed", "place made"}, kinds(t, f))
				if stuck == 0 {
					require.Equal(t, 2, d.opens)
				}
			})
		}
	}
}

// TestNothingToWriteInAFailedCommit: an answer that rests on what others wrote in the same commit is
// taken back with it. One that comes when nothing else is written needs no commit.
func TestNothingToWriteInAFailedCommit(t *testing.T) {
	d := newDisk()
	f := openOn(t, d, config())
	d.once(false)
	r, err := f.Do(ctx, key("gun", "1"), func(*view.Past) (floor.Decision, error) {
		return floor.Decision{Answer: &event.Answer{}}, nil
	})
	require.NoError(t, err)
	require.Zero(t, r.Seq)
	require.NotNil(t, r.Answer)
	require.Equal(t, 1, d.opens)
}

// TestManyAtOnce: many clients, one commit in four failing, the store sometimes not to be opened for a
// while. Each client sends its request until it is answered. Then each counts once, and the views are
// the fold of the journal.
func TestManyAtOnce(t *testing.T) {
	for seed := range uint64(20) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			d := newDisk()
			f := openOn(t, d, config())
			var mu sync.Mutex
			rnd := rand.New(rand.NewPCG(seed, 1))
			d.fault = func() (bool, bool) {
				mu.Lock()
				defer mu.Unlock()
				fail, keep := rnd.IntN(4) == 0, rnd.IntN(2) == 0
				if fail && rnd.IntN(4) == 0 {
					d.mu.Lock()
					d.stuck = rnd.IntN(3)
					d.mu.Unlock()
				}
				return fail, keep
			}
			const clients, each = 8, 10
			got := make([][]floor.Receipt, clients)
			var wg sync.WaitGroup
			for c := range clients {
				wg.Go(func() {
					for i := range each {
						name := fmt.Sprintf("Bay %d %d", c, i)
						o := key(fmt.Sprint("gun ", c), fmt.Sprint(i))
						for try := 0; ; try++ {
							r, err := f.MakePlace(ctx, o, name)
							if err == nil {
								got[c] = append(got[c], r)
								break
							}
							known := errors.Is(err, floor.ErrNotRecorded) || errors.Is(err, floor.ErrUncertain) || errors.Is(err, floor.ErrStopped)
							if !known || try > 1000 {
								t.Errorf("%s: %v", name, err)
								return
							}
						}
					}
				})
			}
			wg.Wait()
			require.NoError(t, f.View(func(p *view.Past) error {
				require.EqualValues(t, 1+clients*each, p.Head(), "each counts once")
				for _, rs := range got {
					for _, r := range rs {
						require.Equal(t, p.Event(r.Seq), r.Events[0])
						made := r.Events[0].Body.(event.PlaceMade)
						n, ok := p.PlaceNamed(made.Name)
						require.True(t, ok)
						require.Equal(t, made.Place, n)
					}
				}
				return nil
			}))
			d.fault = nil
			require.NoError(t, f.Close())
			anew := mem.Open(floor.Tables()...)
			require.NoError(t, view.Rebuild(d.mem.Reopen(), anew, view.New(1), nil))
			require.Equal(t, dump(t, anew), dump(t, d.mem.Reopen()))
		})
	}
}

// TestPanics: a decision that panics, and one whose events do not fit the views, record nothing, and
// the next one goes on.
func TestPanics(t *testing.T) {
	f := openOn(t, newDisk(), config())
	before := kinds(t, f)
	var p *journal.PanicError
	_, err := f.Do(ctx, key("gun", "1"), func(*view.Past) (floor.Decision, error) { panic("a mistake") })
	require.ErrorAs(t, err, &p)
	require.Equal(t, "a mistake", p.Value)
	require.Contains(t, string(p.Stack), "store_test.go", "the place of the mistake is known")

	_, err = f.Do(ctx, key("gun", "1"), func(*view.Past) (floor.Decision, error) {
		return floor.Decision{Events: []event.Body{
			event.JobSet{Job: "J"}, event.BundleVoided{Bundle: num(t, tags.Bundle, 9)},
		}}, nil
	})
	require.ErrorAs(t, err, &p)
	require.ErrorContains(t, err, "1-001-00000009")
	_, err = f.Do(ctx, key("gun", "1"), func(*view.Past) (floor.Decision, error) {
		return floor.Decision{Events: []event.Body{event.JobSet{Job: "J"}}, Write: func(store.Tx) error { return errStuck }}, nil
	})
	require.ErrorAs(t, err, &p)
	require.Panics(t, func() { f.View(func(*view.Past) error { panic("a mistake") }) })

	require.Equal(t, before, kinds(t, f))
	_, err = f.SetJob(ctx, key("gun", "1"), event.JobSet{Job: "J"})
	require.NoError(t, err)
}

// TestTooLarge: what no record can hold is refused before anything is written.
func TestTooLarge(t *testing.T) {
	f := openOn(t, newDisk(), config())
	before := kinds(t, f)
	var r *event.Refusal
	_, err := f.Do(ctx, floor.Origin{}, func(*view.Past) (floor.Decision, error) {
		return floor.Decision{Events: []event.Body{event.JobSet{Job: "J"}, event.JobSet{Job: strings.Repeat("x", event.MaxSize)}}}, nil
	})
	require.ErrorAs(t, err, &r)
	for _, o := range []floor.Origin{{Device: "\xff"}, {Station: "\xff"}, {Device: strings.Repeat("x", 201)}, {Station: strings.Repeat("x", 201)}} {
		_, err = f.SetJob(ctx, o, event.JobSet{Job: "J"})
		require.ErrorAs(t, err, &r, "%+v", o)
	}
	require.Equal(t, before, kinds(t, f))
}

// TestDamagedRow: a row that cannot be read is an error, not a crash.
func TestDamagedRow(t *testing.T) {
	d := newDisk()
	f := openOn(t, d, config())
	r, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Example Mill", Steel: bar.Steel{Size: "#5"}, Length: bar.Foot, Bars: 1})
	require.NoError(t, err)
	require.NoError(t, f.Close())
	lot := r.Events[0].Body.(event.LotReceived).Lot
	db, _ := d.open()
	require.NoError(t, db.Update(func(tx store.Tx) error {
		return tx.Put("lot", binary.BigEndian.AppendUint64(nil, uint64(lot)), []byte{0xff})
	}))
	f = openOn(t, d, config())
	var damaged view.Damaged
	require.ErrorAs(t, f.View(func(p *view.Past) error { p.Lot(lot); return nil }), &damaged)
	_, _, err = f.Scan(ctx, floor.Origin{}, scan.Scan{Station: "S1", Read: tags.Scan{Number: lot, Text: lot.Digits()}})
	require.ErrorAs(t, err, &damaged)
}

// TestKeys: a key is its device's own.
func TestKeys(t *testing.T) {
	f := openOn(t, newDisk(), config())
	first, err := f.MakePlace(ctx, key("gun 1", "1"), "Bay 1")
	require.NoError(t, err)
	_, err = f.MakePlace(ctx, key("gun 2", "1"), "Bay 2")
	require.NoError(t, err)
	again, err := f.MakePlace(ctx, key("gun 1", "1"), "Bay 1")
	require.NoError(t, err)
	require.True(t, again.Again)
	require.Equal(t, first.Seq, again.Seq)
	_, err = f.MakePlace(ctx, floor.Origin{Device: "gun 1", Key: "1", Request: "other"}, "Bay 1")
	require.ErrorIs(t, err, floor.ErrOtherRequest)
	_, err = f.MakePlace(ctx, floor.Origin{Device: "gun 1", Key: strings.Repeat("k", 201), Request: "x"}, "Bay 3")
	require.Error(t, err)
	require.Len(t, kinds(t, f), 4)
}

// TestTimes: recorded times never go back, whatever the clock does, also over a restart; what a device
// says is kept as it says it.
func TestTimes(t *testing.T) {
	d := newDisk()
	cfg := config()
	now := eight
	cfg.Now = func() time.Time { return now }
	var err error
	cfg.Rules.Zone, err = time.LoadLocation("America/Chicago")
	require.NoError(t, err)
	f := openOn(t, d, cfg)
	now = eight.Add(-time.Hour)
	r, err := f.MakePlace(ctx, floor.Origin{Happened: eight.Add(-48 * time.Hour)}, "Bay 1")
	require.NoError(t, err)
	require.Equal(t, eight.UnixMilli(), r.Events[0].Recorded)
	require.Equal(t, eight.Add(-48*time.Hour).UnixMilli(), r.Events[0].Happened)
	require.EqualValues(t, -360, r.Events[0].Offset)
	require.NoError(t, f.Close())
	r, err = openOn(t, d, cfg).MakePlace(ctx, floor.Origin{}, "Bay 2")
	require.NoError(t, err)
	require.Equal(t, eight.UnixMilli(), r.Events[0].Recorded)
	require.Zero(t, r.Events[0].Happened)
}

// TestRestored: after a restore the store has another UUID, and no serial of the last 100,000 comes
// again, of whatever kind; views that are folded anew know it too.
func TestRestored(t *testing.T) {
	d := newDisk()
	f := openOn(t, d, config())
	make := func(f *floor.Floor, name string) tags.Number {
		r, err := f.MakePlace(ctx, floor.Origin{}, name)
		require.NoError(t, err)
		return r.Events[0].Body.(event.PlaceMade).Place
	}
	require.Equal(t, 1, make(f, "Bay 1").Serial())
	require.NoError(t, f.Restored(ctx, "0198c0de-0000-7000-8000-000000000001"))
	require.Equal(t, 100_002, make(f, "Bay 2").Serial())
	r, err := f.MakePerson(ctx, floor.Origin{}, floor.Person{Name: "A. Sample"})
	require.NoError(t, err)
	require.Equal(t, 100_001, r.Events[0].Body.(event.PersonMade).Person.Serial())
	require.NoError(t, f.View(func(p *view.Past) error {
		o, err := p.Opened()
		require.Equal(t, "0198c0de-0000-7000-8000-000000000001", o.UUID)
		return err
	}))
	require.NoError(t, f.Close())

	db, _ := d.open()
	require.NoError(t, db.Update(func(tx store.Tx) error { return tx.Delete("meta", []byte("version")) }))
	f = openOn(t, d, config())
	require.NoError(t, f.Restored(ctx, "0198c0de-0000-7000-8000-000000000002"))
	require.Equal(t, 200_003, make(f, "Bay 3").Serial())
	names, err := f.Names()
	require.NoError(t, err)
	require.Len(t, names, 1, "names live outside the journal")
}

// TestNoNumberLeft: when all serials are given out, that is said, and nothing comes twice.
func TestNoNumberLeft(t *testing.T) {
	d := newDisk()
	f := openOn(t, d, config())
	require.NoError(t, f.Close())
	db, _ := d.open()
	require.NoError(t, db.Update(func(tx store.Tx) error {
		return tx.Put("meta", []byte{'s', byte(tags.Place)}, binary.BigEndian.AppendUint32(nil, tags.MaxSerial-1))
	}))
	f = openOn(t, d, config())
	_, err := f.MakePlace(ctx, floor.Origin{}, "Bay 1")
	require.NoError(t, err)
	_, err = f.MakePlace(ctx, floor.Origin{}, "Bay 2")
	require.ErrorContains(t, err, "no number is left")
	require.Len(t, kinds(t, f), 3)
}

// TestNews: whoever waits is woken by the next event, and by no refusal.
func TestNews(t *testing.T) {
	f := openOn(t, newDisk(), config())
	woken := func(c <-chan struct{}) bool {
		select {
		case <-c:
			return true
		default:
			return false
		}
	}
	news := f.News()
	_, err := f.MakePlace(ctx, floor.Origin{}, "")
	require.Error(t, err)
	require.False(t, woken(news))
	_, err = f.MakePlace(ctx, floor.Origin{}, "Bay 1")
	require.NoError(t, err)
	require.True(t, woken(news))
	require.False(t, woken(f.News()))
}

// Reading ahead how fast the stations work finds what the first question would, and ends when it is told to.
func TestReadPaces(t *testing.T) {
	read, asked := openShop(t), openShop(t)
	var paces [2][]load.Pace
	for i, s := range []*shop{read, asked} {
		bundles, lots := s.made(10, "H1")
		s.scan("S1", lots[0].Digits())
		s.scan("S1", bundles[0].Digits())
		s.scan("S1", bundles[0].Digits(), func(x *scan.Scan) { x.Pieces = 10 })
		if s == read {
			require.NoError(t, s.ReadPaces(context.Background()))
			stopped, stop := context.WithCancel(context.Background())
			stop()
			require.NoError(t, s.ReadPaces(stopped))
		}
		out, err := s.Outlook(s.now, nil)
		require.NoError(t, err)
		paces[i] = out.Paces
	}
	require.NotEmpty(t, paces[0])
	require.Equal(t, paces[1], paces[0])
}
