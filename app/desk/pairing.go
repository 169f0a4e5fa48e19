package desk

import (
	"math"

	"rootrule/app/compare"
	"rootrule/app/wording"
	"rootrule/measure"
)

// pairing is the task of marking the same structures on both images of a pair:
// a click on one image, and a click or Enter on the place that is suggested on
// the other.
type pairing struct {
	first    *measure.Point // the mark that waits for its partner
	onBench  bool           // it lies on the image on the bench, else on the second one
	partner  measure.Point  // suggested on the other image, in its pixels
	likeness float64        // how much its surroundings look alike
}

// pairMarks begins to pair marks, or ends it.
func (d *Desk) pairMarks() {
	p := d.pair
	if p == nil || p.picture == nil {
		return
	}
	d.endTask()
	if d.pairing != nil {
		d.endPairing()
		return
	}
	d.pairing = &pairing{}
	p.how = sideBySide
	p.blink.stop()
	d.selected = nowhere
	d.say("")
	d.refresh()
	d.bench.fit()
	d.focusBench()
}

// endPairing ends the task and aligns by what was marked.
func (d *Desk) endPairing() {
	d.pairing = nil
	d.say("")
	d.refresh()
	d.pair.join()
}

// nextPair says what the next click is for.
func (d *Desk) nextPair() string {
	n := len(d.pair.pairs())
	count := wording.Say("%d of at least %d pairs.", n, enoughPairs)
	switch q := d.pairing; {
	case q.first == nil && n >= enoughPairs:
		return wording.Say("%s Click another structure, or press Enter to align by these pairs.", count)
	case q.first == nil:
		return wording.Say("%s Click a structure that does not change on either image: a crown edge, the cemento-enamel junction, another apex.", count)
	case q.likeness >= compare.Alike:
		return wording.Say("%s Press Enter if the ring on the other image marks the same structure, or click the right place there.", count)
	}
	return wording.Say("%s Click the same structure on the other image; nothing there looks alike enough to be suggested.", count)
}

// pressPair is a click while marks are paired; at is in pixels of the image
// that was clicked.
func (d *Desk) pressPair(onBench bool, at measure.Point) {
	q := d.pairing
	if q.first == nil || q.onBench == onBench {
		q.first, q.onBench = &at, onBench
		d.suggest()
		d.refresh()
		return
	}
	d.addPair(at)
}

// confirmPair takes the suggested partner; without a mark that waits for one it
// ends the task.
func (d *Desk) confirmPair() {
	switch q := d.pairing; {
	case q.first != nil && q.likeness >= compare.Alike:
		d.addPair(q.partner)
	case q.first == nil:
		d.endPairing()
	}
}

// addPair records the waiting mark with its partner, as one step.
func (d *Desk) addPair(partner measure.Point) {
	q, p := d.pairing, d.pair
	own, other := measure.Pt(q.first.X, q.first.Y), measure.Pt(partner.X, partner.Y)
	if !q.onBench {
		own, other = other, own
	}
	marks := [2]measure.Point{own, other} // {before, after}
	if !p.benchFirst() {
		marks = [2]measure.Point{other, own}
	}
	n := len(p.pairs()) + 1
	if d.saved(p.editRecall(wording.Say("pair %d of marks", n), func(r *measure.Recall) {
		r.Pairs = append(r.Pairs, marks)
		r.Map, r.MapUPX, r.Model = nil, nil, "" // it is found anew, with the pairs
	})) {
		q.first = nil
	}
	d.refresh()
}

// takeBackPair takes the waiting mark back, or else the latest pair.
func (d *Desk) takeBackPair() {
	if d.pairing.first != nil {
		d.pairing.first = nil
		d.refresh()
		return
	}
	if n := len(d.pair.pairs()); n > 0 {
		d.saved(d.pair.editRecall(wording.Say("take back pair %d of marks", n), func(r *measure.Recall) { r.Pairs = r.Pairs[:n-1] }))
	}
	d.refresh()
}

// How far around its guess a partner is looked for, in pixels of the image
// that is looked at: the map of an alignment is nearly right, size and middle
// alone are not. Chosen so that a click is answered at once.
const (
	reachAligned = 12
	reachLoose   = 60
)

// suggest finds the partner of the waiting mark on the other image.
func (d *Desk) suggest() {
	q, p := d.pairing, d.pair
	here, err1 := d.session.reader.Image(d.session.image, "")
	there, err2 := d.session.reader.Image(p.other, "")
	if err1 != nil || err2 != nil { // both are on the bench already
		return
	}
	guess := p.back()
	if !q.onBench {
		here, there, guess = there, here, p.link()
	}
	reach := float64(reachLoose)
	if p.aligned {
		reach = reachAligned
	}
	q.partner, q.likeness = compare.Partner(here, there, *q.first, guess, reach)
}

// marksOfPairs are the marks of the pairs on an image of the pair.
func (p *pair) marksOfPairs(id string) []measure.Point {
	before, _ := p.earlier()
	side := 1
	if id == before {
		side = 0
	}
	var out []measure.Point
	for _, q := range p.pairs() {
		out = append(out, q[side])
	}
	return out
}

// badPairs are the pairs that don't fit the map, counted from 0.
func (p *pair) badPairs() map[int]bool {
	out := map[int]bool{}
	if j := p.joining.joined; j != nil {
		for _, i := range j.BadPairs {
			out[i] = true
		}
		return out
	}
	pairs := p.pairs()
	if at, ok := throughPairs(pairs); ok && len(pairs) > enoughPairs {
		worst, most := 0, 0.0
		for i, q := range pairs {
			if off := at.Map(q[1]).Dist(q[0]); off > most {
				worst, most = i, off
			}
		}
		out[worst] = most > badPairPX
	}
	return out
}

// badPairPX is by how many pixels a pair must miss the map through all of them
// to be pointed out while they are marked: ten times what a click does. The
// findings judge with their uncertainties.
const badPairPX = 10 * measure.DefaultClick

// drawPairs draws the marks of the pairs of an image with their numbers; bad
// ones get a cross and say so.
func (s scribe) drawPairs(b *bench, marks []measure.Point, bad map[int]bool) {
	words := b.letters()
	for i, m := range marks {
		at, c := s.at(m), inkText
		if bad[i] {
			c = inkBad
			r := 9 * s.unit
			s.sheet.Line(s.pen(2, c), at.Plus(-r, -r), at.Plus(r, r))
			s.sheet.Line(s.pen(2, c), at.Plus(r, -r), at.Plus(-r, r))
		}
		s.sheet.Ring(s.pen(1.8, c), at, 7*s.unit)
		if words == nil {
			continue
		}
		label := plain(float64(i + 1))
		if bad[i] {
			label = wording.Say("%d does not fit", i+1)
		}
		s.sheet.Write(words, at.Plus(11*s.unit, -11*s.unit-math.Round(float64(sizeText))*s.unit/2), label, c)
	}
}

// drawWaiting draws the mark that waits, and on the other image its suggested
// partner.
func (s scribe) drawWaiting(q *pairing, onBench bool, link func(measure.Point) measure.Point) {
	if q == nil || q.first == nil {
		return
	}
	if q.onBench == onBench {
		at := s.at(link(*q.first))
		s.sheet.Ring(s.pen(2.2, inkHoney), at, 7*s.unit)
		return
	}
	if q.likeness >= compare.Alike {
		at := s.at(link(q.partner))
		for _, r := range []float64{7, 12} {
			s.sheet.Ring(s.pen(1.6, inkHoney), at, r*s.unit)
		}
	}
}
