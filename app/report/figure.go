package report

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/draw"

	"rootrule/app/wording"
	"rootrule/imaging"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// figureSide is the longer side of a figure in pixels: an A4 page at 200 dots
// an inch.
const figureSide = 1654

var (
	lineColour  = color.NRGBA{255, 214, 140, 255}
	scaleColour = color.NRGBA{150, 225, 235, 255}
	outline     = color.NRGBA{255, 170, 160, 255}
)

// Figure draws an image with its marks and the findings beside them: canals
// as solid lines with a bar at the coronal reference point and a triangle at
// the apex, the calibration dashed, lesions dotted. Only findings of this
// image are used.
func Figure(m *imaging.Image, marks measure.ImageMarks, findings []measure.Finding) (*image.RGBA, error) {
	scale := figureSide / float64(max(m.Width, m.Height))
	dst := image.NewRGBA(image.Rect(0, 0, int(math.Round(float64(m.Width)*scale)), int(math.Round(float64(m.Height)*scale))))
	draw.CatmullRom.Scale(dst, dst.Bounds(), shown(m), image.Rect(0, 0, m.Width, m.Height), draw.Src, nil)
	pen, err := newInk(dst, figureSide/66)
	if err != nil {
		return nil, err
	}
	f := &figure{ink: pen, scale: scale, of: byOf(marks.ID, findings)}
	for _, l := range marks.Lesions {
		f.lesion(l)
	}
	for _, o := range marks.Obstructions {
		f.ink.line(f.points(o.Marks), 2, 5, outline)
	}
	for _, c := range marks.Canals {
		f.canal(c)
	}
	for _, c := range marks.Calibration {
		f.calibration(c)
	}
	f.footer()
	return dst, nil
}

// shown applies the window that the image starts with.
func shown(m *imaging.Image) *image.Gray {
	t := tone.Start(m).Table()
	g := image.NewGray(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range m.Pix {
		g.Pix[i] = t[v]
	}
	return g
}

// figure is one picture being drawn.
type figure struct {
	*ink
	scale float64
	of    map[string]map[string]measure.Finding // by subject, then by kind
	taken []image.Rectangle                     // where labels stand
}

func byOf(image string, findings []measure.Finding) map[string]map[string]measure.Finding {
	out := map[string]map[string]measure.Finding{}
	for _, f := range findings {
		if f.Image != image {
			continue
		}
		if out[f.Of] == nil {
			out[f.Of] = map[string]measure.Finding{}
		}
		out[f.Of][f.What] = f
	}
	return out
}

// at maps a pixel of the image to the figure: pixel centres lie at integers in
// the one and half a pixel further in the other.
func (f *figure) at(p measure.Point) pt { return pt{(p.X + 0.5) * f.scale, (p.Y + 0.5) * f.scale} }

func (f *figure) points(ps []measure.Point) []pt {
	out := make([]pt, len(ps))
	for i, p := range ps {
		out[i] = f.at(p)
	}
	return out
}

func (f *figure) calibration(c measure.Calibration) {
	if len(c.Marks) < 2 {
		return
	}
	line := f.points(measure.CentreLine(c.Marks))
	f.line(line, 2, 8, scaleColour)
	f.bar(line[0], line[1], scaleColour)
	f.bar(line[len(line)-1], line[len(line)-2], scaleColour)
}

func (f *figure) canal(c measure.Canal) {
	if len(c.Marks) < 2 {
		return
	}
	line := f.points(measure.CentreLine(c.Marks))
	f.line(line, 2, 0, lineColour)
	f.bar(line[0], line[1], lineColour)
	apex := line[len(line)-1]
	f.triangle(apex, lineColour)
	found := f.of[measure.CanalSubject(c)]
	f.label(apex, c.Name+"  "+wording.Quantity(found[measure.WhatLength].Quantity), lineColour)
}

func (f *figure) lesion(l measure.Lesion) {
	if len(l.Outline) < 3 {
		return
	}
	ring := f.points(measure.ClosedOutline(l.Outline))
	f.line(append(ring, ring[0]), 2, 3, outline)
	lowest := ring[0]
	for _, p := range ring {
		if p.y > lowest.y {
			lowest = p
		}
	}
	area := f.of[measure.LesionSubject(l)][measure.WhatArea]
	f.label(pt{lowest.x, lowest.y + f.height()}, wording.Quantity(area.Quantity), outline)
}

// bar draws a short bar across a line at its end p; q is the next point.
func (f *figure) bar(p, q pt, c color.Color) {
	l := math.Hypot(q.x-p.x, q.y-p.y)
	if l == 0 {
		return
	}
	const half = 9
	nx, ny := -(q.y-p.y)/l*half, (q.x-p.x)/l*half
	f.line([]pt{{p.x - nx, p.y - ny}, {p.x + nx, p.y + ny}}, 2, 0, c)
}

// triangle draws a hollow triangle whose tip is at p.
func (f *figure) triangle(p pt, c color.Color) {
	f.line([]pt{p, {p.x - 8, p.y + 15}, {p.x + 8, p.y + 15}, p}, 1.5, 0, c)
}

// label writes s below and beside p, kept inside the figure and clear of the
// labels already there.
func (f *figure) label(p pt, s string, c color.Color) {
	w, h := f.width(s), f.height()
	b := f.dst.Bounds()
	x := math.Max(math.Min(p.x+14, float64(b.Dx())-w-8), 8)
	y := math.Min(p.y+14+h/2, float64(b.Dy())-h)
	box := f.free(image.Rect(int(x), int(y-h), int(x+w), int(y)))
	f.text(pt{x, float64(box.Max.Y)}, s, c)
}

// free moves a label down or up, by as little as keeps it off the others, and
// takes its place.
func (f *figure) free(box image.Rectangle) image.Rectangle {
	const most = 12 // lines to move at the most: then an overlap is the lesser evil
	for n := range 2 * most {
		lines := (n + 1) / 2 // 0, 1 down, 1 up, 2 down …
		if n%2 == 0 {
			lines = -lines
		}
		moved := box.Add(image.Pt(0, lines*(box.Dy()+5)))
		if moved.In(f.dst.Bounds()) && !f.overlaps(moved) {
			box = moved
			break
		}
	}
	f.taken = append(f.taken, box)
	return box
}

func (f *figure) overlaps(box image.Rectangle) bool {
	for _, t := range f.taken {
		if t.Overlaps(box.Inset(-4)) {
			return true
		}
	}
	return false
}

// footer writes the scale along the lower edge.
func (f *figure) footer() {
	s, ok := f.of[measure.ImageSubject][measure.WhatScale]
	line := wording.Say("no calibration: lengths in px")
	if ok && s.Defined() {
		line = wording.Say("scale %s", wording.Quantity(s.Quantity))
	}
	f.text(pt{12, float64(f.dst.Bounds().Dy()) - 12}, line, color.White)
}
