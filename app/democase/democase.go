// Package democase puts the program's own demo case into a casebook: an
// invented person, synthetic radiographs made at run time from a seed, marks
// of a careful reader. Start with [Open].
//
// It holds no pictures and no marks of its own: both come from the phantom.
package democase

import (
	"slices"

	"rootrule/app/casebook"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// Seed is the seed of the demo case that the window opens.
const Seed = 37

// Open returns the demo case of a casebook, making it where there is none: by
// its code, since making the pictures to compare them takes seconds.
func Open(b *casebook.Book) (*casebook.Case, error) {
	cases, err := b.Cases()
	if err != nil {
		return nil, err
	}
	for _, summary := range cases {
		if summary.Code != phantom.DemoCode || summary.Images == 0 {
			continue
		}
		if summary.Archived { // asking for it takes it out again
			if err := b.Archive(summary.ID, false); err != nil {
				return nil, err
			}
		}
		c, err := b.Case(summary.ID)
		if err != nil || marked(c.Marks()) { // else making it was cut off
			return c, err
		}
	}
	return fill(b, phantom.Demo(Seed))
}

func marked(m measure.Marks) bool {
	return slices.ContainsFunc(m.Images, func(im measure.ImageMarks) bool { return len(im.Canals) > 0 })
}

// fill makes a new case from the phantom's.
func fill(b *casebook.Book, made phantom.Case) (*casebook.Case, error) {
	c, err := b.New(made.Code, made.Tooth)
	if err != nil {
		return nil, err
	}
	ids := map[string]string{}
	for _, e := range made.Exposures {
		data, err := e.PNG()
		if err != nil {
			return nil, err
		}
		if ids[e.ID], err = c.AddImage(e.FileName, data, e.Stage, e.Date); err != nil {
			return nil, err
		}
	}
	err = c.Edit("demo marks", func(m *measure.Marks) error {
		adopt(m, made.Marks, ids)
		return nil
	})
	return c, err
}

// adopt copies the marks of from into the images of m, whose ids the casebook
// gave.
func adopt(m *measure.Marks, from measure.Marks, ids map[string]string) {
	for _, src := range from.Images {
		for i := range m.Images {
			if dst := &m.Images[i]; dst.ID == ids[src.ID] {
				dst.Calibration, dst.Canals, dst.Lesions = src.Calibration, src.Canals, src.Lesions
				dst.Fillings, dst.Obstructions = src.Fillings, src.Obstructions
			}
		}
	}
	for _, v := range from.Views {
		v.Images[0], v.Images[1] = ids[v.Images[0]], ids[v.Images[1]]
		m.Views = append(m.Views, v)
	}
	for _, r := range from.Recalls {
		r.Before, r.After = ids[r.Before], ids[r.After]
		m.Recalls = append(m.Recalls, r)
	}
}
