package desk

import (
	"image"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

func (r *rig) scroll(x, y, notches float32) {
	ev := &fyne.ScrollEvent{Scrolled: fyne.NewDelta(0, 25*notches)}
	ev.Position = fyne.NewPos(x, y)
	r.bench.Scrolled(ev)
}

func TestWheelZoomsAboutTheMouse(t *testing.T) {
	r := opened(t)
	for _, at := range [][2]float32{{350, 300}, {200, 420}, {600, 180}} {
		for _, notches := range []float32{1, 1, 3, -2, 5, -6} {
			x, y := r.bench.view.ToImage(float64(at[0]), float64(at[1]))
			before := r.bench.view.Scale
			r.scroll(at[0], at[1], notches)
			sx, sy := r.bench.view.ToScreen(x, y)
			if math.Hypot(sx-float64(at[0]), sy-float64(at[1])) > 1e-6 {
				t.Fatalf("zooming by %g notches at %v moved the point under the mouse to (%g, %g)", notches, at, sx, sy)
			}
			if got, want := r.bench.view.Scale/before, math.Exp2(float64(notches)/4); math.Abs(got/want-1) > 1e-9 {
				t.Fatalf("%g notches zoom by %g, want %g", notches, got, want)
			}
		}
	}
}

func TestPan(t *testing.T) {
	for _, c := range []struct {
		name   string
		button desktop.MouseButton
		before func(*rig)
	}{
		{"empty space", desktop.MouseButtonPrimary, func(*rig) {}},
		{"middle button", desktop.MouseButtonTertiary, func(r *rig) { r.key(fyne.KeyT) }},
		{"Space held during a task", desktop.MouseButtonPrimary, func(r *rig) {
			r.key(fyne.KeyT)
			r.bench.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
		}},
	} {
		r := opened(t)
		r.bench.zoom(300, 300, 4)
		c.before(r)
		before := r.bench.view
		r.pull(500, 400, 520, 390, c.button)
		if got := r.bench.view; !near2(got.X-before.X, 20*before.Scale, 1) || !near2(got.Y-before.Y, -10*before.Scale, 1) {
			t.Errorf("%s: a drag by (20, −10) image px moved the picture from %+v to %+v", c.name, before, got)
		}
		if len(r.session.saved().Canals) != 0 || r.task != nil && len(r.task.points) != 0 {
			t.Errorf("%s: the drag left a mark", c.name)
		}
	}
}

func TestSecondaryDragPans(t *testing.T) {
	r := opened(t)
	r.bench.zoom(300, 300, 4)
	r.key(fyne.KeyT)
	before := r.bench.view
	from := r.on(500, 400)
	r.bench.MouseDown(&desktop.MouseEvent{Button: desktop.MouseButtonSecondary, PointEvent: fyne.PointEvent{Position: from}})
	r.bench.MouseMoved(&desktop.MouseEvent{Button: desktop.MouseButtonSecondary, PointEvent: fyne.PointEvent{Position: from.AddXY(30, 12)}})
	r.bench.MouseUp(&desktop.MouseEvent{Button: desktop.MouseButtonSecondary, PointEvent: fyne.PointEvent{Position: from.AddXY(30, 12)}})
	if got := r.bench.view; got.X-before.X != 30 || got.Y-before.Y != 12 {
		t.Errorf("the picture moved by (%g, %g)", got.X-before.X, got.Y-before.Y)
	}
	if r.task == nil {
		t.Error("the drag ended the task as a click would")
	}
}

func TestWindowAndLevelByDragChangeNoFinding(t *testing.T) {
	for _, mode := range []string{"B", "W held"} {
		r := opened(t)
		r.calibrated()
		r.traced()
		findings, window, view := asJSON(t, r.State().Findings), r.bench.window, r.bench.view
		if mode == "B" {
			r.key(fyne.KeyB)
		} else {
			r.bench.KeyDown(&fyne.KeyEvent{Name: fyne.KeyW})
		}
		r.pull(300, 300, 380, 200, desktop.MouseButtonPrimary) // right: contrast, up: brighter
		w := r.bench.window
		if w.High-w.Low >= window.High-window.Low || w.Low+w.High >= window.Low+window.High {
			t.Errorf("%s: window %+v became %+v", mode, window, w)
		}
		if r.bench.view != view || asJSON(t, r.State().Findings) != findings {
			t.Errorf("%s: the drag changed more than the greys", mode)
		}
		r.key(fyne.KeyI)
		if !r.bench.window.Invert {
			t.Errorf("%s: I doesn't invert", mode)
		}
		r.key(fyne.KeyR)
		if r.bench.window != window {
			t.Errorf("%s: R leaves %+v, the image opened with %+v", mode, r.bench.window, window)
		}
	}
}

func TestFitAndOneToOne(t *testing.T) {
	r := opened(t)
	fitted := r.bench.view
	r.key(fyne.Key1)
	if r.bench.view.Scale != 1 {
		t.Errorf("1:1 is %g", r.bench.view.Scale)
	}
	r.key(fyne.KeyF)
	if r.bench.view != fitted {
		t.Errorf("the whole image is shown at %+v, before at %+v", r.bench.view, fitted)
	}
	r.win.Resize(fyne.NewSize(1600, 1000))
	if r.bench.view.Scale <= fitted.Scale {
		t.Error("a fitted image doesn't grow with the window")
	}
}

// TestFrameShowsPictureAndMarks draws a frame and looks where the canal is.
func TestFrameShowsPictureAndMarks(t *testing.T) {
	r := opened(t)
	w, h := r.bench.area()
	bare := *r.bench.draw(int(w), int(h)).(*image.RGBA)
	bare.Pix = append([]uint8(nil), bare.Pix...)
	r.traced()
	r.selected = nowhere
	r.move(900, 700)
	marked := r.bench.draw(int(w), int(h)).(*image.RGBA)
	changed := func(x, y float64) bool {
		sx, sy := r.bench.view.Snapped().ToScreen(x, y)
		p := image.Pt(int(math.Round(sx)), int(math.Round(sy)))
		return bare.RGBAAt(p.X, p.Y) != marked.RGBAAt(p.X, p.Y)
	}
	if !changed(300, 230) || !changed(300, 440) {
		t.Error("the canal isn't drawn where its marks are")
	}
	if changed(330, 440) || changed(700, 600) {
		t.Error("something is drawn where no mark is")
	}
	// the apex itself stays in sight: its triangle stands beyond it
	if changed(308, 500) || changed(292, 500) || changed(300, 520) == changed(300, 511) {
		t.Error("the glyph doesn't leave the apex in sight")
	}
}

// BenchmarkFrame draws the bench with a calibration and four canals: the
// callback of a frame, without the toolkit's paint and swap.
func BenchmarkFrame(b *testing.B) {
	r := opened(b)
	r.calibrated()
	for i := range 4 {
		r.key(fyne.KeyT)
		for y := 200.0; y < 600; y += 80 {
			r.click(300+50*float64(i), y)
		}
		r.key(fyne.KeyReturn)
	}
	for _, c := range []struct {
		name string
		dx   float64
	}{{"still", 0}, {"pan", 1}} {
		b.Run(c.name, func(b *testing.B) {
			for i := range b.N {
				r.bench.view = r.bench.view.Pan(c.dx*float64(i%2*2-1), 0)
				r.bench.draw(900, 680)
			}
		})
	}
}
