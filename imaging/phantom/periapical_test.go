package phantom

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"runtime"
	"testing"

	"rootrule/imaging"
	"rootrule/measure"
)

// geometries under which pixels and truth must agree.
func geometries() map[string]Geometry {
	base := Geometry{Width: 680, Height: 1000, PixelMM: 0.03}
	with := func(change func(*Geometry)) Geometry {
		g := base
		change(&g)
		return g
	}
	return map[string]Geometry{
		"plain":         base,
		"magnified":     with(func(g *Geometry) { g.Magnification = 1.06 }),
		"foreshortened": with(func(g *Geometry) { g.Magnification, g.Foreshortening = 1.04, 0.92 }),
		"warped":        with(func(g *Geometry) { g.Warp = Matrix{{1.012, 0.018, -12}, {-0.014, 0.988, 9}, {6e-6, -9e-6, 1}} }),
		"fine":          NewSpec(1).Geometry,
	}
}

// still is a spec without texture and noise.
func still(g Geometry) Spec {
	s := NewSpec(5)
	s.Geometry, s.Texture, s.File, s.Lesion = g, 0, nil, nil
	s.Beam = Beam{PSF: 1.3}
	return s
}

func TestCanalLiesOnItsCentreLine(t *testing.T) {
	for name, g := range geometries() {
		t.Run(name, func(t *testing.T) {
			img, truth := Periapical(still(g))
			k := truth.Canals[0]
			for s := 0.5; s < k.LengthMM-0.6; s += 0.37 {
				off := centroid(img, k.PixelAt(s-0.01), k.PixelAt(s+0.01), 0.75*0.4/g.PixelMM, -1)
				near(t, "canal off its line, px", off, 0, 0.1)
			}
		})
	}
}

func TestFileLiesOnItsLine(t *testing.T) {
	for name, g := range geometries() {
		t.Run(name, func(t *testing.T) {
			s := still(g)
			s.File = &FileSpec{LengthMM: 19, ShortMM: 1, DiameterMM: 0.15}
			img, truth := Periapical(s)
			f := truth.File
			near(t, "length", f.LengthMM, 19, 1e-12)
			for i := 4; i < len(f.Line)-20; i += 5 {
				off := centroid(img, f.Line[i+1], f.Line[i-1], 0.3/g.PixelMM, 1)
				near(t, "file off its line, px", off, 0, 0.1)
			}
			near(t, "file tip off, px", tipOff(img, f), 0, 0.5)
		})
	}
}

// centroid returns how far the dark (sign -1) or bright (+1) band that runs
// from a to b lies to the side of the middle between them, in px, against a
// straight ground between the profile's ends.
func centroid(img *imaging.Image, a, b measure.Point, half, sign float64) float64 {
	cx, cy, d := (a.X+b.X)/2, (a.Y+b.Y)/2, a.Dist(b)
	nx, ny := (b.Y-a.Y)/d, -(b.X-a.X)/d
	grey := func(u float64) float64 { return bilinear(img, cx+u*nx, cy+u*ny) }
	g0, g1 := grey(-half), grey(half)
	var sum, moment float64
	for u := -half; u <= half; u += half / 40 {
		v := sign * (grey(u) - (g0 + (g1-g0)*(u+half)/(2*half)))
		sum += v
		moment += u * v
	}
	return moment / sum
}

// tipOff is how far beyond the true tip the file's grey falls to half, in px.
func tipOff(img *imaging.Image, f *FileTruth) float64 {
	a, b := f.Line[3], f.Line[0]
	d := a.Dist(b)
	ux, uy := (b.X-a.X)/d, (b.Y-a.Y)/d
	grey := func(u float64) float64 { return bilinear(img, f.Tip.X+u*ux, f.Tip.Y+u*uy) }
	half := (grey(-5) + grey(5)) / 2
	for u := -5.0; u < 5; u += 0.01 {
		if grey(u) < half {
			return u
		}
	}
	return math.Inf(1)
}

func bilinear(img *imaging.Image, x, y float64) float64 {
	i, j := int(x), int(y)
	u, v := x-float64(i), y-float64(j)
	return (1-v)*((1-u)*img.At(i, j)+u*img.At(i+1, j)) + v*((1-u)*img.At(i, j+1)+u*img.At(i+1, j+1))
}

// The lesion is half as deep at the ellipse as in its middle: along rays that
// don't meet the root the grey is half-way there.
func TestLesionEdgeIsHalfWay(t *testing.T) {
	for name, g := range geometries() {
		t.Run(name, func(t *testing.T) {
			s := still(g)
			s.Canal.OrificeMM.Y = -8
			s.Lesion = &LesionSpec{SemiMM: [2]float64{2.6, 1.9}, RotationDeg: 25, BeyondMM: 2.2, EdgeMM: 0.1, Depth: 0.8}
			img, truth := Periapical(s)
			l := truth.Lesion
			for q := 0.0; q < 2*math.Pi; q += 0.1 {
				edge := l.shape.at(q)
				ray := edge.sub(l.CentreMM)
				if ray.Y < 0 { // towards the root
					continue
				}
				grey := func(k float64) float64 {
					p := truth.Pixel(l.CentreMM.add(k, ray))
					return bilinear(img, p.X, p.Y)
				}
				inside, outside := grey(0.6), grey(1.5)
				part := (grey(1) - inside) / (outside - inside)
				near(t, "part of the step at the edge", part, 0.5, 0.02)
			}
		})
	}
}

func TestLesionTruth(t *testing.T) {
	for name, g := range geometries() {
		t.Run(name, func(t *testing.T) {
			s := NewSpec(1)
			s.Geometry = g
			l := newTooth(s).truth().Lesion
			near(t, "area", l.AreaMM2, math.Pi*1.8*1.3, 1e-12)
			near(t, "longest diameter", l.LongMM, 3.6, 1e-12)
			near(t, "width", l.WideMM, 2.6, 1e-12)
			if name == "warped" {
				return // the ellipse's picture has no simple area
			}
			k := orOne(g.Magnification) / g.PixelMM
			near(t, "area in the picture", l.AreaPx2, l.AreaMM2*k*k*orOne(g.Foreshortening), 1e-6*l.AreaPx2)
		})
	}
}

// A warp moves the truth of the unwarped picture by the same matrix.
func TestWarpMovesTruth(t *testing.T) {
	all := geometries()
	plain, warped := NewSpec(1), NewSpec(1)
	plain.Geometry, warped.Geometry = all["plain"], all["warped"]
	a, b := newTooth(plain).truth(), newTooth(warped).truth()
	for i, p := range a.Canals[0].CentreLine {
		x, y := warped.Warp.apply(p.X, p.Y)
		near(t, "x", b.Canals[0].CentreLine[i].X, x, 1e-9)
		near(t, "y", b.Canals[0].CentreLine[i].Y, y, 1e-9)
	}
}

func digest(img *imaging.Image) [32]byte {
	b := make([]byte, 0, 2*len(img.Pix))
	for _, v := range img.Pix {
		b = binary.LittleEndian.AppendUint16(b, v)
	}
	return sha256.Sum256(b)
}

func TestEqualSeedsGiveEqualPixels(t *testing.T) {
	s := NewSpec(7)
	s.Width, s.Height = 400, 500
	a, _ := Periapical(s)
	before := runtime.GOMAXPROCS(1)
	b, _ := Periapical(s)
	runtime.GOMAXPROCS(before)
	if digest(a) != digest(b) {
		t.Error("the same seed gave other pixels on one processor")
	}
	s.Seed = 8
	if c, _ := Periapical(s); digest(a) == digest(c) {
		t.Error("another seed gave the same pixels")
	}
}

func TestToneKeepsToItsBits(t *testing.T) {
	for _, bits := range []int{8, 10, 12, 16} {
		s := NewSpec(3)
		s.Width, s.Height, s.Tone = 300, 450, Tone{Bits: bits, Gain: math.Exp2(float64(bits)), Gamma: 0.8, Offset: 3}
		img, _ := Periapical(s)
		if img.Bits != bits || img.High != math.Exp2(float64(bits))-1 {
			t.Errorf("%d bits: image says %d bits, white at %g", bits, img.Bits, img.High)
		}
		low, high := img.Pix[0], img.Pix[0]
		for _, v := range img.Pix {
			low, high = min(low, v), max(high, v)
		}
		if float64(high) != img.High || low < 3 {
			t.Errorf("%d bits: grey values %d to %d; the file must reach white, the air the offset", bits, low, high)
		}
	}
}

func BenchmarkPeriapical(b *testing.B) {
	s := NewSpec(1)
	for b.Loop() {
		Periapical(s)
	}
}
