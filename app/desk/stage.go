package desk

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/wording"
	"rootrule/measure"
)

// aloneAfter is how long after the images before it an image stands for a
// visit of its own and no longer for the next step of a treatment. Common
// practice, no source.
const aloneAfter = 90 * 24 * time.Hour

// guessStage proposes the stage of a new image from the order and the dates of
// those that the case has: the stage after the latest one up to its date; long
// after a filled tooth was last seen a recall, long after an unfilled one a new
// beginning.
func guessStage(images []measure.ImageMarks, date string) string {
	var before []measure.ImageMarks
	for _, im := range inOrder(images) {
		if date == "" || im.Date == "" || im.Date <= date {
			before = append(before, im)
		}
	}
	if len(before) == 0 {
		return measure.StagePreOperative
	}
	last, filled := before[len(before)-1], false
	rank := -1
	for _, im := range before {
		if r := casebook.StageRank(im.Stage); r < len(casebook.Stages) && (r > rank || im.Stage == measure.StagePreOperative) {
			rank = r
		}
		filled = filled || im.Stage == measure.StagePostOperative || im.Stage == measure.StageRecall
	}
	if longAfter(last.Date, date) {
		if filled {
			return measure.StageRecall
		}
		return measure.StagePreOperative
	}
	return casebook.Stages[min(rank+1, len(casebook.Stages)-1)]
}

// longAfter reports whether a date lies long after another.
func longAfter(before, date string) bool {
	a, errA := time.Parse(time.DateOnly, before)
	b, errB := time.Parse(time.DateOnly, date)
	return errA == nil && errB == nil && b.Sub(a) > aloneAfter
}

// restage gives any image of the case another stage.
func (d *Desk) restage(id, stage string) {
	if im := imageIn(&d.session.marks, id); im == nil || im.Stage == stage {
		return
	}
	d.editImage(id, wording.Say("stage of the image"), func(im *measure.ImageMarks) { im.Stage = stage })
	d.refresh()
}

// stageRail is a row of steps, one for each stage; that of the image is filled
// and a press on another corrects it. The name of the step under the mouse
// stands above it.
type stageRail struct {
	widget.BaseWidget
	card  *card
	stage string
	steps []*canvas.Rectangle
}

func newStageRail(c *card) *stageRail {
	r := &stageRail{card: c}
	for range casebook.Stages {
		s := canvas.NewRectangle(colourRaised)
		s.CornerRadius, s.StrokeWidth = 3, 1
		s.SetMinSize(fyne.NewSize(12, 12))
		r.steps = append(r.steps, s)
	}
	r.ExtendBaseWidget(r)
	return r
}

// CreateRenderer lays the steps side by side.
func (r *stageRail) CreateRenderer() fyne.WidgetRenderer {
	row := container.New(layout.NewGridLayoutWithColumns(len(r.steps)))
	for _, s := range r.steps {
		row.Add(s)
	}
	return widget.NewSimpleRenderer(row)
}

// set fills the step of a stage.
func (r *stageRail) set(stage string) {
	r.stage = stage
	r.paint(-1)
}

// paint shows the stage and the step under the mouse, -1 for none.
func (r *stageRail) paint(over int) {
	for i, s := range r.steps {
		s.FillColor, s.StrokeColor = colourRaised, colourEdge
		if casebook.Stages[i] == r.stage {
			s.FillColor = colourHoney
		}
		if i == over {
			s.StrokeColor = colourText
		}
		s.Refresh()
	}
}

// at returns the step at a position.
func (r *stageRail) at(pos fyne.Position) int {
	i := int(pos.X / r.Size().Width * float32(len(r.steps)))
	return min(max(i, 0), len(r.steps)-1)
}

// Tapped gives the image the stage of a step.
func (r *stageRail) Tapped(ev *fyne.PointEvent) {
	r.card.desk.restage(r.card.id, casebook.Stages[r.at(ev.Position)])
}

// MouseIn, MouseMoved and MouseOut name the step under the mouse.
func (r *stageRail) MouseIn(ev *desktop.MouseEvent) { r.MouseMoved(ev) }

// MouseMoved: see MouseIn.
func (r *stageRail) MouseMoved(ev *desktop.MouseEvent) {
	over := r.at(ev.Position)
	r.paint(over)
	if casebook.Stages[over] != r.stage {
		setText(r.card.stage, wording.Say("make it %s", stageText(casebook.Stages[over])))
	}
}

// MouseOut: see MouseIn.
func (r *stageRail) MouseOut() {
	r.paint(-1)
	setText(r.card.stage, stageText(r.stage))
}

// Cursor says that a press does something.
func (r *stageRail) Cursor() desktop.Cursor { return desktop.PointerCursor }

// imageItems is what can be done with an image of the case.
func (d *Desk) imageItems(id string) []*fyne.MenuItem {
	against := fyne.NewMenuItem(wording.Say("Compare with the image on the bench"), func() { d.comparePair(id) })
	against.Disabled = id == d.session.image
	items := []*fyne.MenuItem{
		against,
		fyne.NewMenuItemSeparator(),
		fyne.NewMenuItem(wording.Say("Exchange left and right"), func() { d.flip(id) }),
		fyne.NewMenuItem(wording.Say("Turn right by 90°"), func() { d.turnBy(id, 90) }),
		fyne.NewMenuItem(wording.Say("Turn left by 90°"), func() { d.turnBy(id, 270) }),
		fyne.NewMenuItemSeparator(),
	}
	for _, stage := range casebook.Stages {
		item := fyne.NewMenuItem(stageText(stage), func() { d.restage(id, stage) })
		if im := imageIn(&d.session.marks, id); im != nil {
			item.Checked = im.Stage == stage
		}
		items = append(items, item)
	}
	return append(items, fyne.NewMenuItemSeparator(),
		fyne.NewMenuItem(wording.Say("Take out of the case"), func() { d.takeOut(id) }))
}

// imageMenu is what can be done with the image on the bench.
func (m *menu) imageMenu() *fyne.Menu {
	d := m.desk
	here := func(do func(id string)) func() { return func() { d.onBench(do) } }
	return fyne.NewMenu(wording.Say("Image"),
		command(wording.Say("Exchange left and right"), "", here(d.flip)),
		command(wording.Say("Turn right by 90°"), "", here(func(id string) { d.turnBy(id, 90) })),
		command(wording.Say("Turn left by 90°"), "", here(func(id string) { d.turnBy(id, 270) })),
		fyne.NewMenuItemSeparator(),
		command(wording.Say("Take out of the case"), "", here(d.takeOut)))
}

// onBench does something with the image on the bench, where there is one.
func (d *Desk) onBench(do func(id string)) {
	if d.session.saved() != nil && !d.atHome() {
		do(d.session.image)
	}
}

// takeOut removes an image with its marks from the case, as a step that undo
// takes back: the original stays in the casebook.
func (d *Desk) takeOut(id string) {
	if d.session == nil {
		return
	}
	d.endTask()
	before := d.session.image
	ok := d.saved(d.session.editCase(wording.Say("take an image out"), func(m *measure.Marks) error {
		dropImage(m, id)
		return nil
	}))
	if ok {
		d.follow(before)
		d.say(wording.Say("The image and its marks are taken out of the case; Ctrl+Z brings them back."))
	}
	d.refresh()
}

// dropImage removes an image, and what was compared or paired with it.
func dropImage(m *measure.Marks, id string) {
	images, views, recalls := m.Images, m.Views, m.Recalls
	m.Images, m.Views, m.Recalls = nil, nil, nil
	for _, im := range images {
		if im.ID != id {
			m.Images = append(m.Images, im)
		}
	}
	for _, v := range views {
		if v.Images[0] != id && v.Images[1] != id {
			m.Views = append(m.Views, v)
		}
	}
	for _, r := range recalls {
		if r.Before != id && r.After != id {
			m.Recalls = append(m.Recalls, r)
		}
	}
}
