package measure

const (
	fillingMethod     = "distance from the tip of the filling to the radiographic apex, positive when short of it"
	obstructionMethod = "length of the smooth line through its marks"
	depthMethod       = "distance along the canal from the orifice to the coronal end"
	toApexMethod      = "distance along the canal from the apical end to the radiographic apex"
)

// filling adds the distance from the end of a root filling to the apex. Its
// sign is that of the canal's direction at the apex, where the canal is traced.
func (w *work) filling(pic *picture, im ImageMarks, f Filling) {
	s := subject{w: w, image: pic.id, of: FillingSubject(f), cautions: pic.scale.cautions}
	g := w.group(pic.id, []Point{f.Tip, f.Apex})
	px := propagate1(g, func(p []vec) float64 { return p[0].dist(p[1]) }).estimate
	c, traced := im.canal(f.Tooth, f.Canal)
	if !traced {
		s.add(WhatFillingToApex, pic.scale.length(px), fillingMethod, "short or beyond is not known: the canal is not traced")
		return
	}
	line := openCurve(vecs(c.Marks))
	_, toApex := line.at(line.length())
	if g.p[1].sub(g.p[0]).dot(toApex) < 0 {
		px = px.scaled(-1)
	}
	s.add(WhatFillingToApex, pic.scale.length(px), fillingMethod)
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

// obstruction adds the findings of something in a canal.
func (w *work) obstruction(pic *picture, im ImageMarks, o Obstruction) {
	s := subject{w: w, image: pic.id, of: ObstructionSubject(o), cautions: pic.scale.cautions}
	unit := pic.scale.lengthUnit()
	if openCurve(vecs(o.Marks)) == nil {
		const why = "needs two marks in different places"
		s.none(WhatObstructionLength, unit, obstructionMethod, why)
		s.none(WhatObstructionDepth, unit, depthMethod, why)
		s.none(WhatObstructionToApex, unit, toApexMethod, why)
		return
	}
	g := w.group(pic.id, o.Marks)
	s.add(WhatObstructionLength, pic.scale.length(propagate1(g, traceLength).estimate), obstructionMethod)
	c, traced := im.canal(o.Tooth, o.Canal)
	if !traced {
		s.none(WhatObstructionDepth, unit, depthMethod, "the canal is not traced")
		s.none(WhatObstructionToApex, unit, toApexMethod, "the canal is not traced")
		return
	}
	// The canal and the obstruction are one group of inputs here.
	n := len(c.Marks)
	both := w.group(pic.id, append(append([]Point{}, c.Marks...), o.Marks...))
	r := propagate(both, 2, func(p []vec, out []float64) {
		line, to := openCurve(p[:n]), p[n:]
		marks := line.lengths()
		orifice := marks[min(max(c.Orifice, 0), len(marks)-1)]
		out[0] = line.nearest(to[0]) - orifice
		out[1] = marks[len(marks)-1] - line.nearest(to[len(to)-1])
	})
	s.add(WhatObstructionDepth, pic.scale.length(r[0].estimate), depthMethod)
	s.add(WhatObstructionToApex, pic.scale.length(r[1].estimate), toApexMethod)
}
