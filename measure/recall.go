package measure

import (
	"fmt"
	"math"
	"time"
)

const (
	changeInFrame = "%s in the second image, brought into the frame of the first, − %s in the first: one scale, whose error cancels in part"
	changeApart   = "%s in the second image − %s in the first, each by the scale of its own image"
)

// A compared lesion: the outline before and after, as inputs.
type compared struct {
	s             subject
	before, after Lesion
	scale         scale // of the first image
	second        scale // of the second; used where the images are not aligned
	years         float64
}

// recall adds what comparing two images gives.
func (w *work) recall(r Recall) {
	before, after := w.imageMarks(r.Before), w.imageMarks(r.After)
	pic, second := w.images[r.Before], w.images[r.After]
	if pic == nil || second == nil {
		return
	}
	name := w.comparedImages(r.Before, r.After)
	s := subject{w: w, image: name, of: ImageSubject, cautions: pic.scale.cautions}
	f := w.frame(s, pic.scale, r)
	for _, a := range before.Lesions {
		for _, b := range after.Lesions {
			if a.Tooth != b.Tooth || a.Name != b.Name || r.Lesion != "" && a.Name != r.Lesion {
				continue
			}
			c := compared{subject{w: w, image: name, of: LesionSubject(a), cautions: pic.scale.cautions, made: made{a.By, b.By}}, a, b, pic.scale, second.scale, years(before.Date, after.Date)}
			w.compare(c, r, f)
			w.volumeChange(c)
		}
	}
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

// compare adds the changes of a lesion between two images.
func (w *work) compare(c compared, r Recall, f frame) {
	x, y := w.outlineGroup(r.Before, c.before.Outline), w.outlineGroup(r.After, c.after.Outline)
	for _, p := range [][]vec{x.p, y.p} {
		if why := outlineProblem(p); why != "" {
			c.s.none(WhatAreaChange, c.scale.areaUnit(), fmt.Sprintf(changeApart, "area", "area"), why)
			c.s.none(WhatDiameterChange, c.scale.lengthUnit(), fmt.Sprintf(changeApart, "longest diameter", "longest diameter"), why)
			return
		}
	}
	if !f.aligned && c.scale.known != c.second.known {
		c.s.none(WhatAreaChange, SquareMillimetre, fmt.Sprintf(changeApart, "area", "area"), "one of the images has no calibration, and they are not aligned")
		return
	}
	area0, long0 := sizes(x, nil)
	var area1, long1 estimate
	method, second := changeApart, c.second
	if f.aligned {
		method, second = changeInFrame, c.scale
		area1, long1 = w.mappedSizes(y, f)
	} else {
		c.s.cautions = append(c.s.cautions, "the images are not aligned: another angulation changes sizes by itself")
		area1, long1 = sizes(y, nil)
	}
	toArea := func(e estimate, s scale) estimate { return s.squared(e) }
	toLength := func(e estimate, s scale) estimate { return s.times(e) }
	w.change(c, WhatAreaChange, c.scale.areaUnit(), toArea(area0, c.scale), toArea(area1, second), fmt.Sprintf(method, "area", "area"))
	w.change(c, WhatDiameterChange, c.scale.lengthUnit(), toLength(long0, c.scale), toLength(long1, second), fmt.Sprintf(method, "longest diameter", "longest diameter"))
}

// times and squared turn px and px² into mm and mm² where the scale is known.
func (s scale) times(e estimate) estimate {
	if !s.known {
		return e
	}
	return e.times(s.mmPerPx)
}

func (s scale) squared(e estimate) estimate { return s.times(s.times(e)) }

// change adds a difference, its percentage of the first value, and its rate
// per year.
func (w *work) change(c compared, what string, unit Unit, before, after estimate, method string) {
	d := after.minus(before)
	c.s.add(what, d.quantity(unit), method)
	percent := after.over(before).shifted(-1).scaled(100)
	c.s.add(what+percentSuffix, percent.quantity(Percent), "change / value in the first image")
	if c.years > 0 {
		c.s.add(what+perYearSuffix, d.scaled(1/c.years).quantity(unit), fmt.Sprintf("change / %.2f years", c.years))
	}
}

// Suffixes of WhatAreaChange, WhatDiameterChange and WhatVolumeChange: the
// change in per cent of the first value, and the change per year.
const (
	percentSuffix = "_percent"
	perYearSuffix = "_per_year"
)

// sizes are the area and the longest diameter of an outline in px, on a map.
func sizes(g group, through func(p []vec) []vec) (area, longest estimate) {
	var b builder
	seen := func(p []vec) curve {
		if through != nil {
			p = through(p)
		}
		return b.closed(p)
	}
	o := seen(g.p)
	found := newDiameters(o)
	r := propagate(g, 2, func(p []vec, out []float64) {
		c := seen(p)
		out[0] = c.area()
		out[1], _ = found.moved(c).lengths(c)
	})
	return r[0].estimate.magnitude(), r[1].estimate
}

const volumeMethod = "as measured in the volume and recorded with the lesion"

// volume adds a recorded volume.
func (w *work) volume(s subject, l Lesion) {
	if l.VolumeMM3 != nil {
		s.cautions, s.made = nil, nil
		s.add(WhatVolume, l.volume(w).quantity(CubicMillimetre), volumeMethod)
	}
}

// DefaultVolume is the relative standard uncertainty of a volume recorded
// without one. Common practice, no source.
const DefaultVolume = 0.05

func (l Lesion) volume(w *work) estimate {
	u := DefaultVolume * *l.VolumeMM3
	if l.VolumeUMM3 != nil {
		u = *l.VolumeUMM3
	}
	return known(*l.VolumeMM3, u, w.source())
}

func (w *work) volumeChange(c compared) {
	if c.before.VolumeMM3 == nil || c.after.VolumeMM3 == nil {
		return
	}
	c.s.cautions, c.s.made = nil, nil
	w.change(c, WhatVolumeChange, CubicMillimetre, c.before.volume(w), c.after.volume(w), "volume in the second recording − volume in the first")
}
