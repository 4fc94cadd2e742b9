package journal_test

import (
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tagd/internal/journal"
	"tagd/internal/store"
)

// disk is a store whose commits take as long as those of a disk, whatever else the machine does.
type disk struct {
	store.DB
	sync time.Duration
}

func (d disk) Update(f func(store.Tx) error) error {
	return d.DB.Update(func(tx store.Tx) error {
		err := f(tx)
		if err == nil {
			time.Sleep(d.sync)
		}
		return err
	})
}

// BenchmarkBatch shows how much of the most possible a batch holds when each client comes back as
// soon as it is answered: with one commit for all of them at a time it is 1.
func BenchmarkBatch(b *testing.B) {
	for _, clients := range []int{1, 2, 16, 64} {
		b.Run(fmt.Sprint(clients), func(b *testing.B) {
			db, commits := counted(disk{open(), 5 * time.Millisecond})
			c := journal.New(db, journal.Options{})
			defer c.Close()
			var left atomic.Int64
			left.Store(int64(b.N))
			var all sync.WaitGroup
			for range clients {
				all.Go(func() {
					for left.Add(-1) >= 0 {
						// The journal stays short, for the store in memory copies what it changes.
						if err := c.Do(background, func(tx store.Tx) error { return tx.Put(journal.Records, []byte("x"), nil) }); err != nil {
							b.Error(err)
							return
						}
					}
				})
			}
			all.Wait()
			b.ReportMetric(float64(b.N)/float64(commits.Load())/float64(clients), "of-possible")
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "op/s")
		})
	}
}
