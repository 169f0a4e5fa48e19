package desk

import (
	"context"

	"fyne.io/fyne/v2"

	"rootrule/app/compare"
	"rootrule/app/wording"
	"rootrule/imaging"
	"rootrule/measure"
)

// joining is what is known about bringing the images of a pair into one frame.
type joining struct {
	question compare.Question
	cancel   context.CancelFunc
	busy     bool
	joined   *compare.Joined
	diff     *compare.Difference
	refused  string // why the images can't be compared, and what to do
	mirrored bool   // that is because one of them is mirrored
}

// recall returns the recall of the pair, nil when none is recorded.
func (p *pair) recall() *measure.Recall { return recallOf(&p.desk.session.marks, p) }

func recallOf(m *measure.Marks, p *pair) *measure.Recall {
	before, after := p.earlier()
	for i := range m.Recalls {
		if r := &m.Recalls[i]; r.Before == before && r.After == after {
			return r
		}
	}
	return nil
}

// pairs are the marks of the same structures on both images.
func (p *pair) pairs() [][2]measure.Point {
	if r := p.recall(); r != nil {
		return r.Pairs
	}
	return nil
}

// join brings the images into one frame, beside the main goroutine, where that
// has not been done for what is marked now.
func (p *pair) join() {
	s := p.desk.session
	before, after := p.earlier()
	b, a := imageIn(&s.marks, before), imageIn(&s.marks, after)
	q := compare.Question{Before: compare.Image{Digest: b.SHA256, Turn: turnOf(b)}, After: compare.Image{Digest: a.SHA256, Turn: turnOf(a)},
		Pairs: p.pairs()}
	for _, l := range b.Lesions {
		if len(l.Outline) >= least[lesion] {
			q.Exclude = append(q.Exclude, l.Outline)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	p.cancelJoin()
	p.joining = joining{question: q, cancel: cancel, busy: true}
	names := [2]string{b.File, a.File}
	p.desk.refresh()
	p.desk.beside(func() { p.joinBeside(ctx, q, [2]string{before, after}, names) })
}

// cancelJoin ends an alignment under way.
func (p *pair) cancelJoin() {
	if p != nil && p.joining.cancel != nil {
		p.joining.cancel()
		p.joining.cancel, p.joining.busy = nil, false
	}
}

// joinBeside runs beside the main goroutine.
func (p *pair) joinBeside(ctx context.Context, q compare.Question, ids, names [2]string) {
	d := p.desk
	pictures, err := p.pictures(ids, names)
	q.Before.Picture, q.After.Picture = pictures[0], pictures[1]
	var joined *compare.Joined
	if err == nil {
		joined, err = d.room.Join(ctx, q)
	}
	fyne.Do(func() { p.joinedNow(ctx, q, joined, err) })
	if err != nil {
		return
	}
	diff, err := d.room.Difference(ctx, q)
	fyne.Do(func() {
		if ctx.Err() != nil || d.pair != p {
			return
		}
		p.joining.busy, p.joining.diff = false, diff
		if err != nil {
			d.fail(err)
		}
		d.refresh()
	})
}

// pictures decodes both images.
func (p *pair) pictures(ids, names [2]string) (out [2]*imaging.Image, err error) {
	for i := range out {
		if out[i], err = p.desk.session.reader.Image(ids[i], names[i]); err != nil {
			return out, err
		}
	}
	return out, nil
}

// joinedNow takes what the alignment has found: it is recorded with the recall
// where that has no map yet.
func (p *pair) joinedNow(ctx context.Context, q compare.Question, joined *compare.Joined, err error) {
	d := p.desk
	if ctx.Err() != nil || d.pair != p {
		return
	}
	j := &p.joining
	j.question, j.joined, j.busy = q, joined, err == nil
	reason, refused := compare.Refused(err)
	switch {
	case refused:
		j.refused, j.mirrored = wording.Sentence(reason), compare.Mirrored(err)
	case err != nil:
		d.fail(err)
	default:
		if p.wantsRecord() {
			p.record()
		}
	}
	d.refresh()
}

// wantsRecord reports whether a map that was found belongs into the case
// without being asked for: the later image is a recall that has none yet.
func (p *pair) wantsRecord() bool {
	_, after := p.earlier()
	im := imageIn(&p.desk.session.marks, after)
	r := p.recall()
	return (r == nil || r.Map == nil) && (r != nil || im.Stage == measure.StageRecall) && p.view(&p.desk.session.marks) == nil
}

// record keeps the map that was found with the recall, as one step.
func (p *pair) record() {
	d, j := p.desk, p.joining.joined
	if j == nil {
		return
	}
	before, after := p.earlier()
	u := j.StdUnc(p.middle(after))
	at := j.Matrix
	label := wording.Say("align %s with %s", d.session.nameOfImage(after), d.session.nameOfImage(before))
	ok := d.saved(d.session.editCase(label, func(m *measure.Marks) error {
		r := recallOf(m, p)
		if r == nil {
			m.Recalls = append(m.Recalls, measure.Recall{Before: before, After: after, Pairs: [][2]measure.Point{}})
			r = &m.Recalls[len(m.Recalls)-1]
		}
		r.Map, r.MapUPX, r.Model = &at, &u, j.Model
		return nil
	}))
	if ok {
		d.say(wording.Say("The images are aligned; Ctrl+Z takes the record of it back."))
	}
}

// middle is where the map of the later image matters most: the middle of its
// first lesion, or else of the image.
func (p *pair) middle(after string) measure.Point {
	im := imageIn(&p.desk.session.marks, after)
	if len(im.Lesions) > 0 && len(im.Lesions[0].Outline) > 0 {
		var c measure.Point
		n := float64(len(im.Lesions[0].Outline))
		for _, m := range im.Lesions[0].Outline {
			c.X, c.Y = c.X+m.X/n, c.Y+m.Y/n
		}
		return c
	}
	pic := p.joining.question.After.Picture
	return measure.Pt(float64(pic.Width-1)/2, float64(pic.Height-1)/2)
}

// flipSecond exchanges left and right of the later image, as a step, and
// aligns again.
func (p *pair) flipSecond() {
	_, after := p.earlier()
	p.desk.flip(after) // which aligns again
}

// place works out which map lies under the pair: the recorded one, the one
// just found, one through the marked pairs, or size and middle alone.
func (p *pair) place() {
	r, j := p.recall(), p.joining.joined
	p.aligned = true
	at := measure.Alignment{}
	switch {
	case r != nil && r.Map != nil:
		at = *r.Map
	case j != nil:
		at = j.Matrix
	default:
		var ok bool
		if at, ok = throughPairs(p.pairs()); !ok {
			p.aligned = false
			p.at = p.loose
			p.settleBack()
			return
		}
	}
	if p.benchFirst() {
		p.at = at
	} else if inverse, ok := at.Inverse(); ok {
		p.at = inverse
	}
	p.settleBack()
}

// throughPairs is the map through marked pairs; false when they fix none.
func throughPairs(pairs [][2]measure.Point) (measure.Alignment, bool) {
	if len(pairs) < enoughPairs {
		return measure.Alignment{}, false
	}
	at, err := measure.Align(pairs, measure.BestModel(len(pairs)))
	return at, err == nil
}

// enoughPairs are the pairs that an alignment by marks needs (methods: at
// least four, away from the lesion).
const enoughPairs = 4

// settleBack works out the inverse of the map once.
func (p *pair) settleBack() {
	inverse, ok := p.at.Inverse()
	if !ok {
		p.at, inverse = p.loose, measure.Alignment{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	}
	p.inverse = inverse
}
