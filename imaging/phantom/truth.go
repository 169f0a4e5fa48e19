package phantom

import (
	"math"

	"rootrule/measure"
)

// Truth is what is in a picture, exactly. Positions ending in MM are in the
// object plane, the others are pixels of the picture.
type Truth struct {
	Projection
	Canals   []CanalTruth
	File     *FileTruth     // nil without one
	Lesion   *LesionTruth   // nil without one
	Fillings []FillingTruth // of root-filled canals
	// Landmarks are points of structures that treatment leaves alone, in the
	// same order in every exposure of a case.
	Landmarks []Landmark
	// Crown holds the mesial and the distal contact point of the demo tooth,
	// 10.5 mm apart.
	Crown [2]measure.Point
}

// Landmark is a named point.
type Landmark struct {
	Name string
	At   measure.Point
}

// CanalTruth is one canal. Its line in the object plane is LineMM; ReferenceS,
// OrificeS, CurveS and ApexS are arc lengths along it (mm) of the coronal
// reference point, the orifice, the start of the arc and the apex.
type CanalTruth struct {
	Tooth, Name                         string
	LineMM                              Line
	ReferenceS, OrificeS, CurveS, ApexS float64
	LengthMM                            float64 // orifice to apex, along the canal
	ReferenceLengthMM                   float64 // coronal reference point to apex, along the canal
	StraightMM                          float64 // orifice to the start of the arc
	RadiusMM, TailMM                    float64
	AngleDeg                            float64 // between the tangents (Weine, Pruett), unsigned
	SchneiderDeg                        float64 // AngleDeg/2 without a tail
	DepthMM                             float64 // of the canal out of the plane, positive to the lingual

	Reference, Orifice, CurveStart, Apex measure.Point
	CentreLine                           []measure.Point // from reference to apex, evenly in arc length
	LengthPx                             float64         // orifice to apex in the picture
	SchneiderImageDeg                    float64         // the same construction in the picture, where foreshortening and warp change it

	project Projection
}

// FileTruth is an instrument in place: Line[0] is the tip, the last point the
// stop.
type FileTruth struct {
	Tooth, Canal string
	LengthMM     float64 // along the instrument
	LengthPx     float64
	Tip, Stop    measure.Point
	Line         []measure.Point // evenly in arc length

	line      Line
	tip, stop float64
	project   Projection
}

// LesionTruth is the ellipse at which a lesion is half as deep as in its
// middle.
type LesionTruth struct {
	Tooth, Name string
	CentreMM    MM
	SemiMM      [2]float64
	RotationDeg float64
	AreaMM2     float64
	LongMM      float64 // longest diameter
	WideMM      float64 // the longest diameter perpendicular to it
	Centre      measure.Point
	Outline     []measure.Point // closed: the last point joins the first
	AreaPx2     float64

	shape   ellipse
	project Projection
}

// FillingTruth is the apical end of a root filling.
type FillingTruth struct {
	Tooth, Canal string
	ShortMM      float64 // along the canal, from the tip to the apex
	Tip, Apex    measure.Point
}

const (
	lineSamples    = 201
	outlineSamples = 360
)

// PixelAt returns the point at arc length s (mm, from the start of LineMM).
func (c *CanalTruth) PixelAt(s float64) measure.Point { return c.project.Pixel(c.LineMM.At(s)) }

type canalName struct{ Tooth, Canal string }

// canalShape gives arc lengths along a line, and the arc's shape.
type canalShape struct {
	reference, orifice, curve, apex float64
	radius, angle, tail             float64
	depth                           float64
}

func newCanalTruth(j Projection, name canalName, line Line, c canalShape) CanalTruth {
	t := CanalTruth{
		Tooth: name.Tooth, Name: name.Canal, LineMM: line,
		ReferenceS: c.reference, OrificeS: c.orifice, CurveS: c.curve, ApexS: c.apex,
		LengthMM: c.apex - c.orifice, ReferenceLengthMM: c.apex - c.reference,
		StraightMM: c.curve - c.orifice, RadiusMM: c.radius, TailMM: c.tail,
		AngleDeg: c.angle, DepthMM: c.depth, project: j,
	}
	at := func(s float64) measure.Point { return j.Pixel(line.At(s)) }
	t.Reference, t.Orifice, t.CurveStart, t.Apex = at(c.reference), at(c.orifice), at(c.curve), at(c.apex)
	t.CentreLine = j.Pixels(line.sample(c.reference, c.apex, lineSamples))
	t.LengthPx = pathLength(j, line, c.orifice, c.apex)
	o, m, e := line.At(c.orifice), line.At(c.curve), line.At(c.apex)
	t.SchneiderDeg = angleBetween(m.X-o.X, m.Y-o.Y, e.X-m.X, e.Y-m.Y)
	t.SchneiderImageDeg = angleBetween(t.CurveStart.X-t.Orifice.X, t.CurveStart.Y-t.Orifice.Y,
		t.Apex.X-t.CurveStart.X, t.Apex.Y-t.CurveStart.Y)
	return t
}

func newFileTruth(j Projection, name canalName, line Line, tip, stop float64) *FileTruth {
	return &FileTruth{
		Tooth: name.Tooth, Canal: name.Canal,
		LengthMM: tip - stop, LengthPx: pathLength(j, line, stop, tip),
		Tip: j.Pixel(line.At(tip)), Stop: j.Pixel(line.At(stop)),
		Line: j.Pixels(line.sample(tip, stop, lineSamples)),
		line: line, tip: tip, stop: stop, project: j,
	}
}

func newLesionTruth(j Projection, name canalName, e *ellipse) *LesionTruth {
	t := &LesionTruth{
		Tooth: name.Tooth, Name: name.Canal, CentreMM: e.centre, SemiMM: e.semi,
		RotationDeg: math.Atan2(e.sin, e.cos) * 180 / math.Pi,
		AreaMM2:     math.Pi * e.semi[0] * e.semi[1],
		LongMM:      2 * max(e.semi[0], e.semi[1]), WideMM: 2 * min(e.semi[0], e.semi[1]),
		Centre:  j.Pixel(e.centre),
		Outline: j.Pixels(e.outline(outlineSamples)),
		shape:   *e, project: j,
	}
	t.AreaPx2 = shoelace(j.Pixels(e.outline(1 << 14))) // a polygon of 16384 corners: 3e-8 short of the curve
	return t
}

// angleBetween is the angle in degrees between two directions.
func angleBetween(ax, ay, bx, by float64) float64 {
	return math.Atan2(math.Abs(ax*by-ay*bx), ax*bx+ay*by) * 180 / math.Pi
}

// pathLength is the length in the picture: 8192 chords, whose error for any
// line that fits a radiograph is below 1e-7 of the length.
func pathLength(j Projection, line Line, s0, s1 float64) float64 {
	sum := 0.0
	ps := j.Pixels(line.sample(s0, s1, 8193))
	for i := 1; i < len(ps); i++ {
		sum += ps[i].Dist(ps[i-1])
	}
	return sum
}

func shoelace(ps []measure.Point) float64 {
	sum := 0.0
	for i, p := range ps {
		q := ps[(i+1)%len(ps)]
		sum += p.X*q.Y - p.Y*q.X
	}
	return math.Abs(sum) / 2
}
