// Package assist lends the reader a hand with marks: the centre line of a
// canal from its two ends, a file from tip to stop, the ends of what lies in a
// canal, the outline of a lesion from one click, and all of them again when a
// mark is dragged. Start with [New]; then [Assistant.Canal] and
// [Assistant.Lesion].
//
// How it works: an image is prepared once for dark lines and once for bright
// ones ([Assistant.Prepare]); what is found on it comes from imaging/trace and
// imaging/outline. What is prepared is kept for the image asked about last.
// Answers are marks for package measure, each with its own standard
// uncertainty; marks that a hand has put are marked by having none of their
// own, so that a trace read back from a file can be corrected as it was made:
// its ends, its orifice and its hand-put marks hold the line in place.
//
// Everything here may take some tenths of a second: call it beside the main
// goroutine, by a [Queue] where only the newest answer matters. An Assistant is
// safe for use by several goroutines; a [Pull] is for one at a time.
//
// Units: image pixels (pixel centres at integers).
//
// It shows nothing, stores nothing and decides nothing: where a canal ends,
// and whether a dark region is a lesion, says the reader.
package assist

import (
	"fmt"
	"sync"

	"rootrule/imaging"
	"rootrule/imaging/outline"
	"rootrule/imaging/trace"
	"rootrule/measure"
)

// Images gives the decoded image with an id.
type Images func(id string) (*imaging.Image, error)

// Assistant finds marks on the images of one case.
type Assistant struct {
	images Images

	mu    sync.Mutex
	maps  map[wanted]*prepared
	found map[string]outline.Outline // by what keyOf makes of the marks
}

// wanted names what is prepared: an image, for dark or for bright lines.
type wanted struct {
	image  string
	bright bool
}

// prepared is an image being prepared, or done.
type prepared struct {
	sync.Once
	grid *trace.Map
	err  error
}

// New returns an Assistant for the images of one case.
func New(images Images) *Assistant {
	return &Assistant{images: images, maps: map[wanted]*prepared{}, found: map[string]outline.Outline{}}
}

// Prepare makes ready for lines on an image, bright ones (files, fillings) or
// dark ones (canals), so that the first line comes as quickly as the others.
// What was prepared for other images is let go.
func (a *Assistant) Prepare(image string, bright bool) error {
	_, err := a.grid(image, bright)
	return err
}

// grid returns the image prepared for lines.
func (a *Assistant) grid(image string, bright bool) (*trace.Map, error) {
	key := wanted{image, bright}
	a.mu.Lock()
	p := a.maps[key]
	if p == nil {
		p = &prepared{}
		for k := range a.maps {
			if k.image != image {
				delete(a.maps, k)
			}
		}
		a.maps[key] = p
	}
	a.mu.Unlock()
	p.Do(func() {
		m, err := a.images(image)
		if err != nil {
			p.err = err
			return
		}
		p.grid = trace.NewMap(m, bright)
	})
	return p.grid, p.err
}

// Line is what was found between clicks.
type Line struct {
	Marks    []measure.Point
	Cautions []string
}

// weakEnd is the confidence below which an end stays where it was clicked: the
// ridge that it could be moved onto is not seen there.
const weakEnd = 0.5

// File finds something bright between two clicks near its ends: a file from tip
// to stop, an instrument left in a canal, a metal point, a post.
func (a *Assistant) File(image string, tip, stop measure.Point) (Line, error) {
	l, err := a.bright(image, tip, stop)
	if err != nil {
		return Line{}, err
	}
	return Line{Marks: l.Marks(), Cautions: l.Cautions}, nil
}

// shortest is the least distance in px between the ends of a line that is
// looked for: some times the width of a canal or a file.
const shortest = 20.0

// checkEnds refuses ends that are too close for a line to be found.
func checkEnds(from, to measure.Point) error {
	if d := from.Dist(to); !(d >= shortest) {
		return fmt.Errorf("find the line: its ends are %.0f px apart, %.0f px at least are needed: click farther apart, or mark it by hand", d, shortest)
	}
	return nil
}

func (a *Assistant) bright(image string, from, to measure.Point) (trace.Line, error) {
	if err := checkEnds(from, to); err != nil {
		return trace.Line{}, err
	}
	grid, err := a.grid(image, true)
	if err != nil {
		return trace.Line{}, err
	}
	l, err := grid.Canal(from, to, nil, true)
	if err == nil && mean(l.Confidence) < weakEnd {
		return l, fmt.Errorf("find the bright line: hardly anything bright is seen between the clicks: the marks stay where they were clicked")
	}
	return l, err
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x / float64(len(v))
	}
	return sum
}

// Tip finds the apical end of a root filling near a click; along is a point of
// the filling farther up. Where no end is seen near the click, it is an error.
func (a *Assistant) Tip(image string, click, along measure.Point) (measure.Point, error) {
	if err := checkEnds(click, along); err != nil {
		return click, err
	}
	grid, err := a.grid(image, true)
	if err != nil {
		return click, err
	}
	return grid.Tip(click, along)
}
