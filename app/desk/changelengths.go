package desk

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// lengthChange shows how the length of a root, or the distance of a filling
// from the apex, has changed.
type lengthChange struct {
	subject compared
	name    *canvas.Text
	before  *amount
	after   *amount
	by      *amount
	verdict *canvas.Text
	box     *fyne.Container
}

func newLengthChange(s compared) *lengthChange {
	l := &lengthChange{subject: s, name: text("", colourText, sizeCaption, true), verdict: text("", colourText, sizeCaption, false),
		before: newAmount(), after: newAmount(), by: newAmount()}
	l.box = compact(l.name, container.New(changeColumns(), text("", colourText, sizeCaption, false), l.before.box, l.after.box, l.by.box), l.verdict)
	return l
}

func (l *lengthChange) update(p *pair) {
	f, _ := p.finding("", l.subject.of, l.subject.what)
	value, name := measure.WhatLength, wording.Say("%s: length", wording.Subject(l.subject.of))
	if l.subject.what == measure.WhatFillingChange {
		value, name = measure.WhatFillingToApex, wording.Say("%s: distance to the apex", wording.Subject(l.subject.of))
	}
	setText(l.name, name)
	before, after := p.values(l.subject.of, value)
	l.before.quantity(before)
	l.after.quantity(after)
	l.by.set(wording.Quantity(f.Quantity), "")
	setText(l.verdict, wording.Sentence(wording.Verdict(f)))
}

// depthReading shows what two angled views tell about depth: which of two
// canals lies buccal, by how much, and the true angle of a canal.
type depthReading struct {
	subject compared
	name    *canvas.Text
	says    *widget.Label
	box     *fyne.Container
}

func newDepthReading(s compared) *depthReading {
	r := &depthReading{subject: s, name: text("", colourText, sizeCaption, true), says: wrapped()}
	r.box = compact(r.name, flush(r.says))
	return r
}

func (r *depthReading) update(p *pair) {
	f, _ := p.finding("", r.subject.of, r.subject.what)
	setText(r.name, wording.Subject(r.subject.of))
	setLabel(r.says, depthSentence(f))
}

// depthSentence reads a depth or an angle out. The depth is positive when the
// first canal lies farther toward the side that the tube moved to: by the rule
// of same lingual, opposite buccal it is then the lingual one.
func depthSentence(f measure.Finding) string {
	if !f.Defined() {
		return asSentences(f.Cautions)
	}
	if f.What == measure.WhatTrueAngle {
		return wording.Say("True angle in space %s.", wording.Quantity(f.Quantity))
	}
	apart := f.Quantity
	apart.Value = math.Abs(apart.Value)
	switch measure.Verdict(f.Quantity) {
	case measure.VerdictLarger:
		return wording.Say("%s apart in depth; the second canal lies buccal of the first.", wording.Quantity(apart))
	case measure.VerdictSmaller:
		return wording.Say("%s apart in depth; the first canal lies buccal of the second.", wording.Quantity(apart))
	}
	return wording.Say("%s apart in depth: which one lies buccal can't be told.", wording.Quantity(apart))
}
