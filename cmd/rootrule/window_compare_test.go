//go:build !ci

package main

import (
	"strings"
	"testing"

	"rootrule/app/desk"
)

// TestWindowCompare walks through the demo case: compare, aligned, difference,
// verdict, split line, blinking, and back to one image. The phantom's lesion
// shrinks from 12.4 to 3.6 mm².
func TestWindowCompare(t *testing.T) {
	w := newWindow(t)
	w.start("--demo")
	w.wait("the demo case", func(s desk.State) bool { return s.Ready && s.Images == 3 })
	w.press("compare", "both images in one frame", func(s desk.State) bool { return s.Pair == "side by side" && s.Aligned })
	w.wait("the difference", func(s desk.State) bool { return s.Compared && strings.HasPrefix(s.Undo, "align ") })
	if change := w.state.Findings["lesion 37 M/area_change"]; !strings.HasPrefix(change, "−8.") {
		t.Errorf("the lesion's area changes by %q", change)
	}
	if w.state.Controls["outcome"][2] == 0 {
		t.Error("there is no place for the reader's conclusion")
	}
	w.press("difference", "the difference to be shown", func(s desk.State) bool { return s.Pair == "difference" })
	w.key("x")
	w.wait("the split line", func(s desk.State) bool { return s.Pair == "split" })
	w.key("j")
	w.wait("the blinking", func(s desk.State) bool { return s.Pair == "blink" })
	w.key("s")
	w.wait("both halves", func(s desk.State) bool { return s.Pair == "side by side" })
	first := w.state.Image
	w.key("o")
	w.wait("the other image on the bench", func(s desk.State) bool { return s.Image != first && s.Pair == "side by side" })
	w.key("Escape")
	w.wait("one image", func(s desk.State) bool { return s.Pair == "" && s.Ready })
	w.quit()
}
