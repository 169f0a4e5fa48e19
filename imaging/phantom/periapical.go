package phantom

import (
	"math"

	"rootrule/imaging"
)

// Spec describes a phantom of one tooth with one canal. Start from [NewSpec]
// and change what matters; the zero values of File, Lesion and Texture leave
// these things out.
type Spec struct {
	Seed uint64 // of bone texture and noise
	Geometry
	Canal   CanalSpec
	File    *FileSpec
	Lesion  *LesionSpec
	Texture float64 // depth of the bone texture, 0–0.3; 0 is even bone
	Beam    Beam
	Tone    Tone
}

// CanalSpec is a canal: straight from the orifice, then an arc, then straight
// again for TailMM (0: the arc ends at the apex). An AngleDeg of 0 makes it
// straight throughout, with StraightMM its whole length.
type CanalSpec struct {
	OrificeMM  MM
	TiltDeg    float64 // of the long axis, from straight down, positive to the right
	StraightMM float64
	RadiusMM   float64
	AngleDeg   float64 // between the tangents; positive bends to the right
	TailMM     float64
}

// FileSpec is an instrument that lies in the canal, from the stop to the tip.
type FileSpec struct {
	LengthMM   float64 // tip to stop, along the instrument
	ShortMM    float64 // from the tip to the apex; negative: beyond it
	DiameterMM float64 // at the tip; 2 % taper above it (ISO 3630-1)
}

// LesionSpec is an elliptical radiolucency whose edge is half as deep, at the
// ellipse, as its middle.
type LesionSpec struct {
	SemiMM      [2]float64 // semi-axes
	RotationDeg float64    // of the first axis from x, clockwise in the picture
	BeyondMM    float64    // of the centre beyond the apex, along the apical tangent
	EdgeMM      float64    // of the logistic edge: 10–90 % over 4.4 × this
	Depth       float64    // part of the bone that is lost, 0–1
}

// NewSpec returns a lower molar root of 9 mm + 30° at 8 mm radius with a 21 mm
// file and a lesion, on a detector of 1000 × 1500 pixels of 0.02 mm.
func NewSpec(seed uint64) Spec {
	return Spec{
		Seed:     seed,
		Geometry: Geometry{Width: 1000, Height: 1500, PixelMM: 0.02, Magnification: 1, Foreshortening: 1, Warp: Identity},
		Canal:    CanalSpec{OrificeMM: MM{0, -6}, TiltDeg: 4, StraightMM: 9, RadiusMM: 8, AngleDeg: 30},
		File:     &FileSpec{LengthMM: 21, ShortMM: 1, DiameterMM: 0.15},
		Lesion:   &LesionSpec{SemiMM: [2]float64{1.8, 1.3}, RotationDeg: 25, BeyondMM: 0.6, EdgeMM: 0.12, Depth: 0.8},
		Texture:  0.07,
		Beam:     Beam{Photons: 6000, GaussSD: 25, PSF: 1.3},
		Tone:     Tone{Bits: 16, Gain: 9000, Gamma: 1},
	}
}

// Periapical makes the radiograph of a spec, and its truth. It panics on a
// spec that can't be drawn: no size, no length, no room for an arc.
func Periapical(spec Spec) (*imaging.Image, Truth) {
	t := newTooth(spec)
	img := expose(spec.Seed, spec.Geometry, spec.Beam, spec.Tone, t.attenuation)
	return img, t.truth()
}

// line returns the centre line from the orifice to the apex.
func (c CanalSpec) line() Line {
	segments := []Segment{{Length: c.StraightMM}}
	if c.AngleDeg != 0 {
		if c.RadiusMM <= 0 {
			panic("phantom: a curved canal needs a radius")
		}
		rad := c.AngleDeg * math.Pi / 180
		segments = append(segments, Segment{c.RadiusMM * math.Abs(rad), math.Copysign(1/c.RadiusMM, rad)})
	}
	if c.TailMM > 0 {
		segments = append(segments, Segment{Length: c.TailMM})
	}
	return NewLine(c.OrificeMM, c.TiltDeg, segments...)
}

// tooth is the object of a spec.
type tooth struct {
	Spec
	line   Line
	bone   *trabeculae
	lesion *ellipse
	tip    float64 // arc lengths of the file's ends
	stop   float64

	pixelHalf float64 // half a pixel, in the object plane
}

func newTooth(spec Spec) *tooth {
	t := &tooth{Spec: spec, line: spec.Canal.line(), pixelHalf: spec.PixelMM / orOne(spec.Magnification) / 2}
	if spec.Texture != 0 {
		t.bone = newTrabeculae(spec.Seed)
	}
	if f := spec.File; f != nil {
		t.tip = t.line.Length() - f.ShortMM
		t.stop = t.tip - f.LengthMM
	}
	if l := spec.Lesion; l != nil {
		centre := t.line.At(t.line.Length() + l.BeyondMM)
		t.lesion = newEllipse(centre, l.SemiMM, l.RotationDeg)
	}
	return t
}

// Attenuation per mm, of the order of dental energies (60–70 kV). Chosen for
// the contrasts a radiograph shows, no source.
const (
	muBone   = 0.055
	muDentin = 0.115
	muEnamel = 0.26
	muSoft   = 0.02
	muFile   = 4.2
)

// Shape of the simple tooth, in mm; of the order of tooth tables (a lower molar
// root of 13 mm under a crown of 7 mm), no exact source.
const (
	crownHeight = 8.0
	pdlWidth    = 0.2
	boneDepth   = 8.0
	softDepth   = 10.0
	crestBelow  = 2.0 // the alveolar crest below the orifice
)

func (t *tooth) attenuation(p MM) float64 {
	s, d := t.line.Nearest(p)
	r := t.rootRadius(s)
	body := chord(r, d)
	enamel := 0.0
	if s < -0.5 {
		enamel = body - chord(max(r-min(1.1, 0.3*(-0.5-s)), 0), d) // 1.1 mm thick, ending in an edge
	}
	canal := t.canalChord(s, d)
	bone := boneDepth * logistic((p.Y-t.Canal.OrificeMM.Y-crestBelow)/0.25)
	if t.bone != nil {
		bone *= 1 + t.Texture*t.bone.at(p)
	}
	bone -= min(body, bone) / 2
	if s > 1 && r > 0 {
		bone -= min((chord(r+pdlWidth, d)-body)/2, bone)
	}
	if t.lesion != nil {
		bone *= 1 - t.Lesion.Depth*logistic(t.lesion.depth(p)/t.Lesion.EdgeMM)
	}
	return muBone*bone + muDentin*max(body-canal-enamel, 0) + muEnamel*enamel +
		muSoft*(softDepth+canal) + t.instrument(s, d)
}

// rootRadius is the half-width of the tooth: a root from 2.6 to 0.7 mm, rounded
// half a millimetre past the apex, and a crown above the orifice.
func (t *tooth) rootRadius(s float64) float64 {
	length := t.line.Length()
	if s >= 0 {
		r := 2.6 - 1.9*min(s/length, 1)
		if over := s - (length - 0.2); over > 0 {
			r *= math.Sqrt(max(1-over*over/(0.7*0.7), 0))
		}
		return r
	}
	if s < -crownHeight {
		return 0
	}
	r := 2.6 + 1.6*math.Sin(min(-s/7.5, 1)*0.75*math.Pi)
	top := max(-s-5.5, 0) / (crownHeight - 5.5)
	return r * math.Sqrt(max(1-top*top, 0))
}

// canalChord is the path through the pulp: a canal tapering from 0.45 to
// 0.18 mm radius, and a chamber above the orifice.
func (t *tooth) canalChord(s, d float64) float64 {
	switch {
	case s >= t.line.Length() || s <= -3:
		return 0
	case s < 0:
		return chord(0.45-0.25*s, d)
	}
	return chord(0.45-0.27*s/t.line.Length(), d)
}

func (t *tooth) instrument(s, d float64) float64 {
	if t.File == nil {
		return 0
	}
	switch {
	case s > t.stop && s < t.tip:
		return muFile * meanChord(t.File.DiameterMM/2+0.01*(t.tip-s), d, t.pixelHalf)
	case s > t.stop-0.8 && s <= t.stop && math.Abs(d) < 1: // the rubber stop, 2 × 0.8 mm
		return 0.6
	}
	return 0
}

// chord is the path of a ray at distance d through a cylinder of radius r.
func chord(r, d float64) float64 {
	if q := r*r - d*d; q > 0 {
		return 2 * math.Sqrt(q)
	}
	return 0
}

// meanChord is the mean of the chord over distances d ± h: a thin bright edge
// sampled at points only would seem to jump by a tenth of a pixel.
func meanChord(r, d, h float64) float64 {
	d = math.Abs(d)
	if d-h >= r {
		return 0
	}
	area := func(x float64) float64 { // of the half disc between 0 and x, twice
		x = min(max(x, -r), r)
		return x*math.Sqrt(r*r-x*x) + r*r*math.Asin(x/r)
	}
	return (area(d+h) - area(d-h)) / (2 * h)
}

// logistic rises from 0 to 1, ½ at 0.
func logistic(x float64) float64 {
	switch {
	case x > 20: // e^-20 = 2e-9, far below a grey value
		return 1
	case x < -20:
		return 0
	}
	return 1 / (1 + math.Exp(-x))
}

// ellipse is an ellipse of the object plane.
type ellipse struct {
	centre   MM
	semi     [2]float64
	sin, cos float64 // of the first axis
}

func newEllipse(centre MM, semi [2]float64, rotationDeg float64) *ellipse {
	sin, cos := math.Sincos(rotationDeg * math.Pi / 180)
	return &ellipse{centre, semi, sin, cos}
}

// at is the point at parameter angle q.
func (e *ellipse) at(q float64) MM {
	sin, cos := math.Sincos(q)
	u, v := e.semi[0]*cos, e.semi[1]*sin
	return MM{e.centre.X + u*e.cos - v*e.sin, e.centre.Y + u*e.sin + v*e.cos}
}

// depth is the distance from the edge along the ray through the centre,
// positive inside, 0 exactly on the ellipse.
func (e *ellipse) depth(p MM) float64 {
	r := p.sub(e.centre)
	u, v := r.X*e.cos+r.Y*e.sin, r.Y*e.cos-r.X*e.sin
	k := math.Sqrt(u*u/(e.semi[0]*e.semi[0]) + v*v/(e.semi[1]*e.semi[1]))
	if k < 1e-9 { // the centre itself
		return min(e.semi[0], e.semi[1])
	}
	return (1 - k) * r.norm() / k
}

func (e *ellipse) outline(n int) []MM {
	out := make([]MM, n)
	for i := range out {
		out[i] = e.at(2 * math.Pi * float64(i) / float64(n))
	}
	return out
}

func (t *tooth) truth() Truth {
	j := t.Projection()
	c := t.Canal
	name := canalName{Tooth: "46", Canal: "D"}
	length := t.line.Length()
	truth := Truth{
		Projection: j,
		Canals: []CanalTruth{newCanalTruth(j, name, t.line, canalShape{
			curve: c.StraightMM, apex: length, radius: c.RadiusMM, angle: math.Abs(c.AngleDeg), tail: c.TailMM,
		})},
	}
	if t.File != nil {
		truth.File = newFileTruth(j, name, t.line, t.tip, t.stop)
	}
	if t.lesion != nil {
		truth.Lesion = newLesionTruth(j, name, t.lesion)
	}
	return truth
}
