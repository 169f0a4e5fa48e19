package compare

import (
	"errors"

	"rootrule/imaging"
	"rootrule/imaging/align"
	"rootrule/measure"
)

// upright returns the image as it is shown.
func (m Image) upright() *imaging.Image {
	if m.Turn <= imaging.TurnNone {
		return m.Picture
	}
	out := *m.Picture
	out.Pix = m.Turn.Apply(make([]uint16, len(m.Picture.Pix)), m.Picture.Pix, m.Picture.Width, m.Picture.Height)
	if m.Turn.Lying() {
		out.Width, out.Height = out.Height, out.Width
	}
	return &out
}

// lie is the map from stored pixels to those of the image as it is shown.
func (m Image) lie() measure.Alignment { return Lie(m.Turn, m.Picture.Width, m.Picture.Height) }

// Lie is the map from pixels of a stored image of w×h to those of the image as
// a turn shows it.
func Lie(t imaging.Turn, w, h int) measure.Alignment {
	x0, y0 := t.Shown(0, 0, w, h)
	x1, y1 := t.Shown(1, 0, w, h)
	x2, y2 := t.Shown(0, 1, w, h)
	return measure.Alignment{{x1 - x0, x2 - x0, x0}, {y1 - y0, y2 - y0, y0}, {0, 0, 1}}
}

// isRefusal reports whether an error says that two images can't be compared.
func isRefusal(err error) bool {
	var r *align.Refusal
	return errors.As(err, &r)
}

// Refused returns why two images can't be compared and what to do, and whether
// that is what the error says.
func Refused(err error) (reason string, ok bool) {
	var r *align.Refusal
	if !errors.As(err, &r) {
		return "", false
	}
	return r.Reason, true
}

// Mirrored reports whether a refusal says that one of the images is mirrored.
func Mirrored(err error) bool { return errors.Is(err, align.ErrMirrored) }
