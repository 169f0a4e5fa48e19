package desk

import (
	"image"
	"image/color"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/measure"
)

// label is a text that belongs beside one of several points of an item.
type label struct {
	text    string
	colour  color.NRGBA
	anchors []ink.Point // the first is the one wanted most
}

// mainFinding is the number that is shown beside a kind of item.
var mainFinding = map[kind]string{canal: measure.WhatLength, lesion: measure.WhatArea, filling: measure.WhatFillingToApex,
	obstruction: measure.WhatObstructionLength, post: measure.WhatPostLength}

// labelText says what an item measures: its name and its main number with ±.
func labelText(s *session, im *measure.ImageMarks, it item) string {
	if it.kind == calibration {
		return calibrationLabel(im.Calibration[it.index])
	}
	f, _ := s.finding(subjectOf(im, it), mainFinding[it.kind])
	number := wording.Quantity(f.Quantity)
	name := join(labelOf(im, it))
	switch it.kind {
	case filling:
		return fillingLabel(f, name)
	case obstruction:
		return wording.Say("%s   %s long", capital(nameOf(im, it)), number)
	case post:
		return wording.Say("post %s   %s", name, number)
	case canal:
		if im.Canals[it.index].Orifice == 0 {
			return wording.Say("%s   %s from its first mark", name, number)
		}
	}
	return name + "   " + number
}

func calibrationLabel(c measure.Calibration) string {
	length := wording.Number(c.LengthMM, 1)
	switch c.Kind {
	case measure.CalibrationFile:
		return wording.Say("file %s mm", length)
	case measure.CalibrationVolume:
		return wording.Say("canal in the volume %s mm", length)
	}
	return wording.Say("distance %s mm", length)
}

// fillingLabel says in words where a filling ends: a sign alone is misread.
func fillingLabel(f measure.Finding, name string) string {
	q := f.Quantity
	if q.Value < 0 {
		q.Value = -q.Value
		return wording.Say("filling %s   %s beyond the apex", name, wording.Quantity(q))
	}
	return wording.Say("filling %s   %s to the apex", name, wording.Quantity(q))
}

// labels collects the labels of the items of which something is in sight, and
// the notes of the item at hand.
func (s scribe) labels(session *session, im *measure.ImageMarks, subject item, area image.Rectangle) []label {
	var out []label
	for _, it := range items(im) {
		line := s.all(curveOf(im, it))
		seen := slices.ContainsFunc(line, func(p ink.Point) bool { return image.Pt(int(p.X), int(p.Y)).In(area) })
		if len(line) < 2 || !seen || it.kind == void {
			continue
		}
		out = append(out, label{text: labelText(session, im, it), colour: inkOf(it.kind), anchors: anchors(it.kind, line)})
	}
	for _, n := range s.notes(session, im, subject) {
		out = append(out, label{text: n.text, colour: inkFigure, anchors: n.anchors})
	}
	return out
}

// anchors are the points of its line that the label of a kind stands beside.
func anchors(k kind, line []ink.Point) []ink.Point {
	n := len(line)
	switch k {
	case lesion:
		return []ink.Point{line[n/2], line[n/4], line[3*n/4], line[0]}
	case calibration:
		return []ink.Point{line[n-1], line[n/2], line[0]}
	}
	return []ink.Point{line[0], line[n/4], line[n/2]}
}

// letters returns the font of the bench, nil if the toolkit's own can't be
// read.
func (b *bench) letters() *ink.Words {
	if b.words == nil {
		words, err := ink.NewWords(theme.DefaultTextBoldFont().Content(), float64(sizeText)*b.ratio)
		if err != nil {
			fyne.LogError("read the toolkit's own font", err)
			return nil
		}
		b.words = words
	}
	return b.words
}

// drawLabels places and draws the labels.
func (b *bench) drawLabels(s scribe, im *measure.ImageMarks, lens image.Rectangle) {
	if b.letters() == nil {
		return
	}
	all := s.labels(b.desk.session, im, b.desk.subject(), b.frame.Rect)
	sizes := make([]image.Point, len(all))
	for i, l := range all {
		w, h := b.words.Size(l.text)
		sizes[i] = image.Pt(w+int(12*b.ratio), h+int(4*b.ratio))
	}
	avoid := s.busy(im)
	avoid.taken = append(avoid.taken, lens, b.badgeArea(), b.captions())
	for i, r := range avoid.place(all, sizes, b.frame.Rect.Inset(int(4*b.ratio)), int(16*b.ratio)) {
		b.sheet.Plate(r, inkPlate)
		at := ink.Point{X: float64(r.Min.X) + 6*b.ratio, Y: float64(r.Min.Y) + 2*b.ratio}
		b.sheet.Write(b.words, at, all[i].text, all[i].colour)
	}
}

// clutter is what labels should keep clear of.
type clutter struct {
	points []ink.Point       // of lines and marks
	guard  []image.Rectangle // around apices: never covered if it can be helped
	taken  []image.Rectangle // labels placed already, the loupe
}

// busy collects the clutter of an image.
func (s scribe) busy(im *measure.ImageMarks) clutter {
	var c clutter
	for _, it := range items(im) {
		line := s.all(curveOf(im, it))
		c.points = append(c.points, line...)
		if (it.kind == canal || it.kind == filling) && len(line) > 0 {
			c.guard = append(c.guard, around(line[len(line)-1], 26*s.unit))
		}
	}
	return c
}

func around(p ink.Point, r float64) image.Rectangle {
	return image.Rect(int(p.X-r), int(p.Y-r), int(p.X+r), int(p.Y+r))
}

// place finds a rectangle for each label: beside one of its anchors, inside
// area, with the least cost.
func (c *clutter) place(labels []label, sizes []image.Point, area image.Rectangle, away int) []image.Rectangle {
	out := make([]image.Rectangle, len(labels))
	for i, l := range labels {
		best, cost := image.Rectangle{}, int(^uint(0)>>1)
		for rank, a := range l.anchors {
			for side, r := range candidates(a, sizes[i], away) {
				r = inside(r, area)
				if k := c.cost(r) + 3*rank + side; k < cost {
					best, cost = r, k
				}
			}
		}
		out[i] = best
		c.taken = append(c.taken, best)
	}
	return out
}

// candidates are the places beside a point: left, right, above and below it,
// near and farther.
func candidates(a ink.Point, size image.Point, away int) []image.Rectangle {
	x, y := int(a.X), int(a.Y)
	var out []image.Rectangle
	for _, d := range []int{away, 3 * away} {
		for _, p := range []image.Point{
			{x - d - size.X, y - size.Y/2}, {x + d, y - size.Y/2},
			{x - size.X/2, y - d - size.Y}, {x - size.X/2, y + d},
			{x - d - size.X, y - d - size.Y}, {x + d, y - d - size.Y},
		} {
			out = append(out, image.Rectangle{p, p.Add(size)})
		}
	}
	return out
}

// inside moves r into area where it fits.
func inside(r, area image.Rectangle) image.Rectangle {
	dx := max(0, area.Min.X-r.Min.X) - max(0, r.Max.X-area.Max.X)
	dy := max(0, area.Min.Y-r.Min.Y) - max(0, r.Max.Y-area.Max.Y)
	return r.Add(image.Pt(dx, dy))
}

// The costs of a place: covering an apex is worst, then another label, then a
// piece of a line.
const (
	costApex  = 10000
	costLabel = 3000
	costPoint = 25
)

func (c *clutter) cost(r image.Rectangle) int {
	sum := 0
	for _, g := range c.guard {
		if g.Overlaps(r) {
			sum += costApex
		}
	}
	for _, t := range c.taken {
		if t.Overlaps(r) {
			sum += costLabel
		}
	}
	for _, p := range c.points {
		if image.Pt(int(p.X), int(p.Y)).In(r) {
			sum += costPoint
		}
	}
	return sum
}
