package desk

import (
	"math"

	"fyne.io/fyne/v2"

	"rootrule/app/wording"
)

// keyBlinkByHand shows the second image while it is held.
const keyBlinkByHand = fyne.KeyH

// pairDeeds are the keys of two images; the sheet of keys lists them too.
func pairDeeds() []deed {
	show := func(how showing) func(*Desk) { return func(d *Desk) { d.pair.show(how) } }
	return append([]deed{
		toDo("V", wording.Say("Compare with a second image, or end the comparison"), (*Desk).compare, fyne.KeyV),
		toDo("S", wording.Say("Two images side by side"), show(sideBySide), fyne.KeyS),
		toDo("X", wording.Say("Two images with a split line; arrow keys move it"), show(splitLine), fyne.KeyX),
		toDo("J", wording.Say("Two images blinking"), show(blinking), fyne.KeyJ),
		toDo("F3", wording.Say("Pair marks of the same structures on both images"), (*Desk).pairMarks, fyne.KeyF3),
		toDo("9", wording.Say("Show or hide the map of change over the difference"), (*Desk).toggleTint, fyne.Key9),
		toDo("D", wording.Say("Difference of two images"), show(difference), fyne.KeyD),
		toDo("H", wording.Say("Hold: see the second image in place of the first"), nil),
		toDo("O", wording.Say("Put the other image of the two on the bench, to be edited"), (*Desk).swap, fyne.KeyO),
	}, readingDeeds()...)
}

// idle reports whether Escape has nothing smaller to leave than the comparison.
func (d *Desk) idle() bool {
	return d.pairing == nil && d.task == nil && !d.toneMode && d.selected == nowhere && !d.hand.placing && d.hand.holding == nowhere
}

// arrowLine moves the split line by an arrow key, when there is one and no
// mark is selected.
func (d *Desk) arrowLine(dx float64) bool {
	p := d.pair
	if p == nil || p.how != splitLine || d.selected.mark >= 0 {
		return false
	}
	w, _ := d.bench.area()
	p.moveLine(p.split*w + dx*lineReach*d.bench.ratio)
	return true
}

// pairKey does what Enter, Backspace and Escape mean while marks are paired, or
// read a second time.
func (d *Desk) pairKey(name fyne.KeyName) bool {
	if d.pairing == nil {
		return d.againKey(name)
	}
	switch name {
	case fyne.KeyReturn, fyne.KeyEnter:
		d.confirmPair()
	case fyne.KeyBackspace:
		d.takeBackPair()
	case fyne.KeyEscape:
		if d.pairing.first != nil {
			d.takeBackPair()
		} else {
			d.endPairing()
		}
	default:
		return false
	}
	return true
}

// lineReach is how near to the split line a press takes hold of it, in logical
// pixels.
const lineReach = 7

// onLine reports whether a position on the bench is on the split line.
func (p *pair) onLine(pos fyne.Position) bool {
	if p == nil || p.how != splitLine || !p.onTop() {
		return false
	}
	b := p.desk.bench
	x, _ := b.device(pos)
	w, _ := b.area()
	return math.Abs(x-p.split*w) <= lineReach*b.ratio
}

// dragsLine reports whether the mouse is on the split line, or moves it.
func (p *pair) dragsLine() bool {
	if p == nil {
		return false
	}
	m := &p.desk.bench.mouse
	return m.button != 0 && m.does == gestureSplit || m.button == 0 && p.onLine(m.over)
}

// moveLine moves the split line to a column of the bench, and keeps it in sight.
func (p *pair) moveLine(x float64) {
	if p == nil {
		return
	}
	b := p.desk.bench
	w, _ := b.area()
	keep := lineReach * b.ratio
	p.split = math.Min(math.Max(x, keep), w-keep) / w
	b.raster.Refresh()
	p.desk.prober.changed()
}
