package scan_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// TestAboard: who joined a crew before the newest end of a shift is out of it. The offsets of the nights
// on which clocks change are those of the IANA time zone database: Chicago goes from UTC-6 to UTC-5 on
// 8 March 2026 at 2:00, and back on 1 November 2026 at 2:00; Sao Paulo went from UTC-3 to UTC-2 on 4
// November 2018 at midnight; Apia went from 29 to 31 December 2011, from UTC-10 to UTC+14.
func TestAboard(t *testing.T) {
	const chicago = "America/Chicago"
	three := []scan.Clock{6 * 60, 14 * 60, 22 * 60}
	for _, c := range []struct {
		name, zone  string
		ends        []scan.Clock
		joined, now string
		in          bool
	}{
		{"no ends", chicago, nil, "2026-01-05T12:00:00Z", "2027-01-05T12:00:00Z", true},
		{"the same shift", chicago, three, "2026-01-05T12:00:00Z", "2026-01-05T19:59:59Z", true},
		{"at its end", chicago, three, "2026-01-05T12:00:00Z", "2026-01-05T20:00:00Z", false},
		{"joined at the end of the one before", chicago, three, "2026-01-05T20:00:00Z", "2026-01-06T03:59:59Z", true},
		{"a day later", chicago, three, "2026-01-05T12:00:00Z", "2026-01-06T12:00:00Z", false},
		{"one end a day, before it", chicago, []scan.Clock{17 * 60}, "2026-01-05T23:30:00Z", "2026-01-06T22:59:59Z", true},
		{"one end a day, after it", chicago, []scan.Clock{17 * 60}, "2026-01-05T23:30:00Z", "2026-01-06T23:00:00Z", false},
		{"at midnight", chicago, []scan.Clock{0}, "2026-01-06T05:59:59Z", "2026-01-06T06:00:00Z", false},
		{"the short night, before its end", chicago, three, "2026-03-08T04:05:00Z", "2026-03-08T10:59:59Z", true},
		{"the short night, at its end", chicago, three, "2026-03-08T04:05:00Z", "2026-03-08T11:00:00Z", false},
		{"the long night, before its end", chicago, three, "2026-11-01T03:05:00Z", "2026-11-01T11:59:59Z", true},
		{"the long night, at its end", chicago, three, "2026-11-01T03:05:00Z", "2026-11-01T12:00:00Z", false},
		{"an end that the clock jumps over, before", chicago, []scan.Clock{150}, "2026-03-08T07:00:00Z", "2026-03-08T07:59:59Z", true},
		{"an end that the clock jumps over, at the jump", chicago, []scan.Clock{150}, "2026-03-08T07:00:00Z", "2026-03-08T08:00:00Z", false},
		{"an end that the clock jumps over, joined after", chicago, []scan.Clock{150}, "2026-03-08T08:00:00Z", "2026-03-09T07:29:59Z", true},
		{"an end that the clock shows twice, the first time", chicago, []scan.Clock{90}, "2026-11-01T06:29:00Z", "2026-11-01T06:30:00Z", false},
		{"an end that the clock shows twice, joined between", chicago, []scan.Clock{90}, "2026-11-01T06:31:00Z", "2026-11-02T07:29:59Z", true},
		{"an end that the clock shows twice, the day after", chicago, []scan.Clock{90}, "2026-11-01T06:31:00Z", "2026-11-02T07:30:00Z", false},
		{"a midnight that the clock jumps over, before", "America/Sao_Paulo", []scan.Clock{0}, "2018-11-03T12:00:00Z", "2018-11-04T02:59:59Z", true},
		{"a midnight that the clock jumps over, at the jump", "America/Sao_Paulo", []scan.Clock{0}, "2018-11-03T12:00:00Z", "2018-11-04T03:00:00Z", false},
		{"a day that was skipped", "Pacific/Apia", []scan.Clock{12 * 60}, "2011-12-29T21:59:00Z", "2011-12-30T11:00:00Z", false},
		{"a day that was skipped, joined after noon", "Pacific/Apia", []scan.Clock{12 * 60}, "2011-12-29T22:00:00Z", "2011-12-30T21:59:59Z", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := rules()
			var err error
			r.Zone, err = time.LoadLocation(c.zone)
			require.NoError(t, err)
			r.Ends = c.ends
			ms := func(text string) int64 {
				at, err := time.Parse(time.RFC3339, text)
				require.NoError(t, err)
				return at.UnixMilli()
			}
			f := scan.Floor{Crew: []scan.Aboard{{Person: badge, At: ms(c.joined)}}}
			require.Equal(t, c.in, len(r.Aboard(f, ms(c.now))) == 1)
		})
	}
}

// TestCrewChanges: a badge after the end of the shift joins anew, and writes down who left at it.
func TestCrewChanges(t *testing.T) {
	other := number(tags.Person, 2)
	p := shop()
	p.people[other] = true
	p.aboard("S1", badge, now-7*3_600_000)
	p.aboard("S1", other, now-7*3_600_000)
	p.aboard("S1", number(tags.Person, 3), now)
	r := rules()
	day := time.UnixMilli(now).UTC() // 1 January 1970, 0:16
	r.Ends = []scan.Clock{scan.Clock(60*day.Hour() + day.Minute())}
	out := scan.Decide(p, r, at("S1", badge))
	require.Equal(t, []string{"crew joined"}, codes(out.Answer))
	require.Equal(t, []event.Body{event.CrewJoined{Station: "S1", Person: badge}, event.CrewLeft{Station: "S1", Person: other}}, out.Events)
}
