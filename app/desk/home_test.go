package desk

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"

	"rootrule/app/casebook"
	"rootrule/measure"
)

// at sets the date for a test.
func at(t *testing.T, date string) {
	was := today
	today = func() string { return date }
	t.Cleanup(func() { today = was })
}

// listed returns the codes of the cases listed, in order.
func (r *rig) listed() string {
	var codes []string
	for _, c := range r.home.cases {
		codes = append(codes, c.Code)
	}
	return strings.Join(codes, " ")
}

// seek types into the search.
func (r *rig) seek(text string) { r.home.search.SetText(text) }

// at the home: a key goes where the focus is.
func (r *rig) press(names ...fyne.KeyName) {
	for _, n := range names {
		r.win.Canvas().Focused().TypedKey(&fyne.KeyEvent{Name: n})
	}
}

// withCases is a rig with four cases: one overdue by the reader's date, one
// longer overdue by proposal, one due later, one new.
func withCases(t *testing.T) *rig {
	t.Helper()
	at(t, "2026-11-25")
	r := newRig(t)
	for i, c := range []struct{ code, tooth, filled string }{
		{"A-1", "46", "2025-08-01"}, {"B-2", "11", "2025-03-01"}, {"C-3", "46", "2026-06-01"}, {"D-4", "26", ""},
	} {
		k, err := r.book.New(c.code, c.tooth)
		if err != nil {
			t.Fatal(err)
		}
		if c.filled != "" {
			if _, err := k.AddImage("x.png", picture(40, 30, uint16(i+1)), measure.StagePostOperative, c.filled); err != nil {
				t.Fatal(err)
			}
		}
	}
	r.OpenLast()
	r.showHome()
	return r
}

func TestStartsAtHomeWithoutACase(t *testing.T) {
	r := newRig(t)
	r.OpenLast()
	if !r.atHome() || r.frame.Visible() || !r.home.empty.Visible() || !strings.Contains(r.home.empty.Text, "Type a code") {
		t.Fatalf("an empty casebook doesn't say what to do: %q", r.home.empty.Text)
	}
	if r.home.back.Visible() {
		t.Error("there is a way back to no case")
	}
	r.press(fyne.KeyEscape)
	if !r.atHome() {
		t.Error("Escape leads to an empty desk")
	}
	r.askForNewCase()
	test.Type(r.home.begin.code, "P 17")
	r.press(fyne.KeyReturn)
	test.Type(r.home.begin.tooth, "46")
	r.press(fyne.KeyReturn)
	if r.atHome() || r.session == nil || r.session.kase.Code() != "P 17" || r.session.kase.Tooth() != "46" {
		t.Fatalf("the case was not started: %q", r.home.begin.problem.Text)
	}
	if r.focusName() != "bench" {
		t.Errorf("the keys are on %q", r.focusName())
	}
}

func TestOverdueFirst(t *testing.T) {
	r := withCases(t)
	if got := r.listed(); got != "B-2 A-1 D-4 C-3" {
		t.Errorf("by recall: %s", got)
	}
	for _, c := range []struct{ code, line, under string }{
		{"B-2", "overdue by 269 days", "2026-03-01, proposed"}, {"C-3", "due in 188 days", "2027-06-01, proposed"}, {"D-4", "", ""},
	} {
		for _, s := range r.home.cases {
			if w := wordsOf(s, today()); s.Code == c.code && (w.cells[4] != [2]string{c.line, c.under} || w.overdue != strings.HasPrefix(c.line, "overdue")) {
				t.Errorf("%s: %q, overdue %v", c.code, w.cells[4], w.overdue)
			}
		}
	}
	if !strings.Contains(r.home.count.Text, "4 in") || !strings.Contains(r.home.count.Text, "overdue for 2") {
		t.Errorf("the heading says %q", r.home.count.Text)
	}
}

func TestSorting(t *testing.T) {
	r := withCases(t)
	for _, c := range []struct {
		by   column
		want string
	}{
		{columnCase, "A-1 B-2 C-3 D-4"}, {columnCase, "D-4 C-3 B-2 A-1"}, {columnTooth, "B-2 D-4 C-3 A-1"},
		{columnChanged, "D-4 C-3 B-2 A-1"}, {columnLast, "C-3 A-1 B-2 D-4"}, {columnRecall, "B-2 A-1 D-4 C-3"},
	} {
		r.home.heads[c.by].OnTapped()
		if got := r.listed(); got != c.want {
			t.Errorf("by %s: %s, want %s", c.by, got, c.want)
		}
		if !strings.ContainsAny(r.home.heads[c.by].Text, "▼▲") {
			t.Errorf("the head %q doesn't say that the list is sorted by it", r.home.heads[c.by].Text)
		}
	}
}

func TestSearchAndKeys(t *testing.T) {
	r := withCases(t)
	if r.focusName() != "search" {
		t.Fatalf("the keys are on %q", r.focusName())
	}
	r.seek("46 POST")
	if got := r.listed(); got != "A-1 C-3" {
		t.Errorf("tooth 46, post-operative: %s", got)
	}
	r.press(fyne.KeyDown, fyne.KeyDown, fyne.KeyDown)
	if c, _ := r.home.current(); c.Code != "C-3" {
		t.Errorf("after going down the keys are on %q", c.Code)
	}
	r.press(fyne.KeyReturn)
	if r.atHome() || r.session.kase.Code() != "C-3" || !r.session.ready {
		t.Fatal("Enter has not opened the case")
	}
	r.showHome()
	if r.home.search.Text != "" || len(r.home.cases) != 4 {
		t.Error("the search of last time is still there")
	}
	r.seek("nobody")
	if !r.home.empty.Visible() || !strings.Contains(r.home.empty.Text, "nobody") {
		t.Errorf("no case fits: %q", r.home.empty.Text)
	}
	r.press(fyne.KeyReturn, fyne.KeyEscape)
	if !r.atHome() || len(r.home.cases) != 4 {
		t.Error("Escape has not cleared the search")
	}
	r.press(fyne.KeyEscape)
	if r.atHome() || r.focusName() != "bench" {
		t.Error("Escape has not led back to the case")
	}
}

func TestNewCaseIsChecked(t *testing.T) {
	r := withCases(t)
	for _, c := range []struct{ name, code, tooth, says string }{
		{"no code", " ", "46", "no code"}, {"no tooth", "X", "", "no tooth"}, {"not a tooth", "X", "99", "is none"},
		{"too long", strings.Repeat("x", 81), "46", "at most 80"}, {"there already", "a-1", "46", "already"},
	} {
		r.home.begin.code.SetText(c.code)
		r.home.begin.tooth.SetText(c.tooth)
		r.home.begin.submit()
		if !r.atHome() || !strings.Contains(strings.ToLower(r.home.begin.problem.Text), c.says) {
			t.Errorf("%s: %q", c.name, r.home.begin.problem.Text)
		}
	}
	if got := r.listed(); got != "A-1" {
		t.Errorf("the case that is there already isn't shown: %s", got)
	}
	r.home.begin.submit()
	if r.atHome() || r.session.kase.Code() != "a-1" {
		t.Error("a second case of the same code and tooth can't be started")
	}
}

// TestPutAway: a case that is put away is out of the list, not out of the
// casebook, and comes back.
func TestPutAway(t *testing.T) {
	r := withCases(t)
	r.home.putAway.OnTapped()
	if got := r.listed(); got != "A-1 D-4 C-3" || !strings.Contains(r.home.notice.Text, "B-2") {
		t.Fatalf("%s; %q", got, r.home.notice.Text)
	}
	r.home.takeOut.OnTapped()
	if got := r.listed(); got != "B-2 A-1 D-4 C-3" {
		t.Fatalf("taken back: %s", got)
	}
	r.home.putAway.OnTapped()
	r.parts["show put away"].(interface{ SetChecked(bool) }).SetChecked(true)
	r.seek("B-2")
	if c, ok := r.home.current(); !ok || !c.Archived || !strings.Contains(wordsOf(c, today()).cells[0][1], "put away") {
		t.Fatalf("the case is not shown as put away: %+v", c)
	}
	r.home.putAway.OnTapped()
	if c, ok := r.home.current(); !ok || c.Archived {
		t.Error("the case is still put away")
	}
}

func TestRenameAtHome(t *testing.T) {
	r := withCases(t)
	r.press(fyne.KeyF2)
	r.parts["case name"].(*answer).SetText("Erika Mustermann")
	r.parts["case tooth"].(*answer).SetText("12")
	r.parts["case name"].(*answer).OnSubmitted("")
	r.seek("mustermann")
	if got := r.listed(); got != "B-2" || r.home.cases[0].Tooth != "12" {
		t.Errorf("the case is not found by the patient's name: %q", got)
	}
	if s := r.State(); strings.Contains(fmt.Sprint(s), "Mustermann") {
		t.Error("the probe tells the patient's name")
	}
}

// TestFilesDroppedAtHome begin a case of their own: the one on the desk is out
// of sight.
func TestFilesDroppedAtHome(t *testing.T) {
	r := opened(t)
	before := r.session.kase.ID()
	r.showHome()
	r.home.begin.code.SetText("N-1")
	r.Dropped([]fyne.URI{storage.NewFileURI("/x/two.png")})
	if r.atHome() || r.session.kase.ID() == before || r.session.kase.Code() != "N-1" || len(r.session.marks.Images) != 1 {
		t.Errorf("the image is in case %q", r.session.kase.Code())
	}
}

// TestHomeKeepsTheDeskSafe: undo and delete don't reach a case that is out of
// sight.
func TestHomeKeepsTheDeskSafe(t *testing.T) {
	r := opened(t)
	r.traced()
	r.showHome()
	r.undo()
	r.remove()
	r.leaveHome()
	r.expectMarks(item{canal, 0}, 4)
}

// TestRecentImages: the images looked at last are shown, the latest first, and
// lead to their case.
func TestRecentImages(t *testing.T) {
	r := withCases(t)
	r.openByID(r.home.cases[1].ID)
	r.showHome()
	first := r.home.recent.cards[0]
	if first.title.Text != "A-1 · 46" || first.thumb.Image == nil {
		t.Errorf("the first recent image is of %q, picture %v", first.title.Text, first.thumb.Image != nil)
	}
	first.Tapped(nil)
	if r.atHome() || r.session.kase.Code() != "A-1" {
		t.Error("the picture doesn't lead to its case")
	}
}

// BenchmarkHome shows 500 cases and searches them.
func BenchmarkHome(b *testing.B) {
	r := newRig(b)
	for i := range 500 {
		r.home.all = append(r.home.all, casebook.Summary{ID: int64(i), Code: fmt.Sprintf("P-%03d", i), Tooth: "46",
			LastStage: measure.StagePostOperative, Recall: fmt.Sprintf("2026-%02d-%02d", 1+i%12, 1+i%28)})
	}
	for b.Loop() {
		r.seek("4 post")
		r.seek("4 post 6")
	}
}
