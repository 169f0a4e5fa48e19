package desk

import (
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"rootrule/measure"
)

// mouse is what the buttons are doing on the bench.
type mouse struct {
	button  desktop.MouseButton // the one that went down, 0 for none
	does    gesture             // what a press of it began
	tone    bool                // the drag changes window and level
	at      fyne.Position       // of the latest event
	down    fyne.Position       // of the press
	dragged bool
	over    fyne.Position // of the latest move
	last    time.Time     // of the press before
	lastPos fyne.Position
	now     func() time.Time
}

// Two presses are a double click when the second follows within twice and
// lies within near logical pixels. Common practice, no source.
const (
	twice = 350 * time.Millisecond
	near  = 4
)

// dragFrom is how far a press of the secondary button moves before it is a
// drag, in logical pixels. The toolkit does the same for the others.
const dragFrom = 2

// MouseDown begins a gesture.
func (b *bench) MouseDown(ev *desktop.MouseEvent) {
	b.desk.focusBench()
	b.desk.cursor.on = false
	if b.picture == nil || b.mouse.button != 0 {
		return
	}
	m := &b.mouse
	b.desk.haunt(nowhere2, measure.Point{})
	double := ev.Button == desktop.MouseButtonPrimary && m.second(ev.Position)
	m.button, m.down, m.at, m.dragged, m.tone, m.does = ev.Button, ev.Position, ev.Position, false, false, gesturePan
	switch {
	case ev.Button != desktop.MouseButtonPrimary || b.desk.keys.space:
	case b.desk.pair.onLine(ev.Position):
		m.does = gestureSplit
	case b.desk.again != nil:
		m.does = gestureNone
		b.desk.pressAgain(b.spot(ev.Position).at)
	case b.desk.pairing != nil:
		m.does = gestureNone
		b.desk.pressPair(true, b.spot(ev.Position).at)
	case b.desk.profile.on:
		m.does = gestureProfile
		b.desk.profile.press(b.spot(ev.Position).at)
	case b.desk.toneMode || b.desk.keys.tone:
		m.tone = true
	case double && b.desk.double(b.spot(ev.Position)):
		m.does = gestureNone
	default:
		m.does = b.desk.press(b.spot(ev.Position))
	}
}

// second reports whether a press is the second of a double click. A third is
// a first again.
func (m *mouse) second(pos fyne.Position) bool {
	now := m.clock()
	d := pos.Subtract(m.lastPos)
	double := now.Sub(m.last) < twice && math.Abs(float64(d.X)) <= near && math.Abs(float64(d.Y)) <= near
	m.last, m.lastPos = now, pos
	if double {
		m.last = time.Time{}
	}
	return double
}

// clock is the time, which tests set.
func (m *mouse) clock() time.Time {
	if m.now == nil {
		m.now = time.Now
	}
	return m.now()
}

// Dragged follows a press of the primary or the middle button.
func (b *bench) Dragged(ev *fyne.DragEvent) { b.follow(ev.Position) }

// DragEnd comes after MouseUp, which has ended the gesture already.
func (b *bench) DragEnd() {}

// MouseIn, MouseMoved and MouseOut follow the mouse without a button, and the
// secondary button, which the toolkit doesn't drag with.
func (b *bench) MouseIn(ev *desktop.MouseEvent) { b.MouseMoved(ev) }

// MouseMoved: see MouseIn.
func (b *bench) MouseMoved(ev *desktop.MouseEvent) {
	b.desk.cursor.on = false
	b.mouse.over = ev.Position
	switch {
	case b.picture == nil:
	case b.mouse.button != 0:
		b.follow(ev.Position)
	default:
		b.desk.hover(b.spot(ev.Position), true)
		b.desk.haunt(onBench, b.spot(ev.Position).at)
	}
}

// MouseOut: see MouseIn.
func (b *bench) MouseOut() {
	if b.picture != nil && b.mouse.button == 0 {
		b.desk.hover(spot{}, false)
		b.desk.haunt(nowhere2, measure.Point{})
	}
}

// follow moves what the press began.
func (b *bench) follow(pos fyne.Position) {
	m := &b.mouse
	if m.button == 0 || b.picture == nil {
		return
	}
	moved := pos.Subtract(m.down)
	if !m.dragged && math.Abs(float64(moved.X)) < dragFrom && math.Abs(float64(moved.Y)) < dragFrom {
		return
	}
	m.dragged = true
	x, y := b.device(pos)
	lastX, lastY := b.device(m.at)
	m.at = pos
	switch {
	case m.tone:
		b.turn(x-lastX, y-lastY)
	case m.does == gestureMark:
		b.desk.drag(b.spot(pos))
	case m.does == gestureProfile:
		b.desk.profile.drag(b.spot(pos).at)
	case m.does == gesturePan:
		b.pan(x-lastX, y-lastY)
	case m.does == gestureSplit:
		b.desk.pair.moveLine(x)
	}
}

// turnOver is the drag, as a share of the bench, that changes contrast by a
// factor of two, or brightness by half a window. Common practice, no source.
const turnOver = 0.25

// turn changes contrast (to the right: more) and brightness (up: brighter).
func (b *bench) turn(dx, dy float64) {
	w, h := b.area()
	b.setWindow(b.window.Adjust(dx/(w*turnOver), -dy/(h*turnOver)/2))
	b.desk.viewed()
}

// MouseUp ends the gesture.
func (b *bench) MouseUp(ev *desktop.MouseEvent) {
	m := &b.mouse
	if ev.Button != m.button || b.picture == nil {
		return
	}
	m.button = 0
	switch {
	case m.does == gestureMark:
		b.desk.drop(b.spot(ev.Position))
	case ev.Button == desktop.MouseButtonSecondary && !m.dragged:
		b.desk.secondary(b.spot(ev.Position))
	}
}

// doubling is how far the wheel is turned to see everything twice as large, in
// the toolkit's units: a notch is 25 of them (on macOS 10). A fast wheel is sped
// up by the toolkit, so a single event is limited to two doublings.
const doubling = 100

// Scrolled zooms about the mouse.
func (b *bench) Scrolled(ev *fyne.ScrollEvent) {
	x, y := b.device(ev.Position)
	turned := float64(ev.Scrolled.DY) / doubling
	b.zoom(x, y, math.Exp2(math.Min(math.Max(turned, -2), 2)))
	if b.picture != nil && b.mouse.button == 0 {
		b.desk.hover(b.spot(ev.Position), true)
	}
}

// cancel forgets the gesture under way: the next move is a hover.
func (b *bench) cancel() { b.mouse.does = gestureNone }
