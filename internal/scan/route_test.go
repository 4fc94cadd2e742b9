package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
)

func TestSetRoute(t *testing.T) {
	for _, c := range []struct {
		name  string
		past  func(*past)
		steps []string
		want  string // field of the refusal; "" none
	}{
		{"before anything", nil, []string{"Cut", " cut and  bend"}, ""},
		{"none", nil, []string{"none"}, ""},
		{"nothing is none too", nil, nil, ""},
		{"as it is", nil, []string{"cut", "bend"}, "steps"},
		{"no step", nil, []string{"weld"}, "steps"},
		{"a step twice", nil, []string{"cut", "cut"}, "steps"},
		{"voided", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true }) }, []string{"cut"}, "bundle"},
		{"what is begun stays", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, []string{"saw"}, "steps"},
		{"behind what is begun", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, []string{"cut", "head"}, ""},
		{"what is done stays", func(p *past) { p.done("S1", []int{1}, bundle(11)) }, []string{"bend"}, "steps"},
		{"it was bent elsewhere", func(p *past) { p.done("S1", []int{1}, bundle(11)) }, []string{"cut"}, ""},
		{"it was bent elsewhere, and left", func(p *past) { p.done("S1", []int{1}, bundle(11)); p.onto(truck, bundle(11), true) }, []string{"cut"}, ""},
		{"more to do on the truck", func(p *past) { p.done("S1", []int{1}, bundle(11)); p.onto(truck, bundle(11), true) }, []string{"cut", "tie"}, "steps"},
		{"cut anew what is bars already", func(p *past) {
			p.change(bundle(11), func(b *scan.Bundle) { b.Route, b.Runs = []string{}, []uint64{7} })
		}, []string{"cut"}, "steps"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			if c.past != nil {
				c.past(p)
			}
			e, a, err := scan.SetRoute(p, bundle(11), c.steps, "machine is down")
			if c.want == "" {
				require.NoError(t, err)
				require.NotNil(t, e.Route)
				require.Equal(t, []string{"route set"}, codes(a))
				return
			}
			var no *event.Refusal
			require.ErrorAs(t, err, &no)
			require.Equal(t, c.want, no.Field)
		})
	}
	_, _, err := scan.SetRoute(shop(), bundle(99), nil, "r")
	require.ErrorContains(t, err, "never given out")
	_, _, err = scan.SetRoute(shop(), bundle(11), nil, " ")
	require.ErrorContains(t, err, "reason")
}
