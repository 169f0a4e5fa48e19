package report

import (
	"image"
	"testing"

	"rootrule/imaging"
	"rootrule/measure"
)

// flat is a grey picture without structure.
func flat(w, h int) *imaging.Image {
	m := &imaging.Image{Width: w, Height: h, Bits: 8, Pix: make([]uint16, w*h)}
	for i := range m.Pix {
		m.Pix[i] = 90
	}
	return m
}

// brightest returns the brightest red within 3 px of an image position.
func brightest(f *image.RGBA, m *imaging.Image, p measure.Point) uint8 {
	scale := float64(f.Bounds().Dx()) / float64(m.Width)
	cx, cy := int((p.X+0.5)*scale), int((p.Y+0.5)*scale)
	best := uint8(0)
	for y := cy - 3; y <= cy+3; y++ {
		for x := cx - 3; x <= cx+3; x++ {
			best = max(best, f.RGBAAt(x, y).R)
		}
	}
	return best
}

func TestFigureDrawsWhereTheMarksAre(t *testing.T) {
	m := flat(400, 300)
	canal := measure.Canal{Tooth: "37", Name: "D", Marks: []measure.Point{measure.Pt(100, 40), measure.Pt(105, 120), measure.Pt(140, 220)}}
	lesion := measure.Lesion{Tooth: "37", Name: "D", Outline: []measure.Point{measure.Pt(250, 200), measure.Pt(290, 230), measure.Pt(250, 260), measure.Pt(210, 230)}}
	marks := measure.ImageMarks{ID: "pre", Canals: []measure.Canal{canal}, Lesions: []measure.Lesion{lesion}}
	all := measure.Marks{Version: 1, Images: []measure.ImageMarks{marks}}
	f, err := Figure(m, marks, measure.Compute(all, measure.Given{}))
	if err != nil {
		t.Fatal(err)
	}
	if f.Bounds().Dx() != figureSide {
		t.Errorf("width %d, want %d", f.Bounds().Dx(), figureSide)
	}
	for _, p := range append(measure.CentreLine(canal.Marks), measure.ClosedOutline(lesion.Outline)...) {
		if got := brightest(f, m, p); got < 200 {
			t.Fatalf("nothing drawn at (%.1f, %.1f): brightest %d", p.X, p.Y, got)
		}
	}
	if got := brightest(f, m, measure.Pt(350, 40)); got != 90 {
		t.Errorf("the picture changed away from marks: %d, want 90", got)
	}
}

func TestLabelsKeepOffEachOther(t *testing.T) {
	dst := image.NewRGBA(image.Rect(0, 0, 600, 400))
	pen, err := newInk(dst, 20)
	if err != nil {
		t.Fatal(err)
	}
	f := &figure{ink: pen, scale: 1}
	for range 6 {
		f.label(pt{300, 380}, "MB  20.3 ± 0.6 mm", lineColour)
	}
	for i, a := range f.taken {
		if !a.In(dst.Bounds()) {
			t.Errorf("label %d at %v is cut off", i, a)
		}
		for j, b := range f.taken[:i] {
			if a.Overlaps(b) {
				t.Errorf("labels %d and %d overlap: %v, %v", i, j, a, b)
			}
		}
	}
}

func TestDashes(t *testing.T) {
	got := dashes([]pt{{0, 0}, {10, 0}, {10, 10}}, 4)
	want := [][2]pt{{{0, 0}, {4, 0}}, {{8, 0}, {10, 2}}, {{10, 6}, {10, 10}}}
	if len(got) != len(want) {
		t.Fatalf("%d dashes, want %d: %v", len(got), len(want), got)
	}
	for i, d := range got {
		if d[0] != want[i][0] || d[len(d)-1] != want[i][1] {
			t.Errorf("dash %d from %v to %v, want %v", i, d[0], d[len(d)-1], want[i])
		}
	}
}
