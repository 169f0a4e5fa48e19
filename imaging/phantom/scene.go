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
	t36.restored = amalgam(r)
	t36.chamber = newChamber(-2.95, 2.8, 6.3, 8.1)
	t37.chamber = newChamber(-2.75, 2.6, 6.2, 8.2)
	t38.chamber = newChamber(-2.6, 2.5, 5.9, 8.6)
	for _, m := range []*molar{t36, t38} {
		for _, w := range m.roots {
			l := w.line.Length()
			m.addCanal(w.line, 0.6, l-0.2, 0.36, 0.13)
		}
	}
	t37.carious, t37.restored = v.crown(newRandom(seed, 4<<32)) // of its own, so that the jaw stays the same
	t37.sealed = v.filled
	for _, m := range []*molar{t36, t37, t38} {
		m.uneven = newLattice(r)
		m.shift = 3 * parallax // lingual cusps lie some 3 mm behind the buccal ones
	}
	j := &jaw{
		teeth: []*molar{t36, t37, t38},
		bone:  newTrabeculae(seed), broad: newLattice(r), edge: 0.26,
		nerve: nerveCanal{NewLine(MM{18, 9.4}, -78, Segment{8, 0.012}, Segment{10, 0.025}), 1.45},
		crest: newProfile(-18, -2.3, -14, -2.1, -9, -2.2, -7.2, -2.6, -6.75, -2.85, -6.15, -2.88, -5.6, -2.55, -4, -2.1,
			2, -2.0, 3.6, -2.3, 4.3, -2.65, 4.8, -2.65, 5.5, -2.25, 7, -2.0, 12, -1.2, 15, -2.0, 17.5, -4.2),
		gum: newProfile(-18, -5.0, -11, -4.4, -6.4, -6.4, -1, -4.4, 4.6, -6.2, 9, -4.4, 14.5, -5.6, 17, -6.8),
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
		m.addCanal(line, c.orifice-0.2, apex, c.wide, 0.12)
		if v.filled {
			j.addFilling(line, c, apex-fillingShort)
			truth.Fillings = append(truth.Fillings, FillingTruth{Tooth: "37", Canal: c.name, ShortMM: fillingShort,
				Tip: g.Pixel(line.At(apex - fillingShort)), Apex: g.Pixel(line.At(apex))})
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

// fillingShort is how far the demo's root fillings end before the apex, mm.
const fillingShort = 1.0

// addFilling fills a canal from above its orifice to tip, tapering.
func (j *jaw) addFilling(line Line, c canalSketch, tip float64) {
	top := c.orifice - 0.9
	half := newProfile(top, c.wide+0.12, c.orifice+3.5, 0.36, tip-3, 0.25, tip, 0.17)
	depth := newProfile(top, 0.1, c.orifice+0.6, 0.8, tip-3, 0.6, tip, 0.42)
	j.fillings = append(j.fillings, newSweep(line, top, tip, half, depth))
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
