package symbol

import "testing"

func BenchmarkPair(b *testing.B) {
	for b.Loop() {
		if _, err := Code128("10010000004205"); err != nil {
			b.Fatal(err)
		}
		if _, err := QR("HTTPS://TAGS.EXAMPLE/T/10010000004205/C1/J24-118/L3/MB1204/S%235/N40/HH12345", LevelQ); err != nil {
			b.Fatal(err)
		}
	}
}
func BenchmarkCode128(b *testing.B) {
	for b.Loop() {
		if _, err := Code128("10010000004205"); err != nil {
			b.Fatal(err)
		}
	}
}
