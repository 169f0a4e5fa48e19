package desk

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/wording"
)

// column is a column of the list of cases.
type column string

const (
	columnCase    column = "case"
	columnTooth   column = "tooth"
	columnLast    column = "last image"
	columnChanged column = "changed"
	columnRecall  column = "recall"
)

var columnOrder = []column{columnCase, columnTooth, columnLast, columnChanged, columnRecall}

// caseShares are the parts of the width that the columns get.
var caseShares = []float32{28, 8, 20, 15, 29}

// sorting is the order of the list. Its zero value is by recall: overdue cases
// first, the longest overdue before all, then the others as they were changed.
type sorting struct {
	by       column
	backward bool
}

// sortBy sorts by a column, or the other way round where it is sorted by it.
func (h *home) sortBy(c column) {
	same := h.sort.column() == c
	h.sort = sorting{c, same && !h.sort.backward}
	h.update()
	h.focus()
}

func (s sorting) column() column { return column(cmp.Or(string(s.by), string(columnRecall))) }

// head is the name of a column, with the direction it is sorted in.
func (s sorting) head(c column) string {
	name := map[column]string{
		columnCase: wording.Say("Case"), columnTooth: wording.Say("Tooth"), columnLast: wording.Say("Last image"),
		columnChanged: wording.Say("Changed"), columnRecall: wording.Say("Next recall"),
	}[c]
	switch {
	case s.column() != c:
		return name
	case s.backward:
		return name + " ▲"
	}
	return name + " ▼"
}

// sorted returns the cases in order.
func (s sorting) sorted(cases []casebook.Summary, today string) []casebook.Summary {
	newest := func(a, b casebook.Summary) int { return b.Changed.Compare(a.Changed) }
	by := map[column]func(a, b casebook.Summary) int{
		columnCase:    func(a, b casebook.Summary) int { return cmp.Compare(strings.ToLower(a.Code), strings.ToLower(b.Code)) },
		columnTooth:   func(a, b casebook.Summary) int { return cmp.Compare(a.Tooth, b.Tooth) },
		columnLast:    func(a, b casebook.Summary) int { return cmp.Compare(b.LastDate, a.LastDate) },
		columnChanged: newest,
		columnRecall:  func(a, b casebook.Summary) int { return cmp.Compare(dueRank(a, today), dueRank(b, today)) },
	}[s.column()]
	out := slices.Clone(cases)
	slices.SortStableFunc(out, func(a, b casebook.Summary) int {
		d := by(a, b)
		if s.backward {
			d = -d
		}
		return cmp.Or(d, newest(a, b))
	})
	return out
}

// dueRank puts overdue recalls first, by date, and all others behind them.
func dueRank(c casebook.Summary, today string) string {
	if overdue(c, today) {
		return c.Recall
	}
	return "later"
}

// overdue reports whether the next recall should have been before today.
func overdue(c casebook.Summary, today string) bool { return c.Recall != "" && c.Recall < today }

// matching returns the cases that have every word of a search in code, name,
// tooth or last stage; those put away only where they are asked for.
func matching(cases []casebook.Summary, search string, away bool) []casebook.Summary {
	words := strings.Fields(strings.ToLower(search))
	var out []casebook.Summary
	for _, c := range cases {
		if c.Archived && !away {
			continue
		}
		in := strings.ToLower(strings.Join([]string{c.Code, c.Name, c.Tooth, wording.Tooth(c.Tooth), c.LastStage, stageText(c.LastStage)}, "\n"))
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(in, w) }) {
			out = append(out, c)
		}
	}
	return out
}

// caseRow is one case in the list. It is used again for other cases as the
// list is scrolled.
type caseRow struct {
	widget.BaseWidget
	home  *home
	i     int
	back  *canvas.Rectangle
	mark  *widget.Icon
	cells [5][2]*widget.Label // upper and lower line of each column
	shown rowWords
}

// rowWords is all that a row shows.
type rowWords struct {
	cells   [5][2]string
	overdue bool
	chosen  bool
}

func newCaseRow(h *home) *caseRow {
	r := &caseRow{home: h}
	r.back = canvas.NewRectangle(colourGround)
	r.back.CornerRadius, r.back.StrokeColor = 3, colourHoney
	r.mark = widget.NewIcon(theme.NewErrorThemedResource(theme.WarningIcon()))
	for i := range r.cells {
		upper, lower := widget.NewLabel(""), widget.NewLabel("")
		upper.TextStyle.Bold = i < 2
		lower.SizeName = theme.SizeNameCaptionText
		lower.Importance = widget.LowImportance
		upper.Truncation, lower.Truncation = fyne.TextTruncateEllipsis, fyne.TextTruncateEllipsis
		r.cells[i] = [2]*widget.Label{upper, lower}
	}
	r.mark.Hide()
	r.ExtendBaseWidget(r)
	return r
}

// CreateRenderer lays the cells into the columns.
func (r *caseRow) CreateRenderer() fyne.WidgetRenderer {
	var cells []fyne.CanvasObject
	for i, c := range r.cells {
		cell := fyne.CanvasObject(container.New(tight{theme.InnerPadding() * 1.4}, c[0], c[1]))
		if columnOrder[i] == columnRecall {
			cell = container.NewBorder(nil, nil, r.mark, nil, cell)
		}
		cells = append(cells, cell)
	}
	return widget.NewSimpleRenderer(container.NewStack(r.back, container.New(shares{caseShares}, cells...)))
}

// set shows a case; the one that the keys are on has a frame.
func (r *caseRow) set(i int, c casebook.Summary) {
	r.i = i
	words := wordsOf(c, today())
	words.chosen = i == r.home.at
	if words == r.shown {
		return
	}
	r.shown = words
	for k, cell := range r.cells {
		cell[0].SetText(words.cells[k][0])
		cell[1].SetText(words.cells[k][1])
	}
	r.mark.Hidden = !words.overdue
	upper := r.cells[len(r.cells)-1][0]
	upper.TextStyle.Bold = words.overdue
	r.back.FillColor, r.back.StrokeWidth = colourGround, 0
	if words.chosen {
		r.back.FillColor, r.back.StrokeWidth = colourChosen, 2
	}
	r.Refresh()
}

func wordsOf(c casebook.Summary, today string) rowWords {
	code := c.Code
	if code == "" {
		code = wording.Say("without a code")
	}
	under := imageCount(c.Images)
	if c.Name != "" {
		under = c.Name + " · " + under
	}
	if c.Archived {
		under = wording.Say("put away") + " · " + under
	}
	last := ""
	if c.Images > 0 {
		last = stageText(c.LastStage)
	}
	recall, when := recallWords(c, today)
	changed := c.Changed.Local()
	return rowWords{overdue: overdue(c, today), cells: [5][2]string{
		{code, under},
		{wording.Tooth(c.Tooth), ""},
		{last, wording.Date(c.LastDate)},
		{wording.Date(changed.Format(time.DateOnly)), changed.Format("15:04")},
		{recall, when},
	}}
}

// imageCount says how many images there are.
func imageCount(images int) string {
	if images == 1 {
		return wording.Say("1 image")
	}
	return wording.Say("%d images", images)
}

// recallWords says when the next recall is due.
func recallWords(c casebook.Summary, today string) (line, under string) {
	if c.Recall == "" {
		return "", ""
	}
	days := daysBetween(today, c.Recall)
	switch {
	case days < -1:
		line = wording.Say("overdue by %d days", -days)
	case days == -1:
		line = wording.Say("overdue by 1 day")
	case days == 0:
		line = wording.Say("due today")
	case days == 1:
		line = wording.Say("due tomorrow")
	default:
		line = wording.Say("due in %d days", days)
	}
	if !c.RecallSet {
		return line, wording.Say("%s, proposed", wording.Date(c.Recall))
	}
	return line, wording.Date(c.Recall)
}

// daysBetween counts the days from one date to another; 0 where one is none.
func daysBetween(from, to string) int {
	a, errA := time.Parse(time.DateOnly, from)
	b, errB := time.Parse(time.DateOnly, to)
	if errA != nil || errB != nil {
		return 0
	}
	return int(math.Round(b.Sub(a).Hours() / 24))
}

// shares lays objects side by side, each on its part of the width.
type shares struct{ of []float32 }

// MinSize is that of the tallest; the width is for the window to give.
func (s shares) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var size fyne.Size
	for _, o := range objects {
		size.Height = max(size.Height, o.MinSize().Height)
	}
	return size
}

// Layout gives each object its part.
func (s shares) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	var sum, x float32
	for _, v := range s.of {
		sum += v
	}
	for i, o := range objects {
		w := size.Width * s.of[i] / sum
		h := min(o.MinSize().Height, size.Height)
		o.Resize(fyne.NewSize(w, h))
		o.Move(fyne.NewPos(x, (size.Height-h)/2))
		x += w
	}
}
