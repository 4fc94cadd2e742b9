package api

import (
	"context"
	"strings"
	"time"
)

// Needs is what the planned loads that have not left need, and whether it will be there in time.
type Needs struct {
	At     time.Time `json:"at" doc:"When it was worked out."`
	Trucks []Truck   `json:"trucks" doc:"The loads that have not left, in the order in which they leave."`
	Needs  []Need    `json:"needs" doc:"Bundles that still have steps to be done, in the order in which they are wanted: by truck, then the last stop first, then as they were planned."`
	Short  []Short   `json:"short" doc:"What cannot be made from the stock on hand, by steel, the longest first. Which heats and origins a job allows is not looked at, nor what is still to come from the mill."`
	Buy    []Buy     `json:"buy" doc:"What would serve it."`
	Paces  []Pace    `json:"paces" doc:"How long the stations took of late, by step and class of sizes."`
	Since  time.Time `json:"since" doc:"Of what is in the paces."`
}

// Truck is a load that has not left.
type Truck struct {
	Load     string     `json:"load"`
	Truck    string     `json:"truck,omitempty"`
	Jobs     []string   `json:"jobs"`
	Leaves   *time.Time `json:"leaves,omitempty" doc:"Left out: its plan names no day; it comes last."`
	Said     bool       `json:"said" doc:"The plan says the time. Else it is the end of the day's last shift."`
	Ready    int        `json:"ready" doc:"Planned bundles that are ready or lie on a truck."`
	Waiting  int        `json:"waiting" doc:"Planned bundles that still have steps to be done."`
	Miss     int        `json:"miss" doc:"Of these: will miss it."`
	MayMiss  int        `json:"may_miss"`
	Unknown  int        `json:"unknown" doc:"Of these: no forecast."`
	LeavesAt string     `json:"leaves_at" doc:"When, in words."`
}

// Need is a bundle that a truck needs.
type Need struct {
	Bundle   string   `json:"bundle"`
	Job      string   `json:"job"`
	List     string   `json:"list"`
	Mark     string   `json:"mark"`
	K        string   `json:"k"`
	N        int      `json:"n"`
	Steel    string   `json:"steel"`
	Length   string   `json:"length"`
	Pieces   int      `json:"pieces" doc:"Still to be done of the next step."`
	Steps    []string `json:"steps" doc:"Still to be done, in order."`
	Stations []string `json:"stations" doc:"That can do the next one; of a step that is begun, the one that began it."`
	Begun    bool     `json:"begun,omitempty" doc:"The next step is begun, or part of it is done."`
	Held     bool     `json:"held,omitempty"`
	Load     string   `json:"load"`
	Stop     int      `json:"stop" doc:"Of the load, from 1."`
	Leaves   string   `json:"leaves" doc:"When its truck leaves, in words."`
	Forecast Forecast `json:"forecast"`
}

// Forecast is when a bundle will be ready.
type Forecast struct {
	Chance  string     `json:"chance" enum:"makes it,may miss,will miss,no forecast" doc:"may miss: by the upper quartiles only."`
	Ready   *time.Time `json:"ready,omitempty" doc:"By the medians."`
	Late    *time.Time `json:"late,omitempty" doc:"By the upper quartiles."`
	Says    string     `json:"says" doc:"In words; without a forecast, what is missing for one."`
	Station string     `json:"station,omitempty" doc:"Without a forecast: the station, step and class of sizes of which there are too few records. Without a station, none does the step."`
	Step    string     `json:"step,omitempty"`
	Class   string     `json:"class,omitempty" enum:"light,mid,heavy"`
	Records int        `json:"records" doc:"The least number of records behind it; without a forecast, how many there are of the kind that is missing."`
}

// Short is what is short of one steel and length.
type Short struct {
	Steel    string   `json:"steel"`
	Length   string   `json:"length" doc:"Of a piece."`
	LengthMM float64  `json:"length_mm"`
	Coil     bool     `json:"coil,omitempty" doc:"It is cut from coil."`
	Pieces   int      `json:"pieces"`
	Weight   string   `json:"weight"`
	Bundles  []string `json:"bundles"`
	Load     string   `json:"load" doc:"The first one that misses some."`
}

// Buy is what would serve short pieces of a steel.
type Buy struct {
	Steel   string `json:"steel"`
	Coil    bool   `json:"coil,omitempty"`
	Length  string `json:"length,omitempty" doc:"Of a bar that the plant buys."`
	Bars    int    `json:"bars,omitempty"`
	Weight  string `json:"weight,omitempty"`
	TooLong int    `json:"too_long,omitempty" doc:"Pieces of the length that are longer than all bars that the plant buys."`
}

// Pace is how long a station took for a piece.
type Pace struct {
	Station string  `json:"station"`
	Step    string  `json:"step"`
	Class   string  `json:"class" enum:"light,mid,heavy" doc:"Light to #5 (16 mm), heavy from #9 (29 mm)."`
	Records int     `json:"records" doc:"Bundles done."`
	Enough  bool    `json:"enough" doc:"Fewer than five records make no pace."`
	Median  float64 `json:"median_s,omitempty" doc:"Seconds a piece."`
	Low     float64 `json:"low_s,omitempty" doc:"The lower quartile."`
	High    float64 `json:"high_s,omitempty" doc:"The upper quartile."`
}

// StationNeeds is what waits at a station.
type StationNeeds struct {
	Station string `json:"station"`
	Title   string `json:"title"`
	Now     []Need `json:"now" doc:"Whose next step it does, in the order in which they are wanted."`
	Later   []Need `json:"later" doc:"Which have another step before."`
}

// Needs is what the trucks need.
func (c *Client) Needs(ctx context.Context) (Needs, error) {
	return get[Needs](ctx, c, "/needs", nil)
}

// StationNeeds is what waits at a station for the trucks.
func (c *Client) StationNeeds(ctx context.Context, station string) (StationNeeds, error) {
	return get[StationNeeds](ctx, c, at("stations", station)+"/needs", nil)
}

// ImportLoads plans the loads of a file, all or none; move takes bundles off other loads.
func (c *Client) ImportLoads(ctx context.Context, name string, data []byte, move bool, by By) (LoadsPlanned, error) {
	q := values("name", name, "device", by.Device, "people", strings.Join(by.People, ","), "at", moment(by.At), "move", flag(move))
	return sendFile[LoadsPlanned](ctx, c, "/loads/import", q, nil, name, data, by.Key)
}
