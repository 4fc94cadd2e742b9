package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"

	"tagd/internal/plant"
)

type demoCmd struct {
	Once   bool
	Out    string `default:"out" placeholder:"DIR"`
	Data   folder `name:"data" placeholder:"DIR"`
	Listen string `default:"127.0.0.1:0" placeholder:"HOST:PORT"`
}

func (demoCmd) Help() string {
	return `Usage: tagd demo [--once] [--out DIR] [--data DIR] [--listen HOST:PORT]

Runs two days of an invented shop: jobs with different rules about heats, three
mills, bar lists with forty lines. It starts "tagd serve" as a program of its
own and drives it through the HTTP API as the shop's devices do. On the first
day stock comes in, tags are printed, bars are cut, bent, loaded and shipped,
things go wrong, and a hold is put on a heat of which a part has left. On the
second a mill's paper and a coil come, a shift ends in the middle of a bundle,
pieces are spoilt, a tag is torn off, a charge was forgotten, a revision meets
what is cut already, and a tablet has no network for an hour.

It prints the story, scan by scan with the answers, and at the end where the
held heat went. Into --out (out, if you do not say) it writes the tags as PNG
and PDF, the load sheets and the trace report. No answer of the story is written
down before: every figure comes from the server.

With --once it ends there. Without, the server stays up for you to look at,
until Ctrl-C. The store is thrown away at the end unless --data names a folder.

Examples:

    tagd demo
    tagd demo --once --out /tmp/day
`
}

func (c *demoCmd) Run(ctx context.Context, s streams) error {
	dir := c.Data
	if dir == "" {
		tmp, err := os.MkdirTemp("", "tagd-demo-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(tmp)
		dir = folder(tmp)
	} else if _, err := os.Stat(dir.path(storeName)); err == nil {
		return no("The day begins with an empty shop: name a new folder.", "%s holds a store already", dir)
	}
	for _, sub := range []string{"tags"} {
		if err := os.MkdirAll(filepath.Join(c.Out, sub), 0o755); err != nil {
			return err
		}
	}
	// A folder that was named keeps the settings that it has.
	if _, err := dir.beginWith(append(plant.Default(""), demoStations...)); err != nil {
		return err
	}
	exe, err := os.Executable()
	if err != nil {
		return err
	}
	server, url, err := startServer(ctx, exe, dir, c.Listen)
	if err != nil {
		return err
	}
	defer server.stop()
	if err := newDay(ctx, url, c.Out, s.out).run(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "\nWritten to %s: tags/*.png and *.pdf, load sheets, trace report.\n", c.Out)
	if c.Once {
		return server.stop()
	}
	fmt.Fprintf(s.out, "\nThe shop is at %s until you press Ctrl-C.\n", url)
	select {
	case <-ctx.Done():
		return server.stop()
	case err := <-server.ended:
		return err
	}
}

// child is a "tagd serve" that runs beside us.
type child struct {
	cmd   *exec.Cmd
	ended chan error
	done  bool
}

// startServer starts this program, which lies at exe, again as the server of a data folder, and waits for
// the address that it prints.
func startServer(ctx context.Context, exe string, dir folder, listen string) (*child, string, error) {
	cmd := exec.Command(exe, "serve", "--data", string(dir), "--listen", listen)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // Ctrl-C is for us to pass on
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, "", err
	}
	var log strings.Builder
	cmd.Stderr = &log
	if err := cmd.Start(); err != nil {
		return nil, "", err
	}
	ch := &child{cmd: cmd, ended: make(chan error, 1)}
	address := make(chan string, 1)
	go func() {
		r := bufio.NewReader(out)
		line, _ := r.ReadString('\n')
		address <- line
		_, _ = io.Copy(io.Discard, r)
		ch.ended <- cmd.Wait()
	}()
	select {
	case <-ctx.Done():
		ch.stop()
		return nil, "", ctx.Err()
	case line := <-address:
		_, url, ok := strings.Cut(strings.TrimSpace(line), "listens on ")
		if !ok {
			ch.stop()
			return nil, "", errors.New("the server did not start:\n" + log.String())
		}
		return ch, url, nil
	}
}

// stop ends the server in good order.
func (ch *child) stop() error {
	if ch.done {
		return nil
	}
	ch.done = true
	_ = ch.cmd.Process.Signal(syscall.SIGTERM) // it may have ended already
	return <-ch.ended
}
