package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/rogpeppe/go-internal/testscript"
)

var binaries string

func TestMain(m *testing.M) {
	var err error
	if binaries, err = os.MkdirTemp("", "tagd-test-"); err != nil {
		panic(err)
	}
	code := m.Run()
	stopChromium()
	stopShops()
	os.RemoveAll(binaries)
	os.Exit(code)
}

// build makes the real program once, and gives its path.
var build = sync.OnceValues(func() (string, error) {
	path := filepath.Join(binaries, "tagd")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return path, nil
})

// The scripts of testdata/script run the real program. Beside the commands of testscript they have:
//
//	await DIR                      wait for the server of a data folder; $URL is its address
//	get PATH                       ask the API ($URL/api/v1); the answer is stdout
//	page PATH                      ask for a page or file beside the API
//	post PATH JSON                 the same as get, with a body and a fresh key
//	put PATH JSON                  the same as post, to state a thing anew
//	keep NAME PATH                 $NAME is the field of the last answer: lots.0.number
//	scan STATION CODE WANT [JSON]  scan; WANT is the verdict and the code of its first sentence
//
// get, page, post, put and scan fail on a problem, with "!" they want one.
func TestScripts(t *testing.T) {
	if _, err := build(); err != nil {
		t.Fatal(err)
	}
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join(root, "testdata", "script"),
		Setup: func(env *testscript.Env) error {
			env.Setenv("PATH", binaries+string(os.PathListSeparator)+env.Getenv("PATH"))
			env.Setenv("LISTS", filepath.Join(root, "testdata", "barlists"))
			env.Values[lastAnswer{}] = new([]byte)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"await": await, "get": get, "page": browse, "post": post, "put": put, "keep": keep, "scan": scanCode,
		},
		RequireUniqueNames: true,
	})
}

type lastAnswer struct{}

func usage(ts *testscript.TestScript, ok bool, text string) {
	if !ok {
		ts.Fatalf("usage: %s", text)
	}
}

func await(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 1, "await DIR")
	for range 200 {
		if url := folder(ts.MkAbs(args[0])).running(); url != "" {
			ts.Setenv("URL", url)
			if answer, err := http.Get(url + "/healthz"); err == nil {
				answer.Body.Close()
				return
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
	ts.Fatalf("no server on %s", args[0])
}

func get(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, len(args) == 1, "get PATH")
	request(ts, neg, http.MethodGet, "/api/v1"+args[0], "")
}

func browse(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, len(args) == 1, "page PATH")
	request(ts, neg, http.MethodGet, args[0], "")
}

func post(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, len(args) == 2, "post PATH JSON")
	request(ts, neg, http.MethodPost, "/api/v1"+args[0], args[1])
}

func put(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, len(args) == 2, "put PATH JSON")
	request(ts, neg, http.MethodPut, "/api/v1"+args[0], args[1])
}

func request(ts *testscript.TestScript, neg bool, method, path, body string) {
	r, err := http.NewRequest(method, ts.Getenv("URL")+path, strings.NewReader(body))
	ts.Check(err)
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Idempotency-Key", uuid.Must(uuid.NewV7()).String())
	}
	answer, err := http.DefaultClient.Do(r)
	ts.Check(err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	ts.Check(err)
	*ts.Value(lastAnswer{}).(*[]byte) = text
	ts.Stdout().Write(text)
	if failed := answer.StatusCode >= 400; failed != neg {
		ts.Fatalf("%s %s: %s: %s", method, path, answer.Status, text)
	}
}

// field finds a field of a JSON text by its path.
func field(text []byte, path string) (string, error) {
	var v any
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		return "", err
	}
	for name := range strings.SplitSeq(path, ".") {
		switch at := v.(type) {
		case map[string]any:
			v = at[name]
		case []any:
			i, err := strconv.Atoi(name)
			if err != nil || i < 0 || i >= len(at) {
				return "", fmt.Errorf("%s: no %s among %d", path, name, len(at))
			}
			v = at[i]
		default:
			v = nil
		}
		if v == nil {
			return "", fmt.Errorf("%s: there is no %s", path, name)
		}
	}
	return fmt.Sprint(v), nil
}

func keep(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 2, "keep NAME PATH")
	text := *ts.Value(lastAnswer{}).(*[]byte)
	v, err := field(text, args[1])
	if err != nil {
		ts.Fatalf("%v in %s", err, text)
	}
	ts.Setenv(args[0], v)
}

// scanCode scans as a device does that belongs to the station; the pause for double reads is kept by
// the clock that it claims, an hour after hour.
func scanCode(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, len(args) == 3 || len(args) == 4, "scan STATION CODE WANT [JSON]")
	body := map[string]any{}
	if len(args) == 4 {
		ts.Check(json.Unmarshal([]byte(args[3]), &body))
	}
	minutes, _ := strconv.Atoi(ts.Getenv("MINUTES"))
	ts.Setenv("MINUTES", strconv.Itoa(minutes+1))
	body["code"], body["station"], body["device"] = args[1], args[0], "scanner of "+args[0]
	body["at"] = time.Date(2026, 1, 5, 14, minutes, 0, 0, time.UTC)
	text, err := json.Marshal(body)
	ts.Check(err)
	request(ts, neg, http.MethodPost, "/api/v1/scans", string(text))
	if neg {
		return
	}
	answer := *ts.Value(lastAnswer{}).(*[]byte)
	verdict, err := field(answer, "verdict")
	code, err2 := field(answer, "notes.0.code")
	if errors.Join(err, err2) != nil || verdict+" "+code != args[2] {
		ts.Fatalf("scan of %s at %s: got %s %s, want %s: %s", args[1], args[0], verdict, code, args[2], answer)
	}
}
