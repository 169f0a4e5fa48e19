package desk

import (
	"fyne.io/fyne/v2"

	"rootrule/app/wording"
)

// viewDeeds are the keys that change the view alone.
func viewDeeds() []deed {
	return []deed{
		toDo("F", wording.Say("Show the whole image"), func(d *Desk) { d.bench.fit() }, fyne.KeyF, fyne.Key0),
		toDo("1", wording.Say("Show one image pixel as one screen pixel"), func(d *Desk) { d.bench.times(1) }, fyne.Key1),
		toDo("2", wording.Say("Show one image pixel as two by two screen pixels"), func(d *Desk) { d.bench.times(2) }, fyne.Key2),
		toDo("I", wording.Say("Invert"), (*Desk).invert, fyne.KeyI),
		toDo("B", wording.Say("Brightness and contrast by drag"), (*Desk).toggleTone, fyne.KeyB),
		toDo("R", wording.Say("Brightness and contrast as the image opened"), (*Desk).resetTone, fyne.KeyR),
		toDo("3", wording.Say("Next window: full range, bone, canal, enamel and metal"), func(d *Desk) { d.eye.next() }, fyne.Key3),
		toDo("4", wording.Say("Local contrast"), func(d *Desk) { d.eye.toggle(localContrast) }, fyne.Key4),
		toDo("5", wording.Say("Sharpen"), func(d *Desk) { d.eye.toggle(sharpening) }, fyne.Key5),
		toDo("6", wording.Say("Ruler: a grid of squares"), (*Desk).toggleRuler, fyne.Key6),
		toDo("7", wording.Say("Profile of grey values; arrow keys move its end, with Shift its beginning"), func(d *Desk) { d.profile.toggle() }, fyne.Key7),
		toDo("F2", wording.Say("Show the worksheet, or give its room to the bench"), func(d *Desk) { d.sheet.toggle() }, fyne.KeyF2),
		toDo("F6", wording.Say("Walk the worksheet by arrow keys; Enter shows the marks of a number"), (*Desk).walkSheet, fyne.KeyF6),
		toDo("F7", wording.Say("Make the worksheet narrower"), func(d *Desk) { d.sheet.widen(-sheetStep) }, fyne.KeyF7),
		toDo("F8", wording.Say("Make the worksheet wider"), func(d *Desk) { d.sheet.widen(sheetStep) }, fyne.KeyF8),
	}
}

// sheetStep is how much a key makes the worksheet wider, in logical pixels.
const sheetStep = 40

// walkSheet gives the keys to the table of the worksheet.
func (d *Desk) walkSheet() {
	if !d.sheet.box.Visible() {
		d.sheet.toggle()
	}
	d.o.Window.Canvas().Focus(d.sheet.grid.ring)
}
