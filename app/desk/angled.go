package desk

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// angled is the part of the panel that says how two images of one tooth were
// taken from different sides: canals with the same name then have a depth.
type angled struct {
	desk     *Desk
	begin    *widget.Button
	angle    *field
	detector *widget.Select
	remove   *widget.Button
	form     *fyne.Container
	hint     *widget.Label
	filling  bool
	box      *fyne.Container
}

// detectors are the ways the detector is held, in the order offered.
var detectors = []string{measure.DetectorParallel, measure.DetectorTurned}

// usualAngle is the angle that a new pair of views begins with, in degrees:
// what tube shifts are mostly made with. Common practice, no source.
const usualAngle = 20

func newAngled(d *Desk) *angled {
	a := &angled{desk: d, hint: wrapped()}
	a.begin = d.button("angled views", wording.Say("These are two angled views"), func() {
		d.saved(d.pair.editView(wording.Say("pair two angled views"), func(v *measure.View) { v.AngleDeg = usualAngle }))
		d.refresh()
	})
	a.angle = newField(d, "view angle", a.setAngle)
	a.detector = widget.NewSelect([]string{wording.Say("against the teeth"), wording.Say("turned with the beam")}, func(string) {
		if !a.filling && d.pair != nil {
			way := detectors[max(a.detector.SelectedIndex(), 0)]
			d.saved(d.pair.editView(wording.Say("detector of the angled views"), func(v *measure.View) { v.Detector = way }))
			d.refresh()
		}
	})
	d.parts["detector"] = a.detector
	a.remove = d.button("no angled views", wording.Say("Not angled"), func() { d.saved(d.pair.dropView()); d.refresh() })
	k := sizeText / 15
	label := func(s string) fyne.CanvasObject { return text(s, colourMuted, sizeCaption, false) }
	wide := columns{widths: []float32{150 * k, 216 * k}}
	a.form = container.NewVBox(container.New(wide, label(wording.Say("Angle between them, °")), a.angle),
		container.New(wide, label(wording.Say("Detector held")), a.detector), container.NewHBox(a.remove))
	a.hint.SetText(wording.Say("The angle is positive when the tube moved toward the right of the first image."))
	a.box = container.NewVBox(title(wording.Say("Angled views")), container.NewHBox(a.begin), a.form, flush(a.hint))
	return a
}

// update shows the views of the pair.
func (a *angled) update(p *pair) {
	v := p.view(&p.desk.session.marks)
	a.begin.Hidden, a.form.Hidden, a.hint.Hidden = v != nil, v == nil, v == nil
	if v == nil {
		return
	}
	a.angle.set(plain(v.AngleDeg))
	a.filling = true
	if i := max(slices.Index(detectors, v.Detector), 0); a.detector.SelectedIndex() != i {
		a.detector.SetSelectedIndex(i)
	}
	a.filling = false
}

func (a *angled) setAngle(text string) error {
	deg, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || !(math.Abs(deg) > 0 && math.Abs(deg) < 90) {
		return fmt.Errorf("angle between the views: %q is none: type the change of the beam's direction, above 0° and below 90°", text)
	}
	if a.desk.pair == nil {
		return errors.New("angle between the views: no images are compared: compare two first")
	}
	return a.desk.pair.editView(wording.Say("angle between the views"), func(v *measure.View) { v.AngleDeg = deg })
}

// isOf reports whether a view is of the images of the pair.
func (p *pair) isOf(v measure.View) bool {
	before, after := p.earlier()
	return v.Images == [2]string{before, after} || v.Images == [2]string{after, before}
}

// view returns the angled views of the pair, nil when they are none.
func (p *pair) view(m *measure.Marks) *measure.View {
	for i := range m.Views {
		if p.isOf(m.Views[i]) {
			return &m.Views[i]
		}
	}
	return nil
}

// editView makes one step on the angled views of the pair.
func (p *pair) editView(label string, change func(*measure.View)) error {
	before, after := p.earlier()
	return p.desk.session.editCase(label, func(m *measure.Marks) error {
		v := p.view(m)
		if v == nil {
			m.Views = append(m.Views, measure.View{Images: [2]string{before, after}, Detector: measure.DetectorParallel})
			v = &m.Views[len(m.Views)-1]
		}
		change(v)
		return nil
	})
}

// dropView takes the note that the images are angled views back.
func (p *pair) dropView() error {
	return p.desk.session.editCase(wording.Say("no angled views"), func(m *measure.Marks) error {
		m.Views = slices.DeleteFunc(m.Views, p.isOf)
		return nil
	})
}
