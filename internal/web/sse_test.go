package web

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/stretchr/testify/require"
)

// tape is a journal in memory with a bell.
type tape struct {
	mu   sync.Mutex
	list []Message
	bell Bell
}

func (j *tape) add(event, data string) {
	j.mu.Lock()
	j.list = append(j.list, Message{uint64(len(j.list) + 1), event, []byte(data)})
	j.mu.Unlock()
	j.bell.Ring()
}

func (j *tape) source(after uint64, limit int) ([]Message, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	from := min(int(after), len(j.list))
	return slices.Clone(j.list[from:min(from+limit, len(j.list))]), nil
}

func streaming(t *testing.T, opt Options, source Source, bell *Bell) *Server {
	s, _ := newServer(t, opt)
	s.API.GET("/stream", func(c echo.Context) error {
		after, _, err := LastEventID(c.Request())
		if err != nil {
			return err
		}
		return s.Stream(c, after, source, bell)
	})
	return s
}

// follow opens a stream and reads messages until f returns false or the stream ends. It parses as
// the HTML standard says (9.2.6), as far as the stream needs it.
func follow(ctx context.Context, address string, last uint64, f func(id uint64, event, data string) bool) error {
	r, err := http.NewRequestWithContext(ctx, "GET", address+"/api/v1/stream", nil)
	if err != nil {
		return err
	}
	r.Header.Set("Last-Event-ID", strconv.FormatUint(last, 10))
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	if answer.StatusCode != 200 || answer.Header.Get("Content-Type") != "text/event-stream" {
		return fmt.Errorf("answer %v", answer)
	}
	var event string
	var data []string
	lines := bufio.NewScanner(answer.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		name, value, _ := strings.Cut(lines.Text(), ":")
		value = strings.TrimPrefix(value, " ")
		switch name {
		case "id":
			if last, err = strconv.ParseUint(value, 10, 64); err != nil {
				return err
			}
		case "event":
			event = value
		case "data":
			data = append(data, value)
		case "":
			if lines.Text() == "" && len(data) > 0 {
				if !f(last, event, strings.Join(data, "\n")) {
					return nil
				}
			}
			if lines.Text() == "" {
				event, data = "", nil
			}
		}
	}
	if err := lines.Err(); err != nil {
		return err
	}
	return io.EOF
}

// Clients that come and go while the writer writes see every message once, in order.
func TestStreamResumes(t *testing.T) {
	const messages, clients = 3000, 20
	var j tape
	s := streaming(t, Options{}, j.source, &j.bell)
	address, stop := serve(t, s)
	var wg sync.WaitGroup
	wg.Go(func() {
		for i := range messages {
			j.add("scan", fmt.Sprint("text ", i+1))
			if i%50 == 0 {
				time.Sleep(time.Millisecond)
			}
		}
	})
	for seed := range clients {
		wg.Go(func() {
			rnd := rand.New(rand.NewPCG(uint64(seed), 1))
			var last uint64
			for last < messages {
				left := 1 + rnd.IntN(600)
				err := follow(t.Context(), address, last, func(id uint64, event, data string) bool {
					if id != last+1 || event != "scan" || data != fmt.Sprint("text ", id) {
						t.Errorf("client %d: got %d %q %q after %d", seed, id, event, data, last)
						last = messages
						return false
					}
					last, left = id, left-1
					return left > 0 && last < messages
				})
				if err != nil {
					t.Errorf("client %d: %v", seed, err)
					return
				}
			}
		})
	}
	wg.Wait()
	require.NoError(t, stop())
}

// A stream outlives the bounds of time that requests have, and its heartbeats show that it lives.
func TestStreamOutlivesTimeouts(t *testing.T) {
	var j tape
	opt := Options{Read: 300 * time.Millisecond, Write: 300 * time.Millisecond, Heartbeat: 20 * time.Millisecond}
	address, _ := serve(t, streaming(t, opt, j.source, &j.bell))
	r, err := http.Get(address + "/api/v1/stream")
	require.NoError(t, err)
	defer r.Body.Close()
	in := bufio.NewReader(r.Body)
	beats := 0
	for begin := time.Now(); time.Since(begin) < 900*time.Millisecond; beats++ {
		line, err := in.ReadString('\n')
		require.NoError(t, err, "after %d lines", beats)
		require.Contains(t, []string{"retry: 2000\n", ":\n", "\n"}, line)
	}
	j.add("scan", "late")
	for {
		line, err := in.ReadString('\n')
		require.NoError(t, err)
		if line == "data: late\n" {
			break
		}
	}
}

// A client that does not read is let go, and nobody waits for it meanwhile.
func TestStreamLeavesSlowClient(t *testing.T) {
	var j tape
	s := streaming(t, Options{Write: 700 * time.Millisecond}, j.source, &j.bell)
	ended := make(chan error, 1)
	s.API.GET("/slow", func(c echo.Context) error {
		err := s.Stream(c, 0, j.source, &j.bell)
		ended <- err
		return err
	})
	address, _ := serve(t, s)
	r, err := http.Get(address + "/api/v1/slow")
	require.NoError(t, err)
	defer r.Body.Close()
	big := strings.Repeat("x", 100_000)
	for range 300 { // 30 MB: more than the buffers of both ends
		j.add("scan", big)
	}
	seen := 0
	require.NoError(t, follow(t.Context(), address, 0, func(uint64, string, string) bool { seen++; return seen < 3 }))
	require.NoError(t, <-ended)
}

// What comes in just after a look that found nothing is not left lying until the next ring, and no
// ring is heeded twice.
func TestStreamMissesNoRing(t *testing.T) {
	var j tape
	var looks atomic.Int64
	const all = 5
	address, _ := serve(t, streaming(t, Options{}, func(after uint64, limit int) ([]Message, error) {
		looks.Add(1)
		m, err := j.source(after, limit)
		if len(m) == 0 && after < all {
			j.add("scan", "just after the look")
		}
		return m, err
	}, &j.bell))
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	require.NoError(t, follow(ctx, address, 0, func(id uint64, _, _ string) bool {
		if id < all {
			return true
		}
		time.Sleep(100 * time.Millisecond) // the look that finds nothing more is over
		before := looks.Load()
		time.Sleep(200 * time.Millisecond)
		require.Equal(t, before, looks.Load(), "looks without a ring")
		return false
	}))
}

func TestStreamEndsAtShutdown(t *testing.T) {
	var j tape
	address, stop := serve(t, streaming(t, Options{}, j.source, &j.bell))
	var wg sync.WaitGroup
	for range 10 {
		opened := make(chan bool)
		wg.Go(func() {
			err := follow(t.Context(), address, 0, func(uint64, string, string) bool { close(opened); return true })
			if err != io.EOF {
				t.Errorf("stream ended with %v", err)
			}
		})
		if len(j.list) == 0 {
			j.add("scan", "one")
		}
		<-opened
	}
	require.NoError(t, stop())
	wg.Wait()
}

func TestStreamOfFaultySource(t *testing.T) {
	t.Run("at once", func(t *testing.T) {
		s := streaming(t, Options{}, func(uint64, int) ([]Message, error) { return nil, errors.New("secret") }, new(Bell))
		require.Equal(t, "fault", problemIn(t, get(s, "GET", "/api/v1/stream", nil)).Code)
	})
	t.Run("later", func(t *testing.T) {
		s := streaming(t, Options{}, func(after uint64, _ int) ([]Message, error) {
			if after > 0 {
				return nil, errors.New("secret")
			}
			return []Message{{1, "scan", []byte("one")}}, nil
		}, new(Bell))
		address, _ := serve(t, s)
		r, err := http.Get(address + "/api/v1/stream")
		require.NoError(t, err)
		defer r.Body.Close()
		_, err = io.ReadAll(r.Body)
		require.ErrorIs(t, err, io.ErrUnexpectedEOF, "the client comes back by itself")
	})
	t.Run("twice the same", func(t *testing.T) {
		s := streaming(t, Options{}, func(uint64, int) ([]Message, error) { return []Message{{ID: 1, Data: []byte("one")}}, nil }, new(Bell))
		address, _ := serve(t, s)
		r, err := http.Get(address + "/api/v1/stream")
		require.NoError(t, err)
		defer r.Body.Close()
		b, _ := io.ReadAll(r.Body)
		require.LessOrEqual(t, bytes.Count(b, []byte("id: 1")), 1)
	})
}

// The bytes are those of the HTML standard's examples (9.2.6) for data of several lines; an id alone
// dispatches nothing but is remembered.
func TestStreamBytes(t *testing.T) {
	o := stream{last: 5}
	require.NoError(t, o.add([]Message{
		{6, "", []byte("YHOO\n+2\n10")},
		{7, "hold put", []byte("a\r\nb\rc")},
		{9, "", nil},
		{10, "two\nlines", []byte{}},
	}))
	require.Equal(t, "id: 6\ndata: YHOO\ndata: +2\ndata: 10\n\n"+
		"id: 7\nevent: hold put\ndata: a\ndata: b\ndata: c\n\n"+
		"id: 9\n\n"+
		"id: 10\nevent: two lines\ndata: \n\n", o.buf.String())
	require.Error(t, o.add([]Message{{ID: 10}}))
}

func TestStreamsAreBounded(t *testing.T) {
	var j tape
	s := streaming(t, Options{MaxStreams: 1}, j.source, &j.bell)
	address, _ := serve(t, s)
	r, err := http.Get(address + "/api/v1/stream")
	require.NoError(t, err)
	defer r.Body.Close()
	again, err := http.Get(address + "/api/v1/stream")
	require.NoError(t, err)
	defer again.Body.Close()
	require.Equal(t, 503, again.StatusCode)
	require.NotEmpty(t, again.Header.Get("Retry-After"))
	text := get(s, "GET", "/metrics", nil).Body.String()
	require.Contains(t, text, "tagd_streams 1\n")
}

func TestLastEventID(t *testing.T) {
	for _, tt := range []struct {
		header, query string
		id            uint64
		ok, fails     bool
	}{
		{"", "", 0, false, false},
		{"5", "", 5, true, false},
		{"", "?after=5", 5, true, false},
		{"7", "?after=5", 7, true, false}, // the browser is further on than the page was
		{"18446744073709551615", "", 1<<64 - 1, true, false},
		{"18446744073709551616", "", 0, false, true},
		{"-1", "", 0, false, true},
		{"", "?after=x", 0, false, true},
	} {
		r, err := http.NewRequest("GET", "/"+tt.query, nil)
		require.NoError(t, err)
		r.Header.Set("Last-Event-ID", tt.header)
		id, ok, err := LastEventID(r)
		require.Equal(t, tt.fails, err != nil, "%+v", tt)
		require.Equal(t, tt.id, id)
		require.Equal(t, tt.ok, ok)
	}
}

func TestBell(t *testing.T) {
	var b Bell
	b.Ring() // nobody waits
	one, two := b.Wait(), b.Wait()
	select {
	case <-one:
		t.Fatal("woken by the ring before")
	default:
	}
	b.Ring()
	<-one
	<-two
	select {
	case <-b.Wait():
		t.Fatal("woken twice")
	default:
	}
}

func BenchmarkRequest(b *testing.B) {
	s := New(Options{})
	s.API.GET("/things/:number", func(c echo.Context) error { return c.NoContent(http.StatusNoContent) })
	r, err := http.NewRequest("GET", "http://localhost/api/v1/things/5", nil)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s.ServeHTTP(discard{http.Header{}}, r)
	}
}

type discard struct{ h http.Header }

func (d discard) Header() http.Header         { return d.h }
func (d discard) Write(b []byte) (int, error) { return len(b), nil }
func (d discard) WriteHeader(int)             {}

func BenchmarkStream(b *testing.B) {
	o := stream{}
	m := Message{Event: "bundle cut", Data: []byte(`{"seq":42,"kind":"cut done","number":"1-001-00000042-05"}`)}
	b.ReportAllocs()
	for b.Loop() {
		m.ID++
		if err := o.add([]Message{m}); err != nil {
			b.Fatal(err)
		}
		o.buf.Reset()
	}
}
