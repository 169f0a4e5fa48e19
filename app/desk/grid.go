package desk

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// grid is the table of the worksheet: a block of lines for each canal, lesion
// and so on of the case, and a column for each image, as many of them as there
// is room for. It is its own layout.
type grid struct {
	desk    *Desk
	tally   *tally
	box     *fyne.Container
	heads   *fyne.Container
	images  []measure.ImageMarks // all, in order of treatment, as shown
	first   int                  // of the columns shown
	fits    int                  // columns that there is room for
	bench   string               // the image that was last kept in sight
	all     bool                 // all lines are wanted
	shape   string               // what the rows were built for
	rows    []*gridRow
	bands   []*band
	columns []*columnHead
	fields  map[string]*readingCell // kept, so that one doesn't lose the focus
	ring    *ring
	slants  slants
	names   float32 // width of the names of lines
}

// gridRow is one line: a name and a cell for each column, or words over the
// whole width.
type gridRow struct {
	name  *canvas.Text
	cells []fyne.CanvasObject // nil where an image doesn't show the item
	wide  fyne.CanvasObject
	words *widget.Label // of wide, for cautions
	block *block        // that they are about, nil for all of the section
	of    section
	band  int // the block's ground, −1 for none
}

func newGrid(d *Desk) *grid {
	g := &grid{desk: d, tally: &tally{desk: d}, fits: 1, fields: map[string]*readingCell{}}
	g.ring = newRing(g)
	g.box = container.New(g)
	g.heads = container.New(headLayout{g})
	return g
}

// update shows the findings of the case.
func (g *grid) update() {
	s := g.desk.session
	g.tally.follow(s)
	g.images = nil
	if s != nil {
		g.images = inOrder(s.marks.Images)
		for i := range g.images {
			if g.images[i].ID == s.image && s.shown() != nil {
				g.images[i] = *s.shown()
			}
		}
		g.keepBench(s.image)
	}
	all := blocks(g.images)
	g.slants.find(all, g.images, g.tally)
	g.build(all)
	for _, r := range g.rows {
		g.updateRow(r)
	}
	for _, b := range g.bands {
		b.mark()
	}
	for _, c := range g.columns {
		c.update()
	}
}

// keepBench moves the columns so that the image on the bench is among them,
// once for each time that it is put there.
func (g *grid) keepBench(image string) {
	if g.bench != image {
		g.bench = image
		g.showColumn(g.columnOf(image))
	}
	g.first = max(0, min(g.first, len(g.images)-g.fits))
}

// showColumn moves the columns so that one of them is seen.
func (g *grid) showColumn(i int) {
	if i >= 0 {
		g.first = max(i-g.fits+1, min(g.first, i))
	}
}

func (g *grid) columnOf(image string) int {
	return slices.IndexFunc(g.images, func(im measure.ImageMarks) bool { return im.ID == image })
}

// turn shows the columns before or after.
func (g *grid) turn(by int) {
	g.first = max(0, min(g.first+by, len(g.images)-g.fits))
	g.desk.sheet.update()
}

// shown are the images that have a column now.
func (g *grid) shown() []measure.ImageMarks {
	first := min(max(g.first, 0), len(g.images))
	return g.images[first:min(first+g.fits, len(g.images))]
}

// wanted returns the lines of a block that are shown.
func (g *grid) wanted(b block) []spec {
	var out []spec
	for _, s := range b.lines {
		if g.wants(b, s) {
			out = append(out, s)
		}
	}
	return out
}

func (g *grid) wants(b block, s spec) bool {
	if s.show == always || s.show == asked && g.all {
		return true
	}
	return slices.ContainsFunc(g.images, func(im measure.ImageMarks) bool {
		if s.typed != nil {
			i := b.index(&im)
			return i >= 0 && s.typed.show(&im, i) != ""
		}
		f, ok := g.tally.finding(im.ID, b.of, s.what)
		return ok && f.Defined() && s.show == filled
	})
}

// build makes the rows again where they are not those that are needed.
func (g *grid) build(all []block) {
	shape := g.shapeOf(all)
	if shape == g.shape {
		return
	}
	g.shape = shape
	g.rows, g.bands, g.columns = nil, nil, nil
	for s := range sections {
		of := slices.DeleteFunc(slices.Clone(all), func(b block) bool { return b.section != s })
		if len(of) == 0 && s.empty() == "" {
			continue
		}
		g.addWide(text(s.title(), colourHoney, sizeCaption+1, true))
		if len(of) == 0 {
			g.addWide(text(s.empty(), colourMuted, sizeText, false))
		}
		if len(of) > 1 {
			words := wrapped()
			g.rows = append(g.rows, &gridRow{wide: flush(words), words: words, of: s, band: -1})
		}
		for i := range of {
			g.addBlock(of, i)
		}
	}
	g.addHeads()
	g.collect()
}

// shapeOf tells all that the rows depend on.
func (g *grid) shapeOf(all []block) string {
	var b strings.Builder
	for _, im := range g.shown() {
		fmt.Fprintf(&b, "%s|", im.ID)
	}
	for _, bl := range all {
		fmt.Fprintf(&b, "\n%s:", bl.of)
		for _, s := range g.wanted(bl) {
			b.WriteString(s.name + ",")
		}
		for _, im := range g.shown() {
			b.WriteString(plain(float64(bl.index(&im))))
		}
	}
	return b.String()
}

func (g *grid) addWide(o fyne.CanvasObject) {
	g.rows = append(g.rows, &gridRow{wide: o, band: -1})
}

// addBlock adds the lines of a block, under the name of its root where that is
// a new one.
func (g *grid) addBlock(of []block, i int) {
	b := of[i]
	if b.root != "" && (i == 0 || of[i-1].root != b.root || of[i-1].tooth != b.tooth) {
		g.addWide(text(capital(b.root), colourMuted, sizeCaption, false))
	}
	ground := newBand(g.desk, b)
	g.desk.parts["row "+b.of] = ground
	g.bands = append(g.bands, ground)
	at := len(g.bands) - 1
	g.rows = append(g.rows, &gridRow{wide: text(join(wording.Tooth(b.tooth), b.name), colourText, sizeText+1, true), band: at})
	for _, s := range g.wanted(b) {
		r := &gridRow{name: text(s.name, colourMuted, sizeCaption, false), band: at}
		for _, im := range g.shown() {
			r.cells = append(r.cells, g.newCell(im, b, s))
		}
		g.rows = append(g.rows, r)
	}
	words := wrapped()
	g.rows = append(g.rows, &gridRow{wide: flush(words), words: words, block: &b, band: at})
}

// newCell makes the cell of a line on an image; nil where the image doesn't
// show the item.
func (g *grid) newCell(im measure.ImageMarks, b block, s spec) fyne.CanvasObject {
	switch {
	case b.index(&im) < 0:
		return nil
	case s.typed == nil:
		return newFigure(g.desk, im.ID, b, s)
	}
	key := im.ID + "/" + b.of + "/" + s.typed.key
	c := g.fields[key]
	if c == nil {
		c = newReadingCell(g, im.ID, b, s.typed)
		g.fields[key] = c
	}
	c.block, c.entry = b, s.typed
	if im.ID == g.desk.session.imageID() {
		g.desk.parts[s.typed.key+" "+b.of] = c.field
	}
	return c
}

// collect makes the objects of the rows those of the box: grounds first.
func (g *grid) collect() {
	var objects []fyne.CanvasObject
	for _, b := range g.bands {
		objects = append(objects, b)
	}
	for _, b := range g.bands {
		objects = append(objects, b.frame)
	}
	g.names = 0
	for _, r := range g.rows {
		if r.wide != nil {
			objects = append(objects, r.wide)
			continue
		}
		g.names = max(g.names, r.name.MinSize().Width)
		objects = append(objects, r.name)
		for _, c := range r.cells {
			if c != nil {
				objects = append(objects, c)
			}
		}
	}
	g.names = max(g.names+2*inset, 96*sizeText/15)
	g.box.Objects = append(objects, g.ring)
}

// addHeads makes the heads of the columns.
func (g *grid) addHeads() {
	var objects []fyne.CanvasObject
	for _, im := range g.shown() {
		c := newColumnHead(g.desk, im.ID)
		g.columns = append(g.columns, c)
		objects = append(objects, c)
	}
	g.heads.Objects = append(objects, g.desk.sheet.turning)
}

func (g *grid) updateRow(r *gridRow) {
	for _, c := range r.cells {
		switch c := c.(type) {
		case *figure:
			c.update(g.tally)
		case *readingCell:
			c.update(g.images)
		}
	}
	if r.words == nil {
		return
	}
	s := g.slants.words(r.of, g.images)
	if r.block != nil {
		s = strings.Join(g.cautionsOf(*r.block), "\n")
	}
	if r.words.Text != s {
		r.words.SetText(s)
	}
	if hidden := s == ""; r.wide.Visible() == hidden {
		if hidden {
			r.wide.Hide()
		} else {
			r.wide.Show()
		}
	}
}

// cautionsOf collects the cautions that belong to one block, each said once
// and with the images that it is about where there are several.
func (g *grid) cautionsOf(b block) []string {
	var order []string
	about := map[string][]string{}
	for i, im := range g.images {
		findings, _ := g.tally.on(im.ID)
		for _, f := range findings {
			if f.Of != b.of || !f.Defined() && !b.hasLine(f.What) {
				continue
			}
			for _, c := range g.slants.without(b, im.ID, ownCautions(findings, f)) {
				if _, ok := about[c]; !ok {
					order = append(order, c)
				}
				if n := plain(float64(i + 1)); !contains(about[c], n) {
					about[c] = append(about[c], n)
				}
			}
		}
	}
	for i, c := range order {
		order[i] = "!  " + wording.Sentence(wording.Tell(c))
		if len(g.images) > 1 {
			order[i] = "!  " + wording.Say("Image %[1]s: %[2]s", strings.Join(about[c], ", "), wording.Sentence(wording.Tell(c)))
		}
	}
	return order
}

// hasLine reports whether a finding has a line of its own even when it has no
// value: its cautions then say why.
func (b block) hasLine(what string) bool {
	return slices.ContainsFunc(b.lines, func(s spec) bool { return s.what == what && s.show == always })
}
