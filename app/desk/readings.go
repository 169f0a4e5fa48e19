package desk

import (
	"fmt"
	"strconv"
	"strings"

	"rootrule/app/wording"
	"rootrule/measure"
)

// entry is something that the clinician types for an item of an image.
type entry struct {
	name string // as shown
	step string // as the undo menu calls it
	key  string // as tests call its field
	show func(im *measure.ImageMarks, index int) string
	// read turns what was typed into a change; empty text takes the reading away.
	read func(text string) (change func(im *measure.ImageMarks, index int), err error)
}

// canalReading is a length in mm of a canal.
func canalReading(name, step, key string, above, most float64, at func(*measure.Canal) **float64) *entry {
	return &entry{name: name, step: step, key: key,
		show: func(im *measure.ImageMarks, i int) string { return typed(*at(&im.Canals[i])) },
		read: func(text string) (func(*measure.ImageMarks, int), error) {
			var v *float64
			if strings.TrimSpace(text) != "" {
				mm, err := millimetres(text, step, above, most)
				if err != nil {
					return nil, err
				}
				v = &mm
			}
			return func(im *measure.ImageMarks, i int) { *at(&im.Canals[i]) = v }, nil
		}}
}

func readingEAL() *entry {
	return canalReading(wording.Say("EAL, mm"), "apex locator reading", "EAL", 0, mostReading, func(c *measure.Canal) **float64 { return &c.EALMM })
}

func readingOffset() *entry {
	return canalReading(wording.Say("offset, mm"), "offset", "offset", -1e-9, mostOffset, func(c *measure.Canal) **float64 { return &c.OffsetMM })
}

func readingUsed() *entry {
	return canalReading(wording.Say("used, mm"), "working length used", "used", 0, mostReading, func(c *measure.Canal) **float64 { return &c.UsedMM })
}

func readingConeFit() *entry {
	return canalReading(wording.Say("cone fit, mm"), "cone-fit length", "cone fit", 0, mostReading, func(c *measure.Canal) **float64 { return &c.ConeFitMM })
}

func readingFilled() *entry {
	return canalReading(wording.Say("filled, mm"), "filled length", "filled", 0, mostReading, func(c *measure.Canal) **float64 { return &c.FilledMM })
}

// paiReading is a score of a lesion on the periapical index.
func paiReading(name, step, key string, at func(*measure.Lesion) **int) *entry {
	return &entry{name: name, step: step, key: key,
		show: func(im *measure.ImageMarks, i int) string {
			if p := *at(&im.Lesions[i]); p != nil {
				return strconv.Itoa(*p)
			}
			return ""
		},
		read: func(text string) (func(*measure.ImageMarks, int), error) {
			score, err := paiScore(text)
			if err != nil {
				return nil, err
			}
			return func(im *measure.ImageMarks, i int) { *at(&im.Lesions[i]) = score }, nil
		}}
}

func readingPAI() *entry {
	return paiReading(wording.Say("PAI, first"), "periapical index, first reading", "PAI", func(l *measure.Lesion) **int { return &l.PAI })
}

func readingPAI2() *entry {
	return paiReading(wording.Say("PAI, second"), "periapical index, second reading", "PAI second", func(l *measure.Lesion) **int { return &l.PAI2 })
}

// paiScore reads a score of the periapical index, 1 to 5 (Ørstavik, Kerekes &
// Eriksen 1986); nil for empty text.
func paiScore(text string) (*int, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, nil
	}
	v, err := strconv.Atoi(text)
	if err != nil || v < 1 || v > 5 {
		return nil, fmt.Errorf("periapical index: %q is none: type 1 to 5", text)
	}
	return &v, nil
}

// typed shows a typed reading as it was typed, without digits it hadn't.
func typed(mm *float64) string {
	if mm == nil {
		return ""
	}
	return plain(*mm)
}

// setReading records a reading of an item on any image of the case.
func (d *Desk) setReading(image string, b block, r *entry, text string) error {
	change, err := r.read(text)
	if err != nil {
		return err
	}
	return d.session.editOn(image, r.step+" of "+b.of, func(im *measure.ImageMarks) error {
		i := b.index(im)
		if i < 0 {
			return errNoImage
		}
		change(im, i)
		return nil
	})
}
