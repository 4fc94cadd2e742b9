package api

import "time"

// Scan is one scan at a station, with what was typed beside it.
type Scan struct {
	Code     string    `json:"code" maxLength:"8192" doc:"What the scanner read, as it came. Empty only with do: empty, which then empties the whole feed."`
	Station  string    `json:"station" minLength:"1" maxLength:"40" example:"S1"`
	Do       string    `json:"do,omitempty" enum:"empty,unload,move,return,back,ship,show,part,take,join,lost,last,count,none" doc:"Left out: what the station makes of it. part: so many pieces of the step are done, and the bundle waits for the rest. take: take over what was started at another station; pieces are those made there. join: cut here too what is being cut at another station. lost: so many pieces of the bundle are lost, and why says for what reason: miscut, misbent, sample, damaged, site or revised. empty: take the lot, or with no code all, off the feed. unload: take the bundle off its load. move: from its load to the one that is open here. return: it, or so many pieces, came back from a load that left, as it went; why says why. back: it came back from who worked on it, with what was done there. ship: the load leaves. show: only show what it is; nothing is recorded. last: no more of the expected lot comes. count: so many bars of the lot lie there. none: none of it lies there."`
	Pieces   int       `json:"pieces,omitempty" minimum:"0" doc:"Typed count. Left out: as the tag says."`
	Feed     string    `json:"feed,omitempty" maxLength:"40" doc:"Left out: the station's first."`
	Pocket   string    `json:"pocket,omitempty" maxLength:"40"`
	Lots     []string  `json:"lots,omitempty" maxItems:"50" maxLength:"20" doc:"Numbers of the lots that the bars are from, where a person has seen it."`
	Bars     []Drawn   `json:"bars,omitempty" maxItems:"50" doc:"How many bars of each lot a run took, said at its last bundle."`
	Coils    []Weighed `json:"coils,omitempty" maxItems:"50" doc:"How much of each coil a run took, where somebody weighed it."`
	Scrap    string    `json:"scrap,omitempty" maxLength:"40" example:"12 lb" doc:"Weight of what was cut off from coil, with its unit."`
	Remnants []Remnant `json:"remnants,omitzero" maxItems:"50" doc:"What a run left. Left out: as planned. An empty list: nothing worth keeping."`
	Gone     bool      `json:"gone,omitempty" doc:"The truck has left already."`
	Why      string    `json:"why,omitempty" maxLength:"500" doc:"The reason, where the command asks for one."`
	Kept     bool      `json:"kept,omitempty" doc:"The device kept the scan while it had no network; at says when it was. What the rules refuse by now is not lost: it goes onto the list to resolve."`
	Lang     string    `json:"lang,omitempty" enum:"en,es" doc:"Language of the sentences. Left out: English."`
	By
}

// Drawn is bars taken from a lot.
type Drawn struct {
	Lot  string `json:"lot" maxLength:"20"`
	Bars int    `json:"bars" minimum:"1"`
}

// Weighed is coil taken from a lot.
type Weighed struct {
	Lot    string `json:"lot" maxLength:"20"`
	Weight string `json:"weight" maxLength:"40" example:"125 lb" doc:"With its unit."`
}

// Remnant is left-over bars of one length.
type Remnant struct {
	Length string `json:"length" maxLength:"40" example:"6'-2\""`
	Bars   int    `json:"bars" minimum:"1"`
	Place  string `json:"place,omitempty" maxLength:"20" doc:"Name or number of the place where they lie."`
}

// Note is one sentence of an answer.
type Note struct {
	Code string   `json:"code" example:"cut done" doc:"Which sentence. Codes keep their meaning."`
	Args []string `json:"args" doc:"What fills its gaps."`
	Says string   `json:"says" doc:"The sentence."`
	Next string   `json:"next,omitempty" doc:"What to do next."`
}

// ScanAnswer is the answer to a scan. A refusal is an answer like any other.
type ScanAnswer struct {
	Recorded
	Verdict string `json:"verdict" enum:"accepted,check,refused" doc:"check: recorded, and a person should look. refused: nothing recorded but the refusal."`
	Says    string `json:"says" doc:"The first sentence."`
	Next    string `json:"next,omitempty" doc:"What to do next."`
	Notes   []Note `json:"notes" doc:"All sentences."`
	Number  string `json:"number,omitempty" doc:"What the answer is about. Left out: no number was understood."`
	Kind    string `json:"kind,omitempty" enum:"bundle,stock,load,place,person" doc:"What sort of thing the number is of."`
	Card    *Card  `json:"card,omitempty" doc:"The work card of a bundle, as it is now."`
	// Load is beside what was scanned at loadout.
	Load *LoadList `json:"load,omitempty" doc:"At loadout, the list of the load that is open at the device, or was scanned: what is on, and where the rest lies."`
}

// Card is what a station shows of a bundle: the work, and at a cut station the run's bars and what to
// bring.
type Card struct {
	Bundle
	Step         string   `json:"step,omitempty" doc:"The step to do. Left out: all are done."`
	Hold         *Hold    `json:"hold,omitempty" doc:"A hold that stops it."`
	Run          uint64   `json:"run,omitempty" doc:"Sequence of the run that is open. Left out: not begun."`
	Members      []Member `json:"members,omitempty" doc:"All bundles of the run, with this one."`
	Plan         []Cut    `json:"plan,omitempty" doc:"The bars of the run."`
	Bars         int      `json:"bars,omitempty" doc:"How many bars the plan takes."`
	PiecesPerBar int      `json:"pieces_per_bar,omitempty" doc:"How many pieces of this bundle one full bar gives."`
	Bring        []Bring  `json:"bring,omitempty" doc:"Lots that the plan takes bars from, those on the feeds first."`
	Coil         bool     `json:"coil,omitempty" doc:"It is cut from coil: there is no plan of bars, and what to bring is by weight."`
	NeedKG       float64  `json:"need_kg,omitempty" doc:"Coil that its pieces need."`
	Need         string   `json:"need,omitempty"`
	LackKG       float64  `json:"lack_kg,omitempty" doc:"Of that, what no coil on hand serves."`
	Lack         string   `json:"lack,omitempty"`
	Short        []Piece  `json:"short,omitempty" doc:"Pieces that no stock on hand serves."`
	Gauge        []Gauge  `json:"gauge,omitempty" doc:"How the table's stops are set for each length of the run, that of this bundle first. Left out: the table has no fixed stops."`
}

// Gauge is how a table with fixed stops is set for a length of piece.
type Gauge struct {
	Length string `json:"length" doc:"Of the piece." example:"9'-6\""`
	Stop   string `json:"stop,omitempty" doc:"The last stop that is not beyond it. Left out: the first one is." example:"8'-0\""`
	Out    string `json:"out,omitempty" doc:"How far to move out from the stop. Left out: the stop is the length." example:"1'-6\""`
	Reach  bool   `json:"reach" doc:"The stops and the travel of the table reach the length."`
	Text   string `json:"text" doc:"All of it in words." example:"8'-0\" stop, 1'-6\" out"`
}

// Member is a bundle of a run.
type Member struct {
	Bundle string `json:"bundle"`
	Mark   string `json:"mark"`
	K      string `json:"k"`
	N      int    `json:"n"`
	Pieces int    `json:"pieces"`
	Length string `json:"length"`
	Done   bool   `json:"done"`
}

// Cut is bars that are cut alike.
type Cut struct {
	Lot      string  `json:"lot,omitempty" doc:"Left out: stock that the plant buys; none is on hand."`
	LengthMM float64 `json:"length_mm" doc:"Of the bar."`
	Length   string  `json:"length"`
	Bars     int     `json:"bars"`
	Cuts     []Piece `json:"cuts" doc:"What each bar gives."`
	LeftMM   float64 `json:"left_mm" doc:"What is left of each bar."`
	Left     string  `json:"left"`
	Keep     bool    `json:"keep" doc:"What is left is a remnant, not scrap."`
}

// Piece is pieces of a bundle.
type Piece struct {
	Bundle string `json:"bundle"`
	Mark   string `json:"mark"`
	Pieces int    `json:"pieces"`
}

// Bring is a lot to cut from.
type Bring struct {
	Lot    string `json:"lot"`
	Place  string `json:"place,omitempty" doc:"Name of the place where it lies."`
	Feed   string `json:"feed,omitempty" doc:"The feed of this station that it lies on."`
	Bars   int    `json:"bars" doc:"That the plan takes."`
	OnHand int    `json:"on_hand"`
	Takes  string `json:"takes,omitempty" doc:"Of coil: weight that the bundle takes."`
	Left   string `json:"left,omitempty" doc:"Of coil: weight on hand."`
	Draw
	LengthMM float64 `json:"length_mm"`
	Length   string  `json:"length"`
}

// Photo is what was read in a photo of tags.
type Photo struct {
	Found []PhotoTag `json:"found" doc:"What was read; empty where nothing could be."`
}

// PhotoTag is one symbol read in a photo.
type PhotoTag struct {
	Code      string `json:"code" doc:"Its text, to be given as the code of a scan."`
	Symbology string `json:"symbology" doc:"Identifier by ISO/IEC 15424." example:"]C0"`
	Number    string `json:"number,omitempty" doc:"Our number in it, if there is one."`
}

// Station is a place where scans happen, as the plant's settings state it, and what is there now.
type Station struct {
	Name    string   `json:"name" example:"S1"`
	Title   string   `json:"title" example:"Shear 1"`
	Does    []string `json:"does" doc:"Steps, and receiving, yard, staging or loadout."`
	Feeds   []Feed   `json:"feeds"`
	Pockets []string `json:"pockets"`
	Single  bool     `json:"single,omitempty" doc:"Its runs are of one bundle: the next one that is scanned says that the last one is cut."`
	Crew    []Aboard `json:"crew" doc:"Who works there, in the order in which they joined."`
	Run     *Run     `json:"run,omitempty" doc:"The run that is open."`
	Bundle  string   `json:"bundle,omitempty" doc:"The bundle whose card is shown."`
}

// Aboard is a person of a crew.
type Aboard struct {
	Number string    `json:"number" doc:"Of the badge."`
	Name   string    `json:"name,omitempty" doc:"Left out: not known any more."`
	Since  time.Time `json:"since" doc:"When the badge joined, by the clock of the device that read it."`
}

// Stations are all stations, in the order of the settings.
type Stations struct {
	Stations []Station `json:"stations"`
}

// StationDetail is a station with the card that it shows.
type StationDetail struct {
	Station
	Card *Card `json:"card,omitempty"`
}

// Feed is a place at a station from which stock is taken.
type Feed struct {
	Name string    `json:"name"`
	Lots []FeedLot `json:"lots" doc:"In the order in which they were charged: the last one lies on top."`
}

// FeedLot is a lot that lies on a feed.
type FeedLot struct {
	Lot string `json:"lot"`
	Steel
	Length string `json:"length,omitempty" doc:"Of a bar. Left out: coil."`
	OnHand int    `json:"on_hand" doc:"Bars."`
	Weight string `json:"weight" doc:"Of what is on hand."`
	Draw
}

// Run is one piece of work at a cut station.
type Run struct {
	Seq     uint64   `json:"seq" doc:"Sequence of its opening: its name."`
	Steel   string   `json:"steel"`
	Members []Member `json:"members"`
	Lots    []string `json:"lots" doc:"Lots that may have been drawn."`
}
