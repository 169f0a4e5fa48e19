package desk

import (
	"errors"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// conclusion is what the reader decides about a recall: the outcome class, two
// readings of the periapical index on each image, the next date. The program
// proposes a date and decides nothing.
type conclusion struct {
	desk     *Desk
	outcome  *widget.Select
	scores   [2][2]*field // by image, by reading
	lesion   measure.Lesion
	index    *fyne.Container
	next     *field
	propose  *widget.Button
	proposed string
	filling  bool // the controls are being filled, not used
	box      *fyne.Container
}

// outcomes are the classes, in the order offered.
var outcomes = []string{"", measure.OutcomeHealed, measure.OutcomeHealing, measure.OutcomeNotHealed}

func newConclusion(d *Desk) *conclusion {
	c := &conclusion{desk: d}
	c.outcome = widget.NewSelect([]string{wording.Say("not decided"), wording.Say("healed"), wording.Say("healing"), wording.Say("not healed")}, func(string) {
		if !c.filling {
			c.decide(outcomes[max(c.outcome.SelectedIndex(), 0)])
		}
	})
	d.parts["outcome"] = c.outcome
	c.next = newField(d, "next recall", c.setNext)
	c.next.SetPlaceHolder(wording.Say("YYYY-MM-DD"))
	c.propose = d.button("propose recall", "", func() { d.saved(c.setNext(c.proposed)); d.refresh() })
	label := func(s string) fyne.CanvasObject { return text(s, colourMuted, sizeCaption, false) }
	k := sizeText / 15
	c.index = container.New(scoreColumns(),
		label(wording.Say("PAI, first and second")), c.score(0, 0), c.score(0, 1), gap(1), c.score(1, 0), c.score(1, 1))
	c.box = container.NewVBox(title(wording.Say("The reader concludes")),
		container.New(columns{widths: []float32{150 * k, 216 * k}}, label(wording.Say("Outcome")), c.outcome),
		container.New(scoreColumns(), gap(1), label(wording.Say("before")), gap(1), gap(1), label(wording.Say("after"))),
		c.index,
		container.New(columns{widths: []float32{150 * k, 216 * k}}, label(wording.Say("Next recall")), c.next),
		container.NewHBox(c.propose))
	return c
}

func scoreColumns() columns {
	k := sizeText / 15
	return columns{widths: []float32{150 * k, 52 * k, 52 * k, 12, 52 * k, 52 * k}}
}

// score is the field of a reading of the periapical index.
func (c *conclusion) score(image, reading int) fyne.CanvasObject {
	name := fmt.Sprintf("PAI %d %d", image+1, reading+1)
	f := newField(c.desk, name, func(s string) error { return c.setScore(image, reading, s) })
	f.SetPlaceHolder("–")
	c.scores[image][reading] = f
	return f
}

// update shows what is recorded.
func (c *conclusion) update(p *pair) {
	r := p.recall()
	if r == nil {
		r = &measure.Recall{}
	}
	c.filling = true
	for i, o := range outcomes {
		if o == r.Outcome && c.outcome.SelectedIndex() != i {
			c.outcome.SetSelectedIndex(i)
		}
	}
	c.filling = false
	c.next.set(r.Next)
	c.proposed = p.nextRecall()
	c.propose.Hidden = c.proposed == "" || c.proposed == r.Next
	if s := wording.Say("Propose %s", wording.Date(c.proposed)); c.propose.Text != s {
		c.propose.SetText(s)
	}
	c.updateScores(p)
}

// updateScores shows the periapical index of the first lesion of the pair.
func (c *conclusion) updateScores(p *pair) {
	all := p.lesions()
	c.index.Hidden = len(all) == 0
	if len(all) == 0 {
		return
	}
	c.lesion = all[0]
	before, after := p.earlier()
	for i, id := range []string{before, after} {
		l := lesionLike(imageIn(&p.desk.session.marks, id), c.lesion)
		for k, f := range c.scores[i] {
			able(f, l != nil)
			score := ""
			if l != nil {
				if v := [2]*int{l.PAI, l.PAI2}[k]; v != nil {
					score = plain(float64(*v))
				}
			}
			f.set(score)
		}
	}
}

// lesionLike returns the lesion of an image with a tooth and a name, nil if
// there is none.
func lesionLike(im *measure.ImageMarks, like measure.Lesion) *measure.Lesion {
	for i := range im.Lesions {
		if l := &im.Lesions[i]; l.Tooth == like.Tooth && l.Name == like.Name {
			return l
		}
	}
	return nil
}

func (c *conclusion) setScore(image, reading int, text string) error {
	score, err := paiScore(text)
	if err != nil || c.desk.pair == nil {
		return err
	}
	before, after := c.desk.pair.earlier()
	id := [2]string{before, after}[image]
	return c.desk.session.editCase(wording.Say("periapical index"), func(m *measure.Marks) error {
		if l := lesionLike(imageIn(m, id), c.lesion); l != nil {
			*[2]**int{&l.PAI, &l.PAI2}[reading] = score
		}
		return nil
	})
}

// decide records the outcome class.
func (c *conclusion) decide(outcome string) {
	d := c.desk
	if d.pair == nil {
		return
	}
	d.saved(d.pair.editRecall(wording.Say("outcome of the recall"), func(r *measure.Recall) { r.Outcome = outcome }))
	d.refresh()
	d.focusBench()
}

// setNext records the date of the next recall.
func (c *conclusion) setNext(text string) error {
	date, ok := wording.ReadDate(text)
	if !ok {
		return fmt.Errorf("next recall: %q is no date: write it as 2026-03-31", text)
	}
	if c.desk.pair == nil {
		return errors.New("next recall: no images are compared: compare two first")
	}
	return c.desk.pair.editRecall(wording.Say("date of the next recall"), func(r *measure.Recall) { r.Next = date })
}

// editRecall makes one step on the recall of the pair, which it records where
// there is none yet.
func (p *pair) editRecall(label string, change func(*measure.Recall)) error {
	before, after := p.earlier()
	return p.desk.session.editCase(label, func(m *measure.Marks) error {
		r := recallOf(m, p)
		if r == nil {
			m.Recalls = append(m.Recalls, measure.Recall{Before: before, After: after, Pairs: [][2]measure.Point{}})
			r = &m.Recalls[len(m.Recalls)-1]
		}
		change(r)
		return nil
	})
}

// nextRecall is the date that is proposed after the later image, empty for
// none: counted from the root filling, or else from the earlier image.
func (p *pair) nextRecall() string {
	before, after := p.earlier()
	marks := &p.desk.session.marks
	treated := imageIn(marks, before).Date
	for _, im := range marks.Images {
		if im.Stage == measure.StagePostOperative && im.Date != "" {
			treated = im.Date
		}
	}
	date, _ := measure.NextRecall(treated, imageIn(marks, after).Date)
	return date
}
