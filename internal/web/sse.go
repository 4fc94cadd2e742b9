package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
)

// Server-sent events, after the HTML standard, section 9.2. A stream is pulled: its own goroutine
// asks for what comes after the last message it sent, and a Bell only says that there may be more.
// So the writer of a journal never waits for a reader, however slow, and a message can be neither
// lost nor doubled between two streams of one client.
const (
	eventStream = "text/event-stream"
	page        = 64                    // messages asked for at once
	retry       = 2 * time.Second       // how long a client waits before it comes back
	gather      = 20 * time.Millisecond // a busy floor rings often; one look a stream in this time is enough
)

// Message is one message of a stream. IDs rise. One without data moves the client's position and is
// not seen by it: a source that leaves things out ends a page so, lest a client that comes back
// make it look through them again.
type Message struct {
	ID    uint64
	Event string // one line; "" is the event "message"
	Data  []byte
}

// Source gives at most limit messages with IDs greater than after, in order; none when there are
// none yet.
type Source func(after uint64, limit int) ([]Message, error)

// Bell wakes all that wait, any number of times. The zero value is ready. Ring never blocks.
type Bell struct {
	mu sync.Mutex
	ch chan struct{}
}

// Ring wakes everyone who waits.
func (b *Bell) Ring() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.ch != nil {
		close(b.ch)
		b.ch = nil
	}
}

// Wait gives a channel that the next Ring closes. Ask for it before looking whether there is
// something new: then nothing that is new after the look goes unnoticed.
func (b *Bell) Wait() <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.ch == nil {
		b.ch = make(chan struct{})
	}
	return b.ch
}

// BellOf gives a bell that rings once at first and then whenever what news gave last is closed, until ctx is
// done. What came before news was asked for rings with the first.
func BellOf(ctx context.Context, news func() <-chan struct{}) *Bell {
	var b Bell
	go func() {
		for {
			more := news()
			b.Ring()
			select {
			case <-more:
			case <-ctx.Done():
				return
			}
		}
	}()
	return &b
}

// LastEventID is the ID after which a client wants to be told: of the header Last-Event-ID, which
// browsers send when they come back, or else of the query's after. ok is false where neither is
// given.
func LastEventID(r *http.Request) (id uint64, ok bool, err error) {
	name, s := "Last-Event-ID", r.Header.Get("Last-Event-ID")
	if s == "" {
		name, s = "after", r.URL.Query().Get("after")
	}
	if s == "" {
		return 0, false, nil
	}
	id, err = strconv.ParseUint(s, 10, 64)
	if err != nil {
		return 0, false, Refuse("invalid", name+" "+short(s)+" is not the number of an event.",
			"Write the number of the last event that was seen, or leave it out.",
			Field{Location: name, Message: "a whole number, 0 or more"})
	}
	return id, true, nil
}

// Stream sends what source gives after lastEventID, and goes on whenever bell rings, until the
// client leaves, the server shuts down, or a write takes longer than Options.Write: then it returns
// nil. An error of the source ends the stream and is returned; the client comes back by itself and
// resumes.
func (s *Server) Stream(c echo.Context, lastEventID uint64, source Source, bell *Bell) error {
	if s.streams.Add(1) > int64(s.opt.MaxStreams) {
		s.streams.Add(-1)
		return Refuse("busy", "Too many screens are following at once.", "Close some, or try again in a moment.")
	}
	s.Metrics.streams.Inc()
	defer func() { s.Metrics.streams.Dec(); s.streams.Add(-1) }()

	// The first page is asked for before the head goes out, so that its error has an answer.
	wake := bell.Wait()
	messages, err := source(lastEventID, page)
	if err != nil {
		return err
	}
	out := stream{rc: http.NewResponseController(c.Response().Writer), w: c.Response(), limit: s.opt.Write, last: lastEventID}
	if err := out.open(); err != nil {
		return nil
	}
	silence := time.NewTimer(s.opt.Heartbeat)
	defer silence.Stop()
	for {
		if len(messages) > 0 {
			if err := out.add(messages); err != nil {
				return err
			}
			s.Metrics.messages.Add(float64(len(messages)))
		} else {
			select {
			case <-wake:
				time.Sleep(gather)
			case <-silence.C:
				out.buf.WriteString(":\n\n")
			case <-c.Request().Context().Done():
				return nil
			case <-s.closing:
				return nil
			}
		}
		if out.buf.Len() > 0 {
			if err := out.flush(); err != nil {
				return nil
			}
			silence.Reset(s.opt.Heartbeat)
		}
		select {
		case <-s.closing:
			return nil
		default:
		}
		wake = bell.Wait()
		if messages, err = source(out.last, page); err != nil {
			return err
		}
	}
}

// stream is the sending end of one stream.
type stream struct {
	rc    *http.ResponseController // of net/http's own writer: echo's loses the error of a flush
	w     *echo.Response
	limit time.Duration
	last  uint64
	buf   bytes.Buffer
}

// open sends the head.
func (o *stream) open() error {
	h := o.w.Header()
	h.Set("Content-Type", eventStream)
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // asks a proxy between us to pass each message on at once
	o.w.WriteHeader(http.StatusOK)
	fmt.Fprintf(&o.buf, "retry: %d\n\n", retry.Milliseconds())
	return o.flush()
}

// add writes messages into the buffer. It returns an error if their IDs do not rise: sent on, they
// would be lost or doubled when the client resumes.
func (o *stream) add(messages []Message) error {
	for _, m := range messages {
		if m.ID <= o.last {
			return fmt.Errorf("web: stream: message %d after %d", m.ID, o.last)
		}
		o.last = m.ID
		o.buf.WriteString("id: ")
		o.buf.Write(strconv.AppendUint(o.buf.AvailableBuffer(), m.ID, 10))
		o.buf.WriteByte('\n')
		if m.Data != nil {
			if m.Event != "" {
				o.buf.WriteString("event: ")
				o.buf.WriteString(oneLine.Replace(m.Event))
				o.buf.WriteByte('\n')
			}
			for line := range lines(m.Data) {
				o.buf.WriteString("data: ")
				o.buf.Write(line)
				o.buf.WriteByte('\n')
			}
		}
		o.buf.WriteByte('\n')
	}
	return nil
}

var oneLine = strings.NewReplacer("\r", " ", "\n", " ")

// lines gives the lines of b, which end, as in the standard, with CR LF, LF or CR.
func lines(b []byte) func(yield func([]byte) bool) {
	return func(yield func([]byte) bool) {
		for {
			i := bytes.IndexAny(b, "\r\n")
			if i < 0 {
				yield(b)
				return
			}
			if !yield(b[:i]) {
				return
			}
			if b[i] == '\r' && i+1 < len(b) && b[i+1] == '\n' {
				i++
			}
			b = b[i+1:]
		}
	}
}

// flush sends the buffer within the limit, which stands in for the server's bound on whole answers.
func (o *stream) flush() error {
	_ = o.rc.SetWriteDeadline(time.Now().Add(o.limit)) // not every writer has deadlines
	_, err := o.w.Write(o.buf.Bytes())
	o.buf.Reset()
	if err != nil {
		return err
	}
	return o.rc.Flush()
}
