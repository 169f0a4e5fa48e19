package desk

import (
	"fmt"

	"rootrule/measure"
)

// task is a calibration, a trace or an outline being made by one click after
// another. From the least number of marks on it is an item of the image,
// saved with every click; before that it lives here alone.
type task struct {
	kind        kind
	tooth, name string
	way         string  // of a calibration: one of its kinds in package measure
	known, u    float64 // mm, of a calibration: length and its standard uncertainty
	points      []measure.Point
	index       int // of the item among its kind
}

// newTask prepares a task on an image of a case whose tooth is given.
func newTask(k kind, im *measure.ImageMarks, tooth string) *task {
	t := &task{kind: k, tooth: tooth, index: count(im, k)}
	switch k {
	case canal:
		t.name = nextCanal(im, tooth)
	case lesion:
		t.name = nextLesion(im, tooth)
	case calibration:
		t.way = measure.CalibrationFile
		t.known, t.u = usual(im, t.way)
	}
	return t
}

func (t *task) item() item { return item{t.kind, t.index} }

// enough reports whether the marks so far make an item.
func (t *task) enough() bool { return len(t.points) >= least[t.kind] }

// put makes the image have the task's item with these marks; with too few of
// them it has none.
func (t *task) put(im *measure.ImageMarks, points []measure.Point) {
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
	*place(im, t.item()) = append([]measure.Point(nil), points...)
	if t.kind == canal {
		c := &im.Canals[t.index]
		c.Orifice = min(1, len(points)-2) // the second click is the orifice
		c.CurveStart = nil
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
	}
	t.index = count(im, t.kind) - 1
}

// follow takes the marks from the image after a step back or forth, which may
// have taken the item away or brought it again.
func (t *task) follow(im *measure.ImageMarks) {
	if marks := marksOf(im, t.item()); marks != nil {
		t.points = append([]measure.Point(nil), marks...)
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
	case canal:
		t.tooth, t.name = im.Canals[t.index].Tooth, im.Canals[t.index].Name
	case lesion:
		t.tooth, t.name = im.Lesions[t.index].Tooth, im.Lesions[t.index].Name
	}
}

// with returns the marks so far and one more. A click on the spot of the last
// mark adds none: two marks in one place have no direction.
func (t *task) with(p measure.Point) []measure.Point {
	if n := len(t.points); n > 0 && t.points[n-1].Dist(p) < 1e-9 {
		return t.points
	}
	return append(append([]measure.Point(nil), t.points...), measure.Pt(p.X, p.Y))
}

// title names what the task makes: "canal 46 ML".
func (t *task) title() string {
	switch t.kind {
	case canal:
		return join("canal", t.tooth, t.name)
	case lesion:
		return join("lesion", t.tooth, t.name)
	}
	return "calibration"
}

// label names the step that the next mark makes, for the undo menu.
func (t *task) label(marks int) string {
	verb := map[kind]string{calibration: "calibrate", canal: "trace", lesion: "outline"}[t.kind]
	if t.kind == calibration {
		return fmt.Sprintf("%s, mark %d", verb, marks)
	}
	return fmt.Sprintf("%s %s, mark %d", verb, t.title(), marks)
}

// next says what the next click will do.
func (t *task) next() string {
	n := len(t.points)
	switch {
	case t.kind == calibration && t.way == measure.CalibrationDistance:
		return t.nextOfDistance(n)
	case t.kind == calibration:
		return t.nextAlongFile(n)
	case t.kind == canal:
		return t.nextAlongCanal(n)
	}
	return t.nextRoundLesion(n)
}

func (t *task) nextAlongFile(n int) string {
	switch n {
	case 0:
		return fmt.Sprintf("Click the tip of the file (known length %g mm, change it at the right).", t.known)
	case 1:
		return "Click along the file; the last click is the stop."
	}
	return "Click on along the file, or press Enter if the last mark is the stop."
}

func (t *task) nextOfDistance(n int) string {
	if n == 0 {
		return fmt.Sprintf("Click one end of the known distance (%g mm, change it at the right).", t.known)
	}
	return "Click the other end of the known distance."
}

func (t *task) nextAlongCanal(n int) string {
	switch n {
	case 0:
		return "Click the coronal reference point of " + t.title() + ", where the stop will rest."
	case 1:
		return "Click the orifice of " + t.title() + "."
	case 2:
		return "Click along the canal; the last click is the radiographic apex."
	}
	return "Click on along the canal, or press Enter if the last mark is the apex. Backspace takes it back."
}

func (t *task) nextRoundLesion(n int) string {
	switch {
	case n == 0:
		return "Click on the edge of " + t.title() + "."
	case n < least[lesion]:
		return "Click on round the edge of " + t.title() + "."
	}
	return "Click on round the edge; a click on the first mark, or Enter, closes the outline."
}
