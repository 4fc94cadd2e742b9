package label

import (
	"io"
	"syscall"
	"testing"

	"tagd/internal/bar"
)

// BenchmarkSheet prints sheets of 100 tags of bent and straight bars, symbols encoded and read
// back; it reports finished tags a second.
func BenchmarkSheet(b *testing.B) {
	shapes := []string{"", `1'-6" [90] 8'-6" [90] 1'-6"`, `10" [90] 10'-9"`, "",
		`4" [135] 1'-2" [90] 2'-3" [90] 1'-2" [90] 2'-3" [135] 4"`,
		`8" [180L] 3'-2" [45R] 2'-1" [45L] 9'-6" [45L] 2'-1" [45R] 3'-2" [180L] 8"`}
	var kinds []Bundle
	for i, s := range shapes {
		legs, err := bar.ParseBends(s)
		if err != nil {
			b.Fatal(err)
		}
		t := bundleOf(i + 1)
		t.Shape.Legs = legs
		kinds = append(kinds, t)
	}
	const tagsASheet = 100
	b.ReportAllocs()
	cpu := cpuSeconds(b)
	for b.Loop() {
		err := Sheet(io.Discard, 203, func(yield func(Label, error) bool) {
			for i := range tagsASheet {
				t := kinds[i%len(kinds)]
				t.Number = bundleOf(i + 1).Number
				if !yield(t, nil) {
					return
				}
			}
		}, nil)
		if err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*tagsASheet/b.Elapsed().Seconds(), "tags/s")
	b.ReportMetric(float64(b.N)*tagsASheet/(cpuSeconds(b)-cpu), "tags/cpu-s")
}

// cpuSeconds is the processor time that this program has used, which a busy machine does not
// lengthen as it does the clock's.
func cpuSeconds(b *testing.B) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

func BenchmarkPNG(b *testing.B) {
	for b.Loop() {
		if err := PNG(io.Discard, bundleOf(43), 300); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSVG(b *testing.B) {
	for b.Loop() {
		if err := SVG(io.Discard, bundleOf(43), 300); err != nil {
			b.Fatal(err)
		}
	}
}
