package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

// SetJob makes a job or states it anew, whole.
func (c *Client) SetJob(ctx context.Context, job string, s SetJob) (JobProgress, error) {
	return send[JobProgress](ctx, c, http.MethodPut, at("jobs", job), s)
}

// Job is a job with its bar lists and how far it is.
func (c *Client) Job(ctx context.Context, job string) (JobProgress, error) {
	return get[JobProgress](ctx, c, at("jobs", job), nil)
}

// Jobs is a page of jobs, by their numbers.
func (c *Client) Jobs(ctx context.Context, after string, limit int) (Jobs, error) {
	return get[Jobs](ctx, c, "/jobs", page(after, limit))
}

// ListOptions is what a bar list means where it does not say it. Empty is the plant's.
type ListOptions struct {
	Job, List, Revision  string
	Spec, Grade, Coating string
	Unit                 string // of bare numbers: mm, cm, m, in or ft
	DryRun               bool   // only look at the file
	FromList             string // of the job, whose lines are taken over where the file has them alike
	// Decide says what becomes of begun bundles that a revision changes: NUMBER=deliver, =scrap or
	// =to stock, all=... for those that no other names, with the reason behind a colon.
	Decide []string
	Reason string // of all decisions that give none
	By            // its time is not used: a list is taken now
}

// TakeList takes a bar list file, whole or not at all.
func (c *Client) TakeList(ctx context.Context, name string, data []byte, o ListOptions) (ListTaken, error) {
	q := values("name", name, "job", o.Job, "list", o.List, "revision", o.Revision, "spec", o.Spec, "grade", o.Grade,
		"coating", o.Coating, "unit", o.Unit, "device", o.Device, "people", strings.Join(o.People, ","), "at", moment(o.At),
		"from_list", o.FromList, "reason", o.Reason, "dry_run", flag(o.DryRun))
	return sendFile[ListTaken](ctx, c, "/lists", q, values("decide", strings.Join(o.Decide, "\n")), name, data, o.Key)
}

// Lists is a page of bar lists, of one job or (with "") of all.
func (c *Client) Lists(ctx context.Context, job, after string, limit int) (Lists, error) {
	return get[Lists](ctx, c, "/lists", page(after, limit, "job", job))
}

// List is a bar list with its lines.
func (c *Client) List(ctx context.Context, job, list string) (ListDetail, error) {
	return get[ListDetail](ctx, c, at("lists", job, list), nil)
}

// Receive takes a stock lot in.
func (c *Client) Receive(ctx context.Context, r Receive) (Received, error) {
	return send[Received](ctx, c, http.MethodPost, "/stock", r)
}

// StockOptions is what a file of stock is.
type StockOptions struct {
	As     string // receive, expect or go-live; "" is receive
	DryRun bool   // only look at the file
	By            // its time is not used: a file is taken now
}

// ImportStock takes a CSV or XLSX file of stock lots, whole or not at all.
func (c *Client) ImportStock(ctx context.Context, name string, data []byte, o StockOptions) (Received, error) {
	q := values("name", name, "as", o.As, "device", o.Device, "people", strings.Join(o.People, ","), "at", moment(o.At), "dry_run", flag(o.DryRun))
	return sendFile[Received](ctx, c, "/stock/import", q, nil, name, data, o.Key)
}

// Expect writes down a lot that a mill's paper says is coming.
func (c *Client) Expect(ctx context.Context, e Expect) (Received, error) {
	return send[Received](ctx, c, http.MethodPost, "/stock/expected", e)
}

// Confirm takes in what came of an expected lot.
func (c *Client) Confirm(ctx context.Context, number string, say Confirm) (LotAnswer, error) {
	return send[LotAnswer](ctx, c, http.MethodPost, at("stock", number, "confirm"), say)
}

// CountLot says how much of a lot lies there.
func (c *Client) CountLot(ctx context.Context, number string, n CountLot) (LotAnswer, error) {
	return send[LotAnswer](ctx, c, http.MethodPost, at("stock", number, "count"), n)
}

// CountYard takes a CSV or XLSX file of counts of the yard, whole or not at all.
func (c *Client) CountYard(ctx context.Context, name string, data []byte, by By) (Counted, error) {
	q := values("name", name, "device", by.Device, "people", strings.Join(by.People, ","), "at", moment(by.At))
	return sendFile[Counted](ctx, c, "/stock/counts", q, nil, name, data, by.Key)
}

// StockFilter says which lots a page of stock holds; empty is all.
type StockFilter struct {
	Size, Mill, Heat string
	OnHand           bool   // with bars or coil on hand only
	State            string // expected, short or here: of what a mill's paper said was coming
	NotCountedSince  string // a day, 2026-11-30: of what is on hand and was not counted on it or later
}

// Stock is a page of lots, by number.
func (c *Client) Stock(ctx context.Context, f StockFilter, after string, limit int) (Stock, error) {
	return get[Stock](ctx, c, "/stock", page(after, limit, "size", f.Size, "mill", f.Mill, "heat", f.Heat, "on_hand", flag(f.OnHand),
		"state", f.State, "not_counted_since", f.NotCountedSince))
}

// Lot is a lot with what was made of it.
func (c *Client) Lot(ctx context.Context, number string) (LotDetail, error) {
	return c.LotAsOf(ctx, number, "")
}

// SetHeats corrects or adds the heats of a lot.
func (c *Client) SetHeats(ctx context.Context, number string, s SetHeats) (HeatsSet, error) {
	return send[HeatsSet](ctx, c, http.MethodPost, at("stock", number, "heats"), s)
}

// BundleFilter says which bundles a page holds; empty is all.
type BundleFilter struct{ Job, List, Mark, State, Size, Length, Place string }

// Bundles is a page of bundles, by number.
func (c *Client) Bundles(ctx context.Context, f BundleFilter, after string, limit int) (Bundles, error) {
	return get[Bundles](ctx, c, "/bundles", page(after, limit, "job", f.Job, "list", f.List, "mark", f.Mark, "state", f.State,
		"size", f.Size, "length", f.Length, "place", f.Place))
}

// BundleAsOf is a bundle as of a past moment: the sequence of a record, or a time; "" is now.
func (c *Client) BundleAsOf(ctx context.Context, number, moment string) (BundleDetail, error) {
	return get[BundleDetail](ctx, c, at("bundles", number), values("as_of", moment))
}

// LotAsOf is a lot as of a past moment.
func (c *Client) LotAsOf(ctx context.Context, number, moment string) (LotDetail, error) {
	return get[LotDetail](ctx, c, at("stock", number), values("as_of", moment))
}

// History is a page of what happened to a bundle, lot, load or place, oldest first, as of a moment; "" is now.
func (c *Client) History(ctx context.Context, number, moment, after string, limit int) (History, error) {
	return get[History](ctx, c, at("history", number), page(after, limit, "as_of", moment))
}

// Bundle is a bundle with where its steel came from and what happened to it.
func (c *Client) Bundle(ctx context.Context, number string) (BundleDetail, error) {
	return c.BundleAsOf(ctx, number, "")
}

// Undo takes back the newest progress of a bundle.
func (c *Client) Undo(ctx context.Context, number string, b Because) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "undo"), b)
}

// Void takes a bundle that is not begun out of the work.
func (c *Client) Void(ctx context.Context, number string, b Because) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "void"), b)
}

// Lose says that a bundle has so many pieces no more. Its replacement is among the others.
func (c *Client) Lose(ctx context.Context, number string, l LosePieces) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "lost"), l)
}

// Split ties pieces of a bundle as bundles of their own, which are the others.
func (c *Client) Split(ctx context.Context, number string, s SplitBundle) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "split"), s)
}

// Merge ties bundles into the one of the number.
func (c *Client) Merge(ctx context.Context, number string, m MergeBundles) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "merge"), m)
}

// LoseTag says that the tag of a bundle, lot or load is lost.
func (c *Client) LoseTag(ctx context.Context, l LoseTag) (TagLost, error) {
	return send[TagLost](ctx, c, http.MethodPost, "/tags/lost", l)
}

// Runs is a page of runs, oldest first: of a station, between two runs or times.
func (c *Client) Runs(ctx context.Context, f RunFilter, after string, limit int) (Runs, error) {
	return get[Runs](ctx, c, "/runs", page(after, limit, "station", f.Station, "from", f.From, "to", f.To))
}

// MendCharge says that a lot lay on a feed and was not scanned, or that it did not lie there.
func (c *Client) MendCharge(ctx context.Context, m MendCharge) (ChargeMended, error) {
	return send[ChargeMended](ctx, c, http.MethodPost, "/runs/mend", m)
}

// SetRoute gives a bundle a route of its own.
func (c *Client) SetRoute(ctx context.Context, number string, s SetRoute) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "route"), s)
}

// Assign says which bars a bundle is that no station cuts.
func (c *Client) Assign(ctx context.Context, number string, s Assign) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "assign"), s)
}

// Declare says what a supplier's paper has on the heats of a bundle that was bought ready made.
func (c *Client) Declare(ctx context.Context, number string, d Declare) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "declare"), d)
}

// Reassign gives a bundle that is made to another line of the same bars.
func (c *Client) Reassign(ctx context.Context, number string, r Reassign) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "reassign"), r)
}

// Scan scans a tag at a station. A refusal is no error: see the answer's verdict.
func (c *Client) Scan(ctx context.Context, s Scan) (ScanAnswer, error) {
	return send[ScanAnswer](ctx, c, http.MethodPost, "/scans", s)
}

// Kept sends scans that a device kept while it had no network, in its order. Each is an api.Scan in JSON;
// one that is not goes onto the list to resolve as it is.
func (c *Client) Kept(ctx context.Context, scans []json.RawMessage) (KeptAnswers, error) {
	return send[KeptAnswers](ctx, c, http.MethodPost, "/scans/kept", scans)
}

// ReadPhoto reads the tags in a PNG or JPEG. With deep it looks up to ten times as long.
func (c *Client) ReadPhoto(ctx context.Context, photo []byte, deep bool) (Photo, error) {
	return ask[Photo](ctx, c, call{method: http.MethodPost, path: "/scans/photo", query: values("deep", flag(deep)),
		kind: http.DetectContentType(photo), body: bytes.NewReader(photo)})
}

// Stations are all stations and what is there now.
func (c *Client) Stations(ctx context.Context) (Stations, error) {
	return get[Stations](ctx, c, "/stations", nil)
}

// Station is a station with the card that it shows.
func (c *Client) Station(ctx context.Context, name string) (StationDetail, error) {
	return get[StationDetail](ctx, c, at("stations", name), nil)
}

// PlanLoad makes a truck load.
func (c *Client) PlanLoad(ctx context.Context, p PlanLoad) (LoadPlanned, error) {
	return send[LoadPlanned](ctx, c, http.MethodPost, "/loads", p)
}

// ReplanLoad states the plan of a load anew, whole.
func (c *Client) ReplanLoad(ctx context.Context, number string, p PlanLoad) (LoadPlanned, error) {
	return send[LoadPlanned](ctx, c, http.MethodPut, at("loads", number), p)
}

// LoadFilter says which loads a page holds; empty is all.
type LoadFilter struct{ State, Date, Job string }

// Loads is a page of loads, newest first.
func (c *Client) Loads(ctx context.Context, f LoadFilter, after string, limit int) (Loads, error) {
	return get[Loads](ctx, c, "/loads", page(after, limit, "state", f.State, "date", f.Date, "job", f.Job))
}

// Load is a load with its bundles.
func (c *Client) Load(ctx context.Context, number string) (LoadDetail, error) {
	return get[LoadDetail](ctx, c, at("loads", number), nil)
}

// Ship lets a load leave. A refusal is no error: see the answer's verdict.
func (c *Client) Ship(ctx context.Context, number string, s Ship) (ScanAnswer, error) {
	return send[ScanAnswer](ctx, c, http.MethodPost, at("loads", number, "ship"), s)
}

// Unload takes a bundle off a load. A refusal is no error: see the answer's verdict.
func (c *Client) Unload(ctx context.Context, number string, u Unload) (ScanAnswer, error) {
	return send[ScanAnswer](ctx, c, http.MethodPost, at("loads", number, "unload"), u)
}

// Weigh records the scale ticket of a load. Photo is that of the ticket under a file name; nil is none.
func (c *Client) Weigh(ctx context.Context, number string, w Weigh, name string, photo []byte) (LoadChanged, error) {
	fields := values("ticket", w.Ticket, "gross", w.Gross, "tare", w.Tare, "device", w.Device, "people", strings.Join(w.People, ","))
	return sendFile[LoadChanged](ctx, c, at("loads", number, "weigh"), nil, fields, name, photo, w.Key)
}

// Deliver says that a load, or a stop of it, was handed over. Photo is that of the signed sheet under a file
// name; nil is none.
func (c *Client) Deliver(ctx context.Context, number string, d Deliver, name string, photo []byte) (LoadChanged, error) {
	stop := ""
	if d.Stop != 0 {
		stop = strconv.Itoa(d.Stop)
	}
	fields := values("stop", stop, "date", d.Date, "signed", d.Signed, "device", d.Device, "people", strings.Join(d.People, ","))
	return sendFile[LoadChanged](ctx, c, at("loads", number, "deliver"), nil, fields, name, photo, d.Key)
}

// LoadPaper is the photo of a scale ticket or of a signed sheet, and its media type.
func (c *Client) LoadPaper(ctx context.Context, number string, seq uint64) ([]byte, string, error) {
	return c.do(ctx, call{method: http.MethodGet, path: at("loads", number, "papers", strconv.FormatUint(seq, 10))})
}

// Return says that a bundle, or pieces of it, came back from a load that left.
func (c *Client) Return(ctx context.Context, number string, r ReturnBundle) (Changed, error) {
	return send[Changed](ctx, c, http.MethodPost, at("bundles", number, "return"), r)
}

// BringBack says what came back from a processor.
func (c *Client) BringBack(ctx context.Context, load string, b BringBack) (LoadChanged, error) {
	return send[LoadChanged](ctx, c, http.MethodPost, at("loads", load, "back"), b)
}

// MakeClaim records what a site says of a load that left.
func (c *Client) MakeClaim(ctx context.Context, m MakeClaim) (ClaimRecorded, error) {
	return send[ClaimRecorded](ctx, c, http.MethodPost, "/claims", m)
}

// AnswerClaim answers a claim.
func (c *Client) AnswerClaim(ctx context.Context, claim uint64, a AnswerClaim) (ClaimRecorded, error) {
	return send[ClaimRecorded](ctx, c, http.MethodPost, at("claims", strconv.FormatUint(claim, 10), "answer"), a)
}

// Claims is a page of claims, oldest first: of a load, or with "" of all; with open only those that are not
// answered.
func (c *Client) Claims(ctx context.Context, load string, open bool, after string, limit int) (Claims, error) {
	return get[Claims](ctx, c, "/claims", page(after, limit, "load", load, "open", flag(open)))
}

// Hold stops a heat, lot, bundle or load, or with DryRun counts what that would stop.
func (c *Client) Hold(ctx context.Context, h PutHold) (HoldPut, error) {
	return send[HoldPut](ctx, c, http.MethodPost, "/holds", h)
}

// Lift ends a hold.
func (c *Client) Lift(ctx context.Context, l LiftHold) (HoldLifted, error) {
	return send[HoldLifted](ctx, c, http.MethodPost, "/holds/lift", l)
}

// Holds is a page of holds that are not lifted.
func (c *Client) Holds(ctx context.Context, after string, limit int) (Holds, error) {
	return get[Holds](ctx, c, "/holds", page(after, limit))
}

// Place makes a place.
func (c *Client) Place(ctx context.Context, m MakePlace) (PlaceMade, error) {
	return send[PlaceMade](ctx, c, http.MethodPost, "/places", m)
}

// Places is a page of places, by name.
func (c *Client) Places(ctx context.Context, after string, limit int) (Places, error) {
	return get[Places](ctx, c, "/places", page(after, limit))
}

// Person makes a badge.
func (c *Client) Person(ctx context.Context, m MakePerson) (PersonMade, error) {
	return send[PersonMade](ctx, c, http.MethodPost, "/persons", m)
}

// SetPerson states anew whose a badge is, which offices it holds, and the language of its person.
func (c *Client) SetPerson(ctx context.Context, number string, p SetPerson) (Person, error) {
	return send[Person](ctx, c, http.MethodPut, at("persons", number), p)
}

// Persons is a page of badges, by number.
func (c *Client) Persons(ctx context.Context, after string, limit int) (Persons, error) {
	return get[Persons](ctx, c, "/persons", page(after, limit))
}

// Alias lets another's code stand for a number of ours.
func (c *Client) Alias(ctx context.Context, s SetAlias) (Recorded, error) {
	return send[Recorded](ctx, c, http.MethodPost, "/aliases", s)
}

// Trace says where steel went, and where it came from.
func (c *Client) Trace(ctx context.Context, q string) (Trace, error) {
	return c.TraceAsOf(ctx, q, "")
}

// TraceCSV is a trace as a table for a spreadsheet, as of a moment; "" is now.
func (c *Client) TraceCSV(ctx context.Context, q, moment string) ([]byte, error) {
	return c.file(ctx, "/trace", values("q", q, "as_of", moment, "format", "csv"))
}

// TraceAsOf is a trace as of a past moment: the sequence of a record, or a time; "" is now.
func (c *Client) TraceAsOf(ctx context.Context, q, moment string) (Trace, error) {
	return get[Trace](ctx, c, "/trace", values("q", q, "as_of", moment))
}

// Recall is everything downstream of a heat, lot, cert or mill, as of a moment; "" is now.
func (c *Client) Recall(ctx context.Context, q, moment string) (Recall, error) {
	return get[Recall](ctx, c, "/recall", values("q", q, "as_of", moment))
}

// RecallFile is a recall as a table for a spreadsheet ("csv") or a paper ("pdf").
func (c *Client) RecallFile(ctx context.Context, q, moment, format string) ([]byte, error) {
	return c.file(ctx, "/recall", values("q", q, "as_of", moment, "format", format))
}

// Account says where all metal of a heat, lot, cert or mill is, or with "" of the whole plant, as of a
// moment; "" is now.
func (c *Client) Account(ctx context.Context, q, moment string) (Account, error) {
	return get[Account](ctx, c, "/account", values("q", q, "as_of", moment))
}

// AccountCSV is an account as a table for a spreadsheet.
func (c *Client) AccountCSV(ctx context.Context, q, moment string) ([]byte, error) {
	return c.file(ctx, "/account", values("q", q, "as_of", moment, "format", "csv"))
}

// Journal is the page of the journal after a sequence; after -1 it begins with record 0.
func (c *Client) Journal(ctx context.Context, after int64, limit int) (Journal, error) {
	return get[Journal](ctx, c, "/journal", page(strconv.FormatInt(after, 10), limit))
}

// OpenFilter says what a page of the list to resolve holds; empty is all.
type OpenFilter struct {
	Station, Bundle, Office string
	Disputed                bool // kept scans that do not fit the record, only
	Lang                    string
}

func (f OpenFilter) query(after string, limit int, more ...string) url.Values {
	return page(after, limit, append(more, "station", f.Station, "bundle", f.Bundle, "office", f.Office, "disputed", flag(f.Disputed), "lang", f.Lang)...)
}

// Open is a page of the list to resolve, newest first.
func (c *Client) Open(ctx context.Context, f OpenFilter, after string, limit int) (Open, error) {
	return get[Open](ctx, c, "/open", f.query(after, limit))
}

// OpenCSV is a page of the list to resolve as a table for a spreadsheet.
func (c *Client) OpenCSV(ctx context.Context, f OpenFilter, after string, limit int) ([]byte, error) {
	return c.file(ctx, "/open", f.query(after, limit, "format", "csv"))
}

// Resolve settles a thing on the list to resolve.
func (c *Client) Resolve(ctx context.Context, seq uint64, r Resolve) (Resolved, error) {
	return send[Resolved](ctx, c, http.MethodPost, at("open", strconv.FormatUint(seq, 10), "resolve"), r)
}

// FileCert puts a mill cert on file. Paper is its PDF, JPEG or PNG under a file name; nil is a record
// without paper.
func (c *Client) FileCert(ctx context.Context, f FileCert, name string, paper []byte) (CertFiled, error) {
	fields := values("mill", f.Mill, "heat", f.Heat, "sizes", strings.Join(f.Sizes, ","), "spec", f.Spec, "type", f.Type, "text", f.Text,
		"melted", f.Melted, "rolled", f.Rolled, "device", f.Device, "people", strings.Join(f.People, ","))
	return sendFile[CertFiled](ctx, c, "/certs", nil, fields, name, paper, f.Key)
}

// CertFilter says which certs a page holds: those of a heat, or with a text on them.
type CertFilter struct{ Mill, Heat, Text string }

// Certs is a page of certs, oldest first.
func (c *Client) Certs(ctx context.Context, f CertFilter, after string, limit int) (Certs, error) {
	return get[Certs](ctx, c, "/certs", page(after, limit, "mill", f.Mill, "heat", f.Heat, "text", f.Text))
}

// Cert is a cert by the sequence of the event that filed it.
func (c *Client) Cert(ctx context.Context, seq uint64) (Cert, error) {
	return get[Cert](ctx, c, at("certs", strconv.FormatUint(seq, 10)), nil)
}

// CertFile is the paper of a cert, and its media type.
func (c *Client) CertFile(ctx context.Context, seq uint64) ([]byte, string, error) {
	return c.do(ctx, call{method: http.MethodGet, path: at("certs", strconv.FormatUint(seq, 10), "file")})
}

// ReviewCert says that a person has read a cert.
func (c *Client) ReviewCert(ctx context.Context, seq uint64, r Review) (CertFiled, error) {
	return send[CertFiled](ctx, c, http.MethodPost, at("certs", strconv.FormatUint(seq, 10), "review"), r)
}

// tagPaths are where the tags of numbers are, by the first digit of a number.
var tagPaths = map[byte]string{'1': "bundles", '2': "stock", '4': "loads", '5': "places", '6': "persons"}

// Tag is the tag of a number, as its newest copy: format is pdf, svg or png. A dpi of 0 and a layout
// of "" are the server's.
func (c *Client) Tag(ctx context.Context, number, format string, dpi int, layout string) ([]byte, error) {
	kind := ""
	if number != "" {
		kind = tagPaths[number[0]]
	}
	if kind == "" {
		return nil, fmt.Errorf("api: %q is no number that has a tag", number)
	}
	q := values("layout", layout)
	if dpi > 0 {
		q.Set("dpi", strconv.Itoa(dpi))
	}
	return c.file(ctx, at(kind, number, "tag."+format), q)
}

// PrintTags records one more copy of each tag, and gives them as one PDF.
func (c *Client) PrintTags(ctx context.Context, p PrintTags) ([]byte, error) {
	body, err := json.Marshal(p)
	if err != nil {
		return nil, fmt.Errorf("api: POST /tags: %w", err)
	}
	b, _, err := c.do(ctx, call{method: http.MethodPost, path: "/tags", kind: "application/json", body: bytes.NewReader(body)})
	return b, err
}
