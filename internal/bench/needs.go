package bench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
)

// NeedsOptions say how large the shop is whose trucks wait.
type NeedsOptions struct {
	Dir    string // an empty folder for the store
	Loads  int
	Each   int // bundles on a load
	Lots   int
	Rounds int
	Say    func(format string, args ...any)
}

// sizes of the made lists: light, middling and heavy.
var sizes = []bar.Size{"#4", "#5", "#6", "#8", "#11"}

// Needs measures what the trucks need: the waiting work of many loads in order, what the stock is short
// of, and which bundles miss their truck, all three together.
func Needs(o NeedsOptions) error {
	f, err := MakeNeeds(o)
	if err != nil {
		return err
	}
	defer f.Close()
	now := time.Now()
	var took []time.Duration
	var out floor.Outlook
	for range o.Rounds {
		at := time.Now()
		if out, err = f.Outlook(now, nil); err != nil {
			return err
		}
		took = append(took, time.Since(at))
	}
	if want := o.Loads * o.Each; len(out.Needs) != want || len(out.Forecasts) != want {
		return fmt.Errorf("bench: %d bundles wait and %d are foreseen, not %d", len(out.Needs), len(out.Forecasts), want)
	}
	o.Say("%d loads, %d bundles that wait to be cut and bent, %d lots", len(out.Trucks), len(out.Needs), o.Lots)
	o.Say("first answer, which reads the record: %s", ms(took[0]))
	r := ofTimes(took[1:])
	o.Say("%-34s p50 %8s  p99 %8s  wanted: under 50ms", "needs, shortage and forecast", ms(r.p50), ms(r.p99))
	return nil
}

// MakeNeeds makes a floor with planned loads whose bundles wait, with stock for some of them, and with
// records of what the stations did.
func MakeNeeds(o NeedsOptions) (*floor.Floor, error) {
	dir := filepath.Join(o.Dir, "needs")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	c := config()
	var days []time.Weekday
	for d := time.Sunday; d <= time.Saturday; d++ {
		days = append(days, d)
	}
	c.Rules.Calendar = load.Calendar{Zone: time.UTC, Shifts: []load.Shift{{Days: days, From: 6 * time.Hour, To: 14 * time.Hour}, {Days: days, From: 14 * time.Hour, To: 22 * time.Hour}}}
	c.Rules.Days = 14
	c.Rules.Stations = slices.DeleteFunc(c.Rules.Stations, func(s scan.Station) bool { return s.Can("cut") && (s.Name > "S4" || len(s.Name) > 2) })
	f, err := floor.Open(open(dir, false), c)
	if err != nil {
		return nil, err
	}
	if err := makeNeeds(f, o); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

func makeNeeds(f *floor.Floor, o NeedsOptions) error {
	ctx := context.Background()
	if _, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-001", Name: "Made Job (invented)"}); err != nil {
		return err
	}
	// One list more, which is worked on for the records.
	for list := range o.Loads + 1 {
		file := barlist.File{Name: "made.csv", SHA256: [32]byte{byte(list)}}
		for row := range (o.Each + perLine - 1) / perLine {
			s := steel
			s.Size = sizes[(list+row)%len(sizes)]
			line := barlist.Line{
				Row: row + 2, Job: "26-001", List: fmt.Sprint(list), Mark: fmt.Sprintf("F%d", 100+row), Steel: s,
				Length: bar.Length(5+(row*7)%23)*bar.Foot + bar.Length(row%12)*bar.Inch, Pieces: 40 * min(perLine, o.Each-row*perLine),
			}
			line.Shape.Legs = []bar.Leg{{Length: 2 * bar.Foot, Turn: 900}, {Length: line.Length - 2*bar.Foot}}
			file.Lines = append(file.Lines, line)
		}
		if _, _, err := f.TakeList(ctx, floor.Origin{}, file); err != nil {
			return err
		}
	}
	for i := range o.Lots {
		s := steel
		s.Size = sizes[i%len(sizes)]
		if _, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{
			Mill: "Made Mill (invented)", Heats: []string{fmt.Sprintf("7%06d", i)}, Steel: s, Length: []bar.Length{60, 40, 30}[i%3] * bar.Foot, Bars: 40,
		}); err != nil {
			return err
		}
	}
	for n := range o.Each { // the first list, cut and bent for the records
		for k, st := range []string{"S1", "S1", "B1", "B1"} {
			at := time.Now().Add(time.Duration(n*10+k) * time.Second)
			s := scan.Scan{Station: st, Device: st, At: at.UnixMilli()}
			s.Read.Number, s.Read.Text = bundle(n), bundle(n).Digits()
			if _, _, err := f.Scan(ctx, floor.Origin{Key: newKey(), Happened: at}, s); err != nil {
				return err
			}
		}
	}
	for i := range o.Loads {
		p := load.Plan{Date: time.Now().AddDate(0, 0, i/4).Format(time.DateOnly), Leaves: fmt.Sprintf("%02d:00", 6+i%4), Limit: 1e6 * bar.Pound}
		p.Stops = []load.StopPlan{{Stop: load.Stop{Job: "26-001"}, Lines: []load.Line{{List: fmt.Sprint(i + 1)}}}}
		if _, _, err := f.PlanLoad(ctx, floor.Origin{}, p); err != nil {
			return err
		}
	}
	return nil
}
