package desk

import (
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"rootrule/app/casebook"
	"rootrule/imaging"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// pending is an image that is being decoded.
type pending struct{ image string }

// openImage puts an image of the case on the bench. It is decoded beside the
// main goroutine; until then the bench says so.
func (d *Desk) openImage(id string) {
	s := d.session
	s.image, s.ready, s.draft = id, false, nil
	d.selected, d.hand.over = nowhere, nowhere
	d.bench.show(nil, tone.Window{})
	d.pending = nil
	if im := s.saved(); im != nil {
		p := &pending{id}
		d.pending = p
		d.beside(func() { d.decode(s, p, im.File) })
	}
	s.compute()
	if err := s.kase.SetPlace(id); err != nil {
		d.fail(err)
	}
	d.refresh()
}

// decode runs beside the main goroutine.
func (d *Desk) decode(s *session, p *pending, file string) {
	m, err := s.reader.Image(p.image, file)
	var pic *tone.Picture
	var window tone.Window
	if err == nil {
		pic, window = tone.NewPicture(m), tone.Start(m)
	}
	fyne.Do(func() {
		if d.pending != p { // another image was chosen meanwhile
			return
		}
		d.pending = nil
		if err != nil {
			d.fail(err)
			d.refresh()
			return
		}
		d.arrived(m, pic, window)
	})
}

// arrived shows a decoded image as it was looked at last.
func (d *Desk) arrived(m *imaging.Image, pic *tone.Picture, start tone.Window) {
	d.session.ready = true
	d.session.compute()
	if v, ok := d.session.kase.View(d.session.image); ok && v.High > v.Low {
		d.bench.show(pic, tone.Window{Low: v.Low, High: v.High, Invert: v.Invert})
		d.bench.lookAt(v.CX, v.CY, v.Zoom)
	} else {
		d.bench.show(pic, start)
	}
	d.bench.seek()
	d.eye.arrived(pic, m)
	d.profile.start()
	d.sheet.note(m.Cautions)
	d.refresh()
	d.pair.begin()
	d.fillStrip()
	d.prepareSoon()
}

// fillStrip brings the small pictures of the case onto the strip.
func (d *Desk) fillStrip() {
	s := d.session
	var shas []string
	for _, im := range s.marks.Images {
		shas = append(shas, im.SHA256)
	}
	wanted := d.gallery.wanted(shas)
	var images []measure.ImageMarks
	for _, im := range inOrder(s.marks.Images) {
		if slices.Contains(wanted, im.SHA256) {
			images = append(images, im)
		}
	}
	if len(images) > 0 {
		d.beside(func() { d.gallery.make(s, images, d.strip.update) })
	}
}

// rest is how long a view must stand still before it is kept.
const rest = 400 * time.Millisecond

// viewed notes that the view has changed: it is kept once it rests.
func (d *Desk) viewed() {
	if d.session == nil || !d.session.ready {
		return
	}
	if d.resting == nil {
		d.resting = d.after(rest, func() { fyne.Do(d.keepView) })
	}
	d.resting.Reset(rest)
	d.prober.changed()
}

// keepView keeps how the image is looked at with the case.
func (d *Desk) keepView() {
	if d.session == nil || !d.session.ready || !d.bench.view.Valid() {
		return
	}
	w := d.bench.window
	v := casebook.View{Low: w.Low, High: w.High, Invert: w.Invert}
	v.CX, v.CY, v.Zoom = d.bench.look()
	if err := d.session.kase.SetView(d.session.image, v); err != nil {
		d.fail(err)
	}
}

// choose puts another image of the case on the bench.
func (d *Desk) choose(id string) {
	if d.session == nil || id == d.session.image {
		return
	}
	if d.pair != nil && id == d.pair.other {
		d.swap()
		return
	}
	d.endTask()
	d.keepView()
	d.say("")
	d.openImage(id)
}

// neighbour puts the image before (−1) or after (+1) on the bench.
func (d *Desk) neighbour(step int) {
	if d.session == nil {
		return
	}
	images := inOrder(d.session.marks.Images)
	for i, im := range images {
		if im.ID == d.session.image && i+step >= 0 && i+step < len(images) {
			d.choose(images[i+step].ID)
			return
		}
	}
}
