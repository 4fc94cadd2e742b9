package load_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/load"
	"tagd/internal/tags"
)

var (
	weekdays = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday}
	chicago  = func() *time.Location { l, _ := time.LoadLocation("America/Chicago"); return l }()
	day      = load.Shift{Name: "day", Days: weekdays, From: 7 * time.Hour, To: 15 * time.Hour}
	night    = load.Shift{Name: "night", Days: weekdays, From: 22 * time.Hour, To: 6 * time.Hour}
)

func clock(s string) time.Time {
	t, err := time.ParseInLocation("2006-01-02 15:04:05", s, chicago)
	if err != nil {
		panic(err)
	}
	return t
}

// TestCalendar: 2026-11-25 is a Wednesday, the 26th is Thanksgiving; the US clocks went back on
// 2026-11-01 and forward on 2026-03-08, at 2 in the night (15 U.S.C. 260a).
func TestCalendar(t *testing.T) {
	for name, c := range map[string]struct {
		shifts []load.Shift
		closed []string
		now    string
		work   time.Duration
		end    string
	}{
		"within a shift":            {[]load.Shift{day}, nil, "2026-11-25 08:00:00", 2 * time.Hour, "2026-11-25 10:00:00"},
		"to its end":                {[]load.Shift{day}, nil, "2026-11-25 08:00:00", 7 * time.Hour, "2026-11-25 15:00:00"},
		"over the night":            {[]load.Shift{day}, nil, "2026-11-25 14:00:00", 2 * time.Hour, "2026-11-26 08:00:00"},
		"over a day off":            {[]load.Shift{day}, []string{"2026-11-26"}, "2026-11-25 14:00:00", 2 * time.Hour, "2026-11-27 08:00:00"},
		"over a weekend":            {[]load.Shift{day}, nil, "2026-11-27 14:30:00", time.Hour, "2026-11-30 07:30:00"},
		"before it begins":          {[]load.Shift{day}, nil, "2026-11-25 03:00:00", time.Hour, "2026-11-25 08:00:00"},
		"in last evening's shift":   {[]load.Shift{day, night}, nil, "2026-11-25 03:00:00", 4 * time.Hour, "2026-11-25 08:00:00"},
		"Friday night is Friday's":  {[]load.Shift{night}, nil, "2026-11-28 05:00:00", 2 * time.Hour, "2026-11-30 23:00:00"},
		"the night that is longer":  {[]load.Shift{{Days: []time.Weekday{time.Saturday}, From: 22 * time.Hour, To: 6 * time.Hour}}, nil, "2026-10-31 22:00:00", 9 * time.Hour, "2026-11-01 06:00:00"},
		"the night that is shorter": {[]load.Shift{{Days: []time.Weekday{time.Saturday}, From: 22 * time.Hour, To: 6 * time.Hour}}, nil, "2026-03-07 22:00:00", 7 * time.Hour, "2026-03-08 06:00:00"},
		"shifts that overlap":       {[]load.Shift{day, {Days: weekdays, From: 14 * time.Hour, To: 16 * time.Hour}}, nil, "2026-11-25 13:00:00", 3 * time.Hour, "2026-11-25 16:00:00"},
	} {
		t.Run(name, func(t *testing.T) {
			cal := load.Calendar{Zone: chicago, Shifts: c.shifts, Closed: c.closed}
			ahead := cal.Ahead(clock(c.now))
			end, ok := ahead.Time(c.work)
			require.True(t, ok)
			require.Equal(t, clock(c.end).String(), end.In(chicago).String())
			require.Equal(t, c.work, ahead.Work(end))
		})
	}
	_, ok := load.Calendar{Zone: chicago}.Ahead(clock("2026-11-25 08:00:00")).Time(0)
	require.False(t, ok, "a plant that never works")
}

// TestWorkIsTime: Time and Work are one another's inverse, and more work never ends earlier.
func TestWorkIsTime(t *testing.T) {
	ahead := load.Calendar{Zone: chicago, Shifts: []load.Shift{day, night}}.Ahead(clock("2026-10-30 09:00:00"))
	rapid.Check(t, func(t *rapid.T) {
		a := time.Duration(rapid.Int64Range(0, int64(500*time.Hour)).Draw(t, "a"))
		b := time.Duration(rapid.Int64Range(0, int64(500*time.Hour)).Draw(t, "b"))
		at, ok := ahead.Time(a)
		require.True(t, ok)
		require.Equal(t, a, ahead.Work(at))
		bt, _ := ahead.Time(b)
		require.Equal(t, a <= b, !bt.Before(at))
	})
}

// records are the five of the worked example, and five alike of the bender.
func records() *load.Records {
	var r load.Records
	at := clock("2026-11-24 07:00:00")
	for _, s := range []int{600, 480, 560, 720, 520} {
		end := at.Add(time.Duration(s) * time.Second)
		r.Add(load.Kind{Station: "S1", Step: "cut", Class: load.Light}, at, end, 40)
		r.Add(load.Kind{Station: "B1", Step: "bend", Class: load.Light}, at, at.Add(300*time.Second), 10)
		at = end
	}
	return &r
}

// TestPace works the example of the package comment.
func TestPace(t *testing.T) {
	p, ok := records().Pace(load.Kind{Station: "S1", Step: "cut", Class: load.Light})
	require.True(t, ok)
	require.Equal(t, load.Pace{
		Kind:   load.Kind{Station: "S1", Step: "cut", Class: load.Light},
		Median: 14 * time.Second, Low: 13 * time.Second, High: 15 * time.Second, Records: 5,
	}, p)

	var r load.Records
	k := load.Kind{Station: "S1", Step: "cut", Class: load.Heavy}
	at := clock("2026-11-24 07:00:00")
	for range load.Enough - 1 {
		r.Add(k, at, at.Add(time.Minute), 1)
		at = at.Add(time.Minute)
	}
	r.Add(k, at, at.Add(time.Minute), 0)
	r.Add(k, at, at.Add(-time.Minute), 1)
	p, ok = r.Pace(k)
	require.False(t, ok, "too few")
	require.Equal(t, load.Enough-1, p.Records)

	// Two bundles begun together: the second has only the time after the first.
	var both load.Records
	both.Add(k, at, at.Add(10*time.Minute), 1)
	for range load.Enough {
		both.Add(k, at, at.Add(14*time.Minute), 1)
	}
	p, _ = both.Pace(k)
	require.Equal(t, 2, p.Records, "10 minutes and 4; the others took no time")
}

// TestForesee works the example of the package comment.
func TestForesee(t *testing.T) {
	cal := load.Calendar{Zone: chicago, Shifts: []load.Shift{{Days: weekdays, From: 7 * time.Hour, To: 16 * time.Hour}}}
	benches := []load.Bench{{Station: "S1", Does: []string{"cut"}}, {Station: "B1", Does: []string{"bend"}}}
	now := clock("2026-11-25 08:00:00")
	number := func(i int) tags.Number {
		n, err := tags.New(tags.Bundle, 1, i)
		require.NoError(t, err)
		return n
	}
	want := func(i int, leaves time.Time, steps ...string) load.Waiting {
		return load.Waiting{Bundle: number(i), Leaves: leaves, Steps: steps, Pieces: 100, All: 100, Class: load.Light}
	}
	at10 := clock("2026-11-25 10:00:00")
	out := load.Foresee(now, cal, records(), benches, []load.Waiting{want(1, at10, "cut", "bend"), want(2, at10, "cut", "bend")})
	require.Equal(t, clock("2026-11-25 09:13:20").String(), out[0].Ready.In(chicago).String())
	require.Equal(t, load.Makes, out[0].Chance)
	require.Equal(t, clock("2026-11-25 10:03:20").String(), out[1].Ready.In(chicago).String())
	require.Equal(t, load.WillMiss, out[1].Chance)

	// By the upper quartile (15 s) cutting 100 takes until 8:25.
	out = load.Foresee(now, cal, records(), benches, []load.Waiting{want(1, clock("2026-11-25 08:24:00"), "cut")})
	require.Equal(t, load.MayMiss, out[0].Chance)

	// What has no pace is not guessed, and does not hold up the next one.
	heavy := want(1, at10, "cut")
	heavy.Class = load.Heavy
	out = load.Foresee(now, cal, records(), benches, []load.Waiting{heavy, want(2, at10, "thread"), want(3, at10, "cut")})
	require.Equal(t, load.NoForecast, out[0].Chance)
	require.Equal(t, load.Kind{Station: "S1", Step: "cut", Class: load.Heavy}, out[0].Lacks)
	require.Equal(t, load.Kind{Step: "thread", Class: load.Light}, out[1].Lacks)
	require.Equal(t, clock("2026-11-25 08:23:20").String(), out[2].Ready.In(chicago).String())

	// Two shears share the work; a bundle that was begun at one stays there.
	r := records()
	at := clock("2026-11-24 07:00:00")
	for range load.Enough {
		end := at.Add(140 * time.Second)
		r.Add(load.Kind{Station: "S2", Step: "cut", Class: load.Light}, at, end, 10)
		at = end
	}
	two := append(benches, load.Bench{Station: "S2", Does: []string{"cut"}})
	begun := want(2, at10, "cut")
	begun.At = "S1"
	out = load.Foresee(now, cal, r, two, []load.Waiting{want(1, at10, "cut"), begun, want(3, at10, "cut")})
	require.Equal(t, "08:23:20 08:46:40 08:23:20", out[0].Ready.In(chicago).Format(time.TimeOnly)+" "+out[1].Ready.In(chicago).Format(time.TimeOnly)+" "+out[2].Ready.In(chicago).Format(time.TimeOnly))
}

// TestForeseeInOrder: a bundle that is wanted earlier is never made later by what is wanted after it.
func TestForeseeInOrder(t *testing.T) {
	cal := load.Calendar{Zone: chicago, Shifts: []load.Shift{day}}
	benches := []load.Bench{{Station: "S1", Does: []string{"cut"}}, {Station: "B1", Does: []string{"bend"}}}
	rapid.Check(t, func(t *rapid.T) {
		var all []load.Waiting
		for i := range rapid.IntRange(1, 12).Draw(t, "n") {
			n, _ := tags.New(tags.Bundle, 1, i+1)
			pieces := rapid.IntRange(1, 200).Draw(t, "pieces")
			steps := rapid.SampledFrom([][]string{{"cut"}, {"bend"}, {"cut", "bend"}}).Draw(t, "steps")
			all = append(all, load.Waiting{Bundle: n, Steps: steps, Pieces: pieces, All: pieces, Class: load.Light})
		}
		whole := load.Foresee(clock("2026-11-25 08:00:00"), cal, records(), benches, all)
		k := rapid.IntRange(1, len(all)).Draw(t, "k")
		require.Equal(t, load.Foresee(clock("2026-11-25 08:00:00"), cal, records(), benches, all[:k]), whole[:k])
		for _, f := range whole {
			require.False(t, f.Late.Before(f.Ready))
		}
	})
}
