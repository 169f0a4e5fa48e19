package desk

import (
	"slices"

	"rootrule/measure"
)

// kind is what a set of marks stands for.
type kind int

const (
	nothing kind = iota
	calibration
	canal
	lesion
	filling
	void // in a filling
	obstruction
	post

	// What is added to an item there is: see [addition].
	width       // across a filling
	dentineSide // the root surface beside an obstruction
	postTop     // the top of the crown above a post
	postMargin  // the crown margin
	postApex    // the apex of the root with the post
)

// least is the number of marks from which on an item can be computed and is
// kept in the casebook.
var least = map[kind]int{calibration: 2, canal: 2, lesion: 3, filling: 2, void: 3, obstruction: 2, post: 2,
	width: 2, dentineSide: 1, postTop: 1, postMargin: 1, postApex: 1}

// addition reports what kind of item a kind of mark is added to.
func addition(k kind) (to kind, ok bool) {
	to, ok = map[kind]kind{width: filling, void: filling, dentineSide: obstruction, postTop: post, postMargin: post, postApex: post}[k]
	return to, ok
}

// closed reports whether marks of a kind go round.
func closed(k kind) bool { return k == lesion || k == void }

// item names one calibration, canal, lesion or other thing of an image. Voids
// are counted over all fillings.
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
	if im == nil {
		return nil
	}
	var out []item
	for _, k := range []kind{lesion, calibration, filling, void, post, obstruction, canal} {
		for i := range count(im, k) {
			if it := (item{k, i}); !isStated(im, it) {
				out = append(out, it)
			}
		}
	}
	return out
}

// listed lists everything that has a row on the worksheet: what has marks,
// and the spacing that the image file states where that is a calibration.
func listed(im *measure.ImageMarks) []item {
	out := items(im)
	for i := range count(im, calibration) {
		if it := (item{calibration, i}); isStated(im, it) {
			out = append(out, it)
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
	case filling:
		return len(im.Fillings)
	case obstruction:
		return len(im.Obstructions)
	case post:
		return len(im.Posts)
	case void:
		n := 0
		for _, f := range im.Fillings {
			n += len(f.Voids)
		}
		return n
	}
	return 0
}

// exists reports whether an image has an item.
func exists(im *measure.ImageMarks, it item) bool {
	return im != nil && it.index >= 0 && it.index < count(im, it.kind)
}

// lineOf returns where the marks along an item's line are kept; nil for a
// filling, which has single marks alone.
func lineOf(im *measure.ImageMarks, it item) *[]measure.Point {
	if !exists(im, it) {
		return nil
	}
	switch it.kind {
	case calibration:
		return &im.Calibration[it.index].Marks
	case canal:
		return &im.Canals[it.index].Marks
	case lesion:
		return &im.Lesions[it.index].Outline
	case obstruction:
		return &im.Obstructions[it.index].Marks
	case post:
		return &im.Posts[it.index].Marks
	case void:
		f, i := voidIn(im, it.index)
		return &f.Voids[i]
	}
	return nil
}

// voidIn returns the filling that void number n of an image is in, and its
// number there.
func voidIn(im *measure.ImageMarks, n int) (*measure.Filling, int) {
	for i := range im.Fillings {
		f := &im.Fillings[i]
		if n < len(f.Voids) {
			return f, n
		}
		n -= len(f.Voids)
	}
	return nil, 0
}

// single is a mark of an item that does not lie along its line.
type single struct {
	at *measure.Point
	as role
}

// singles returns the marks of an item that do not lie along its line.
func singles(im *measure.ImageMarks, it item) []single {
	if !exists(im, it) {
		return nil
	}
	var out []single
	switch it.kind {
	case filling:
		f := &im.Fillings[it.index]
		out = append(out, single{&f.Tip, roleTip}, single{&f.Apex, roleApex})
		for i := range f.Widths {
			out = append(out, single{&f.Widths[i][0], roleEdge}, single{&f.Widths[i][1], roleEdge})
		}
	case obstruction:
		o := &im.Obstructions[it.index]
		for i := range o.Sides {
			out = append(out, single{&o.Sides[i], roleSide})
		}
	case post:
		p := &im.Posts[it.index]
		for _, s := range []single{{p.Top, roleTop}, {p.Margin, roleMargin}, {p.Apex, roleApex}} {
			if s.at != nil {
				out = append(out, s)
			}
		}
	}
	return out
}

// marksOf returns the marks of an item, those along its line first, nil if
// there is no such item.
func marksOf(im *measure.ImageMarks, it item) []measure.Point {
	var out []measure.Point
	if p := lineOf(im, it); p != nil {
		out = append(out, *p...)
	}
	for _, s := range singles(im, it) {
		out = append(out, *s.at)
	}
	return out
}

// along returns how many marks of an item lie along its line; they come first.
func along(im *measure.ImageMarks, it item) int {
	if p := lineOf(im, it); p != nil {
		return len(*p)
	}
	return 0
}

// curveOf returns the line that is measured, as points close enough to draw.
// They are shared: nobody changes them.
func curveOf(im *measure.ImageMarks, it item) []measure.Point {
	const between = 16 // points drawn from one mark to the next
	if it.kind == filling && exists(im, it) {
		return marksOf(im, it)[:2]
	}
	p := lineOf(im, it)
	switch {
	case p == nil:
		return nil
	case closed(it.kind) && len(*p) > 2:
		return lately.through(*p, true, func() []measure.Point { return measure.NewOutline(*p).Points(between) })
	case it.kind == calibration && len(*p) == 2:
		return *p
	}
	return lately.through(*p, false, func() []measure.Point { return measure.NewLine(*p).Points(between) })
}

// setMark moves a mark. A mark moved by hand has the hand's uncertainty.
func setMark(im *measure.ImageMarks, g grip, to measure.Point) {
	to = measure.Pt(to.X, to.Y)
	n := along(im, g.item)
	switch {
	case g.mark >= 0 && g.mark < n:
		(*lineOf(im, g.item))[g.mark] = to
	case g.mark >= n:
		if s := singles(im, g.item); g.mark-n < len(s) {
			*s[g.mark-n].at = to
		}
	}
}

// addMark puts a mark into the line of an item so that it becomes mark number
// at.
func addMark(im *measure.ImageMarks, it item, at int, p measure.Point) {
	marks := lineOf(im, it)
	if marks == nil {
		return
	}
	*marks = slices.Insert(*marks, min(at, len(*marks)), p)
	if it.kind != canal {
		return
	}
	c := &im.Canals[it.index]
	if s := c.CurveStart; s != nil && at <= *s {
		moved := *s + 1
		c.CurveStart = &moved
	}
	if len(c.Marks) == 3 && at == 2 {
		c.Orifice = 1 // the second click of a trace is the orifice
	} else if at <= c.Orifice && c.Orifice > 0 {
		c.Orifice++
	}
}

// dropMark takes a mark out of an item, and the item out of the image when too
// few marks would be left.
func dropMark(im *measure.ImageMarks, g grip) {
	n := along(im, g.item)
	switch {
	case g.mark < 0 || !exists(im, g.item):
	case g.mark >= n:
		dropSingle(im, g, g.mark-n)
	case n <= least[g.kind]:
		dropItem(im, g.item)
	default:
		marks := lineOf(im, g.item)
		*marks = slices.Delete(*marks, g.mark, g.mark+1)
		if g.kind == canal {
			dropStation(&im.Canals[g.index], g.mark)
		}
	}
}

// dropStation keeps orifice and start of the curve of a canal right after a
// mark is gone.
func dropStation(c *measure.Canal, mark int) {
	if mark < c.Orifice {
		c.Orifice--
	}
	c.Orifice = max(0, min(c.Orifice, len(c.Marks)-2))
	if c.CurveStart == nil {
		return
	}
	s := *c.CurveStart
	gone := mark == s
	if mark < s {
		s--
	}
	c.CurveStart = &s
	if gone || s <= c.Orifice || s >= len(c.Marks)-1 {
		c.CurveStart = nil
	}
}

// dropSingle takes a mark out that does not lie along the line of an item.
func dropSingle(im *measure.ImageMarks, g grip, i int) {
	s := singles(im, g.item)
	if i >= len(s) {
		return
	}
	switch g.kind {
	case filling:
		if i < 2 {
			dropItem(im, g.item)
			return
		}
		f := &im.Fillings[g.index]
		f.Widths = slices.Delete(f.Widths, i/2-1, i/2)
	case obstruction:
		o := &im.Obstructions[g.index]
		o.Sides = slices.Delete(o.Sides, i, i+1)
	case post:
		p := &im.Posts[g.index]
		for _, m := range []**measure.Point{&p.Top, &p.Margin, &p.Apex} {
			if *m == s[i].at {
				*m = nil
			}
		}
	}
}

// dropItem takes an item out of the image.
func dropItem(im *measure.ImageMarks, it item) {
	if !exists(im, it) {
		return
	}
	i := it.index
	switch it.kind {
	case calibration:
		im.Calibration = slices.Delete(im.Calibration, i, i+1)
	case canal:
		im.Canals = slices.Delete(im.Canals, i, i+1)
	case lesion:
		im.Lesions = slices.Delete(im.Lesions, i, i+1)
	case filling:
		im.Fillings = slices.Delete(im.Fillings, i, i+1)
	case obstruction:
		im.Obstructions = slices.Delete(im.Obstructions, i, i+1)
	case post:
		im.Posts = slices.Delete(im.Posts, i, i+1)
	case void:
		f, k := voidIn(im, i)
		f.Voids = slices.Delete(f.Voids, k, k+1)
		if len(f.Voids) == 0 {
			f.Voids = nil // none marked is not the same as none there
		}
	}
}

// still returns a grip as far as it still exists: the mark, else its item,
// else nothing.
func still(im *measure.ImageMarks, g grip) grip {
	switch {
	case !exists(im, g.item):
		return nowhere
	case g.mark >= len(marksOf(im, g.item)):
		g.mark = -1
	}
	return g
}
