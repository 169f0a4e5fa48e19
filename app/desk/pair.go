package desk

import (
	"slices"

	"fyne.io/fyne/v2"

	"rootrule/app/compare"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// showing is how two images are looked at together.
type showing int

const (
	sideBySide showing = iota // each on its own half, zoomed and moved together
	splitLine                 // one left, the other right of a line that can be moved
	blinking                  // one after the other in the same place
	difference                // what the later one has more and less of
)

// pair is a second image that is looked at together with the one on the bench,
// which alone is edited. The bench shows its own image in its own pixels; the
// second follows through a map.
type pair struct {
	desk    *Desk
	other   string        // id of the second image
	picture *tone.Picture // of it, nil until it is decoded
	window  tone.Window
	table   *tone.Table
	how     showing
	loose   measure.Alignment // second image → bench while they are not aligned
	joining joining
	changes changes
	aligned bool              // at is an alignment, not size and middle alone
	at      measure.Alignment // second image → bench, as drawn
	inverse measure.Alignment // of at
	split   float64           // the line, as a share of the bench's width
	blink   blink
	ghost   ghost
	seen    [2]tone.Through // the image on the bench and the second one, drawn alike
	change  changeView
}

// ghost is the mouse of one image as it would be on the other.
type ghost struct {
	at measure.Point // in pixels of the image on the bench
	on place2
}

// place2 is one of the two places where the images of a pair lie.
type place2 int

const (
	nowhere2 place2 = iota
	onBench
	onSide
)

// compare puts the most likely second image beside the one on the bench, or
// ends the comparison.
func (d *Desk) compare() {
	if d.pair != nil {
		d.leavePair()
		return
	}
	id := ""
	if d.session.saved() != nil {
		id = d.partner()
	}
	if id == "" {
		d.say(wording.Say("Comparing needs two radiographs of the tooth: drop the other one here."))
		d.refresh()
		return
	}
	d.comparePair(id)
}

// partner returns the image that belongs beside the one on the bench: the
// other one of a recall or of two angled views, or else the latest image, or from there the first.
func (d *Desk) partner() string {
	s := d.session
	for _, r := range s.marks.Recalls {
		switch s.image {
		case r.Before:
			return r.After
		case r.After:
			return r.Before
		}
	}
	for _, v := range s.marks.Views {
		switch s.image {
		case v.Images[0]:
			return v.Images[1]
		case v.Images[1]:
			return v.Images[0]
		}
	}
	images := inOrder(s.marks.Images)
	if n := len(images); n > 1 && images[n-1].ID != s.image {
		return images[n-1].ID
	} else if n > 1 {
		return images[0].ID
	}
	return ""
}

// comparePair puts an image of the case beside the one on the bench.
func (d *Desk) comparePair(id string) {
	s := d.session
	im := imageIn(&s.marks, id)
	if im == nil || id == s.image || !s.ready {
		return
	}
	d.endTask()
	d.say("")
	p := &pair{desk: d, other: id, split: 0.5, blink: blink{rate: usualRate}, change: changeView{reach: usualReach, tinted: true}}
	p.loose = measure.Alignment(tone.Same)
	p.at, p.inverse = p.loose, p.loose
	if d.pair != nil {
		p.how, p.blink.rate = d.pair.how, d.pair.blink.rate
		d.pair.stop()
	}
	d.pair = p
	d.refresh()
	d.bench.fit()
	d.beside(func() { d.decodeSecond(s, p, im.File) })
}

// decodeSecond runs beside the main goroutine.
func (d *Desk) decodeSecond(s *session, p *pair, file string) {
	m, err := s.reader.Image(p.other, file)
	var pic *tone.Picture
	var start tone.Window
	if err == nil {
		pic, start = tone.NewPicture(m), tone.Start(m)
	}
	fyne.Do(func() {
		if d.pair != p || d.session != s {
			return
		}
		if err != nil {
			d.leavePair()
			d.fail(err)
			return
		}
		if v, ok := s.kase.View(p.other); ok && v.High > v.Low {
			start = tone.Window{Low: v.Low, High: v.High, Invert: v.Invert}
		}
		p.picture, p.window, p.table = pic, start, start.Table()
		p.begin()
	})
}

// begin lays the images on each other, once both are there, and aligns them.
func (p *pair) begin() {
	if p == nil || p.picture == nil || !p.desk.session.ready {
		return
	}
	p.forget()
	p.compute()
	p.loosen()
	p.join()
}

// loosen lays the second image on the one on the bench by size and middle
// alone: as large as their scales say where both have one, else as wide.
func (p *pair) loosen() {
	b := p.desk.bench
	if b.picture == nil || p.picture == nil {
		return
	}
	here, there := p.lie(p.desk.session.image, b.picture), p.lie(p.other, p.picture)
	w, h := b.shownSize()
	w2, h2 := sizeOf(there, p.picture)
	k := float64(w) / w2
	if mine, others := p.mmPerPx(p.desk.session.image), p.mmPerPx(p.other); mine > 0 && others > 0 {
		k = others / mine
	}
	centred := measure.Alignment{{k, 0, (float64(w-1) - k*(w2-1)) / 2}, {0, k, (float64(h-1) - k*(h2-1)) / 2}, {0, 0, 1}}
	back, _ := here.Inverse()
	p.loose = back.After(centred).After(there)
	p.place()
}

// lie takes stored pixels of an image of the pair to those it is shown in.
func (p *pair) lie(id string, pic *tone.Picture) measure.Alignment {
	return compare.Lie(turnOf(imageIn(&p.desk.session.marks, id)), pic.Width, pic.Height)
}

// sizeOf is the size of a picture as it is shown.
func sizeOf(lie measure.Alignment, pic *tone.Picture) (w, h float64) {
	if lie[0][0] == 0 { // rows have become columns
		return float64(pic.Height), float64(pic.Width)
	}
	return float64(pic.Width), float64(pic.Height)
}

// mmPerPx is the scale of an image of the pair, 0 when it has none.
func (p *pair) mmPerPx(id string) float64 {
	f, ok := p.finding(id, measure.ImageSubject, measure.WhatScale)
	if !ok || !f.Defined() || f.Unit != measure.MillimetrePerPx {
		return 0
	}
	return f.Value
}

// link takes a point of the second image to the image on the bench, back the
// other way.
func (p *pair) link() measure.Alignment { return p.at }
func (p *pair) back() measure.Alignment { return p.inverse }

// leavePair ends the comparison: the image on the bench stays there.
func (d *Desk) leavePair() {
	if d.pair == nil {
		return
	}
	d.dropPair()
	d.say("")
	d.refresh()
	d.bench.fit()
	d.focusBench()
}

// dropPair ends the comparison and all that belongs to it.
func (d *Desk) dropPair() {
	d.pair.stop()
	d.pair, d.pairing = nil, nil
}

// stop ends what runs for the pair.
func (p *pair) stop() {
	if p != nil {
		p.blink.stop()
		p.cancelJoin()
	}
}

// show changes how the two images are looked at.
func (p *pair) show(how showing) {
	if p == nil {
		return
	}
	if p.how == blinking {
		p.blink.stop()
	}
	p.desk.say("")
	p.how = how
	if how == blinking {
		p.blink.start(p.desk)
	}
	p.desk.refresh()
	p.desk.bench.fit()
}

// forMarks shows the image on the bench with its marks, so that they can be
// set.
func (p *pair) forMarks() {
	if p.hidesMarks() || p != nil && p.how == blinking {
		p.show(sideBySide)
	}
}

// beside reports whether the second image has a half of its own.
func (p *pair) beside() bool { return p != nil && p.how == sideBySide }

// earlier returns the images of the pair in order of treatment.
func (p *pair) earlier() (before, after string) {
	images := inOrder(p.desk.session.marks.Images)
	at := func(id string) int {
		return slices.IndexFunc(images, func(im measure.ImageMarks) bool { return im.ID == id })
	}
	if here := p.desk.session.image; at(here) <= at(p.other) {
		return here, p.other
	}
	return p.other, p.desk.session.image
}

// benchFirst reports whether the image on the bench is the earlier one: it
// then lies left.
func (p *pair) benchFirst() bool {
	before, _ := p.earlier()
	return before == p.desk.session.image
}

// swap puts the second image on the bench, where it can be edited, and keeps
// the anatomy in sight where it is.
func (d *Desk) swap() {
	p, b, s := d.pair, d.bench, d.session
	if p == nil || p.picture == nil || b.picture == nil {
		return
	}
	d.endTask()
	d.keepView()
	view, link := p.viewOfSecond(), p.back()
	fitted := b.fitted
	s.image, p.other = p.other, s.image
	pic, window := b.picture, b.window
	s.draft, d.selected, d.hand.over = nil, nowhere, nowhere
	b.show(p.picture, p.window)
	p.picture, p.window, p.table = pic, window, window.Table()
	p.loose = link
	p.place()
	if !fitted {
		b.fitted = false
		b.setView(view)
	}
	d.sees()
	s.compute()
	if err := s.kase.SetPlace(s.image); err != nil {
		d.fail(err)
	}
	d.refresh()
}

// sees tells the parts that follow the picture on the bench of another one.
func (d *Desk) sees() {
	im := d.session.saved()
	if m, err := d.session.reader.Image(im.ID, im.File); err == nil { // decoded already
		d.eye.arrived(d.bench.picture, m)
		d.sheet.note(m.Cautions)
	}
}

// viewOfSecond is the view of the second image in its own pixels that shows
// the same anatomy in the middle, as large.
func (p *pair) viewOfSecond() tone.View {
	b := p.desk.bench
	w, h := b.area()
	x, y := b.view.ToImage((w-1)/2, (h-1)/2)
	back := p.back()
	o := back.Map(measure.Pt(x, y))
	e := back.Map(measure.Pt(x+1, y))
	scale := b.view.Scale / o.Dist(e)
	lying := tone.View{}.Lying(turnOf(imageIn(&p.desk.session.marks, p.other)), p.picture.Width, p.picture.Height)
	return lying.At(o.X, o.Y, (w-1)/2, (h-1)/2, scale)
}

// checkPair brings the pair in step with the marks. It ends the comparison when one of its images is no longer in the case or
// both are the same.
func (d *Desk) checkPair() {
	p := d.pair
	if p == nil {
		return
	}
	s := d.session
	if s == nil || s.image == p.other || s.saved() == nil || imageIn(&s.marks, p.other) == nil {
		d.dropPair()
		return
	}
	another := p.forget()
	p.compute()
	p.place()
	if another || p.stale() {
		p.begin()
	}
}

// forget drops what is known of other images than the pair has now, or of the
// same in another order, and reports whether it had to: nothing that belongs to
// one pair may be shown with another.
func (p *pair) forget() bool {
	before, after := p.earlier()
	of := [2]string{before, after}
	if p.changes.of == of {
		return false
	}
	p.cancelJoin()
	p.joining, p.changes = joining{}, changes{of: of}
	if p.picture != nil && p.desk.bench.picture != nil {
		p.loosen()
	}
	return true
}

// stale reports whether one of the images lies another way than when they were
// aligned, or is another one.
func (p *pair) stale() bool {
	q := &p.joining.question
	if p.picture == nil || !p.desk.session.ready || q.Before.Digest == "" {
		return false
	}
	before, after := p.earlier()
	b, a := imageIn(&p.desk.session.marks, before), imageIn(&p.desk.session.marks, after)
	return b.SHA256 != q.Before.Digest || a.SHA256 != q.After.Digest || turnOf(b) != q.Before.Turn || turnOf(a) != q.After.Turn
}

// nextInPair says what can be done with two images.
func (d *Desk) nextInPair() string {
	p := d.pair
	switch {
	case p.picture == nil:
		return wording.Say("The second radiograph is being read.")
	case p.how == splitLine:
		return wording.Say("Drag the line, or move it with the arrow keys; hold H to see the second image alone.")
	case p.how == blinking:
		return wording.Say("The two images change places; the rate is set above.")
	case p.how == difference && p.joining.diff == nil && p.joining.busy:
		return wording.Say("The difference is being worked out.")
	case p.how == difference && p.joining.diff == nil:
		return wording.Say("There is no difference to show: the images are not aligned by themselves.")
	case p.how == difference:
		return wording.Say("Brighter is denser than before. Comma and full stop change the contrast, 9 shows or hides the map of change.")
	}
	return wording.Say("Both images move and zoom together; click the second one to edit it.")
}

// nameOfImage says which image of the case one is: "3 recall 2025-03-25".
func (s *session) nameOfImage(id string) string {
	for i, im := range inOrder(s.marks.Images) {
		if im.ID == id {
			stage, date := "", ""
			if im.Stage != "" {
				stage = stageText(im.Stage)
			}
			if im.Date != "" {
				date = dateText(im.Date)
			}
			return join(plain(float64(i+1)), stage, date)
		}
	}
	return ""
}
