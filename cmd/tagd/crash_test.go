package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"tagd/api"
)

// kills is how often the program is killed: TAGD_KILLS says it; a few times without, and long with
// TAGD_SOAK=1.
func kills() int {
	if n, err := strconv.Atoi(os.Getenv("TAGD_KILLS")); err == nil && n > 0 {
		return n
	}
	if os.Getenv("TAGD_SOAK") == "1" {
		return 300
	}
	return 4
}

// Shears of the shop that is killed, one for each client, and the bundles that each cuts between two
// kills at most.
const (
	shears   = 4
	eachKill = 100
)

func crashSettings() string {
	var b bytes.Buffer
	fmt.Fprintf(&b, "[plant]\nnumber = 7\nname = \"Crash Shop (invented)\"\n[bundle]\npieces = 40\n[scan]\nleast = \"0s\"\n")
	for i := range shears {
		fmt.Fprintf(&b, "[[station]]\nname = \"S%d\"\ndoes = [\"cut\"]\nfeeds = [\"A\"]\n", i+1)
	}
	return b.String()
}

// crashList has lines of eight bundles each.
func crashList(bundles int) string {
	var b bytes.Buffer
	fmt.Fprintln(&b, "job,list,mark,size,length,pieces")
	for i := range (bundles + 7) / 8 {
		fmt.Fprintf(&b, "26-001,L,M%d,#5,11'-6\",320\n", i)
	}
	return b.String()
}

// The program is killed (-9) at random moments while four clients scan. Every scan that was
// acknowledged is in the journal at the sequence that its receipt named, no scan is in it twice, and
// the store is sound after every kill.
func TestCrash(t *testing.T) {
	program, err := build()
	require.NoError(t, err)
	seed := uint64(time.Now().UnixNano())
	t.Log("seed", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	n := kills()

	c := &crash{program: program, data: filepath.Join(t.TempDir(), "shop")}
	require.NoError(t, os.MkdirAll(c.data, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(c.data, settingsName), []byte(crashSettings()), 0o644))
	list := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(list, []byte(crashList(shears*eachKill*n)), 0o644))
	stock := "mill,heats,size,length,bars\n"
	for i := range shears {
		stock += fmt.Sprintf("Crash Mill (invented),70%02d,#5,60',900000\n", i)
	}
	delivery := filepath.Join(t.TempDir(), "stock.csv")
	require.NoError(t, os.WriteFile(delivery, []byte(stock), 0o644))
	var taken api.ListTaken
	var received api.Received
	require.NoError(t, json.Unmarshal(c.run(t, "import", list, "--json"), &taken))
	require.NoError(t, json.Unmarshal(c.run(t, "stock", delivery, "--json"), &received))
	var bundles []string
	for _, l := range taken.Lines {
		bundles = append(bundles, l.Bundles...)
	}
	clients := make([]*client, shears)
	for i := range clients {
		share := len(bundles) / shears
		clients[i] = &client{
			station: fmt.Sprintf("S%d", i+1), codes: []string{received.Lots[i].Number}, acked: map[string]uint64{},
			now: time.Date(2026, 1, 5, 14, 0, 0, 0, time.UTC),
		}
		for _, b := range bundles[i*share : (i+1)*share] {
			clients[i].codes = append(clients[i].codes, b, b) // started, then done
		}
	}

	ctx, cancel := context.WithCancel(t.Context())
	var wg sync.WaitGroup
	for _, k := range clients {
		wg.Go(func() {
			if err := k.work(ctx, &c.url); err != nil {
				t.Error(err)
			}
		})
	}
	for range n {
		server := c.start(t)
		time.Sleep(time.Duration(rnd.IntN(400)) * time.Millisecond)
		c.url.Store("")
		require.NoError(t, server.Process.Kill())
		require.Error(t, server.Wait())
		c.run(t, "check")
		if t.Failed() {
			break
		}
	}
	server := c.start(t)
	time.Sleep(100 * time.Millisecond) // what was in doubt is sent again
	cancel()
	wg.Wait()
	acked := map[string]uint64{}
	for _, k := range clients {
		maps.Copy(acked, k.acked)
	}
	t.Logf("%d scans acknowledged over %d kills; %d sent again, of those %d had been recorded", len(acked), n, count(clients, func(k *client) int { return k.resent }),
		count(clients, func(k *client) int { return k.again }))
	require.Greater(t, len(acked), 10*n, "too few scans to prove anything")

	found := map[string]uint64{}
	for after, more := uint64(0), true; more; {
		var page api.Journal
		c.get(t, fmt.Sprintf("/api/v1/journal?after=%d&limit=1000", after), &page)
		for _, e := range page.Events {
			if e.Key != "" {
				require.NotContains(t, found, e.Key, "recorded twice")
				found[e.Key] = e.Seq
			}
			after = e.Seq
		}
		more = len(page.Events) > 0
	}
	for key, seq := range acked {
		require.Equal(t, seq, found[key], "acknowledged scan %s", key)
	}
	// A scan sent again long after gets its first receipt.
	k := clients[0]
	first := slices.Sorted(maps.Keys(k.sent))[0]
	answer, err := sendScan(t.Context(), c.url.Load().(string), k.sent[first])
	require.NoError(t, err)
	require.True(t, answer.Again)
	require.Equal(t, acked[first], answer.Seq)

	require.NoError(t, server.Process.Signal(syscall.SIGTERM))
	require.NoError(t, server.Wait())
	c.run(t, "check")
}

func count(clients []*client, of func(*client) int) (n int) {
	for _, k := range clients {
		n += of(k)
	}
	return n
}

// crash is the program on a data folder.
type crash struct {
	program, data string
	url           atomic.Value // of the running server; "" while it is down
}

// run runs a command to its end and gives its stdout.
func (c *crash) run(t *testing.T, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(c.program, append(args, "--data", c.data)...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoError(t, cmd.Run(), "%v: %s%s", args, out.Bytes(), errs.Bytes())
	return out.Bytes()
}

// start starts the server and waits until it answers.
func (c *crash) start(t *testing.T) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(c.program, "serve", "--data", c.data, "--listen", "127.0.0.1:0")
	cmd.Stderr = t.Output()
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() }) // after a test that failed half way
	var url string
	_, err = fmt.Fscanf(out, "tagd listens on %s\n", &url)
	require.NoError(t, err)
	go io.Copy(io.Discard, out)
	c.url.Store(url)
	return cmd
}

func (c *crash) get(t *testing.T, path string, into any) {
	t.Helper()
	answer, err := http.Get(c.url.Load().(string) + path)
	require.NoError(t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, answer.StatusCode, string(text))
	require.NoError(t, json.Unmarshal(text, into))
}

// client is one scanner at one shear. What it has no answer to it sends again, under the same key.
type client struct {
	station string
	codes   []string
	now     time.Time
	acked   map[string]uint64 // key of a scan to the sequence of its receipt
	sent    map[string]api.Scan

	resent, again int
}

func (k *client) work(ctx context.Context, url *atomic.Value) error {
	k.sent = map[string]api.Scan{}
	for i, code := range k.codes {
		k.now = k.now.Add(10 * time.Second) // by its own clock, so that no scan is a double read
		s := api.Scan{Code: code, Station: k.station, By: api.By{Device: "scanner of " + k.station, At: k.now, Key: uuid.Must(uuid.NewV7()).String()}}
		k.sent[s.Key] = s
		for {
			if ctx.Err() != nil {
				return nil
			}
			to, _ := url.Load().(string)
			if to == "" {
				time.Sleep(time.Millisecond)
				continue
			}
			answer, err := sendScan(ctx, to, s)
			if errors.Is(err, errWrong) {
				return err
			}
			if err != nil { // killed, or not up again: nobody knows
				k.resent++
				time.Sleep(5 * time.Millisecond)
				continue
			}
			if answer.Verdict != "accepted" {
				return fmt.Errorf("scan %d at %s, %s: %s: %s", i, k.station, code, answer.Verdict, answer.Says)
			}
			if answer.Again {
				k.again++
			}
			k.acked[s.Key] = answer.Seq
			break
		}
		time.Sleep(time.Millisecond)
	}
	return nil
}

// errWrong is an answer that sending again cannot mend.
var errWrong = errors.New("the scan was not taken")

// sendScan sends one scan. An error means that nobody knows what became of it.
func sendScan(ctx context.Context, url string, s api.Scan) (a api.ScanAnswer, err error) {
	body, err := json.Marshal(s)
	if err != nil {
		return a, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, url+"/api/v1/scans", bytes.NewReader(body))
	if err != nil {
		return a, err
	}
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return a, err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		return a, err
	}
	if answer.StatusCode != http.StatusOK {
		if answer.StatusCode < 500 {
			err = errWrong
		}
		return a, errors.Join(err, errors.New(string(text)))
	}
	return a, json.Unmarshal(text, &a)
}
