package desk

import (
	"slices"

	"rootrule/measure"
)

// copyOf returns a copy whose marks can be changed without touching im. What
// a pointer leads to (a reading, an offset) is shared: it is replaced, never
// written through. Marks that a pointer leads to are copied.
func copyOf(im measure.ImageMarks) measure.ImageMarks {
	im.Calibration = slices.Clone(im.Calibration)
	im.Canals = slices.Clone(im.Canals)
	im.Lesions = slices.Clone(im.Lesions)
	im.Fillings = slices.Clone(im.Fillings)
	im.Obstructions = slices.Clone(im.Obstructions)
	im.Posts = slices.Clone(im.Posts)
	for i := range im.Fillings {
		f := &im.Fillings[i]
		f.Widths, f.Voids = slices.Clone(f.Widths), slices.Clone(f.Voids)
	}
	for i := range im.Obstructions {
		im.Obstructions[i].Sides = slices.Clone(im.Obstructions[i].Sides)
	}
	for i := range im.Posts {
		p := &im.Posts[i]
		p.Top, p.Margin, p.Apex = another(p.Top), another(p.Margin), another(p.Apex)
	}
	for _, it := range items(&im) {
		if p := lineOf(&im, it); p != nil {
			*p = slices.Clone(*p)
		}
	}
	return im
}

// another returns a copy of a mark that may be missing.
func another(p *measure.Point) *measure.Point {
	if p == nil {
		return nil
	}
	q := *p
	return &q
}
