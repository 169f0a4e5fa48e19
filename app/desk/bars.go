package desk

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// gap is empty room between parts of a row.
func gap(width float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSize(width, 1))
	return r
}

// button makes a named button that gives the keys back to the bench.
func (d *Desk) button(name, label string, do func()) *widget.Button {
	b := widget.NewButton(label, func() {
		do()
		if d.open == nil {
			d.giveBack()
		}
		d.prober.changed()
	})
	d.parts[name] = b
	return b
}

// taskBar stands over the bench and has the tasks.
type taskBar struct {
	desk  *Desk
	tasks map[kind]*tool
	two   *tool
	box   fyne.CanvasObject
}

func newTaskBar(d *Desk) *taskBar {
	t := &taskBar{desk: d, tasks: map[kind]*tool{
		calibration: d.tool("calibrate", wording.Say("Calibrate"), signCalibrate, func() { d.start(calibration) }),
		canal:       d.tool("trace canal", wording.Say("Trace canal"), signCanal, func() { d.start(canal) }),
		lesion:      d.tool("outline lesion", wording.Say("Outline lesion"), signLesion, func() { d.start(lesion) }),
	}}
	t.two = d.tool("compare", wording.Say("Compare"), signCompare, d.compare)
	t.box = container.NewPadded(container.New(row{}, t.tasks[calibration], t.tasks[canal], t.tasks[lesion], t.two,
		d.more.button, d.more.assisted))
	return t
}

// update marks the task under way. The sentence below and the card on the
// worksheet say it too.
func (t *taskBar) update() {
	d := t.desk
	for k, b := range t.tasks {
		lit(&b.Button, d.task != nil && d.task.kind == k)
	}
	d.more.update()
	lit(&t.two.Button, d.pair != nil)
}

func lit(b *widget.Button, on bool) {
	importance := widget.MediumImportance
	if on {
		importance = widget.HighImportance
	}
	if b.Importance != importance {
		b.Importance = importance
		b.Refresh()
	}
}
