package desk

import (
	"testing"

	"fyne.io/fyne/v2"
)

// BenchmarkPair draws the demo case at 1200×800 while it is moved: one image,
// and two in each way.
func BenchmarkPair(b *testing.B) {
	r := demoRig(b)
	run := func(name string) {
		b.Run(name, func(b *testing.B) {
			for i := range b.N {
				r.bench.view.X += float64(i%2)*2 - 1
				r.bench.draw(1200, 800)
				if r.pair.beside() {
					r.side.draw(600, 800)
				}
			}
		})
	}
	r.key(fyne.Key1)
	run("one image")
	r.key(fyne.KeyV)
	r.key(fyne.Key1)
	run("side by side")
	for _, c := range []struct {
		name string
		key  fyne.KeyName
	}{{"split", fyne.KeyX}, {"difference", fyne.KeyD}} {
		r.key(c.key)
		r.key(fyne.Key1)
		run(c.name)
	}
}
