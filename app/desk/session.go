package desk

import (
	"errors"
	"slices"

	"rootrule/app/assist"
	"rootrule/app/casebook"
	"rootrule/app/reading"
	"rootrule/imaging"
	"rootrule/measure"
)

// session is the case on the desk: its saved marks, the image that is looked
// at, the draft of a gesture under way, and the findings of what is shown. It
// knows no widgets.
type session struct {
	kase      *casebook.Case
	reader    *reading.Reader
	assistant *assist.Assistant
	marks     measure.Marks
	image     string              // id of the image on the bench, empty for none
	draft     *measure.ImageMarks // what a gesture under way would make, nil if none is
	findings  []measure.Finding   // of the image as shown
	ready     bool                // the image is decoded: findings can be computed
	steps     int                 // grows when the saved marks may have changed
}

// newSession opens a case.
func newSession(c *casebook.Case) *session {
	s := &session{kase: c, reader: reading.New(c), marks: c.Marks()}
	// By then the image is decoded: its name, for messages, is not needed again.
	s.assistant = assist.New(func(id string) (*imaging.Image, error) { return s.reader.Image(id, id) })
	return s
}

// saved returns the saved marks of the image on the bench, nil without one.
func (s *session) saved() *measure.ImageMarks {
	if s == nil {
		return nil
	}
	return imageIn(&s.marks, s.image)
}

// shown returns the marks to draw: the draft while there is one.
func (s *session) shown() *measure.ImageMarks {
	if s != nil && s.draft != nil {
		return s.draft
	}
	return s.saved()
}

// propose makes a draft by changing a copy of the saved marks.
func (s *session) propose(change func(*measure.ImageMarks)) {
	im := imageIn(&s.marks, s.image)
	if im == nil {
		return
	}
	c := copyOf(*im)
	change(&c)
	s.draft = &c
	s.compute()
}

// dismiss forgets the draft.
func (s *session) dismiss() {
	if s != nil && s.draft != nil {
		s.draft = nil
		s.compute()
	}
}

// errNoImage can't be met by a gesture: there is nothing to press on.
var errNoImage = errors.New("change marks: no image is on the bench: open one")

// edit makes one step of the casebook on the image on the bench.
func (s *session) edit(label string, change func(*measure.ImageMarks) error) error {
	return s.editOn(s.imageID(), label, change)
}

// editOn makes one step of the casebook on any image of the case.
func (s *session) editOn(id, label string, change func(*measure.ImageMarks) error) error {
	if s == nil || imageIn(&s.marks, id) == nil {
		return errNoImage
	}
	return s.editCase(label, func(m *measure.Marks) error {
		im := imageIn(m, id)
		if im == nil {
			return errNoImage
		}
		return change(im)
	})
}

// editCase makes one step of the casebook on any of the case's marks.
func (s *session) editCase(label string, change func(*measure.Marks) error) error {
	s.draft = nil
	err := s.kase.Edit(label, change)
	s.reload()
	return err
}

// imageID returns the id of the image on the bench, empty without one.
func (s *session) imageID() string {
	if s == nil {
		return ""
	}
	return s.image
}

// undo takes the last step back, redo repeats it; both return its label. Call
// reload next.
func (s *session) undo() (string, error) {
	s.draft = nil
	return s.kase.Undo()
}

func (s *session) redo() (string, error) {
	s.draft = nil
	return s.kase.Redo()
}

// reload takes the marks of the case as they are now.
func (s *session) reload() {
	s.marks = s.kase.Marks()
	s.steps++
	if imageIn(&s.marks, s.image) == nil {
		s.image, s.ready = "", false
		if images := inOrder(s.marks.Images); len(images) > 0 {
			s.image = images[0].ID
		}
	}
	s.compute()
}

// compute asks for the findings of the image as shown. Only a decoded image
// is asked about, so that nothing waits for a file.
func (s *session) compute() {
	im := s.shown()
	if im == nil || !s.ready {
		s.findings = nil
		return
	}
	s.findings = s.reader.Findings(s.only(*im))
}

// only returns one image's marks as a whole input of measure.
func (s *session) only(im measure.ImageMarks) measure.Marks {
	return measure.Marks{Version: measure.MarksVersion, Images: []measure.ImageMarks{im}, ClickPX: s.marks.ClickPX}
}

// finding returns the finding of a kind of an item ("canal 46 ML", measure.WhatLength).
func (s *session) finding(of, what string) (measure.Finding, bool) {
	if s == nil {
		return findingIn(nil, of, what)
	}
	return findingIn(s.findings, of, what)
}

// tooth returns the tooth that a new canal or lesion lies on: the case's, or
// that of the canal traced last.
func (s *session) tooth() string {
	if t := s.kase.Tooth(); t != "" || s.saved() == nil {
		return t
	}
	for _, c := range slices.Backward(s.saved().Canals) {
		if c.Tooth != "" {
			return c.Tooth
		}
	}
	return ""
}

// scale returns the scale of the image as shown, and whether it has one.
func (s *session) scale() (measure.Finding, bool) {
	if s != nil {
		for _, f := range s.findings {
			if f.What == measure.WhatScale && f.Defined() && f.Unit == measure.MillimetrePerPx {
				return f, true
			}
		}
	}
	return measure.Finding{}, false
}

// imageIn returns the marks of the image with this id, nil if there are none.
func imageIn(m *measure.Marks, id string) *measure.ImageMarks {
	for i := range m.Images {
		if m.Images[i].ID == id {
			return &m.Images[i]
		}
	}
	return nil
}
