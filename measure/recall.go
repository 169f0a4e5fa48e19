package measure

import (
	"fmt"
	"math"
	"time"
)

const (
	changeInFrame = "%[1]s in the second image, brought into the frame of the first, − %[1]s in the first: one scale, whose error cancels in part"
	changeApart   = "%[1]s in the second image − %[1]s in the first, each by the scale of its own image"
	changeVolume  = "volume in the second recording − volume in the first"
)

// compared is a comparison of one subject on two images.
type compared struct {
	s             subject
	f             frame
	scale, second scale // of the first image, and of what is measured on the second
	visit         [2]ImageMarks
	years         float64
	notes         []string // cautions of every change
	noVerdict     string   // why there is no verdict; empty: there is one
}

// recall adds what comparing two images gives.
func (w *work) recall(r Recall) {
	pic, second := w.images[r.Before], w.images[r.After]
	if pic == nil || second == nil {
		return
	}
	before, after := w.imageMarks(r.Before), w.imageMarks(r.After)
	s := subject{w: w, image: w.comparedImages(r.Before, r.After), of: ImageSubject, cautions: pic.scale.cautions}
	c := compared{s: s, f: w.frame(s, pic.scale, r), scale: pic.scale, second: pic.scale,
		visit: [2]ImageMarks{before, after}, years: years(before.Date, after.Date)}
	if c.f.at == nil {
		c.second = second.scale
		c.notes = []string{notAligned}
	}
	for _, a := range before.Lesions {
		for _, b := range after.Lesions {
			if a.Tooth == b.Tooth && a.Name == b.Name && (r.Lesion == "" || a.Name == r.Lesion) {
				w.lesionChange(c.about(LesionSubject(a), pic.scale.cautions, a.By, b.By), a, b)
			}
		}
	}
	w.lengthChanges(c, pic, second)
	w.fillingChanges(c, pic, second)
}

// about is the comparison of a subject, with the cautions of its scale and with
// its marks made so.
func (c compared) about(of string, cautions []string, by ...string) compared {
	c.s.of, c.s.made = of, by
	c.s.cautions = append(append([]string{}, cautions...), c.notes...)
	return c
}

func (w *work) imageMarks(id string) ImageMarks {
	for _, im := range w.marks.Images {
		if im.ID == id {
			return im
		}
	}
	return ImageMarks{}
}

// years is the time between two dates in years of 365.25 days; NaN when a date
// is missing.
func years(before, after string) float64 {
	a, err1 := time.Parse(time.DateOnly, before)
	b, err2 := time.Parse(time.DateOnly, after)
	if err1 != nil || err2 != nil {
		return math.NaN()
	}
	return b.Sub(a).Hours() / 24 / 365.25
}

// method says how two values were compared.
func (c compared) method(name string) string {
	if c.f.at != nil {
		return fmt.Sprintf(changeInFrame, name)
	}
	return fmt.Sprintf(changeApart, name)
}

// incomparable says why values in the unit of their own images can't be
// subtracted.
func (c compared) incomparable() string {
	if c.f.at == nil && c.scale.known != c.second.known {
		return "one of the images has no calibration, and they are not aligned"
	}
	return ""
}

// lesionChange adds the changes of a lesion between two images.
func (w *work) lesionChange(c compared, a, b Lesion) {
	defer w.volumeChange(c, a, b)
	x, y := w.outlineGroup(c.visit[0].ID, a.Outline), w.outlineGroup(c.visit[1].ID, b.Outline)
	seen := c.f.brought(y)
	why := c.incomparable()
	for _, p := range [][]vec{x.p, y.p, seen.p} {
		if problem := outlineProblem(p); why == "" {
			why = problem
		}
	}
	if why != "" {
		c.s.none(WhatAreaChange, c.scale.areaUnit(), c.method("area"), why)
		c.s.none(WhatDiameterChange, c.scale.lengthUnit(), c.method("longest diameter"), why)
		c.s.none(WhatEquivalentChange, c.scale.lengthUnit(), c.method("equivalent diameter"), why)
		return
	}
	c.noVerdict = c.f.noVerdict(y.p)
	area0, long0, _ := w.outlineSizes(x)
	area1, long1, _ := w.outlineSizes(seen)
	if c.f.at != nil {
		found := newDiameters(closedCurve(seen.p))
		r := w.mapErrors(c.f, y.p, 2, func(p []vec, out []float64) {
			o := closedCurve(p)
			out[0] = math.Abs(o.area())
			out[1], _ = found.moved(o).lengths(o)
		})
		area1, long1 = area1.plus(r[0]), long1.plus(r[1])
	}
	w.change(c, WhatAreaChange, c.scale.areaUnit(), c.scale.squared(area0), c.second.squared(area1), c.method("area"))
	w.change(c, WhatDiameterChange, c.scale.lengthUnit(), c.scale.times(long0), c.second.times(long1), c.method("longest diameter"))
	w.change(c, WhatEquivalentChange, c.scale.lengthUnit(), c.scale.times(area0.ofCircle()), c.second.times(area1.ofCircle()), c.method("equivalent diameter"))
}

// ofCircle is the diameter of the circle with the area e.
func (e estimate) ofCircle() estimate {
	d := 2 * math.Sqrt(e.v/math.Pi)
	return e.through(d, d/(2*e.v))
}

// times and squared turn px and px² into mm and mm² where the scale is known.
func (s scale) times(e estimate) estimate {
	if !s.known {
		return e
	}
	return e.times(s.mmPerPx)
}

func (s scale) squared(e estimate) estimate { return s.times(s.times(e)) }

// volumeChange adds the change of a volume, which needs neither map nor scale.
func (w *work) volumeChange(c compared, a, b Lesion) {
	if a.VolumeMM3 == nil || b.VolumeMM3 == nil {
		return
	}
	c.s.cautions, c.s.made, c.noVerdict = nil, nil, ""
	w.change(c, WhatVolumeChange, CubicMillimetre, a.volume(w), b.volume(w), changeVolume)
}

// lengthChanges adds how the canals that both images show changed in length:
// what a root lost or gained at its apex.
func (w *work) lengthChanges(c compared, pic, second *picture) {
	for _, a := range pic.canals {
		b := second.line(a.Tooth, a.Name)
		if b == nil {
			continue
		}
		c := c.about(CanalSubject(a.Canal), pic.scale.cautionsFor(direction(a.g.p), a.Tooth), a.By, b.By)
		c.noVerdict = c.f.noVerdict(b.g.p)
		seen := newLine(c.f.brought(b.g), b.Canal)
		if why := c.incomparable(); why != "" || seen == nil {
			c.s.none(WhatLengthChange, c.scale.lengthUnit(), c.method("length"), orElse(why, "the second trace makes no line in the frame of the first image"))
			continue
		}
		length := w.traceLength(seen.g, seen.t)
		if c.f.at != nil {
			length = length.plus(w.mapErrors(c.f, b.c.sample(4), 1, func(p []vec, out []float64) { out[0] = chords(p) })[0])
		}
		w.change(c, WhatLengthChange, c.scale.lengthUnit(), c.scale.times(w.traceLength(a.g, a.t)), c.second.times(length), c.method("length"))
	}
}

// chords is the length of the polyline through p.
func chords(p []vec) (sum float64) {
	for i := range len(p) - 1 {
		sum += p[i].dist(p[i+1])
	}
	return sum
}

// fillingChanges adds how the distances from fillings to the apex changed.
func (w *work) fillingChanges(c compared, pic, second *picture) {
	for _, a := range c.visit[0].Fillings {
		for _, b := range c.visit[1].Fillings {
			if a.Tooth == b.Tooth && a.Canal == b.Canal {
				w.fillingChange(c.about(FillingSubject(a), pic.scale.cautions, a.By, b.By), pic, second, a, b)
			}
		}
	}
}

func (w *work) fillingChange(c compared, pic, second *picture, a, b Filling) {
	x, y := w.group(pic.id, []Point{a.Tip, a.Apex}), w.group(second.id, []Point{b.Tip, b.Apex})
	c.noVerdict = c.f.noVerdict(y.p)
	sign0, sign1 := pic.shortOrBeyond(a, x.p), second.shortOrBeyond(b, y.p)
	why := c.incomparable()
	if why == "" && (sign0 == 0 || sign1 == 0) {
		why = "short or beyond is not known: the canal is not traced on both images"
	}
	if why != "" {
		c.s.none(WhatFillingChange, c.scale.lengthUnit(), c.method("distance to the apex"), why)
		return
	}
	distance := func(g group) estimate {
		return propagate1(g, func(p []vec) float64 { return p[0].dist(p[1]) }).estimate
	}
	before, after := distance(x), distance(c.f.brought(y))
	if c.f.at != nil {
		after = after.plus(w.mapErrors(c.f, y.p, 1, func(p []vec, out []float64) { out[0] = p[0].dist(p[1]) })[0])
	}
	w.change(c, WhatFillingChange, c.scale.lengthUnit(), c.scale.times(before.scaled(sign0)), c.second.times(after.scaled(sign1)), c.method("distance to the apex"))
}
