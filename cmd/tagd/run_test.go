package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/plant"
	"tagd/internal/web"
)

// maxHelp is how wide a line of help may be, in columns.
const maxHelp = 80

// The explanations are written by hand, so each has to name all arguments and flags of its command,
// no others, and fit a terminal.
func TestHelp(t *testing.T) {
	parser, err := newParser()
	require.NoError(t, err)
	nodes := parser.Model.Children
	for _, n := range nodes {
		require.Contains(t, overview, "\n    "+n.Name+" ", "the overview has no line for it")
		for _, deed := range n.Children {
			require.Contains(t, n.Detail, "\n    "+deed.Name+" ", "the explanation has no line for it")
		}
		nodes = append(nodes, n.Children...)
	}
	for _, n := range nodes {
		t.Run(n.Path(), func(t *testing.T) {
			text := n.Detail
			require.True(t, strings.HasPrefix(text, "Usage: tagd "+n.Path()), text)
			known := map[string]bool{"help": true}
			for _, f := range n.Flags {
				known[f.Name] = true
				if !f.Hidden {
					require.Contains(t, text, "--"+f.Name)
				}
			}
			for _, deed := range n.Children { // an example may show theirs
				for _, f := range deed.Flags {
					known[f.Name] = true
				}
			}
			for word := range strings.FieldsSeq(text) {
				if flag, ok := strings.CutPrefix(strings.Trim(word, "[](),.;:"), "--"); ok {
					require.True(t, known[flag], "there is no --%s", flag)
				}
			}
			for _, p := range n.Positional {
				require.Contains(t, text, argument(p))
			}
			for line := range strings.Lines(text) {
				require.LessOrEqual(t, len([]rune(line)), maxHelp+len("\n"), line)
				require.Equal(t, strings.TrimRight(line, " \n")+"\n", line)
			}
		})
	}
	for line := range strings.Lines(overview) {
		require.LessOrEqual(t, len([]rune(line)), maxHelp+len("\n"), line)
	}
}

// argument is how an argument is called in a usage line.
func argument(p *kong.Value) string {
	if p.Tag.PlaceHolder != "" {
		return p.Tag.PlaceHolder
	}
	return strings.ToUpper(p.Name)
}

// What a command returns becomes an exit code, a sentence, and what to do next.
func TestReport(t *testing.T) {
	for _, c := range []struct {
		name string
		err  error
		code int
		says string
	}{
		{"done", nil, 0, ""},
		{"said already", errSaid, 1, ""},
		{"refused", no("Do this.", "it is %d", 5), 1, "tagd: it is 5\n      Do this.\n"},
		{"misuse", misuse("", "what"), 2, "tagd: what\n"},
		{"trouble", fs.ErrPermission, 3, "tagd: permission denied\n"},
		{"stopped", context.Canceled, 3, "tagd: stopped before the end\n"},
		{"several lines", misuse("Mend.", "one\ntwo"), 2, "tagd: one\ntagd: two\n      Mend.\n"},
		{"problem", &api.Problem{Status: 422, Detail: "No.", Next: "Go on.", Errors: []api.Field{{Location: "row 2", Message: "is bad"}}}, 1, "tagd: No.\n      Go on.\n"},
		{"problem of fields", &api.Problem{Status: 422, Detail: "No.", Errors: []api.Field{{Location: "row 2", Message: "is bad"}, {Message: "all is bad"}}}, 1,
			"tagd: No.\ntagd: row 2: is bad\ntagd: all is bad\n"},
		{"fault of the server", &api.Problem{Status: 500, Detail: "Oh."}, 3, "tagd: Oh.\n"},
		{"refused, and more", errors.Join(no("Do this.", "first"), fs.ErrClosed), 1, "tagd: first\n      Do this.\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			require.Equal(t, c.code, streams{err: &b}.report(c.err))
			require.Equal(t, c.says, b.String())
		})
	}
}

// The exit codes, by what went wrong.
func TestExitCodes(t *testing.T) {
	shop, _ := smallShop(t)
	spoilt := func(name string, text string) string {
		d, _ := smallShop(t)
		require.NoError(t, os.WriteFile(d.path(name), []byte(text), 0o644))
		return string(d)
	}
	list := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(list, []byte("job,list,mark,size,length,pieces\n1,1,1,10,1,1\n"), 0o644))
	out := filepath.Join(t.TempDir(), "out")
	for _, c := range []struct {
		line string
		code int
	}{
		{"help", 0},
		{"read 1-001-00000042-05 --data " + string(shop), 0},
		{"read hello --data " + string(shop), 1},
		{"read --data " + string(shop), 2},
		{"read x --data " + spoilt(settingsName, "[plant]\nnumber = 0\n"), 2},
		{"trace 7041893 --data " + string(shop), 0},
		{"trace 7041893 --csv --json --data " + string(shop), 2},
		{"trace 7041894 --data " + string(shop), 1},
		{"trace --data " + string(shop), 2},
		{"trace 1-001-00000001-31 --data " + out, 2},
		{"import " + list + " --dry-run", 1},
		{"import " + list + " --data " + string(shop), 1},
		{"import " + list + "x --dry-run", 2},
		{"import " + string(shop) + " --dry-run", 2},
		{"stock " + list + " --data " + string(shop), 1},
		{"tags --out " + out + " --data " + string(shop), 2},
		{"tags 1-001-00000001-31 --job 26-014 --out " + out + " --data " + string(shop), 2},
		{"tags --load 4-001-00000001-83 --out " + out + " --data " + string(shop), 1},
		{"tags --job 26-015 --out " + out + " --data " + string(shop), 1},
		{"tags 1-001-00000001-32 --out " + out + " --data " + string(shop), 1},
		{"tags --job 26-015 --out " + out + ".pdf --data " + string(shop), 1},
		{"tags --job 26-014 --dpi 204 --out " + out + ".pdf --data " + string(shop), 2},
		{"tags --job 26-014 --out " + list + " --data " + string(shop), 2},
		{"serve --listen 127.0.0.1:0 --data " + spoilt(settingsName, "[plant]\nnumber = 0\n"), 2},
		{"serve --listen 127.0.0.1:0 --data " + spoilt(settingsName, strings.Replace(string(plant.Default("")), "number = 1\n", "number = 2\n", 1)), 2},
		{"serve --listen 127.0.0.1:0 --data " + spoilt(storeName, "no store"), 3},
		{"serve --listen here --data " + string(shop), 2},
		{"serve --listen 0.0.0.0:0 --data " + string(shop), 2},
		{"backup " + list + " --data " + string(shop), 2},
		{"backup " + filepath.Join(out, "nowhere", "x.tar") + " --data " + string(shop), 2},
		{"restore " + list + " --data " + out + "-2", 1},
	} {
		t.Run(c.line, func(t *testing.T) {
			var b bytes.Buffer
			code := run(t.Context(), strings.Fields(c.line), nil, io.Discard, &b)
			require.Equal(t, c.code, code, b.String())
			if code != 0 {
				require.True(t, strings.HasPrefix(b.String(), "tagd: "), b.String())
			}
		})
	}
}

// A copy of the store is for programs on this machine, and for no proxy that speaks for others.
func TestBackupStaysHere(t *testing.T) {
	d, _ := smallShop(t)
	sh, err := d.open(streams{err: t.Output()}, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	defer sh.Close()
	server, err := sh.server(web.Options{})
	require.NoError(t, err)
	for _, c := range []struct {
		remote, header string
		status         int
	}{
		{"127.0.0.1:4000", "", 200},
		{"[::1]:4000", "", 200},
		{"192.0.2.7:4000", "", 403},
		{"127.0.0.1:4000", "X-Forwarded-For", 403},
		{"127.0.0.1:4000", "Forwarded", 403},
	} {
		r := httptest.NewRequest("GET", "http://localhost"+backupRoute, nil)
		r.RemoteAddr = c.remote
		if c.header != "" {
			r.Header.Set(c.header, "for=192.0.2.7")
		}
		w := httptest.NewRecorder()
		server.ServeHTTP(w, r)
		require.Equal(t, c.status, w.Code, w.Body.String())
	}
}

// Handlers in this process are asked as over the network: status, headers, a body that comes while it
// is written, and an answer that is cut short.
func TestInside(t *testing.T) {
	next := make(chan bool)
	mux := http.NewServeMux()
	mux.HandleFunc("POST /echo/{what}", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("X-Host", r.Host+" "+r.RemoteAddr)
		w.WriteHeader(http.StatusCreated)
		w.Header().Set("X-Late", "lost")
		io.WriteString(w, r.PathValue("what")+r.URL.Query().Get("q"))
		io.Copy(w, r.Body)
	})
	mux.HandleFunc("/empty", func(http.ResponseWriter, *http.Request) {})
	mux.HandleFunc("/slow", func(w http.ResponseWriter, _ *http.Request) {
		io.WriteString(w, "first")
		<-next
		io.WriteString(w, "second")
	})
	mux.HandleFunc("/cut", func(w http.ResponseWriter, _ *http.Request) {
		io.WriteString(w, "part")
		panic(http.ErrAbortHandler)
	})
	c := &http.Client{Transport: inside{mux}}

	answer, err := c.Post("http://localhost/echo/a%20b?q=c", "text/plain", strings.NewReader(" body"))
	require.NoError(t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusCreated, answer.StatusCode)
	require.Equal(t, "a bc body", string(text))
	require.Equal(t, "localhost 127.0.0.1:0", answer.Header.Get("X-Host"))
	require.Empty(t, answer.Header.Get("X-Late"))

	answer, err = c.Get("http://localhost/empty")
	require.NoError(t, err)
	text, err = io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.Empty(t, text)

	answer, err = c.Get("http://localhost/slow")
	require.NoError(t, err)
	first := make([]byte, 5)
	_, err = io.ReadFull(answer.Body, first)
	require.NoError(t, err)
	next <- true
	text, err = io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.Equal(t, "first second", string(first)+" "+string(text))

	answer, err = c.Get("http://localhost/cut")
	require.NoError(t, err)
	text, err = io.ReadAll(answer.Body)
	require.Error(t, err, "an answer cut short is not taken for whole")
	require.Equal(t, "part", string(text))

	// Who leaves does not hold the handler up.
	answer, err = c.Get("http://localhost/slow")
	require.NoError(t, err)
	answer.Body.Close()
	select {
	case next <- true:
	case <-time.After(5 * time.Second):
		t.Fatal("the handler hangs")
	}
}
