package phantom

import (
	"math"

	"rootrule/measure"
)

// scene builds the jaw as one visit shows it, and its truth.
func (v visit) scene(seed uint64) (*jaw, Truth) {
	r := newRandom(seed, 3<<32)
	parallax := math.Tan(v.beamDeg * math.Pi / 180)
	t36, t37, t38 := newMolar(molar36()), newMolar(molar37()), newMolar(molar38())
	t36.restored = amalgam()
	t36.addPulp(-2.6, 2.4, 6.2, 8.2)
	t38.addPulp(-2.2, 2.0, 5.8, 8.6)
	for _, m := range []*molar{t36, t38} {
		for _, w := range m.roots {
			l := w.line.Length()
			m.addCanal(w.line, 0.2, l-0.2, 0.42, 0.14)
		}
	}
	t37.addPulp(-2.3, 2.1, 6.3, 8.5)
	c := v.crown(r)
	if c.depth > 0 {
		t37.restored = c
	} else {
		t37.carious = c
	}
	for _, m := range []*molar{t36, t37, t38} {
		m.shift = 3 * parallax // lingual cusps lie some 3 mm behind the buccal ones
	}
	j := &jaw{
		teeth: []*molar{t36, t37, t38},
		bone:  newTrabeculae(seed), broad: newLattice(r), edge: 0.16,
		crest: newProfile(-17, -2.6, -13, -2.4, -8, -2.7, -5.4, -3.0, -3, -2.3, 3, -2.2, 5.6, -2.7, 8, -2.2, 13, -1.6, 16, -2.2, 18, -3.6),
		gum:   newProfile(-17, -5.0, -10, -4.4, -5.4, -6.4, 0, -4.4, 5.6, -6.2, 10, -4.4, 15.5, -5.6, 18, -6.6),
	}
	truth := v.place(j, t37, parallax)
	truth.Crown = [2]measure.Point{truth.Pixel(t37.global(-5.25, 2.8)), truth.Pixel(t37.global(5.25, 2.8))}
	truth.Landmarks = landmarks(truth.Projection, t36, t37, t38)
	return j, truth
}

// place puts canals, lesion, file and fillings into the tooth.
func (v visit) place(j *jaw, m *molar, parallax float64) Truth {
	g := v.geometry.Projection()
	truth := Truth{Projection: g}
	for _, c := range demoCanals() {
		line, apex := c.line(m, parallax), c.apex()
		name := canalName{"37", c.name}
		truth.Canals = append(truth.Canals, newCanalTruth(g, name, line, canalShape{
			orifice: c.orifice, curve: c.curve, apex: apex,
			radius: c.radius, angle: math.Abs(c.angle), tail: c.tail, depth: c.lingual,
		}))
		m.addCanal(line, c.orifice-0.8, apex, 0.40, 0.13)
		if v.filled {
			tip := apex - 1
			j.fillings = append(j.fillings, newSweep(line, c.orifice-0.5, tip,
				newProfile(c.orifice, 0.52, tip-3, 0.26, tip, 0.16), newProfile(c.orifice, 1.1, tip-3, 0.55, tip, 0.32)))
			truth.Fillings = append(truth.Fillings, FillingTruth{Tooth: "37", Canal: c.name, ShortMM: 1, Tip: g.Pixel(line.At(tip)), Apex: g.Pixel(line.At(apex))})
		}
		if v.file == c.name {
			tip := math.Floor((apex-0.5)*2) / 2 // set to the half millimetre
			truth.File = newFileTruth(g, name, line, tip, 0)
			j.addFile(line, tip)
		}
	}
	root := m.roots[0].line
	j.lesion = newEllipse(root.At(root.Length()+0.7), v.lesion, -20)
	truth.Lesion = newLesionTruth(g, canalName{"37", "M"}, j.lesion)
	return truth
}

// addFile lays an instrument of size 15 with 2 % taper (ISO 3630-1) along the
// line, its stop resting at s = 0.
func (j *jaw) addFile(line Line, tip float64) {
	const top = -6.0
	taper := newProfile(top, 0.075+0.01*(tip-top), tip, 0.075)
	wide := newProfile(top, 0.15+0.02*(tip-top), tip, 0.15)
	j.metal = append(j.metal, newSweep(line, top, tip, taper, wide))
	h := line.HeadingDeg(0)
	left := line.At(-0.7).add(-1.55, side(h*math.Pi/180))
	stop := NewLine(left, h+90, Segment{Length: 3.1})
	j.rubber = append(j.rubber, newSweep(stop, 0, 3.1, newProfile(0, 0.65, 1.5, 0.7, 3.1, 0.65), newProfile(0, 1.5, 1.5, 3.0, 3.1, 1.5)))
}

// landmarks are the necks of the teeth and the apices away from the lesion.
func landmarks(g Projection, t36, t37, t38 *molar) []Landmark {
	apex := func(m *molar, root int) MM { return m.roots[root].line.At(m.roots[root].to) }
	neck := func(m *molar, side *profile) MM { return m.global(side.at(m.neck), m.neck) }
	var out []Landmark
	for _, l := range []struct {
		name string
		at   MM
	}{
		{"36 neck, mesial", neck(t36, t36.mesial)},
		{"36 neck, distal", neck(t36, t36.distal)},
		{"36 apex of the distal root", apex(t36, 1)},
		{"37 neck, mesial", neck(t37, t37.mesial)},
		{"37 neck, distal", neck(t37, t37.distal)},
		{"37 apex of the distal root", apex(t37, 1)},
		{"38 neck, mesial", neck(t38, t38.mesial)},
		{"38 apex of the mesial root", apex(t38, 0)},
	} {
		out = append(out, Landmark{l.name, g.Pixel(l.at)})
	}
	return out
}
