package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

func TestEveryClickIsSaved(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyT)
	for i, p := range [][2]float64{{300, 200}, {300, 260}, {300, 380}, {300, 500}} {
		r.click(p[0], p[1])
		stored := r.storedMarks().Images[0].Canals
		switch {
		case i == 0 && len(stored) != 0:
			t.Fatal("one mark is no canal, but one is stored")
		case i > 0 && (len(stored) != 1 || len(stored[0].Marks) != i+1):
			t.Fatalf("after click %d the disk has %+v", i+1, stored)
		}
	}
}

func TestBackspaceTakesBack(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyT)
	r.clicks([2]float64{300, 200}, [2]float64{300, 260}, [2]float64{300, 380})
	for _, want := range []int{2, 1, 0, 0} {
		r.key(fyne.KeyBackspace)
		if len(r.task.points) != want {
			t.Fatalf("%d marks left, want %d", len(r.task.points), want)
		}
		stored := 0
		if want >= 2 {
			stored = want
		}
		r.expectMarks(r.task.item(), stored)
	}
	r.clicks([2]float64{310, 200}, [2]float64{310, 300})
	r.key(fyne.KeyReturn)
	r.expectMarks(item{canal, 0}, 2)
}

func TestUndoAndRedoDuringATrace(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyT)
	r.clicks([2]float64{300, 200}, [2]float64{300, 260}, [2]float64{300, 380})
	r.undo()
	r.undo()
	if r.task == nil || len(r.task.points) != 1 {
		t.Fatalf("after two undos the task has %v", r.task)
	}
	r.redo()
	if len(r.task.points) != 2 {
		t.Fatalf("after a redo the task has %d marks, want 2", len(r.task.points))
	}
	r.click(300, 500)
	r.key(fyne.KeyReturn)
	r.expectMarks(item{canal, 0}, 3)
}

func TestEscapeDiscardsAndUndoBringsBack(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyT)
	r.clicks([2]float64{300, 200}, [2]float64{300, 260}, [2]float64{300, 380})
	r.key(fyne.KeyEscape)
	if r.task != nil || len(r.session.saved().Canals) != 0 {
		t.Fatal("Escape has not discarded the trace")
	}
	if !strings.Contains(r.guide.text, "Ctrl+Z") {
		t.Errorf("nobody says that undo helps: %q", r.guide.text)
	}
	r.undo()
	r.expectMarks(item{canal, 0}, 3)
}

func TestEscapeDuringADragLeavesTheMark(t *testing.T) {
	r := opened(t)
	r.traced()
	before := r.session.marks
	r.down(300, 500, desktop.MouseButtonPrimary)
	r.bench.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: r.on(350, 520)}})
	if r.session.draft == nil {
		t.Fatal("the drag shows nothing")
	}
	r.key(fyne.KeyEscape)
	r.bench.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: r.on(380, 520)}})
	r.up(380, 520, desktop.MouseButtonPrimary)
	if got := r.session.saved().Canals[0].Marks[3]; got != before.Images[0].Canals[0].Marks[3] {
		t.Errorf("the apex moved to %v", got)
	}
}
