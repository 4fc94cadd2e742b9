package main
import ("testing";"fmt";"time";"tagd/api")
func TestZZ(t *testing.T){
	sh, d := morningOf(t, "zz")
	a, b := newTab(t, sh.url), newTab(t, sh.url)
	for _, x := range []*tab{a,b} { x.open("/at/Y1") }
	for _, x := range []*tab{a,b} {
	fmt.Println(ask[string](x, "document.hidden + ' ' + document.documentElement.dataset.head+ ' ' + document.querySelectorAll('[data-live]').length + ' ' + document.visibilityState+' '+document.hasFocus()"), x.complaints())
	}
	fmt.Println(a.answered(func() { a.scanner(d.numbers["R-01"]) }))
	for _, e := range sh.at(t, "Y1") { fmt.Println(e.Seq, e.Kind, e.Key) }
	fmt.Println(a.answered(func() { a.scanner(d.numbers[stockBought[0].name]) }))
	fmt.Println(a.answered(func() { a.scanner(d.numbers[stockBought[1].name]) }))
	for _, e := range sh.at(t, "Y1") { fmt.Println(e.Seq, e.Kind, e.Key) }
	fmt.Println(ask[string](a, "document.querySelector(\"main#work\").innerText")); {p,_ := d.c.Journal(d.ctx, 58, 10); for _, e := range p.Events { fmt.Printf("%+v\n", e) } }; time.Sleep(1*time.Second)
	fmt.Println(ask[string](b, "document.documentElement.dataset.head + [...document.querySelectorAll('[data-live]')].map(e=>e.id) + document.querySelector('#last').innerText"), b.complaints())
	fmt.Println(ask[string](b, "fetch('/live?after=1').then(r=>r.status+' '+r.headers.get('content-type'))"))
	_ = api.Scan{}
}
