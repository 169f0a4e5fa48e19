package desk

import (
	"fmt"
	"slices"
	"strings"

	"rootrule/measure"
)

// kind is what a set of marks stands for.
type kind int

const (
	nothing kind = iota
	calibration
	canal
	lesion
)

// least is the number of marks from which on a calibration, canal or lesion
// can be computed and is kept in the casebook.
var least = map[kind]int{calibration: 2, canal: 2, lesion: 3}

// item names one calibration, canal or lesion of an image.
type item struct {
	kind  kind
	index int
}

// grip names one mark of an item; mark is -1 for the item as a whole.
type grip struct {
	item
	mark int
}

// nowhere is the grip of nothing.
var nowhere = grip{mark: -1}

// items lists everything on an image that has marks, in drawing order.
func items(im *measure.ImageMarks) []item {
	var out []item
	if im == nil {
		return nil
	}
	for i := range im.Lesions {
		out = append(out, item{lesion, i})
	}
	for i, c := range im.Calibration {
		if c.Kind != measure.CalibrationStated {
			out = append(out, item{calibration, i})
		}
	}
	for i := range im.Canals {
		out = append(out, item{canal, i})
	}
	return out
}

// listed lists everything that has a row on the worksheet: what has marks,
// and the spacing that the image file states where that is a calibration.
func listed(im *measure.ImageMarks) []item {
	out := items(im)
	for i, c := range im.Calibration {
		if c.Kind == measure.CalibrationStated {
			out = append(out, item{calibration, i})
		}
	}
	return out
}

// count returns how many items of a kind the image has.
func count(im *measure.ImageMarks, k kind) int {
	switch k {
	case calibration:
		return len(im.Calibration)
	case canal:
		return len(im.Canals)
	case lesion:
		return len(im.Lesions)
	}
	return 0
}

// marksOf returns the marks of an item, nil if there is no such item.
func marksOf(im *measure.ImageMarks, it item) []measure.Point {
	if p := place(im, it); p != nil {
		return *p
	}
	return nil
}

// place returns where the marks of an item are kept.
func place(im *measure.ImageMarks, it item) *[]measure.Point {
	if im == nil || it.index < 0 || it.index >= count(im, it.kind) {
		return nil
	}
	switch it.kind {
	case calibration:
		return &im.Calibration[it.index].Marks
	case canal:
		return &im.Canals[it.index].Marks
	}
	return &im.Lesions[it.index].Outline
}

// curveOf returns the line that is measured, as points close enough to draw.
func curveOf(im *measure.ImageMarks, it item) []measure.Point {
	const between = 16 // points drawn from one mark to the next
	marks := marksOf(im, it)
	switch {
	case it.kind == lesion && len(marks) > 2:
		return measure.NewOutline(marks).Points(between)
	case it.kind == calibration && len(marks) == 2:
		return marks
	}
	return measure.NewLine(marks).Points(between)
}

// setMark moves a mark. A mark moved by hand has the hand's uncertainty.
func setMark(im *measure.ImageMarks, g grip, to measure.Point) {
	if p := place(im, g.item); p != nil && g.mark >= 0 && g.mark < len(*p) {
		(*p)[g.mark] = measure.Pt(to.X, to.Y)
	}
}

// addMark puts a mark into an item so that it becomes mark number at.
func addMark(im *measure.ImageMarks, it item, at int, p measure.Point) {
	marks := place(im, it)
	if marks == nil {
		return
	}
	*marks = slices.Insert(*marks, at, p)
	if it.kind == canal {
		c := &im.Canals[it.index]
		c.CurveStart = nil
		if len(c.Marks) == 3 && at == 2 {
			c.Orifice = 1 // the second click of a trace is the orifice
		} else if at <= c.Orifice && c.Orifice > 0 {
			c.Orifice++
		}
	}
}

// dropMark takes a mark out of an item, and the item out of the image when too
// few marks would be left.
func dropMark(im *measure.ImageMarks, g grip) {
	marks := place(im, g.item)
	if marks == nil || g.mark < 0 || g.mark >= len(*marks) {
		return
	}
	if len(*marks) <= least[g.kind] {
		dropItem(im, g.item)
		return
	}
	*marks = slices.Delete(*marks, g.mark, g.mark+1)
	if g.kind == canal {
		c := &im.Canals[g.index]
		c.CurveStart = nil
		if g.mark < c.Orifice {
			c.Orifice--
		}
		c.Orifice = max(0, min(c.Orifice, len(c.Marks)-2))
	}
}

// dropItem takes an item out of the image.
func dropItem(im *measure.ImageMarks, it item) {
	if place(im, it) == nil {
		return
	}
	switch it.kind {
	case calibration:
		im.Calibration = slices.Delete(im.Calibration, it.index, it.index+1)
	case canal:
		im.Canals = slices.Delete(im.Canals, it.index, it.index+1)
	case lesion:
		im.Lesions = slices.Delete(im.Lesions, it.index, it.index+1)
	}
}

// still returns a grip as far as it still exists: the mark, else its item,
// else nothing.
func still(im *measure.ImageMarks, g grip) grip {
	switch p := place(im, g.item); {
	case p == nil:
		return nowhere
	case g.mark >= len(*p):
		g.mark = -1
	}
	return g
}

// nameOf names an item as findings do: "canal 46 ML", "lesion 46 D".
func nameOf(im *measure.ImageMarks, it item) string {
	switch {
	case place(im, it) == nil:
		return ""
	case it.kind == canal:
		return join("canal", im.Canals[it.index].Tooth, im.Canals[it.index].Name)
	case it.kind == lesion:
		return join("lesion", im.Lesions[it.index].Tooth, im.Lesions[it.index].Name)
	}
	if isStated(im, it) {
		return "stated spacing"
	}
	return "calibration"
}

// markName says which mark of its item a grip is: "apex of canal 46 ML".
func markName(im *measure.ImageMarks, g grip) string {
	of := nameOf(im, g.item)
	n := len(marksOf(im, g.item))
	switch {
	case g.mark < 0:
		return of
	case g.kind == canal && g.mark == n-1:
		return "apex of " + of
	case g.kind == canal && g.mark == 0:
		return "coronal reference point of " + of
	case g.kind == canal && g.mark == im.Canals[g.index].Orifice:
		return "orifice of " + of
	}
	return fmt.Sprintf("mark %d of %s", g.mark+1, of)
}

// join puts the words that aren't empty in a row.
func join(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(s string) bool { return s == "" }), " ")
}
