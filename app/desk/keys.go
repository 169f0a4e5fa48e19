package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"rootrule/app/wording"
	"rootrule/imaging/tone"
)

// held are the keys that change what a drag does.
type held struct{ shift, space, tone bool }

// shortcutRedoToo is the second shortcut for redo; a menu item has but one.
var shortcutRedoToo = &desktop.CustomShortcut{KeyName: fyne.KeyZ, Modifier: fyne.KeyModifierControl | fyne.KeyModifierShift}

// Steps of the keys. Common practice, no source.
const (
	zoomStep = 1.25
	toneStep = 0.125
	fine     = 0.1 // image pixels an arrow key moves a mark
	coarse   = 1.0 // the same with Shift
)

// deed is something a key does.
type deed struct {
	keys []fyne.KeyName
	show string // the keys as the sheet shows them
	does string
	do   func(*Desk)
}

func toDo(show, does string, do func(*Desk), keys ...fyne.KeyName) deed {
	return deed{keys, show, does, do}
}

// deeds is the only list of keys: the sheet of keys is made from it.
func deeds() []deed {
	return append([]deed{
		toDo("C", wording.Say("Calibrate"), func(d *Desk) { d.start(calibration) }, fyne.KeyC),
		toDo("T", wording.Say("Trace canal"), func(d *Desk) { d.start(canal) }, fyne.KeyT),
		toDo("L", wording.Say("Outline lesion"), func(d *Desk) { d.start(lesion) }, fyne.KeyL),
		toDo("A", wording.Say("More marks: filling, obstruction, post"), (*Desk).showMoreMarks, fyne.KeyA),
		toDo("U", wording.Say("While a line is traced: the canal beside the one found"), (*Desk).besideLine, fyne.KeyU),
		toDo("Y", wording.Say("Marks by hand, or assisted"), (*Desk).toggleByHand, fyne.KeyY),
		toDo(wording.Say("Enter"), wording.Say("End the calibration, trace or outline and keep it"), (*Desk).finish, fyne.KeyReturn, fyne.KeyEnter),
		toDo(wording.Say("Backspace"), wording.Say("Take back the last mark of a task"), (*Desk).backspace, fyne.KeyBackspace),
		toDo(wording.Say("Escape"), wording.Say("Leave a task, a mode or a selection"), (*Desk).escape, fyne.KeyEscape),
		toDo(wording.Say("Delete"), wording.Say("Delete the selected mark, canal, lesion or calibration"), (*Desk).remove, fyne.KeyDelete),
		toDo("M", wording.Say("What can be done with what is selected"), (*Desk).showChoices, fyne.KeyM),
		toDo("N", wording.Say("Select the next mark, with Shift the one before"), (*Desk).nextMark, fyne.KeyN),
		toDo(wording.Say("arrow keys"), wording.Say("Move the selected mark by 0.1 px, with Shift by 1 px; else the cross, at which Enter clicks"), nil),
		toDo("E", wording.Say("Move the edge of a found outline outward, with Shift inward"), (*Desk).swellByKey, fyne.KeyE),
		toDo("K", wording.Say("Marks drawn fine, as usual or strong"), (*Desk).nextWeight, fyne.KeyK),
		toDo("+  −", wording.Say("Zoom in, zoom out"), func(d *Desk) { d.zoomBy(zoomStep) }, fyne.KeyPlus, fyne.KeyEqual),
		toDo("", "", func(d *Desk) { d.zoomBy(1 / zoomStep) }, fyne.KeyMinus),
		toDo("[  ]", wording.Say("Darker, brighter"), func(d *Desk) { d.adjust(0, -toneStep) }, fyne.KeyLeftBracket),
		toDo("", "", func(d *Desk) { d.adjust(0, toneStep) }, fyne.KeyRightBracket),
		toDo(",  .", wording.Say("Less contrast, more contrast"), func(d *Desk) { d.adjust(-toneStep, 0) }, fyne.KeyComma),
		toDo("", "", func(d *Desk) { d.adjust(toneStep, 0) }, fyne.KeyPeriod),
		toDo(wording.Say("Page Up  Page Down"), wording.Say("Image before, image after"), func(d *Desk) { d.neighbour(-1) }, fyne.KeyPageUp),
		toDo("", "", func(d *Desk) { d.neighbour(1) }, fyne.KeyPageDown),
		toDo("F4", wording.Say("Exchange left and right of the image"), func(d *Desk) { d.onBench(d.flip) }, fyne.KeyF4),
		toDo("F5", wording.Say("Turn the image right by 90°"), func(d *Desk) { d.onBench(func(id string) { d.turnBy(id, 90) }) }, fyne.KeyF5),
		toDo(wording.Say("hold Space"), wording.Say("Drag the image instead of marking"), nil),
		toDo(wording.Say("hold W"), wording.Say("Change brightness and contrast by drag"), nil),
		toDo("F1", wording.Say("This sheet"), (*Desk).showKeys, fyne.KeyF1),
	}, append(viewDeeds(), pairDeeds()...)...)
}

// TypedKey does what a key stands for.
func (b *bench) TypedKey(ev *fyne.KeyEvent) {
	d := b.desk
	if d.open != nil {
		if ev.Name == fyne.KeyEscape {
			d.open.Hide()
		}
		return
	}
	if d.atHome() {
		d.home.search.TypedKey(ev)
		return
	}
	if d.pairKey(ev.Name) || d.profile.key(ev.Name) {
		return
	}
	if dx, dy, ok := arrow(ev.Name); ok {
		if d.arrowLine(dx) {
			return
		}
		d.arrow(dx, dy)
		return
	}
	if (ev.Name == fyne.KeyReturn || ev.Name == fyne.KeyEnter) && d.enter() {
		return
	}
	for _, deed := range deeds() {
		for _, k := range deed.keys {
			if k == ev.Name {
				deed.do(d)
				return
			}
		}
	}
}

func arrow(k fyne.KeyName) (dx, dy float64, ok bool) {
	switch k {
	case fyne.KeyLeft:
		return -1, 0, true
	case fyne.KeyRight:
		return 1, 0, true
	case fyne.KeyUp:
		return 0, -1, true
	case fyne.KeyDown:
		return 0, 1, true
	}
	return 0, 0, false
}

// KeyDown notes the keys that change what a drag does.
func (b *bench) KeyDown(ev *fyne.KeyEvent) { b.hold(ev.Name, true) }

// KeyUp forgets them.
func (b *bench) KeyUp(ev *fyne.KeyEvent) { b.hold(ev.Name, false) }

func (b *bench) hold(name fyne.KeyName, down bool) {
	switch name {
	case desktop.KeyShiftLeft, desktop.KeyShiftRight:
		b.desk.keys.shift = down
	case fyne.KeySpace:
		b.desk.keys.space = down
	case fyne.KeyW:
		b.desk.keys.tone = down
	case keyBlinkByHand:
		b.desk.holdBlink(down)
	}
}

// TypedRune: runes do nothing here, keys do.
func (b *bench) TypedRune(rune) {}

// FocusGained frames the bench.
func (b *bench) FocusGained() { b.focus(true) }

// FocusLost forgets held keys: their release goes elsewhere.
func (b *bench) FocusLost() {
	b.desk.keys = held{}
	b.desk.holdBlink(false)
	b.focus(false)
}

func (b *bench) focus(on bool) {
	b.focused = on
	b.raster.Refresh()
	b.desk.prober.changed()
}

func (d *Desk) backspace() {
	if d.task != nil {
		d.takeBack()
	}
}

func (d *Desk) escape() {
	if d.pair != nil && d.idle() {
		d.leavePair()
	}
	d.leave()
	d.bench.cancel()
}

func (d *Desk) zoomBy(factor float64) {
	w, h := d.bench.area()
	d.bench.zoom(w/2, h/2, factor)
}

func (d *Desk) invert() {
	w := d.bench.window
	w.Invert = !w.Invert
	d.setTone(w)
}

func (d *Desk) adjust(contrast, brightness float64) {
	if d.pair.adjusts(contrast) {
		return
	}
	d.setTone(d.bench.window.Adjust(contrast, brightness))
}

// resetTone shows the greys as the image opened.
func (d *Desk) resetTone() {
	if im := d.session.saved(); im != nil && d.session.ready {
		if m, err := d.session.reader.Image(im.ID, im.File); err == nil {
			d.setTone(tone.Start(m))
		}
	}
}

func (d *Desk) setTone(w tone.Window) {
	if d.bench.picture != nil {
		d.bench.setWindow(w)
		d.viewed()
		d.refresh()
	}
}

func (d *Desk) toggleTone() {
	d.endTask()
	d.toneMode = !d.toneMode
	d.refresh()
}
