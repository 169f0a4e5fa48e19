package desk

import (
	"math"
	"slices"

	"rootrule/app/assist"
	"rootrule/measure"
)

// task is an item being made by one click after another. By hand the clicks
// are its marks: from the least number on it is an item of the image, saved
// with every click; before that it lives here alone. Assisted, the marks are
// found from the clicks, and saved in one step when the task ends.
type task struct {
	kind        kind
	owner       item // what an addition is added to
	tooth, name string
	way         string  // of a calibration or an obstruction: one of its kinds in package measure
	known, u    float64 // mm, of a calibration: length and its standard uncertainty
	points      []measure.Point
	index       int // of the item among its kind

	assisted  bool
	named     bool           // the canal it lies in was chosen
	reference *measure.Point // of an assisted canal, once it is clicked
	found     *assist.Line   // between the clicks of an assisted canal
	beside    bool           // the canal beside the plainest is meant
	above     int            // marks of it above the orifice
	pull      *assist.Pull   // the line from the orifice to the mouse
}

// newTask prepares a task on an image of a case whose tooth is given. near is
// what was selected: a filling belongs to the selected canal, a void to the
// selected filling.
func newTask(k kind, way string, im *measure.ImageMarks, tooth string, near item) *task {
	t := &task{kind: k, way: way, tooth: tooth, index: count(im, k)}
	switch k {
	case canal:
		t.name = nextCanal(im, tooth)
	case lesion:
		t.name = nextLesion(im, tooth)
	case calibration:
		t.way = measure.CalibrationFile
		t.known, t.u = usual(im, t.way)
	case filling, obstruction, post:
		t.tooth, t.name = canalFor(im, k, tooth, near)
		t.named = isCanal(im, near)
	}
	return t
}

// canalFor returns the canal that a new filling, obstruction or post lies in:
// the selected one, else the first traced one that has none yet.
func canalFor(im *measure.ImageMarks, k kind, tooth string, near item) (string, string) {
	if isCanal(im, near) {
		return im.Canals[near.index].Tooth, im.Canals[near.index].Name
	}
	taken := func(tooth, name string) bool {
		for i := range count(im, k) {
			if t, n := labelOf(im, item{k, i}); t == tooth && n == name {
				return true
			}
		}
		return false
	}
	for _, c := range im.Canals {
		if !taken(c.Tooth, c.Name) {
			return c.Tooth, c.Name
		}
	}
	return tooth, firstFree(canalNames(tooth), func(name string) bool { return taken(tooth, name) })
}

func isCanal(im *measure.ImageMarks, it item) bool { return it.kind == canal && exists(im, it) }

// belong makes a filling, an obstruction or a post belong to the traced canal
// that it lies along, unless that was chosen.
func (t *task) belong(im *measure.ImageMarks, marks []measure.Point) {
	if t.named || t.kind != filling && t.kind != obstruction && t.kind != post {
		return
	}
	best := math.Inf(1)
	for i, c := range im.Canals {
		if d := distanceTo(curveOf(im, item{canal, i}), marks[0]); d < best {
			best = d
			t.tooth, t.name = c.Tooth, c.Name
		}
	}
}

// labelOf returns tooth and name of an item.
func labelOf(im *measure.ImageMarks, it item) (tooth, name string) {
	if !exists(im, it) {
		return "", ""
	}
	switch it.kind {
	case canal:
		return im.Canals[it.index].Tooth, im.Canals[it.index].Name
	case lesion:
		return im.Lesions[it.index].Tooth, im.Lesions[it.index].Name
	case filling:
		return im.Fillings[it.index].Tooth, im.Fillings[it.index].Canal
	case obstruction:
		return im.Obstructions[it.index].Tooth, im.Obstructions[it.index].Canal
	case post:
		return im.Posts[it.index].Tooth, im.Posts[it.index].Canal
	}
	return "", ""
}

// item returns what the task makes, or what it adds to.
func (t *task) item() item {
	if t.owner.kind != nothing {
		return t.owner
	}
	return item{t.kind, t.index}
}

// late reports whether what the task makes is saved in one step when it ends,
// not with every click.
func (t *task) late() bool { return t.assisted || t.owner.kind != nothing }

// isSaved reports whether what the task makes, or adds to, is an item of the
// image already.
func (t *task) isSaved() bool { return t.owner.kind != nothing || t.enough() && !t.assisted }

// enough reports whether the marks so far make an item.
func (t *task) enough() bool { return len(t.points) >= least[t.kind] }

// complete reports whether the task has all the marks it can have.
func (t *task) complete() bool {
	switch t.kind {
	case canal, lesion, void:
		return false
	case calibration:
		return t.way == measure.CalibrationDistance && len(t.points) == 2
	}
	return t.enough()
}

// put makes the image have the task's item with these marks; with too few of
// them it has none.
func (t *task) put(im *measure.ImageMarks, points []measure.Point) {
	if t.owner.kind != nothing {
		t.addTo(im, points)
		return
	}
	have := count(im, t.kind) > t.index
	if len(points) < least[t.kind] {
		if have {
			dropItem(im, t.item())
		}
		return
	}
	if !have {
		t.add(im)
	}
	points = slices.Clone(points)
	if t.kind == filling {
		im.Fillings[t.index].Tip, im.Fillings[t.index].Apex = points[0], points[1]
		return
	}
	*lineOf(im, t.item()) = points
	if t.kind == canal {
		c := &im.Canals[t.index]
		c.Orifice = min(1, len(points)-2) // by hand the second click is the orifice
		if t.assisted {
			c.Orifice = t.above
		}
		c.CurveStart = nil
	}
}

// addTo adds the marks of an addition to its owner, once they are enough.
func (t *task) addTo(im *measure.ImageMarks, p []measure.Point) {
	if len(p) < least[t.kind] || !exists(im, t.owner) {
		return
	}
	i := t.owner.index
	switch t.kind {
	case width:
		im.Fillings[i].Widths = append(im.Fillings[i].Widths, [2]measure.Point{p[0], p[1]})
	case void:
		im.Fillings[i].Voids = append(im.Fillings[i].Voids, slices.Clone(p))
	case dentineSide:
		im.Obstructions[i].Sides = append(im.Obstructions[i].Sides, p[0])
	case postTop:
		im.Posts[i].Top = &p[0]
	case postMargin:
		im.Posts[i].Margin = &p[0]
	case postApex:
		im.Posts[i].Apex = &p[0]
	}
}

// add appends the task's item, without marks, to the image.
func (t *task) add(im *measure.ImageMarks) {
	switch t.kind {
	case calibration:
		u := t.u
		im.Calibration = append(im.Calibration, measure.Calibration{Kind: t.way, LengthMM: t.known, UMM: &u})
	case canal:
		im.Canals = append(im.Canals, measure.Canal{Tooth: t.tooth, Name: t.name})
	case lesion:
		im.Lesions = append(im.Lesions, measure.Lesion{Tooth: t.tooth, Name: t.name})
	case filling:
		im.Fillings = append(im.Fillings, measure.Filling{Tooth: t.tooth, Canal: t.name})
	case obstruction:
		im.Obstructions = append(im.Obstructions, measure.Obstruction{Tooth: t.tooth, Canal: t.name, Kind: t.way})
	case post:
		im.Posts = append(im.Posts, measure.Post{Tooth: t.tooth, Canal: t.name})
	}
	t.index = count(im, t.kind) - 1
}

// follow takes the marks from the image after a step back or forth, which may
// have taken the item away or brought it again.
func (t *task) follow(im *measure.ImageMarks) {
	if t.late() {
		if t.owner.kind != nothing && !exists(im, t.owner) {
			t.points = nil
		}
		return
	}
	if marks := marksOf(im, t.item()); marks != nil {
		t.points = slices.Clone(marks)
		t.read(im)
		return
	}
	t.index = count(im, t.kind)
	t.points = t.points[:min(len(t.points), least[t.kind]-1)]
}

// read takes what was typed about the item from the image.
func (t *task) read(im *measure.ImageMarks) {
	switch t.kind {
	case calibration:
		c := im.Calibration[t.index]
		q := known(c)
		t.way, t.known, t.u = c.Kind, q.Value, q.StdUnc
	default:
		t.tooth, t.name = labelOf(im, t.item())
	}
}

// with returns the marks so far and one more. A click on the spot of the last
// mark adds none: two marks in one place have no direction.
func (t *task) with(p measure.Point) []measure.Point {
	if n := len(t.points); n > 0 && t.points[n-1].Dist(p) < 1e-9 {
		return t.points
	}
	return append(slices.Clone(t.points), measure.Pt(p.X, p.Y))
}
