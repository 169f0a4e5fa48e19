package desk

import (
	"time"

	"fyne.io/fyne/v2"
)

// Rates of blinking, in changes a second. Two changes are one flash, and three
// flashes a second are the most that is safe for readers with photosensitive
// epilepsy (WCAG 2.2, success criterion 2.3.1): 3 changes are half of that.
const (
	slowestRate = 0.5
	usualRate   = 1.5
	fastestRate = 3
	rateStep    = 0.5
)

// soonest is the least time between two presses of the key for it: each press
// and its release are one flash, so that there are three of them in a second.
const soonest = time.Second / 3

// blink shows the two images of a pair one after the other.
type blink struct {
	rate   float64 // changes a second
	second bool    // the second image is shown, not that on the bench
	held   bool    // the key for it is held: the images change by hand
	timer  *time.Timer
	last   time.Time // of the latest change, or press of the key
}

// start begins to blink.
func (b *blink) start(d *Desk) {
	b.stop()
	p := d.pair
	var tick func()
	tick = func() {
		fyne.Do(func() {
			if d.pair != p || p.how != blinking || b.timer == nil {
				return
			}
			if !b.held {
				b.change(d)
			}
			b.timer = d.after(b.every(), tick)
		})
	}
	b.timer = d.after(b.every(), tick)
}

// every is the time between two changes.
func (b *blink) every() time.Duration { return time.Duration(float64(time.Second) / b.rate) }

// stop ends the blinking and shows the image on the bench.
func (b *blink) stop() {
	if b.timer != nil {
		b.timer.Stop()
		b.timer = nil
	}
	b.second, b.held = false, false
}

// change shows the other image.
func (b *blink) change(d *Desk) {
	b.second, b.last = !b.second, d.bench.mouse.clock()
	d.bench.raster.Refresh()
	d.prober.changed()
}

// holdBlink shows the second image in place of the first for as long as the
// key is held, in whatever way the two are looked at.
func (d *Desk) holdBlink(down bool) {
	p := d.pair
	if p == nil || p.picture == nil || p.blink.held == down {
		return
	}
	b := &p.blink
	if down && d.bench.mouse.clock().Sub(b.last) < soonest {
		return
	}
	if b.held, b.second = down, down; down {
		b.last = d.bench.mouse.clock()
	}
	d.bench.raster.Refresh()
	d.prober.changed()
}

// setRate changes how fast the images blink, within what is safe.
func (d *Desk) setRate(rate float64) {
	if d.pair == nil {
		return
	}
	d.pair.blink.rate = min(max(rate, slowestRate), fastestRate)
	d.compareBar.update()
}
