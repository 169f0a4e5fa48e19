package desk

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// changePanel stands in place of the worksheet while two images are compared
// and nothing is being marked: how they are aligned, what has changed, and
// what the reader concludes.
type changePanel struct {
	desk    *Desk
	images  *widget.Label // which ones, and the time between them
	state   *widget.Label // of the alignment
	running *widget.ProgressBarInfinite
	cancel  *widget.Button
	flip    *widget.Button
	keep    *widget.Button
	mark    *widget.Button
	again   *widget.Button
	caution *widget.Label
	buttons *fyne.Container
	legend  *legend
	body    *fyne.Container // what has changed
	parts   []changePart
	reader  *conclusion
	angled  *angled
	content *fyne.Container
	scroll  *container.Scroll
	box     *fyne.Container
	shape   string
	height  float32
}

// changePart is one subject that has changed, or not.
type changePart interface{ update(p *pair) }

// changeWidth is the width of the panel in logical pixels, with letters of the
// usual size.
const changeWidth = 424

func newChangePanel(d *Desk) *changePanel {
	c := &changePanel{desk: d, images: wrapped(), state: wrapped(), caution: wrapped(), running: widget.NewProgressBarInfinite()}
	c.images.TextStyle.Bold = true
	c.running.Stop()
	c.cancel = d.button("cancel alignment", wording.Say("Cancel"), func() { d.pair.cancelJoin(); d.refresh() })
	c.flip = d.button("exchange left and right", wording.Say("Exchange left and right of the later image"), func() { d.pair.flipSecond() })
	c.keep = d.button("keep alignment", wording.Say("Keep this alignment"), func() { d.pair.record(); d.refresh() })
	c.mark = d.button("pair marks", wording.Say("Pair marks"), d.pairMarks)
	c.again = d.button("align", wording.Say("Align"), func() { d.pair.join() })
	c.buttons = container.New(flow{}, c.cancel, c.flip, c.keep, c.again, c.mark)
	c.body, c.legend = container.NewVBox(), newLegend(d)
	c.reader, c.angled = newConclusion(d), newAngled(d)
	c.content = container.NewVBox(flush(c.images), title(wording.Say("Alignment")), flush(c.state), c.running, c.buttons, flush(c.caution),
		c.legend.box, c.body, c.reader.box, c.angled.box)
	c.scroll = container.NewVScroll(container.New(layout.NewCustomPaddedLayout(6, 10, 10, 14), c.content))
	c.box = container.New(wide{changeWidth * sizeText / 15}, container.NewStack(canvas.NewRectangle(colourPanel), c.scroll))
	c.box.Hide()
	return c
}

// update shows the panel, or the worksheet in its place.
func (c *changePanel) update() {
	d := c.desk
	p := d.pair
	on := p != nil && p.picture != nil && d.task == nil
	if c.box.Visible() != on {
		c.box.Hidden, d.sheet.box.Hidden = !on, on
		d.frame.Refresh()
	}
	if !on {
		return
	}
	c.updateState(p)
	c.legend.update(p)
	if shape := p.shape(); shape != c.shape {
		c.shape = shape
		c.rebuild(p)
	}
	for _, part := range c.parts {
		part.update(p)
	}
	c.reader.update(p)
	c.angled.update(p)
	if h := c.content.MinSize().Height; h != c.height {
		c.height = h
		c.content.Refresh()
		c.scroll.Refresh()
	}
}

// updateState says which images are compared and how they are aligned.
func (c *changePanel) updateState(p *pair) {
	before, after := p.earlier()
	name := c.desk.session.nameOfImage
	setLabel(c.images, wording.Say("From %s to %s", name(before), name(after)))
	j := &p.joining
	r := p.recall()
	busy := j.busy && j.joined == nil
	setLabel(c.state, p.stateOfAlignment())
	running(c.running, busy)
	c.cancel.Hidden = !busy
	c.flip.Hidden = !j.mirrored
	c.keep.Hidden = j.joined == nil || r != nil && r.Map != nil
	c.again.Hidden = busy || j.joined != nil
	lit(c.mark, c.desk.pairing != nil)
	setLabel(c.caution, strings.Join(p.cautions(), "\n"))
	c.caution.Hidden = c.caution.Text == ""
	c.buttons.Refresh()
}

// stateOfAlignment says in a sentence how the images lie on each other.
func (p *pair) stateOfAlignment() string {
	j, r := &p.joining, p.recall()
	residual, _ := p.finding("", measure.ImageSubject, measure.WhatAlignmentResidual)
	switch {
	case j.busy && j.joined == nil:
		return wording.Say("The images are being brought into one frame.")
	case r != nil && r.Map != nil:
		return wording.Say("Aligned by the images themselves; residual %s.", wording.Fine(residual.Quantity))
	case j.joined != nil:
		return wording.Say("Aligned by the images themselves; not recorded.")
	case p.aligned:
		return wording.Say("Aligned by %d pairs of marks; residual %s.", len(p.pairs()), wording.Fine(residual.Quantity))
	case j.refused != "":
		return wording.Tell(j.refused)
	}
	return wording.Say("Not aligned: the images are laid on each other by their size alone.")
}

// cautions are those of the alignment, each once.
func (p *pair) cautions() []string {
	var out []string
	seen := map[string]bool{}
	add := func(texts []string) {
		for _, t := range texts {
			if line := wording.Sentence(wording.Tell(t)); !seen[line] {
				seen[line] = true
				out = append(out, line)
			}
		}
	}
	if j := p.joining.joined; j != nil {
		add(j.Cautions)
	}
	if f, ok := p.finding("", measure.ImageSubject, measure.WhatAlignmentResidual); ok && p.aligned {
		add(f.Cautions)
	}
	if p.joining.refused != "" && p.aligned {
		add([]string{p.joining.refused})
	}
	return out
}

// shape tells which parts the panel needs.
func (p *pair) shape() string {
	var b strings.Builder
	for _, s := range p.subjects() {
		b.WriteString(wording.Subject(s.of) + "\n")
	}
	return b.String()
}

func (c *changePanel) rebuild(p *pair) {
	c.body.RemoveAll()
	c.parts = nil
	lengths := container.NewVBox()
	depths := container.NewVBox()
	for _, s := range p.subjects() {
		switch s.kind {
		case subjectLesion:
			part := newLesionChange(c.desk, s)
			c.parts = append(c.parts, part)
			c.body.Add(part.box)
		case subjectLength:
			part := newLengthChange(s)
			c.parts = append(c.parts, part)
			lengths.Add(part.box)
		case subjectDepth:
			part := newDepthReading(s)
			c.parts = append(c.parts, part)
			depths.Add(part.box)
		}
	}
	for _, group := range []struct {
		heading string
		box     *fyne.Container
	}{{wording.Say("Lengths"), lengths}, {wording.Say("Depth, from two angled views"), depths}} {
		if len(group.box.Objects) > 0 {
			c.body.Add(title(group.heading))
			c.body.Add(group.box)
		}
	}
}

// running starts or stops a bar that shows that something is going on.
func running(b *widget.ProgressBarInfinite, on bool) {
	b.Hidden = !on
	switch {
	case on && !b.Running():
		b.Start()
	case !on && b.Running():
		b.Stop()
	}
}

// setLabel changes a label if it has another text.
func setLabel(l *widget.Label, s string) {
	if l.Text != s {
		l.SetText(s)
	}
}

// compact stacks lines closer than a box does.
func compact(objects ...fyne.CanvasObject) *fyne.Container {
	return container.New(tight{theme.Padding() / 2}, objects...)
}
