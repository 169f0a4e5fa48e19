package outline

import (
	"fmt"
	"math"
	"slices"

	"rootrule/imaging"
	"rootrule/measure"
)

// maxAspect is how elongated an outline may be.
const maxAspect = 3.2

// Options adjusts what is accepted; the zero value is right for a click.
type Options struct {
	// MinConfidence is the confidence below which there is no outline; 0 means
	// one half.
	MinConfidence float64
}

// Outline is a closed outline on an image.
type Outline struct {
	// Points are marks for package measure: the smooth closed line through them
	// is the outline, and their own uncertainties, taken as independent, give
	// its area and its diameters theirs.
	Points []measure.Point
	// AreaPx2 is the area within, AreaStdUnc its standard uncertainty.
	AreaPx2, AreaStdUnc float64
	// StdUnc is the root mean square of the standard uncertainty of the edge
	// across the line, in px; a point's own U is larger where errors of
	// neighbouring stretches go together.
	StdUnc float64
	// Confidence is the probability that this is a lesion's edge, 0–1.
	Confidence float64
	Cautions   []string

	t       traced
	surface plane // what lies around, for corrections
	pins    []vec
}

// Lesion outlines the dark region around a point inside it. The error matches
// [ErrNoEdge] when no closed edge surrounds the point.
func Lesion(m *imaging.Image, seed measure.Point, o Options) (Outline, error) {
	at := vec{seed.X, seed.Y}
	if !within(m, at) {
		return Outline{}, &noEdge{fmt.Sprintf("the point (%.0f, %.0f) lies outside the picture of %d × %d px: click inside the lesion", at.x, at.y, m.Width, m.Height)}
	}
	p := newPyramid(m, int(math.Round(at.x)), int(math.Round(at.y)))
	return p.choose(p.search(at), fmt.Sprintf("(%.0f, %.0f)", at.x, at.y), o)
}

// Loop outlines the dark region that a rough closed line of three points or
// more surrounds. The error matches [ErrNoEdge] when there is none near it.
func Loop(m *imaging.Image, loop []measure.Point, o Options) (Outline, error) {
	p := make([]vec, len(loop))
	for i, q := range loop {
		p[i] = vec{q.X, q.Y}
		if !within(m, p[i]) {
			return Outline{}, &noEdge{fmt.Sprintf("point %d of the line around it, (%.0f, %.0f), lies outside the picture of %d × %d px", i+1, q.X, q.Y, m.Width, m.Height)}
		}
	}
	if len(p) < 3 {
		return Outline{}, &noEdge{fmt.Sprintf("%d points surround nothing: give three or more", len(p))}
	}
	e := momentEllipse(p)
	if r := e.radius(); !(r >= smallest/2 && r <= 1.3*largest) || e.aspect() > 2*maxAspect {
		return Outline{}, &noEdge{fmt.Sprintf("the line around it has a radius of %.0f px, or is too narrow: outlines have a radius of %.0f to %d px", r, smallest, largest)}
	}
	pyramid := newPyramid(m, int(math.Round(e.c.x)), int(math.Round(e.c.y)))
	return pyramid.choose(pyramid.near(e), "the line given", o)
}

func within(m *imaging.Image, p vec) bool {
	return p.x >= 0 && p.y >= 0 && p.x <= float64(m.Width-1) && p.y <= float64(m.Height-1)
}

// near returns the ellipses to follow up around a rough one.
func (p *pyramid) near(e ellipse) []found {
	var out []found
	for _, k := range []float64{1, 0.85, 1.2} {
		f := found{ellipse: ellipse{e.c, e.a.mul(k), e.b.mul(k)}}
		for f.level+1 < levels && f.radius() > 2*levelFrom*p.planes[f.level].step {
			f.level++
		}
		s := searcher{seed: e.c, slopes: newSlopes(p.planes[f.level].around(e.c.x, e.c.y, view))}
		rim := newRimOf(f.ellipse)
		f.score = s.score(f.c, &rim)
		out = append(out, s.climb(f))
	}
	return out
}

// choose follows ellipses up and returns the best outline, or why there is
// none.
func (p *pyramid) choose(candidates []found, place string, o Options) (Outline, error) {
	all := make([]traced, len(candidates))
	ok := make([]bool, len(candidates))
	inParallel(len(all), func(i int) { all[i], ok[i] = p.approach(candidates[i]) })
	var apart []traced
	for i, t := range all {
		if ok[i] && !slices.ContainsFunc(apart, func(a traced) bool { return alike(a.frame, t.frame) }) {
			apart = append(apart, t)
		}
	}
	problems := make([]string, len(apart))
	inParallel(len(apart), func(i int) { problems[i] = p.settle(&apart[i]) })
	best, rank, why := 0, math.Inf(-1), "no edge was found around it"
	for i := range apart {
		if problems[i] != "" {
			if math.IsInf(rank, -1) {
				why = problems[i]
			}
		} else if r := apart[i].signs().rank(); r > rank {
			best, rank, why = i, r, ""
		}
	}
	if why == "" {
		t := &apart[best]
		if again := *t; p.settle(&again) == "" { // as near as it gets
			*t = again
		}
		s := t.signs()
		if s.confidence() >= o.least() {
			return newOutline(*t, p.surface(t), nil), nil
		}
		why = s.reason()
	}
	return Outline{}, &noEdge{fmt.Sprintf("no closed edge around %s: %s: click inside a dark region, or draw its outline by hand", place, why)}
}

func (o Options) least() float64 {
	if o.MinConfidence > 0 {
		return o.MinConfidence
	}
	return 0.5
}

// surface is the part of the picture that a contour is measured on.
func (p *pyramid) surface(t *traced) plane {
	pl := p.levelFor(t.frame.minor())
	return pl.around(t.frame.c.x, t.frame.c.y, int(2.5*math.Max(t.frame.a.norm(), t.frame.b.norm())/pl.step)+16)
}

// newOutline makes the result of a contour.
func newOutline(t traced, surface plane, pins []vec) Outline {
	u := t.uncertainty()
	area, _, _, _, _ := moments(t.points())
	o := Outline{Points: t.marks(u), AreaPx2: area * roundness, AreaStdUnc: u.area, Confidence: t.signs().confidence(), t: t, surface: surface, pins: pins}
	for _, v := range u.local {
		o.StdUnc += v * v / rays
	}
	o.StdUnc = math.Sqrt(o.StdUnc)
	o.Cautions = t.cautions(o.Confidence)
	return o
}

// roundness is the area of a circle over that of the polygon of a contour's
// points.
var roundness = 2 * math.Pi / rays / math.Sin(2*math.Pi/rays)
