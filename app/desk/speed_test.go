package desk

import (
	"testing"

	"fyne.io/fyne/v2"
)

// wholeSize is a rig with a 16-bit image of 2000×1500 on the bench, marked.
func wholeSize(b *testing.B) *rig {
	b.Helper()
	r := newRig(b)
	r.files["/x/whole.png"] = picture(2000, 1500, 7)
	r.OpenFiles([]string{"/x/whole.png"})
	if r.session == nil || !r.session.ready {
		b.Fatalf("the image is not on the bench: %q", r.guide.error())
	}
	r.anyMarks()
	return r
}

// BenchmarkFrameOfTools draws the bench of a small window with the view tools
// on: the callback of a frame while the picture is moved, without the
// toolkit's paint and swap.
func BenchmarkFrameOfTools(b *testing.B) {
	for name, keys := range map[string][]fyne.KeyName{"plain": nil, "enhanced": {fyne.Key4, fyne.Key5}, "ruler": {fyne.Key6}, "profile": {fyne.Key7}} {
		b.Run(name, func(b *testing.B) {
			r := wholeSize(b)
			r.key(keys...)
			r.key(fyne.Key1)
			w, h := r.bench.area()
			for i := 0; b.Loop(); i++ {
				r.bench.view.X += float64(1 - 2*(i%2)) // a step of a drag: nothing is reused
				r.bench.draw(int(w), int(h))
			}
		})
	}
}

// BenchmarkFirstImage opens a case as a new start does, up to the frame that
// shows its image: reading, decoding, findings, drawing. The rest (small
// pictures, windows by purpose) comes after it.
func BenchmarkFirstImage(b *testing.B) {
	r := wholeSize(b)
	id := r.session.kase.ID()
	for b.Loop() {
		c, err := r.book.Case(id)
		if err != nil {
			b.Fatal(err)
		}
		first := true
		r.beside = func(work func()) { // only what the first frame waits for
			if first {
				first = false
				work()
			}
		}
		r.OpenCase(c)
		w, h := r.bench.area()
		r.bench.draw(int(w), int(h))
	}
}

// BenchmarkStart builds the desk and shows the case that was open last, as a
// new start does after the toolkit's own.
func BenchmarkStart(b *testing.B) {
	r := wholeSize(b)
	for b.Loop() {
		d := New(Options{Window: r.win, Book: r.book, ReadFile: r.read})
		d.beside = func(func()) {}
		d.OpenLast()
	}
}
