//go:build !ci

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rootrule/app/casebook"
	"rootrule/app/desk"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// TestWindowMany works with 500 cases, one of them of 30 images: searching,
// scrolling, opening, and going to the last image.
func TestWindowMany(t *testing.T) {
	w := newWindow(t)
	w.fill(500, 30)
	w.start()
	w.key("ctrl+k")
	w.wait("all cases", func(s desk.State) bool { return s.Home && s.Cases == 500 && s.Focus == "search" })
	w.key("Next", "Next", "Next", "Down")
	w.shot("e1-cases")
	w.xdotool("type", "P-250")
	w.wait("one case", func(s desk.State) bool { return s.Cases == 1 })
	w.key("Return")
	w.wait("its images", func(s desk.State) bool { return !s.Home && s.Ready && s.Images == 30 })
	for range 29 {
		w.turn("Next")
	}
	last := w.wait("the last image on the strip", func(s desk.State) bool { return s.Controls["image 30"][2] > 0 })
	if card, window := last.Controls["image 30"], last.Controls["open image"]; card[1] < last.Bench[1]-200 || card[1]+card[3]/2 > window[1] {
		t.Errorf("the last image is at %v, out of sight above %v", card, window)
	}
	w.shot("e2-images")
	w.quit()
}

// fill makes a casebook where the program looks for it; the middle case has
// images.
func (w *window) fill(cases, images int) {
	w.Helper()
	path := filepath.Join(w.dir, "config", "rootrule", "casebook.db")
	check := func(err error) {
		w.Helper()
		if err != nil {
			w.Fatal(err)
		}
	}
	check(os.MkdirAll(filepath.Dir(path), 0o700))
	book, err := casebook.Open(path)
	check(err)
	picture, _ := phantom.Periapical(phantom.NewSpec(50))
	for i := range cases {
		c, err := book.New(fmt.Sprintf("P-%03d", i), "46")
		check(err)
		for k := 0; i == cases/2 && k < images; k++ {
			picture.Pix[0] = uint16(k) // another file each time
			data, err := os.ReadFile(w.save("many.png", picture))
			check(err)
			_, err = c.AddImage("many.png", data, measure.StageRecall, fmt.Sprintf("2024-01-%02d", k+1))
			check(err)
		}
	}
	check(book.Close())
}

// TestWindowLargeLetters shows the window at scales 1.5 and 2, in German, with
// a patient's code of 60 letters: no control lies on another or out of the
// window.
func TestWindowLargeLetters(t *testing.T) {
	for _, scale := range []float64{1.5, 2} {
		w := newWindow(t)
		w.env = []string{fmt.Sprintf("FYNE_SCALE=%g", scale), "LANG=de_DE.UTF-8"}
		w.start()
		w.wait("the cases", func(s desk.State) bool { return s.Home && s.Focus == "search" })
		w.begin("Universitaetsklinik-Hamburg-Eppendorf-Patient-0123456789-2026", "46")
		w.shot(fmt.Sprintf("d-empty-%g", scale))
		s := w.wait("German", func(s desk.State) bool {
			return strings.Contains(s.Sentence, "Röntgen") && s.Controls["calibrate"][2] > 0
		})
		checkApart(t, s, int(1280*scale))
		w.quit()
	}
}

// checkApart fails where controls that stand side by side lie on each other, or
// reach beyond the window.
func checkApart(t *testing.T, s desk.State, width int) {
	t.Helper()
	names := []string{"calibrate", "trace canal", "outline lesion", "more marks", "compare", "open image", "undo", "redo", "cases", "about", "case", "bench", "window"}
	for i, a := range names {
		r := s.Controls[a]
		if r[2] > 0 && (r[0] < 0 || r[0]+r[2] > width) {
			t.Errorf("%s at %v is out of a window %d wide", a, r, width)
		}
		for _, b := range names[:i] {
			q := s.Controls[b]
			if r[2] > 0 && q[2] > 0 && r[0] < q[0]+q[2] && q[0] < r[0]+r[2] && r[1] < q[1]+q[3] && q[1] < r[1]+r[3] {
				t.Errorf("%s at %v lies on %s at %v", a, r, b, q)
			}
		}
	}
}
