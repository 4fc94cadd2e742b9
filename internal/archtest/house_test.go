package archtest

// room is a package and what it may use. Test files may import any room.
type room struct {
	path string // from the root of the repository
	kind kind
	may  string // rooms it may import, all of them further up in the table; short for internal/...
	libs string // libraries from outside that it may import; see libraries
}

// kind says what a room is for.
type kind string

const (
	// pure rooms decide and know: values in, values out. They have no clock, I/O, log, goroutine,
	// chance or global state, so that a decision can be made again, and be tested with a table.
	pure kind = "pure"
	// works do something in the world.
	works kind = "works"
)

// house is the whole map, from the ground up: every arrow points to a row above its own.
var house = []room{
	// What the trade knows and decides.
	{"internal/bar", pure, "", ""},
	{"internal/tags", pure, "bar", "x/text"},
	{"internal/event", pure, "tags bar", "cbor"},
	{"internal/sheet", pure, "", "excelize x/text"},
	{"internal/heat", pure, "sheet event tags bar", ""},
	{"internal/load", pure, "sheet event tags bar", ""},
	{"internal/scan", pure, "load heat event tags bar", ""},
	{"internal/barlist", pure, "sheet event tags bar", "x/text"},
	{"internal/cutplan", pure, "heat event tags bar", ""},

	// What a tag looks like.
	{"internal/tags/symbol", works, "tags bar", "boombuler gozxing x/image"},
	{"internal/tags/label", works, "tags/symbol tags bar", "fpdf pdfcpu x/image x/text"},

	// What is kept.
	{"internal/store", works, "", ""},
	{"internal/store/bolt", works, "store", "bbolt"},
	{"internal/store/mem", works, "store", ""},
	{"internal/store/storetest", works, "store", "testify rapid"},
	{"internal/journal", works, "store", "uuid"},
	{"internal/view", works, "journal store scan load heat barlist event tags bar", "cbor"},

	// What happens: the only writer, and what is given out.
	{"internal/floor", works, "view journal store scan load heat barlist event tags bar", "cbor uuid"},
	{"internal/export", works, "tags/label tags/symbol scan load heat barlist event tags bar", "excelize fpdf pdfcpu x/text"},
	{"internal/press", works, "floor view tags/label scan load heat event tags bar", ""},

	// Who asks.
	{"api", works, "", ""},
	{"internal/plant", works, "scan load barlist event tags bar", "toml"},
	{"internal/web", works, "event tags bar", "echo prometheus uuid"},
	{"internal/web/rest", works, "web api export press floor view tags/label tags/symbol scan load heat barlist sheet event tags bar", "echo huma uuid"},
	{"internal/web/pages", works, "web api export press floor view tags/label tags/symbol scan load heat barlist event tags bar", "echo uuid"},
	{"internal/bench", works, "web web/rest api floor view journal store store/bolt scan load heat barlist event tags bar", "uuid"},
	{"cmd/tagd", works, "*", "kong toml uuid prometheus pdfcpu x/text"},

	{"internal/archtest", works, "", ""},
}

// libraries are the libraries from outside under their short names, by the start of their import
// paths.
var libraries = map[string]string{
	"bbolt":      "go.etcd.io/bbolt",
	"boombuler":  "github.com/boombuler/barcode",
	"cbor":       "github.com/fxamacker/cbor/v2",
	"echo":       "github.com/labstack/echo/v4",
	"excelize":   "github.com/xuri/excelize/v2",
	"fpdf":       "codeberg.org/go-pdf/fpdf",
	"gozxing":    "github.com/makiuchi-d/gozxing",
	"huma":       "github.com/danielgtaylor/huma/v2",
	"kong":       "github.com/alecthomas/kong",
	"pdfcpu":     "github.com/pdfcpu/pdfcpu",
	"prometheus": "github.com/prometheus/client_golang",
	"rapid":      "pgregory.net/rapid",
	"testify":    "github.com/stretchr/testify",
	"testscript": "github.com/rogpeppe/go-internal",
	"toml":       "github.com/pelletier/go-toml/v2",
	"uuid":       "github.com/google/uuid",
	"x/image":    "golang.org/x/image",
	"x/text":     "golang.org/x/text",
}

// seams are the libraries that are kept behind one room even in tests, so that they can be replaced
// there.
var seams = []string{"bbolt", "boombuler", "echo", "gozxing", "huma"}

// world are packages of the standard library that reach out of a pure room; a trailing slash is
// all below.
var world = []string{
	"C", "context", "crypto/rand", "database/", "io/ioutil", "log", "log/", "math/rand", "math/rand/v2",
	"net", "net/http", "net/http/", "net/rpc", "net/smtp", "net/textproto", "os", "os/", "path/filepath",
	"plugin", "runtime", "runtime/", "sync", "sync/", "syscall", "testing", "unsafe",
}

// reach are the functions and variables that reach out of a pure room from packages it may use:
// values of time are welcome, the clock is not.
var reach = map[string][]string{
	"time": {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Local", "LoadLocation"},
	"fmt":  {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
}

// vague are names of packages that do not say what the package knows.
var vague = []string{
	"base", "common", "core", "helper", "helpers", "impl", "lib", "manager", "misc", "model", "models",
	"service", "services", "shared", "tools", "types", "util", "utils",
}
