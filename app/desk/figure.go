package desk

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// figure is one number on the worksheet. Pressed, it shows the marks it came
// from; pointed at, it tells of method, calibration and uncertainty.
type figure struct {
	widget.BaseWidget
	desk         *Desk
	block        block
	spec         spec
	image        string
	finding      measure.Finding
	back         *canvas.Rectangle
	large, small *canvas.Text
	sign         *canvas.Text // there is a caution
	content      *fyne.Container
}

func newFigure(d *Desk, image string, b block, s spec) *figure {
	f := &figure{desk: d, image: image, block: b, spec: s}
	f.back = canvas.NewRectangle(color.Transparent)
	f.back.CornerRadius = 3
	f.large = text("", colourText, sizeText, true)
	f.small = text("", colourMuted, sizeCaption-1, false)
	f.sign = text("", colourAlarm, sizeText, true)
	f.content = container.New(numberLayout{}, f.sign, f.large, f.small)
	f.ExtendBaseWidget(f)
	return f
}

// CreateRenderer shows ground and number.
func (f *figure) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(f.back, f.content))
}

// update shows the present finding.
func (f *figure) update(t *tally) {
	findings, known := t.on(f.image)
	found, ok := findingIn(findings, f.block.of, f.spec.what)
	f.finding = found
	large, small, sign := "", "", ""
	switch {
	case ok:
		large, small = f.spec.words(found)
		if g := f.desk.sheet.grid; len(g.slants.without(f.block, f.image, ownCautions(findings, found))) > 0 {
			sign = "!"
		}
	case !known:
		large = "…"
	default:
		large = wording.Undefined
	}
	if f.large.Text != large || f.small.Text != small || f.sign.Text != sign {
		f.large.Text, f.small.Text, f.sign.Text = large, small, sign
		f.content.Refresh()
	}
}

// ownCautions are the cautions of a finding that are not those of its image's
// scale, which stand beside the scale.
func ownCautions(findings []measure.Finding, f measure.Finding) []string {
	scale, _ := findingIn(findings, measure.ImageSubject, measure.WhatScale)
	var out []string
	for _, c := range f.Cautions {
		if !contains(scale.Cautions, c) && !isNoScale(scale, c) {
			out = append(out, c)
		}
	}
	return out
}

// isNoScale reports whether a caution says only that there is no scale, which
// the scale itself says in more words.
func isNoScale(scale measure.Finding, caution string) bool {
	return !scale.Defined() && strings.HasPrefix(caution, "no calibration")
}

func contains(all []string, s string) bool {
	for _, a := range all {
		if a == s {
			return true
		}
	}
	return false
}

// Tapped shows where the number comes from.
func (f *figure) Tapped(*fyne.PointEvent) {
	f.desk.tip.hide()
	f.desk.showSource(f.image, f.block.of)
	f.desk.focusBench()
}

// MouseIn tells about the number.
func (f *figure) MouseIn(*desktop.MouseEvent) { f.point(true) }

// MouseMoved: see MouseIn.
func (f *figure) MouseMoved(*desktop.MouseEvent) {}

// MouseOut ends it.
func (f *figure) MouseOut() { f.point(false) }

// Cursor shows that the number can be pressed.
func (f *figure) Cursor() desktop.Cursor { return desktop.PointerCursor }

// point shows that the number is pointed at, by mouse or keys.
func (f *figure) point(on bool) {
	fill := color.Color(color.Transparent)
	if on {
		fill = through(colourText, hoverVeil)
		f.desk.tip.show(f, f.desk.explain(f))
	} else {
		f.desk.tip.hide()
	}
	f.back.FillColor = fill
	f.back.Refresh()
}

// AccessibilityLabel names the number for assistive technology.
func (f *figure) AccessibilityLabel() string {
	return wording.Say("%[1]s, %[2]s: %[3]s", wording.Subject(f.block.of), f.spec.name, wording.Quantity(f.finding.Quantity))
}

// AccessibilityRole: it can be pressed.
func (f *figure) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleButton }

// explain tells all about a number: value with ±, method, calibration,
// cautions.
func (d *Desk) explain(f *figure) []string {
	findings, known := d.sheet.tally.on(f.image)
	if f.finding.What == "" {
		if !known {
			return []string{wording.Say("This is being computed.")}
		}
		return []string{wording.Say("There is no such number on this image.")}
	}
	lines := []string{wording.Say("%[1]s, %[2]s: %[3]s", capital(wording.Subject(f.block.of)), wording.Label(f.finding.What), wording.Quantity(f.finding.Quantity))}
	if f.finding.Defined() && f.finding.StdUnc > 0 {
		lines = append(lines, wording.Say("± holds the true value in about 95 of 100 cases."))
	}
	lines = append(lines, wording.Say("Method: %s.", wording.Tell(f.finding.Method)))
	if scale, ok := findingIn(findings, measure.ImageSubject, measure.WhatScale); ok && scale.Defined() {
		lines = append(lines, wording.Say("Scale: %[1]s, %[2]s.", wording.Quantity(scale.Quantity), wording.Tell(scale.Method)))
	} else {
		lines = append(lines, wording.Say("This image is not calibrated: lengths are in px."))
	}
	for _, c := range f.finding.Cautions {
		lines = append(lines, wording.Say("Caution: %s.", wording.Tell(c)))
	}
	return lines
}
