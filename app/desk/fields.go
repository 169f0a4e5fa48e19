package desk

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rootrule/app/casebook"
	"rootrule/app/wording"
	"rootrule/measure"
)

// Limits of typed numbers, in mm. Generous, no source: beyond them a number is
// a slip of the finger.
const (
	mostKnown   = 500
	mostU       = 50
	mostReading = 60
	mostOffset  = 10
)

// typedNumber reads a number; a comma is as good as a point.
func typedNumber(text string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
}

// millimetres reads a typed length.
func millimetres(text, what string, above, most float64) (float64, error) {
	v, err := typedNumber(strings.TrimSuffix(strings.TrimSpace(text), "mm"))
	if err != nil || !(v > above && v <= most) {
		return 0, fmt.Errorf("%s: %q can't be: type a number of mm above %g and up to %g", what, text, above, most)
	}
	return v, nil
}

// subject is what the details card is about: the task, else the selection.
func (d *Desk) subject() item {
	if d.task != nil {
		return d.task.item()
	}
	if !exists(d.session.saved(), d.selected.item) {
		return item{}
	}
	return d.selected.item
}

// change alters the subject: the image's item where there is one, and the task
// under way.
func (d *Desk) change(label string, inTask func(*task), inImage func(*measure.ImageMarks, int)) error {
	it := d.subject()
	if d.task == nil || d.task.isSaved() {
		err := d.session.edit(label+" of "+nameOf(d.session.saved(), it), func(im *measure.ImageMarks) error {
			if !exists(im, it) {
				return errNoImage
			}
			inImage(im, it.index)
			return nil
		})
		if err != nil {
			return err
		}
	}
	if d.task != nil {
		inTask(d.task)
	}
	return nil
}

func (d *Desk) setKnown(text string) error {
	v, err := millimetres(text, "known length", 0, mostKnown)
	if err != nil {
		return err
	}
	return d.change("known length", func(t *task) { t.known = v },
		func(im *measure.ImageMarks, i int) { im.Calibration[i].LengthMM = v })
}

func (d *Desk) setKnownU(text string) error {
	v, err := millimetres(text, "standard uncertainty", 0, mostU)
	if err != nil {
		return err
	}
	return d.change("uncertainty", func(t *task) { t.u = v },
		func(im *measure.ImageMarks, i int) { im.Calibration[i].UMM = &v })
}

func (d *Desk) setTooth(text string) error {
	tooth, err := wording.ReadTooth(text)
	if err != nil {
		return err
	}
	_, name := d.labelled()
	if d.taken(tooth, name) {
		return fmt.Errorf("tooth: this image has a %s already: choose another name first", join(tooth, name))
	}
	return d.change("tooth", func(t *task) { t.tooth = tooth }, func(im *measure.ImageMarks, i int) {
		if d.subject().kind == canal {
			im.Canals[i].Tooth = tooth
		} else {
			im.Lesions[i].Tooth = tooth
		}
	})
}

func (d *Desk) setName(text string) error {
	name := strings.TrimSpace(text)
	tooth, _ := d.labelled()
	switch {
	case name == "":
		return fmt.Errorf("name: it can't be empty: type a short one, such as MB")
	case d.taken(tooth, name):
		return fmt.Errorf("name: this image has a %s already: type another", join(tooth, name))
	}
	return d.change("name", func(t *task) { t.name = name }, func(im *measure.ImageMarks, i int) {
		if d.subject().kind == canal {
			im.Canals[i].Name = name
		} else {
			im.Lesions[i].Name = name
		}
	})
}

// labelled returns tooth and name of the subject.
func (d *Desk) labelled() (tooth, name string) {
	if d.task != nil {
		return d.task.tooth, d.task.name
	}
	im, it := d.session.saved(), d.subject()
	switch it.kind {
	case canal:
		return im.Canals[it.index].Tooth, im.Canals[it.index].Name
	case lesion:
		return im.Lesions[it.index].Tooth, im.Lesions[it.index].Name
	}
	return "", ""
}

// taken reports whether another item of the subject's kind has this name.
func (d *Desk) taken(tooth, name string) bool {
	it := d.subject()
	im := d.session.saved()
	for i, c := range im.Canals {
		if it.kind == canal && i != it.index && c.Tooth == tooth && c.Name == name {
			return true
		}
	}
	for i, l := range im.Lesions {
		if it.kind == lesion && i != it.index && l.Tooth == tooth && l.Name == name {
			return true
		}
	}
	return false
}

func (d *Desk) setOffset(text string) error {
	v, err := millimetres(text, "offset", -1e-9, mostOffset)
	if err != nil {
		return err
	}
	return d.change("offset", func(*task) {}, func(im *measure.ImageMarks, i int) { im.Canals[i].OffsetMM = &v })
}

func (d *Desk) setStage(stage string) error {
	if !slices.Contains(casebook.Stages, stage) {
		return nil
	}
	return d.session.edit(wording.Say("stage of the image"), func(im *measure.ImageMarks) error {
		im.Stage = stage
		return nil
	})
}

func (d *Desk) setDate(text string) error {
	date, ok := wording.ReadDate(text)
	if !ok {
		return fmt.Errorf("date: %q is none: type it as 2026-01-31", text)
	}
	return d.session.edit(wording.Say("date of the image"), func(im *measure.ImageMarks) error {
		im.Date = date
		return nil
	})
}
