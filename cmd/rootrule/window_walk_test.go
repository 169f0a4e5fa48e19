//go:build !ci

package main

import (
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"rootrule/app/desk"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// some returns n of the points, evenly, with both ends.
func some(points []measure.Point, n int) []measure.Point {
	out := make([]measure.Point, n)
	for i := range out {
		out[i] = points[i*(len(points)-1)/(n-1)]
	}
	return out
}

// ready is true once an image is on the bench.
func ready(s desk.State) bool { return s.Ready }

func mode(m string) func(desk.State) bool { return func(s desk.State) bool { return s.Mode == m } }

// TestWindowWalk is a new user's walk: open an image, calibrate on the file in
// it, trace the canal, read its length, correct a mark, change one's mind, quit,
// open again. The truth is the phantom's.
func TestWindowWalk(t *testing.T) {
	w := newWindow(t)
	spec := phantom.NewSpec(11)
	picture, truth := phantom.Periapical(spec)
	canal := truth.Canals[0]
	w.start(w.save("walk.png", picture))
	w.wait("the image", ready)
	w.byHand()

	w.press("calibrate", "the calibration", mode("calibrate"))
	w.enter("known length", "21")
	w.click("calibration 1", 2, some(truth.File.Line, 7))
	w.key("Return")
	w.wait("the scale", func(s desk.State) bool { return s.Mode == "" && s.Findings["image/scale"] != "" })

	w.press("trace canal", "the trace", mode("trace"))
	w.enter("tooth", "46")
	w.enter("name", "MB")
	marks := some(canal.CentreLine, 9)
	w.click("canal 46 MB", 2, marks)
	w.key("Return")
	w.wait("the end of the trace", mode(""))
	checkLength(w, canal)

	undoInAField(w, marks[len(marks)-1])

	before := w.state
	w.key("1") // one to one: a view to be found again
	w.wait("the view", func(s desk.State) bool { return s.View[0] == 1 })
	view := w.state.View
	w.quit()
	w.start()
	w.wait("the image again", ready)
	w.wait("the view again", func(s desk.State) bool {
		return s.View[0] == 1 && math.Abs(s.View[1]-view[1]) <= 1 && math.Abs(s.View[2]-view[2]) <= 1
	})
	if !maps.Equal(w.state.Marks, before.Marks) || !maps.Equal(w.state.Findings, before.Findings) || w.state.Undo != before.Undo {
		t.Errorf("after opening again: marks %v, findings %v, undo %q\nbefore: marks %v, findings %v, undo %q",
			w.state.Marks, w.state.Findings, w.state.Undo, before.Marks, before.Findings, before.Undo)
	}
	w.quit()
	checkTraces(w)
}

// byHand turns the assists off: every click is a mark then.
func (w *window) byHand() {
	w.Helper()
	w.key("y")
	w.wait("marks by hand", func(s desk.State) bool { return strings.HasPrefix(s.Sentence, "By hand") })
}

// checkLength compares length and angle with the truth. A click hits the
// nearest device pixel: half of 1/0.4 px of 0.02 mm at each end of the file and
// of the canal makes 0.1 mm at the worst.
func checkLength(w *window, canal phantom.CanalTruth) {
	w.Helper()
	got, plusMinus := w.value("canal 46 MB/length")
	if math.Abs(got-canal.ReferenceLengthMM) > 0.15 {
		w.Errorf("length %g mm, the truth is %.2f", got, canal.ReferenceLengthMM)
	}
	w.Logf("length %g ± %g mm, the truth is %.2f mm", got, plusMinus, canal.ReferenceLengthMM)
	if plusMinus < 0.3 || plusMinus > 1.2 {
		w.Errorf("a length from a file of 21 ± 0.5 mm is shown with ± %g mm", plusMinus)
	}
	if angle, pm := w.value("canal 46 MB/schneider_angle"); math.Abs(angle-canal.SchneiderImageDeg) > pm+2 {
		w.Errorf("Schneider angle %g ± %g°, the truth is %.1f°", angle, pm, canal.SchneiderImageDeg)
	}
}

// undoInAField drags the apex, takes that back by Ctrl+Z while a text field
// has the focus, and repeats it by both keys for redo.
func undoInAField(w *window, apex measure.Point) {
	w.Helper()
	const moved = "move the apex of canal 46 MB"
	length, _ := w.value("canal 46 MB/length")
	w.pull(apex, measure.Pt(apex.X, apex.Y+100))
	w.wait("the drag", func(s desk.State) bool { return s.Undo == moved })
	if longer, _ := w.value("canal 46 MB/length"); longer < length+1 {
		w.Errorf("the apex 2 mm lower makes the canal %g mm long, it was %g", longer, length)
	}
	w.press("date", "the focus on the date", func(s desk.State) bool { return s.Focus == "date" })
	w.xdotool("type", "20")
	w.key("ctrl+z")
	w.wait("undo", func(s desk.State) bool { return s.Redo == moved && s.Focus == "date" })
	if again, _ := w.value("canal 46 MB/length"); again != length {
		w.Errorf("undo gives a length of %g mm, it was %g", again, length)
	}
	w.key("ctrl+shift+z")
	w.wait("redo", func(s desk.State) bool { return s.Undo == moved })
	w.key("ctrl+z")
	w.wait("undo", func(s desk.State) bool { return s.Redo == moved })
	w.key("ctrl+y")
	w.wait("redo by the other key", func(s desk.State) bool { return s.Undo == moved })
	w.key("Escape")
	w.wait("the bench to have the focus", func(s desk.State) bool { return s.Focus == "bench" })
}

// checkTraces looks for the name of the opened file, or of its folder, in what
// the program left on the disk besides the casebook.
func checkTraces(w *window) {
	w.Helper()
	err := filepath.WalkDir(w.dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || strings.Contains(path, "casebook") || strings.HasSuffix(path, ".png") {
			return err
		}
		data, err := os.ReadFile(path)
		if err == nil && (strings.Contains(string(data), "walk.png") || filepath.Ext(path) == ".json" && strings.Contains(string(data), w.dir)) {
			w.Errorf("%s tells what was opened", path)
		}
		return err
	})
	if err != nil {
		w.Error(err)
	}
	if log := w.log.String(); strings.Contains(log, "walk.png") || strings.Contains(log, "46") && strings.Contains(log, "canal") {
		w.Errorf("the log tells what was done:\n%s", log)
	}
}

// TestWindowPowerCut ends the program by kill −9 in the middle of a trace: all
// clicks before it are there again.
func TestWindowPowerCut(t *testing.T) {
	w := newWindow(t)
	picture, truth := phantom.Periapical(phantom.NewSpec(12))
	w.start(w.save("cut.png", picture))
	w.wait("the image", ready)
	w.byHand()
	w.key("t")
	w.wait("the trace", mode("trace"))
	w.click("canal MB", 2, some(truth.Canals[0].CentreLine, 5)[:4])
	w.kill()
	w.start()
	w.wait("the image again", ready)
	if n := w.state.Marks["canal MB"]; n != 4 {
		t.Errorf("after 4 clicks and a power cut the canal has %d marks", n)
	}
	w.key("ctrl+z")
	w.wait("undo of the last click", func(s desk.State) bool { return s.Marks["canal MB"] == 3 })
	w.quit()
}

// TestWindowMistakes recovers from ten mistakes: a damaged file, a task begun by
// mistake, a click too many, a trace discarded, the wrong thing deleted, and
// those of furtherMistakes.
func TestWindowMistakes(t *testing.T) {
	w := newWindow(t)
	picture, truth := phantom.Periapical(phantom.NewSpec(13))
	good := w.save("good.png", picture)
	data, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	bad := filepath.Join(w.dir, "bad.png")
	if err := os.WriteFile(bad, data[:len(data)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	w.start(bad, good)
	w.wait("the good image and the message", func(s desk.State) bool {
		return s.Ready && s.Images == 1 && strings.HasPrefix(s.Error, "Damaged file")
	})
	w.press("close message", "the message to go", func(s desk.State) bool { return s.Error == "" })
	w.byHand()

	w.press("calibrate", "the calibration", mode("calibrate"))
	w.key("Escape")
	w.wait("nothing under way", mode(""))
	line := some(truth.Canals[0].CentreLine, 4)
	w.press("trace canal", "the trace", mode("trace"))
	w.click("canal MB", 2, line)
	w.key("BackSpace")
	w.wait("one mark less", func(s desk.State) bool { return s.Marks["canal MB"] == 3 })
	w.key("Escape")
	w.wait("the trace to be discarded", func(s desk.State) bool { return s.Mode == "" && len(s.Marks) == 0 })
	w.key("ctrl+z")
	w.wait("the trace again", func(s desk.State) bool { return s.Marks["canal MB"] == 3 })
	w.pressName("row canal MB", "the row to be selected", func(s desk.State) bool { return s.Selected == "canal MB" })
	w.key("Delete")
	w.wait("the canal to be deleted", func(s desk.State) bool { return len(s.Marks) == 0 })
	w.press("undo", "the canal again", func(s desk.State) bool { return s.Marks["canal MB"] == 3 })
	furtherMistakes(w, line[2])
	w.quit()
}

// furtherMistakes are a date that is none, a stage, a flip and a drag that
// were not meant, a mode begun by mistake, and a comparison without a second
// image.
func furtherMistakes(w *window, apex measure.Point) {
	w.Helper()
	w.press("date", "the focus on the date", func(s desk.State) bool { return s.Focus == "date" })
	w.xdotool("type", "2024-13-45")
	w.key("Return")
	w.wait("the message", func(s desk.State) bool { return s.Error != "" })
	w.press("close message", "the message to go", func(s desk.State) bool { return s.Error == "" && !strings.Contains(s.Undo, "date") })
	before := w.state.Undo
	taken := func(s desk.State) bool { return s.Undo == before }
	w.restage(1, measure.StageRecall)
	w.key("ctrl+z")
	w.wait("the stage as before", taken)
	w.press("bench", "the focus on the bench", func(s desk.State) bool { return s.Focus == "bench" })
	w.key("F4")
	w.wait("the flip", func(s desk.State) bool { return strings.Contains(s.Undo, "exchange") })
	w.key("ctrl+z")
	w.wait("the flip back", taken)
	w.pull(apex, measure.Pt(apex.X+60, apex.Y-90))
	w.wait("the drag", func(s desk.State) bool { return strings.HasPrefix(s.Undo, "move") })
	w.key("ctrl+z")
	w.wait("the mark back", taken)
	w.key("b")
	w.wait("the mode", mode("brightness"))
	w.key("Escape")
	w.wait("nothing under way", mode(""))
	w.key("v")
	w.wait("what is missing", func(s desk.State) bool { return s.Pair == "" && strings.Contains(s.Sentence, "two radiographs") })
	w.shot("b1-mistakes")
}

// TestWindowScales calibrates by a known distance, and by what a file states;
// its description opens and closes. The sample states 0.02 mm.
func TestWindowScales(t *testing.T) {
	w := newWindow(t)
	picture, truth := phantom.Periapical(phantom.NewSpec(14))
	sample, err := filepath.Abs("../../imaging/dicomfile/testdata/spacing.dcm")
	if err != nil {
		t.Fatal(err)
	}
	w.start(w.save("distance.png", picture), sample)
	w.wait("both images", func(s desk.State) bool { return s.Ready && s.Images == 2 })
	w.press("calibrate", "the calibration", mode("calibrate"))
	w.press("by distance", "the sentence", func(s desk.State) bool { return strings.Contains(s.Sentence, "known distance") })
	w.enter("known length", "10")
	w.click("calibration 1", 2, some(truth.File.Line, 2))
	w.wait("the end of the calibration", func(s desk.State) bool { return s.Mode == "" && s.Findings["image/scale"] != "" })

	w.key("Next")
	w.wait("the other image", func(s desk.State) bool { return s.Ready && len(s.Marks) == 0 })
	w.press("about image", "the description", func(s desk.State) bool { return s.Dialog })
	w.key("Escape")
	w.wait("the description to close", func(s desk.State) bool { return !s.Dialog })
	w.press("calibrate", "the calibration", mode("calibrate"))
	w.press("by stated", "the scale", func(s desk.State) bool {
		return s.Mode == "" && s.Findings["image/scale"] == "0.0200 ± 0.0020 mm/px"
	})
	w.key("Delete")
	w.wait("no scale", func(s desk.State) bool { return s.Undo == "delete stated spacing" })
	w.quit()
}

// TestPreferencesForgetFolders: the toolkit's file dialog keeps its last
// folder; it must not reach the disk.
func TestPreferencesForgetFolders(t *testing.T) {
	inner := test.NewTempApp(t)
	p := discreet{inner, map[string]string{}}.Preferences()
	const key = "fyne:fileDialogLastFolder"
	p.SetString(key, "file:///patients/Mueller")
	if got := p.String(key); got != "file:///patients/Mueller" || p.StringWithFallback(key, "") != got {
		t.Errorf("the dialog doesn't find its folder again: %q", got)
	}
	if got := inner.Preferences().String(key); got != "" {
		t.Errorf("the folder %q reaches the disk", got)
	}
	if got := p.StringWithFallback("none", "else"); got != "else" {
		t.Errorf("an unknown text is %q", got)
	}
}

// TestWindowAssists does with the assists what TestWindowWalk does by hand: two
// clicks calibrate, three make a canal, one outlines the lesion, a drag corrects
// and is taken back. Beside the driven test of the toolkit it shows that
// answers that come from beside the main goroutine come through.
func TestWindowAssists(t *testing.T) {
	w := newWindow(t)
	spec := phantom.NewSpec(15)
	picture, truth := phantom.Periapical(spec)
	c, f := truth.Canals[0], truth.File
	w.start(w.save("assist.png", picture))
	w.wait("the image", ready)

	w.press("calibrate", "the calibration", mode("calibrate"))
	w.enter("known length", "21")
	w.clickOn(f.Tip, "the stop to be asked for", func(s desk.State) bool { return strings.Contains(s.Sentence, "stop") })
	w.clickOn(f.Stop, "the scale", func(s desk.State) bool { return s.Mode == "" && s.Findings["image/scale"] != "" })
	if got, pm := w.value("image/scale"); math.Abs(got-spec.PixelMM) > pm {
		t.Errorf("the scale is %g ± %g mm/px, the truth is %g", got, pm, spec.PixelMM)
	}

	reference := measure.Pt(c.Orifice.X-10, c.Orifice.Y-220)
	w.key("t")
	w.wait("the trace", mode("trace"))
	w.clickOn(c.Orifice, "the apex to be asked for", func(s desk.State) bool { return strings.Contains(s.Sentence, "apex") })
	w.clickOn(c.Apex, "the line", func(s desk.State) bool { return strings.Contains(s.Sentence, "coronal reference point") })
	w.clickOn(reference, "the canal", func(s desk.State) bool { return s.Mode == "" && s.Findings["canal MB/length"] != "" })
	want := c.LengthMM + reference.Dist(c.Orifice)*spec.PixelMM
	if got, pm := w.value("canal MB/length"); math.Abs(got-want) > pm {
		t.Errorf("the canal is %g ± %g mm long, the truth is %.2f", got, pm, want)
	}

	const moved = "move the apex of canal MB"
	before := w.state.Findings["canal MB/length"]
	w.pull(c.Apex, measure.Pt(c.Apex.X+20, c.Apex.Y+60))
	w.wait("the drag", func(s desk.State) bool { return s.Undo == moved })
	w.key("ctrl+z")
	w.wait("undo", func(s desk.State) bool { return s.Redo == moved && s.Findings["canal MB/length"] == before })

	w.key("l")
	w.wait("the outline", mode("outline"))
	w.clickOn(truth.Lesion.Centre, "the lesion", func(s desk.State) bool { return s.Mode == "" && s.Marks["lesion A"] > 5 })
	w.quit()
}

// clickOn clicks an image point and waits for what that should do.
func (w *window) clickOn(p measure.Point, what string, ok func(desk.State) bool) {
	w.Helper()
	x, y := w.at(p)
	w.xdotool("mousemove", x, y, "click", "1")
	w.wait(what, ok)
}
