package align

import (
	"context"
	"errors"
	"image"
	"math"
	"sync"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// demo is the demo case, made once.
var demo = sync.OnceValue(func() phantom.Case { return phantom.Demo(1) })

// visit returns an exposure of the demo and its map from the object plane.
func visit(t *testing.T, id string) (*imaging.Image, phantom.Projection) {
	t.Helper()
	for _, e := range demo().Exposures {
		if e.ID == id {
			return e.Image, e.Truth.Projection
		}
	}
	t.Fatalf("no exposure %q", id)
	return nil, phantom.Projection{}
}

// TestDemo aligns the later visits of the demo case, in which the crown, the
// lesion and the canals change and the tube moves, with the first.
func TestDemo(t *testing.T) {
	before, j := visit(t, "pre")
	for _, id := range []string{"wl", "recall"} {
		after, k := visit(t, id)
		truth := homography(k.ToPixel).after(homography(j.ToMM))
		r, err := Images(context.Background(), before, after, Options{})
		if err != nil {
			t.Fatal(err)
		}
		rms, worst := missed(homography(r.Matrix), truth, before.Width, before.Height)
		t.Logf("%s: missed by %.3f px rms, %.3f at most; said %.3f", id, rms, worst, r.Residual)
		if rms > 0.1 || rms > 3*r.Residual {
			t.Errorf("%s: missed by %.3f px rms, said %.3f", id, rms, r.Residual)
		}
	}
}

func TestDemoSubtraction(t *testing.T) {
	before, _ := visit(t, "pre")
	after, _ := visit(t, "recall")
	d := subtracted(t, before, after)
	lesion := demo().Exposures[0].Truth.Lesion.Outline
	if !touches(d.Changed, image.Rect(int(lesion[0].X)-60, int(lesion[0].Y)-60, int(lesion[0].X)+60, int(lesion[0].Y)+60)) {
		t.Errorf("the lesion at %v healed, but is not among %v", lesion[0], d.Changed)
	}
	if part := beyond(d); part > 0.15 { // the crown was rebuilt, three canals were filled, half of the lesion healed
		t.Errorf("%.2f of the picture counts as changed", part)
	}
}

func TestMirroredIsRefusedAndFlipHelps(t *testing.T) {
	before, _ := visit(t, "pre")
	after, _ := visit(t, "recall")
	as, err := Images(context.Background(), before, after, Options{})
	if err != nil {
		t.Fatal(err)
	}
	turned := mirroredImage(after)
	_, err = Images(context.Background(), before, turned, Options{})
	var why *Refusal
	if !errors.Is(err, ErrMirrored) || !errors.As(err, &why) {
		t.Fatalf("mirrored: got %v", err)
	}
	r, err := Images(context.Background(), before, turned, Options{Flip: true})
	if err != nil {
		t.Fatal(err)
	}
	p := measure.Pt(400, 300)
	q := measure.Pt(float64(after.Width-1)-p.X, p.Y)
	if d := r.At(q).Dist(as.At(p)); d > 1e-6 {
		t.Errorf("the flipped picture lies %.3g px off", d)
	}
	if d := r.Inverse(r.At(q)).Dist(q); d > 1e-6 {
		t.Errorf("there and back misses by %.3g px", d)
	}
}

func mirroredImage(m *imaging.Image) *imaging.Image {
	out := *m
	out.Pix = make([]uint16, len(m.Pix))
	for y := range m.Height {
		for x := range m.Width {
			out.Pix[y*m.Width+m.Width-1-x] = m.Pix[y*m.Width+x]
		}
	}
	return &out
}

// missed compares with the truth (before → after) over the middle of the frame.
func missed(got, truth homography, w, h int) (rms, worst float64) {
	n := 0
	for i := range 9 {
		for j := range 13 {
			x, y := float64(w)*(0.1+0.1*float64(i)), float64(h)*(0.1+0.8/12*float64(j))
			u, v, _ := truth.apply(x, y)
			bx, by, _ := got.apply(u, v)
			d := math.Hypot(bx-x, by-y)
			rms += d * d
			worst = math.Max(worst, d)
			n++
		}
	}
	return math.Sqrt(rms / float64(n)), worst
}
