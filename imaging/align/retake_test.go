package align

import (
	"math"
	"math/rand/v2"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
)

// The tests make their pairs from phantoms without noise, so that the noise of
// the two exposures is independent and one phantom serves many trials.

// clean is the tone of pictures without noise: grey values in proportion to
// attenuation, 0–3 over the whole range.
const cleanGain = 21845

// cleanSpec is a tooth without noise: the anatomy and the bone are those of the
// patient, the detector has px mm pixels.
func cleanSpec(patient uint64, px float64) phantom.Spec {
	r := rand.New(rand.NewPCG(patient, 1))
	in := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	s := phantom.NewSpec(patient)
	s.Width, s.Height, s.PixelMM = int(20/px), int(30/px), px
	s.File = nil
	s.Canal = phantom.CanalSpec{
		OrificeMM: phantom.MM{X: in(-3, 2), Y: in(-7, -5)}, TiltDeg: in(-8, 8),
		StraightMM: in(7, 10), RadiusMM: in(6, 12), AngleDeg: in(5, 50),
	}
	if r.Float64() < 0.4 {
		s.Canal.AngleDeg = -s.Canal.AngleDeg
	}
	s.Lesion = &phantom.LesionSpec{SemiMM: [2]float64{in(1, 2.4), in(0.8, 1.8)}, RotationDeg: in(-40, 40), BeyondMM: 0.6, EdgeMM: 0.12, Depth: 0.8}
	s.Beam = phantom.Beam{PSF: 1.3}
	s.Tone = phantom.Tone{Gain: cleanGain}
	return s
}

// exposure is how a picture without noise becomes a radiograph.
type exposure struct {
	seed                uint64
	photons             float64
	gain, gamma, offset float64
}

// retake makes a radiograph of a picture without noise: quantum noise by its
// normal approximation, electronic noise of 25 quanta, and a tone curve.
func retake(clean *imaging.Image, e exposure) *imaging.Image {
	r := rand.New(rand.NewPCG(e.seed, 2))
	out := *clean
	out.Pix = make([]uint16, len(clean.Pix))
	for i, v := range clean.Pix {
		n := e.photons * math.Exp(-float64(v)/cleanGain)
		n += math.Sqrt(n)*r.NormFloat64() + 25*r.NormFloat64()
		a := min(max(-math.Log(max(n, 1)/e.photons)/3, 0), 1)
		out.Pix[i] = uint16(min(max(e.offset+3*e.gain*math.Pow(a, e.gamma), 0), 65535))
	}
	return &out
}

// randomExposure is one of the exposures that the trials draw from.
func randomExposure(r *rand.Rand) exposure {
	in := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	return exposure{r.Uint64(), in(2000, 8000), in(6000, 14000), in(0.75, 1.3), in(0, 2000)}
}

// randomWarp turns by up to 8°, scales by up to 10 %, shifts by up to 8 % of
// the width and tilts, about the middle of a w × h picture.
func randomWarp(r *rand.Rand, w, h int, perspective float64) homography {
	in := func(reach float64) float64 { return reach * (2*r.Float64() - 1) }
	sin, cos := math.Sincos(in(8) * math.Pi / 180)
	k, along := 1+in(0.1), 1+in(0.03)
	cx, cy := float64(w-1)/2, float64(h-1)/2
	back := homography{{1, 0, cx + in(0.08)*float64(w)}, {0, 1, cy + in(0.08)*float64(w)}, {0, 0, 1}}
	turn := homography{{k * cos, -k * along * sin, 0}, {k * sin, k * along * cos, 0}, {in(perspective) / cx, in(perspective) / cy, 1}}
	return back.after(turn).after(homography{{1, 0, -cx}, {0, 1, -cy}, {0, 0, 1}}).normal()
}

// warped is a picture moved by h (before → after), by cubic interpolation; what
// lies outside is open beam.
func warped(m *imaging.Image, h homography) *imaging.Image {
	out := *m
	out.Pix = make([]uint16, len(m.Pix))
	back := h.inverse()
	for y := range m.Height {
		for x := range m.Width {
			u, v, _ := back.apply(float64(x), float64(y))
			if z, ok := cubicAt(m, u, v); ok {
				out.Pix[y*m.Width+x] = uint16(max(z, 0) + 0.5)
			}
		}
	}
	return &out
}
