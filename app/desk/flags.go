package desk

import (
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// flags is the line under the bench with what must be known about the image
// before one of its numbers is used: that it is not calibrated, calibrated at
// the detector, mirrored or turned, foreshortened. It is there always, so that
// the bench doesn't jump when one comes.
type flags struct {
	desk  *Desk
	said  []string
	chips *fyne.Container
	box   *fyne.Container
}

func newFlags(d *Desk) *flags {
	f := &flags{desk: d, chips: container.New(flow{})}
	high := canvas.NewRectangle(colourGround)
	high.SetMinSize(newChip("M").MinSize())
	f.box = container.New(layout.NewCustomPaddedLayout(3, 4, 4, 4), container.NewStack(high, f.chips))
	return f
}

// newChip is one flag: a sign and words.
func newChip(words string) fyne.CanvasObject {
	back := canvas.NewRectangle(colourRaised)
	back.CornerRadius = 3
	sign := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	inner := container.NewHBox(sign, container.NewCenter(text(words, colourText, sizeText, false)))
	return container.NewStack(back, container.New(layout.NewCustomPaddedLayout(3, 3, 5, 8), inner))
}

// update shows the flags of the image as shown.
func (f *flags) update() {
	said := f.desk.session.flags()
	if slices.Equal(said, f.said) {
		return
	}
	f.said = said
	f.chips.RemoveAll()
	for _, words := range said {
		f.chips.Add(newChip(words))
	}
	f.box.Refresh()
}

// flags says what must be known about the image on the bench.
func (s *session) flags() (out []string) {
	im := s.shown()
	if im == nil || !s.ready {
		return nil
	}
	if words := turnWords(im); words != "" {
		out = append(out, wording.Say("Shown %s", words))
	}
	if _, scaled := s.scale(); !scaled {
		out = append(out, wording.Say("Not calibrated: lengths are in px"))
	} else if s.atDetector(im) {
		out = append(out, wording.Say("Scale of the detector plane: lengths include the magnification"))
	}
	return append(out, s.distortions()...)
}

// atDetector reports whether a scale of the image is the file's own and holds
// at the detector or the scanned film, not at the tooth.
func (s *session) atDetector(im *measure.ImageMarks) bool {
	stated := slices.ContainsFunc(im.Calibration, func(c measure.Calibration) bool { return c.Kind == measure.CalibrationStated })
	m, err := s.reader.Image(im.ID, im.File)
	return stated && err == nil && (m.Spacing.Kind == measure.SpacingDetector || m.Spacing.Kind == measure.SpacingScan)
}

// distortions says by how much the image is longer or shorter than the object
// along a known file, where that is more than its uncertainty.
func (s *session) distortions() (out []string) {
	for _, f := range s.findings {
		switch {
		case f.What != measure.WhatElongation || !f.Defined() || math.Abs(f.Value) <= f.Expanded():
		case f.Value < 0:
			out = append(out, wording.Say("Foreshortened along the file by %s", percent(-f.Value, f.Quantity)))
		default:
			out = append(out, wording.Say("Longer than the object along the file by %s", percent(f.Value, f.Quantity)))
		}
	}
	return out
}

func percent(v float64, of measure.Quantity) string {
	of.Value = v
	return wording.Quantity(of)
}
