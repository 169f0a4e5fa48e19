package measure

import "math"

// DefaultVoxelClick is the standard uncertainty, in mm and in each direction,
// of a mark placed by hand in a volume: half of a voxel of 0.2 mm. Common
// practice, no source.
const DefaultVoxelClick = 0.1

// P3 is a mark in a volume in mm, in DICOM patient coordinates (LPS: X to the
// patient's left, Y to the back, Z up). U is its standard uncertainty in each
// direction in mm; 0 means [DefaultVoxelClick].
type P3 struct{ X, Y, Z, U float64 }

// StdUnc returns the standard uncertainty of the mark in mm.
func (p P3) StdUnc() float64 {
	if p.U > 0 {
		return p.U
	}
	return DefaultVoxelClick
}

func (p P3) vec() vec { return vec{p.X, p.Y, p.Z} }

// Line3 is the smooth line through marks in a volume, in mm.
type Line3 struct{ c curve }

// NewLine3 returns the smooth line through marks in a volume. With fewer than
// two different marks it has the length 0.
func NewLine3(marks []P3) Line3 {
	w := &work{}
	g := w.group3(marks)
	if openCurve(g.p) == nil {
		return Line3{}
	}
	return Line3{trackOf(g).curve(g.p)}
}

// Length returns the length of the line in mm.
func (l Line3) Length() float64 { return l.c.length() }

// At returns the point at the length s in mm from the first mark, and the
// direction of the line there as a unit vector; beyond the ends, the end.
func (l Line3) At(s float64) (p P3, direction [3]float64) {
	q, t := l.c.at(s)
	return P3{X: q.x, Y: q.y, Z: q.z}, [3]float64{t.x, t.y, t.z}
}

// Points returns points along the line: the marks, and n − 1 points between
// each two of them.
func (l Line3) Points(n int) []P3 {
	v := l.c.sample(max(n, 1))
	out := make([]P3, len(v))
	for i, p := range v {
		out[i] = P3{X: p.x, Y: p.y, Z: p.z}
	}
	return out
}

// CurvatureAt returns the curvature of the line in 1/mm about the length s: of
// the circle through the points of the line half a window before, at, and half
// a window behind it. The window in mm is the smoothing.
func (l Line3) CurvatureAt(s, window float64) float64 {
	a, _ := l.c.at(s - window/2)
	b, _ := l.c.at(s)
	c, _ := l.c.at(s + window/2)
	return turning(a, b, c).norm()
}

// MaxCurvature returns the largest curvature in 1/mm along the line, smoothed
// over a window in mm as [Line3.CurvatureAt] does, and the length from the
// first mark at which it lies. Both are NaN for a line shorter than the window.
func (l Line3) MaxCurvature(window float64) (curvature, at float64) {
	total := l.Length()
	if !(window > 0 && total > window) {
		return math.NaN(), math.NaN()
	}
	const steps = 200
	for i := range steps + 1 {
		s := window/2 + (total-window)*float64(i)/steps
		if k := l.CurvatureAt(s, window); k > curvature {
			curvature, at = k, s
		}
	}
	return curvature, at
}

// Canal3 is the trace of a canal in a volume, as [Canal] is on an image.
type Canal3 struct {
	Tooth, Name string
	Marks       []P3
	Orifice     int
	CurveStart  *int
	OffsetMM    *float64
	EALMM       *float64
}

// ComputeCanal3 returns the findings of a canal traced in a volume: the same
// as those of a canal on an image, of its true shape. image is the id of the
// volume.
func ComputeCanal3(image string, c Canal3) []Finding {
	w := &work{}
	flat := Canal{Tooth: c.Tooth, Name: c.Name, Marks: make([]Point, len(c.Marks)), Orifice: c.Orifice, CurveStart: c.CurveStart, OffsetMM: c.OffsetMM, EALMM: c.EALMM}
	w.traced(subject{w: w, image: image, of: CanalSubject(flat), made: made{flat.By}}, scale{known: true, mmPerPx: exact(1)}, newLine(w.group3(c.Marks), flat))
	return w.findings
}

// group3 takes marks in a volume in as inputs with sources of their own.
func (w *work) group3(marks []P3) group {
	g := group{p: make([]vec, len(marks)), u: make([]float64, len(marks)), first: w.next, dims: 3}
	for i, m := range marks {
		g.p[i], g.u[i] = m.vec(), m.StdUnc()
	}
	w.next += source(g.sources())
	return g
}
