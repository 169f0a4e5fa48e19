package phantom

import "testing"

func BenchmarkPeriapical(b *testing.B) {
	for b.Loop() {
		Periapical(NewSpec(1))
	}
}

func BenchmarkDemoExposure(b *testing.B) {
	for b.Loop() {
		demoVisits()[0].expose(1, 0)
	}
}
