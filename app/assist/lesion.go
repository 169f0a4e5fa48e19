package assist

import (
	"fmt"
	"strings"

	"rootrule/imaging/outline"
	"rootrule/measure"
)

// Outline is a lesion's outline as marks.
type Outline struct {
	Marks      []measure.Point
	Confidence float64
	Cautions   []string
}

// Lesion outlines the dark region around a click. The error matches
// outline.ErrNoEdge, and says why, when no closed edge surrounds it.
func (a *Assistant) Lesion(image string, click measure.Point) (Outline, error) {
	m, err := a.images(image)
	if err != nil {
		return Outline{}, err
	}
	o, err := outline.Lesion(m, click, outline.Options{})
	if err != nil {
		return Outline{}, err
	}
	return a.keep(image, o), nil
}

// Corrected draws an outline to a point, as when the stretch at one of its
// marks is dragged there; the rest adapts.
func (a *Assistant) Corrected(image string, marks []measure.Point, mark int, to measure.Point) (Outline, error) {
	if mark < 0 || mark >= len(marks) {
		return Outline{}, fmt.Errorf("correct an outline: it has no mark %d", mark)
	}
	o, err := a.known(image, marks)
	if err != nil {
		return Outline{}, err
	}
	if o, err = o.Corrected(marks[mark], to); err != nil {
		return Outline{}, err
	}
	return a.keep(image, o), nil
}

// Shifted moves an outline outward by px everywhere, inward where px is
// negative.
func (a *Assistant) Shifted(image string, marks []measure.Point, px float64) (Outline, error) {
	o, err := a.known(image, marks)
	if err != nil {
		return Outline{}, err
	}
	if o, err = o.Shifted(px); err != nil {
		return Outline{}, err
	}
	return a.keep(image, o), nil
}

// mostFound is how many outlines are remembered: a long drag finds hundreds.
const mostFound = 50

// keep remembers an outline by its marks.
func (a *Assistant) keep(image string, o outline.Outline) Outline {
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.found) >= mostFound {
		clear(a.found)
	}
	a.found[keyOf(image, o.Points)] = o
	return Outline{Marks: o.Points, Confidence: o.Confidence, Cautions: o.Cautions}
}

// known returns the outline with these marks: as it was found, or else found
// again along them.
func (a *Assistant) known(image string, marks []measure.Point) (outline.Outline, error) {
	a.mu.Lock()
	o, ok := a.found[keyOf(image, marks)]
	a.mu.Unlock()
	if ok {
		return o, nil
	}
	m, err := a.images(image)
	if err != nil {
		return outline.Outline{}, err
	}
	return outline.Loop(m, marks, outline.Options{})
}

// keyOf names a line or an outline by image and marks, to a thousandth of a pixel.
func keyOf(image string, marks []measure.Point) string {
	var b strings.Builder
	b.WriteString(image)
	for _, p := range marks {
		fmt.Fprintf(&b, " %.3f,%.3f", p.X, p.Y)
	}
	return b.String()
}
