package desk

import (
	"image"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"rootrule/measure"
)

// corner makes an image whose left upper quarter is white, so that what is
// shown where can be told.
func corner(w, h int) []byte {
	return greys(w, h, func(x, y int) uint16 { return white(x < w/2 && y < h/2) })
}

func white(yes bool) uint16 {
	if yes {
		return 0xffff
	}
	return 0
}

// seen returns whether the bench is white where an image point is shown.
func (r *rig) seen(x, y float64) bool {
	w, h := r.bench.area()
	frame := r.bench.draw(int(w), int(h)).(*image.RGBA)
	sx, sy := r.bench.view.Snapped().ToScreen(x, y)
	return frame.RGBAAt(int(sx+0.5), int(sy+0.5)).R > 128
}

// TestMarksStayOnTheAnatomy: in each of the eight lies what is drawn at a
// position of the image is that position's grey, and a click there marks it.
func TestMarksStayOnTheAnatomy(t *testing.T) {
	r := newRig(t)
	r.files["/x/corner.png"] = corner(400, 300)
	r.OpenFiles([]string{"/x/corner.png"})
	r.inEveryLie(func(lie string) {
		for _, p := range [][2]float64{{100, 75}, {300, 75}, {100, 225}, {300, 225}} {
			if got, want := r.seen(p[0], p[1]), p[0] < 200 && p[1] < 150; got != want {
				t.Fatalf("%q: white at %v is %v, want %v", lie, p, got, want)
			}
		}
	})
	r.inEveryLie(func(lie string) {
		r.key(fyne.KeyT)
		r.clicks([2]float64{60, 40}, [2]float64{90, 120}, [2]float64{110, 200})
		r.key(fyne.KeyReturn)
		canals := r.session.saved().Canals
		for i, want := range []measure.Point{measure.Pt(60, 40), measure.Pt(90, 120), measure.Pt(110, 200)} {
			if got := canals[len(canals)-1].Marks[i]; got.Dist(want) > 0.71/r.bench.view.Scale {
				t.Fatalf("%q: a click on %v marks %v", lie, want, got)
			}
		}
	})
}

// inEveryLie calls check with the image shown in each of the eight ways.
func (r *rig) inEveryLie(check func(lie string)) {
	for step := range 8 {
		check(turnWords(r.session.saved()))
		if step%4 == 3 {
			r.flip(r.session.image)
		} else {
			r.turnBy(r.session.image, 90)
		}
	}
}

func TestFlipIsToldAndUndone(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.traced()
	length := r.value("canal 46 MB", measure.WhatLength)
	r.flip(r.session.image)
	if !r.storedMarks().Images[0].Mirrored || !strings.Contains(r.guide.text, "left and right exchanged") {
		t.Errorf("the flip is not kept or not told: %q", r.guide.text)
	}
	if got := r.value("canal 46 MB", measure.WhatLength); got != length {
		t.Errorf("the flip changes a length from %g to %g", length, got)
	}
	f, _ := r.session.finding("canal 46 MB", measure.WhatLength)
	if !strings.Contains(strings.Join(f.Cautions, " "), "mirrored") {
		t.Errorf("the length has no caution: %q", f.Cautions)
	}
	r.key(fyne.KeyRight)
	r.undo()
	if r.session.saved().Mirrored || r.bench.view.Turn != 0 {
		t.Errorf("after undo: %+v", r.bench.view)
	}
}

// TestFlipOfATurnedImage exchanges left and right as they are seen.
func TestFlipOfATurnedImage(t *testing.T) {
	r := opened(t)
	id := r.session.image
	r.turnBy(id, 90)
	x, y := r.bench.view.ToScreen(100, 700)
	w, _ := r.bench.area()
	r.flip(id)
	if fx, fy := r.bench.view.ToScreen(100, 700); !near2(fx, w-1-x, 1) || !near2(fy, y, 1) {
		t.Errorf("(%g, %g) is flipped to (%g, %g) on a bench %g wide", x, y, fx, fy, w)
	}
}

// TestArrowsGoAsSeen: on a turned image the arrow to the right moves a mark to
// the right of the screen.
func TestArrowsGoAsSeen(t *testing.T) {
	r := opened(t)
	r.traced()
	r.turnBy(r.session.image, 90)
	r.selected = grip{item{canal, 0}, 3}
	at := func() (float64, float64) {
		m := r.session.saved().Canals[0].Marks[3]
		return r.bench.view.ToScreen(m.X, m.Y)
	}
	x, y := at()
	r.key(fyne.KeyRight)
	if nx, ny := at(); !near2(nx-x, 0.1*r.bench.view.Scale, 1e-9) || !near2(ny, y, 1e-9) {
		t.Errorf("the arrow to the right moves by (%g, %g)", nx-x, ny-y)
	}
}
