package measure

import "fmt"

const (
	fillingMethod = "distance from the tip of the filling to the radiographic apex, positive when short of it"
	ratioMethod   = "length of the canal to the tip of the filling / length to the apex"
	taperMethod   = "slope of the marked widths against their places along the filling, by least squares"
	voidsMethod   = "voids marked in the filling"
	voidMethod    = "area inside the outlines of the voids"
)

// Adequate filling: its end within this distance in mm short of the
// radiographic apex and not beyond it (European Society of Endodontology 2006,
// Int Endod J 39:921–930, from memory; the better outcome at 0–2 mm: Ng et al.
// 2008, Int Endod J 41:6–31).
const AdequateShort = 2.0

// FillingLevel says where a filling ends, from [WhatFillingToApex] in mm:
// "adequate", "short" or "beyond the apex".
func FillingLevel(toApexMM float64) string {
	switch {
	case toApexMM < 0:
		return "beyond the apex"
	case toApexMM > AdequateShort:
		return "short"
	case toApexMM >= 0:
		return "adequate"
	}
	return ""
}

// filling adds the findings of a root filling. The sign of its distance from
// the apex is that of the canal's direction there, where the canal is traced.
func (w *work) filling(pic *picture, f Filling) {
	g := w.group(pic.id, []Point{f.Tip, f.Apex})
	toApex := g.p[1].sub(g.p[0])
	s := subject{w: w, image: pic.id, of: FillingSubject(f), cautions: pic.scale.cautionsFor(toApex.unit(), f.Tooth), made: made{f.By}}
	px := propagate1(g, func(p []vec) float64 { return p[0].dist(p[1]) }).estimate
	l := pic.line(f.Tooth, f.Canal)
	if l == nil {
		s.add(WhatFillingToApex, pic.scale.length(px), fillingMethod, "short or beyond is not known: the canal is not traced")
	} else {
		px = px.scaled(pic.shortOrBeyond(f, g.p))
		s.add(WhatFillingToApex, pic.scale.length(px), fillingMethod)
		length := w.traceLength(l.g, l.t)
		s.made = made{f.By, l.By}
		s.add(WhatFillingRatio, length.minus(px).over(length).quantity(One), ratioMethod)
	}
	s.made = made{f.By}
	w.taper(s, pic, f)
	w.voids(s, pic, f)
}

// shortOrBeyond is 1 where the tip p[0] of a filling lies short of the apex
// p[1] along its canal, −1 where it lies beyond, 0 where the canal is not traced.
func (pic *picture) shortOrBeyond(f Filling, p []vec) float64 {
	l := pic.line(f.Tooth, f.Canal)
	switch {
	case l == nil:
		return 0
	case p[1].sub(p[0]).dot(l.c[len(l.c)-1].velocity(1)) < 0:
		return -1
	}
	return 1
}

// taper adds the taper of a filling from widths marked across it, each as its
// two edges, from the tip on.
func (w *work) taper(s subject, pic *picture, f Filling) {
	if len(f.Widths) == 0 {
		return
	}
	if len(f.Widths) < 2 {
		s.none(WhatFillingTaper, One, taperMethod, "needs two widths at least")
		return
	}
	var marks []Point
	for _, x := range f.Widths {
		marks = append(marks, x[0], x[1])
	}
	slope := propagate1(w.group(pic.id, marks), widthSlope)
	s.cautions = nil // a ratio of lengths needs no scale
	s.add(WhatFillingTaper, slope.quantity(One), taperMethod)
}

// widthSlope is the least-squares slope of the widths p[2i], p[2i+1] against
// the places of their middles along the line from the first to the last.
func widthSlope(p []vec) float64 {
	n := len(p) / 2
	middle := func(i int) vec { return p[2*i].lerp(p[2*i+1], 0.5) }
	along := middle(n - 1).sub(middle(0)).unit()
	var sx, sy, sxx, sxy float64
	for i := range n {
		x, y := middle(i).sub(middle(0)).dot(along), p[2*i].dist(p[2*i+1])
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	m := float64(n)
	return (m*sxy - sx*sy) / (m*sxx - sx*sx)
}

// voids adds number and area of the voids in a filling.
func (w *work) voids(s subject, pic *picture, f Filling) {
	if f.Voids == nil {
		return
	}
	total := exact(0)
	for i, v := range f.Voids {
		g := w.outlineGroup(pic.id, v)
		if why := outlineProblem(g.p); why != "" {
			s.none(WhatVoidArea, pic.scale.areaUnit(), voidMethod, fmt.Sprintf("void %d: %s", i+1, why))
			return
		}
		area := propagate1(g, func(p []vec) float64 { return closedCurve(p).area() })
		total = total.plus(area.estimate.magnitude())
	}
	s.add(WhatVoidArea, pic.scale.area(total), voidMethod)
	s.cautions = nil
	s.add(WhatVoidCount, Quantity{Value: float64(len(f.Voids)), Unit: One}, voidsMethod)
}

// line finds the line of a canal by its tooth and name; nil when there is none.
func (p *picture) line(tooth, name string) *line {
	for _, l := range p.canals {
		if l.Tooth == tooth && l.Name == name {
			return l
		}
	}
	return nil
}

// canal finds the canal of a tooth by its name; it must have a line.
func (im ImageMarks) canal(tooth, name string) (Canal, bool) {
	for _, c := range im.Canals {
		if c.Tooth == tooth && c.Name == name && openCurve(vecs(c.Marks)) != nil {
			return c, true
		}
	}
	return Canal{}, false
}
