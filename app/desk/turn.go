package desk

import (
	"rootrule/app/wording"
	"rootrule/imaging"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// turnOf returns how an image is shown.
func turnOf(im *measure.ImageMarks) imaging.Turn {
	if im == nil {
		return imaging.TurnNone
	}
	return imaging.TurnOf(im.Mirrored, im.TurnedDeg)
}

// turnWords says how an image is shown, empty for as it is stored.
func turnWords(im *measure.ImageMarks) string {
	switch {
	case im == nil || turnOf(im) == imaging.TurnNone:
		return ""
	case im.TurnedDeg == 0:
		return wording.Say("left and right exchanged")
	case im.Mirrored:
		return wording.Say("left and right exchanged, then turned by %d° clockwise", im.TurnedDeg)
	}
	return wording.Say("turned by %d° clockwise", im.TurnedDeg)
}

// turnSign is the same in a few letters, for a small picture.
func turnSign(im *measure.ImageMarks) string {
	sign := ""
	if im.Mirrored {
		sign = "⇄"
	}
	if im.TurnedDeg != 0 {
		sign += wording.Say(" %d°", im.TurnedDeg)
	}
	return sign
}

// flip exchanges left and right of an image as it is seen. What is turned by
// a right angle then turns the other way.
func (d *Desk) flip(id string) {
	d.lie(id, wording.Say("exchange left and right"), func(im *measure.ImageMarks) {
		im.Mirrored = !im.Mirrored
		im.TurnedDeg = (360 - im.TurnedDeg) % 360
	})
}

// turnBy turns an image clockwise by 90, 180 or 270 degrees.
func (d *Desk) turnBy(id string, degrees int) {
	d.lie(id, wording.Say("turn by %d°", degrees), func(im *measure.ImageMarks) {
		im.TurnedDeg = (im.TurnedDeg + degrees) % 360
	})
}

// lie changes how an image is shown, as a step that undo takes back, and says
// so: a picture is never turned in silence.
func (d *Desk) lie(id, label string, change func(*measure.ImageMarks)) {
	if d.session == nil || imageIn(&d.session.marks, id) == nil {
		d.say(wording.Say("First open a radiograph."))
		d.refresh()
		return
	}
	if d.editImage(id, label, change) {
		words := turnWords(imageIn(&d.session.marks, id))
		if words == "" {
			words = wording.Say("as it is stored")
		}
		d.say(wording.Say("The image is shown %s. Marks stay on the anatomy; Ctrl+Z takes it back.", words))
	}
	d.refresh()
}

// editImage makes one step on any image of the case.
func (d *Desk) editImage(id, label string, change func(*measure.ImageMarks)) bool {
	d.endTask()
	return d.saved(d.session.editCase(label, func(m *measure.Marks) error {
		im := imageIn(m, id)
		if im == nil {
			return errNoImage
		}
		change(im)
		return nil
	}))
}

// lie keeps the view in step with how the image is shown, whoever changed
// that: the middle of the bench stays in the middle.
func (b *bench) lie() {
	if b.picture == nil || !b.view.Valid() {
		return
	}
	v := b.lying(b.view)
	switch {
	case v == b.view:
	case b.fitted:
		b.fit()
	default:
		w, h := b.area()
		x, y := b.view.ToImage((w-1)/2, (h-1)/2)
		b.setView(v.At(x, y, (w-1)/2, (h-1)/2, b.view.Scale))
		b.keepInSight()
	}
}

// lying returns a view of the picture that shows it as the image is to lie.
func (b *bench) lying(v tone.View) tone.View {
	return v.Lying(turnOf(b.desk.session.saved()), b.picture.Width, b.picture.Height)
}

// shownSize returns width and height of the picture as it is shown.
func (b *bench) shownSize() (w, h int) {
	w, h = b.picture.Width, b.picture.Height
	if turnOf(b.desk.session.saved()).Lying() {
		w, h = h, w
	}
	return w, h
}
