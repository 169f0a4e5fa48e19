package desk

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// Kinds of what is compared.
type subjectKind int

const (
	subjectLesion subjectKind = iota
	subjectLength
	subjectDepth
)

// compared is one subject of the comparison.
type compared struct {
	kind subjectKind
	of   string // as findings name it
	what string // the finding: of a length, its change
	item measure.Lesion
}

// subjects are what the images of the pair have in common, lesions of one of
// them alone included.
func (p *pair) subjects() []compared {
	var out []compared
	for _, l := range p.lesions() {
		out = append(out, compared{kind: subjectLesion, of: measure.LesionSubject(l), what: measure.WhatAreaChange, item: l})
	}
	for _, f := range p.changes.findings {
		s := compared{of: f.Of, what: f.What}
		switch f.What {
		case measure.WhatLengthChange, measure.WhatFillingChange:
			s.kind = subjectLength
		case measure.WhatDepthSeparation, measure.WhatTrueAngle:
			s.kind = subjectDepth
		default:
			continue
		}
		out = append(out, s)
	}
	return out
}

// lesions are those of both images, each once.
func (p *pair) lesions() []measure.Lesion {
	var out []measure.Lesion
	before, after := p.earlier()
	for _, id := range []string{before, after} {
		im := imageIn(&p.changes.from, id)
		if im == nil {
			continue
		}
		for _, l := range im.Lesions {
			same := func(o measure.Lesion) bool { return o.Tooth == l.Tooth && o.Name == l.Name }
			if !slices.ContainsFunc(out, same) {
				out = append(out, l)
			}
		}
	}
	return out
}

// values returns what a subject measures before and after, in the earlier
// frame where the images are aligned.
func (p *pair) values(of, what string) (before, after measure.Quantity) {
	for _, t := range p.changes.own {
		if t.Of == of && t.What == what && len(t.Points) == 2 {
			return t.Points[0].Quantity, t.Points[1].Quantity
		}
	}
	first, second := p.earlier()
	b, _ := p.finding(first, of, what)
	a, _ := p.finding(second, of, what)
	return b.Quantity, a.Quantity
}

// lesionChange shows how a lesion has changed.
type lesionChange struct {
	desk    *Desk
	subject compared
	verdict *widget.Label
	rows    []*changeRow
	table   *fyne.Container
	seen    *canvas.Text
	missing *widget.Button
	caution *widget.Label
	plot    *trendPlot
	box     *fyne.Container
}

func newLesionChange(d *Desk, s compared) *lesionChange {
	l := &lesionChange{desk: d, subject: s, verdict: bold(), caution: wrapped(), plot: newTrendPlot(d)}
	l.verdict.SizeName = theme.SizeNameSubHeadingText
	l.verdict.Wrapping = fyne.TextWrapWord
	l.seen = text("", colourMuted, sizeCaption, false)
	l.table = compact(changeHeads())
	for _, r := range []struct{ name, value, change string }{
		{wording.Say("area"), measure.WhatArea, measure.WhatAreaChange},
		{wording.Say("longest"), measure.WhatLongestDiameter, measure.WhatDiameterChange},
		{wording.Say("equivalent"), measure.WhatEquivalentDiameter, measure.WhatEquivalentChange},
	} {
		row := newChangeRow(r.name, r.value, r.change)
		l.rows = append(l.rows, row)
		l.table.Add(row.box)
	}
	l.missing = d.button("outline "+s.of, "", func() { d.outlineMissing(s) })
	l.box = container.NewVBox(title(nameShown(s)), flush(l.verdict), l.table, l.seen, container.NewHBox(l.missing), flush(l.caution), l.plot)
	return l
}

// nameShown names a subject in the language of the window.
func nameShown(s compared) string {
	if s.kind == subjectLesion {
		return wording.Say("Lesion %s", join(s.item.Tooth, s.item.Name))
	}
	return wording.Subject(s.of)
}

func (l *lesionChange) update(p *pair) {
	f, ok := p.finding("", l.subject.of, measure.WhatAreaChange)
	absent := p.missing(l.subject.item)
	l.missing.Hidden = absent == ""
	if absent != "" {
		l.missing.SetText(wording.Say("Outline it on %s", p.desk.session.nameOfImage(absent)))
	}
	words := ""
	switch {
	case ok && f.Verdict != "":
		words = wording.Sentence(wording.Verdict(f))
	case ok && f.Defined():
		words = wording.Say("No verdict.")
	}
	setLabel(l.verdict, words)
	l.verdict.Hidden = words == ""
	l.table.Hidden, l.seen.Hidden = !ok || !f.Defined(), true
	for _, r := range l.rows {
		r.update(p, l.subject.of)
	}
	if d, found := p.finding("", l.subject.of, measure.WhatAreaChangeDetectable); found && d.Defined() {
		setText(l.seen, wording.Say("A change of %s would be seen in 9 of 10 comparisons.", wording.Value(d.Quantity)))
		l.seen.Hidden = false
	}
	caution := ""
	if ok && f.Verdict == "" {
		caution = asSentences(f.Cautions)
	}
	setLabel(l.caution, caution)
	l.caution.Hidden = caution == ""
	l.updatePlot(p)
}

// updatePlot shows the area over all recalls of the case.
func (l *lesionChange) updatePlot(p *pair) {
	l.plot.Hidden = true
	for _, t := range p.changes.trends {
		if t.Of == l.subject.of && t.What == measure.WhatArea && len(t.Points) > 1 {
			l.plot.Hidden = false
			l.plot.set(t)
		}
	}
}

// asSentences joins cautions, each as a sentence.
func asSentences(cautions []string) string {
	out := make([]string, len(cautions))
	for i, c := range cautions {
		out[i] = wording.Sentence(wording.Tell(c))
	}
	return join(out...)
}

// missing returns the image of the pair on which a lesion is not outlined,
// empty when it is on both.
func (p *pair) missing(l measure.Lesion) string {
	before, after := p.earlier()
	for _, id := range []string{before, after} {
		im := imageIn(&p.desk.session.marks, id)
		has := func(o measure.Lesion) bool {
			return o.Tooth == l.Tooth && o.Name == l.Name && len(o.Outline) >= least[lesion]
		}
		if !slices.ContainsFunc(im.Lesions, has) {
			return id
		}
	}
	return ""
}

// outlineMissing begins to outline a lesion on the image that lacks it.
func (d *Desk) outlineMissing(s compared) {
	id := d.pair.missing(s.item)
	if id == "" {
		return
	}
	if id != d.session.image {
		d.swap()
	}
	d.start(lesion)
	if d.task != nil {
		d.task.tooth, d.task.name = s.item.Tooth, s.item.Name
		d.refresh()
	}
}

// changeColumns are the columns of the table of changes.
func changeColumns() columns {
	k := sizeText / 15
	return columns{widths: []float32{80 * k, 82 * k, 82 * k, 156 * k}}
}

func changeHeads() fyne.CanvasObject {
	c := container.New(changeColumns())
	for _, s := range []string{"", wording.Say("before"), wording.Say("after"), wording.Say("change")} {
		c.Add(text(s, colourMuted, sizeCaption, false))
	}
	return c
}

// amount is a value with a smaller line below it.
type amount struct {
	value, under *canvas.Text
	box          *fyne.Container
}

func newAmount() *amount {
	a := &amount{value: text("", colourText, sizeText, true), under: text("", colourMuted, sizeCaption, false)}
	a.box = container.New(tight{3}, a.value, a.under)
	return a
}

func (a *amount) set(value, under string) {
	setText(a.value, value)
	setText(a.under, under)
}

func (a *amount) quantity(q measure.Quantity) { a.set(wording.Value(q), wording.PlusMinus(q)) }

// changeRow is one value before and after.
type changeRow struct {
	value, change string // the findings
	before, after *amount
	by            *amount
	box           *fyne.Container
}

func newChangeRow(name, value, change string) *changeRow {
	r := &changeRow{value: value, change: change, before: newAmount(), after: newAmount(), by: newAmount()}
	r.box = container.New(changeColumns(), text(name, colourText, sizeCaption, false), r.before.box, r.after.box, r.by.box)
	return r
}

func (r *changeRow) update(p *pair, of string) {
	before, after := p.values(of, r.value)
	r.before.quantity(before)
	r.after.quantity(after)
	f, _ := p.finding("", of, r.change)
	percent, _ := p.finding("", of, r.change+"_percent")
	year, _ := p.finding("", of, r.change+"_per_year")
	under := ""
	switch {
	case percent.Defined() && year.Defined():
		under = wording.Say("%s, %s a year", wording.Value(percent.Quantity), wording.Value(year.Quantity))
	case percent.Defined():
		under = wording.Value(percent.Quantity)
	}
	r.by.set(wording.Quantity(f.Quantity), under)
}
