package rest

import (
	"context"
	"net/http"
	"slices"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/view"
)

func (a *ops) jobs() {
	register(a, http.MethodGet, "/jobs", "list-jobs", "Jobs, by their numbers", a.listJobs, group("jobs"))
	register(a, http.MethodGet, "/jobs/{job}", "get-job", "A job, its bar lists and how far it is", a.getJob, group("jobs"))
	register(a, http.MethodPut, "/jobs/{job}", "set-job", "Make a job, or state it anew, whole", a.setJob, group("jobs"))
}

func job(j event.JobSet) api.Job {
	return api.Job{Job: j.Job, JobRules: api.JobRules{
		Name: j.Name, Customer: j.Customer, PO: j.PO, Agency: j.Agency, ShipTo: j.ShipTo, Heats: string(j.Heats),
		Certs: string(j.Certs), Spec: j.Spec, Edition: j.Edition, Coating: j.Coating, Country: j.Country, Stock: j.Stock,
	}}
}

type jobIn struct {
	Job string `path:"job" maxLength:"60" doc:"The shop's number of the job."`
}

func (a *ops) listJobs(_ context.Context, in *Paged) (*answer[api.Jobs], error) {
	return look(a, func(p *view.Past) (api.Jobs, error) {
		out := api.Jobs{Jobs: []api.Job{}}
		p.Jobs(func(j event.JobSet) bool {
			switch {
			case j.Job <= in.After:
				return true
			case len(out.Jobs) == in.Limit:
				out.Next = out.Jobs[in.Limit-1].Job
				return false
			}
			out.Jobs = append(out.Jobs, job(j))
			return true
		})
		return out, nil
	})
}

type setJobIn struct {
	Job string `path:"job" maxLength:"30" doc:"The shop's number of the job: text, 30 characters at most."`
	Keyed
	Body api.SetJob
}

func (a *ops) setJob(ctx context.Context, in *setJobIn) (*answer[api.JobProgress], error) {
	o, err := a.origin("", in.Body.By, in.Key, []any{"job", in.Job, in.Body})
	if err != nil {
		return nil, err
	}
	b := in.Body
	r, err := a.f.SetJob(ctx, o, event.JobSet{
		Job: in.Job, Name: b.Name, Customer: b.Customer, PO: b.PO, Agency: b.Agency, ShipTo: b.ShipTo,
		Heats: event.HeatRule(b.Heats), Certs: event.CertRule(b.Certs), Spec: b.Spec, Edition: b.Edition,
		Coating: b.Coating, Country: b.Country, Stock: b.Stock,
	})
	if err != nil {
		return nil, err
	}
	for _, j := range bodies[event.JobSet](r) {
		return a.getJob(ctx, &jobIn{Job: j.Job})
	}
	return a.getJob(ctx, &jobIn{Job: in.Job})
}

func (a *ops) getJob(_ context.Context, in *jobIn) (*answer[api.JobProgress], error) {
	return look(a, func(p *view.Past) (api.JobProgress, error) {
		j, ok := p.Job(in.Job)
		if !ok {
			return api.JobProgress{}, missing("Job %q is not known here.", in.Job)
		}
		out := api.JobProgress{Job: job(j), Lists: []api.List{}}
		p.Lists(func(l view.List) bool {
			if l.Job == in.Job {
				out.Lists = append(out.Lists, barList(l))
			}
			return true
		})
		var planned, cut, toBend, bent, loaded, shipped sum
		for _, l := range p.LinesOf(in.Job, "") {
			for _, b := range p.BundlesOf(l) {
				if b.Voided {
					continue
				}
				of := p.Line(b.Line) // what it is made to, which the line may not be any more
				bend := slices.IndexFunc(b.Steps(of), func(s string) bool { return s == "bend" || s == "cut and bend" })
				m := mass(b, of)
				planned.add(b, m)
				if b.Done > 0 {
					cut.add(b, m)
				}
				if bend >= 0 {
					toBend.add(b, m)
					if b.Done > bend {
						bent.add(b, m)
					}
				}
				if b.Load != 0 {
					loaded.add(b, m)
				}
				if b.Shipped {
					shipped.add(b, m)
				}
			}
		}
		out.Planned, out.Cut, out.ToBend = a.amount(planned), a.amount(cut), a.amount(toBend)
		out.Bent, out.Loaded, out.Shipped = a.amount(bent), a.amount(loaded), a.amount(shipped)
		return out, nil
	})
}
