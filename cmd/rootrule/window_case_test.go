//go:build !ci

package main

import (
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"rootrule/app/casebook"
	"rootrule/app/desk"
	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// mostDeeds is how many clicks, keys and typed texts a whole case may take.
const mostDeeds = 60

// visit is an image of the case that TestWindowCase makes, and what is in it.
type visit struct {
	stage, date string
	truth       phantom.Truth
}

// visits writes four radiographs of one tooth as files whose age tells their
// order. After the filling and at the recall it is the same picture, exposed
// less the first time.
func (w *window) visits() []visit {
	w.Helper()
	made := phantom.Demo(37).Exposures
	pre, length, recall := made[0], made[1], made[2]
	filled := &imaging.Image{Width: recall.Image.Width, Height: recall.Image.Height, Pix: slices.Clone(recall.Image.Pix)}
	for i, v := range filled.Pix {
		filled.Pix[i] = v - v/16
	}
	out := []visit{
		{measure.StagePreOperative, pre.Date, pre.Truth},
		{measure.StageWorkingLength, length.Date, length.Truth},
		{measure.StagePostOperative, "2024-04-02", recall.Truth},
		{measure.StageRecall, recall.Date, recall.Truth},
	}
	for i, m := range []*imaging.Image{pre.Image, length.Image, filled, recall.Image} {
		path := w.save(string(rune('a'+i))+".png", m)
		taken := time.Date(2024, 3, 1+i, 9, 0, 0, 0, time.UTC)
		if err := os.Chtimes(path, taken, taken); err != nil {
			w.Fatal(err)
		}
	}
	return out
}

// TestWindowCase makes a whole case from nothing: four images, calibration by
// two clicks on a file, three canals, apex locator readings, a lesion before
// and at the recall, and the reader's verdict, in fewer than 60 actions.
func TestWindowCase(t *testing.T) {
	w := newWindow(t)
	visits := w.visits()
	w.start()
	w.wait("the cases", func(s desk.State) bool { return s.Home && s.Focus == "search" })
	w.begin("P-37", "37")
	w.key("ctrl+o")
	w.wait("the files", func(s desk.State) bool { return s.Dialog && s.Focus == "file name" })
	w.key("ctrl+a")
	w.key("Return")
	w.wait("the images", func(s desk.State) bool { return s.Ready && s.Images == len(visits) && !s.Dialog })
	w.restage(3, measure.StagePostOperative)
	w.shot("a1-images")

	for i, v := range visits {
		if i > 0 {
			w.turn("Next")
		}
		w.dated(v)
	}
	w.restage(4, measure.StageRecall)
	w.outlined(visits[3])
	w.press("image 2", "the image with the file", func(s desk.State) bool { return s.Ready && len(s.Marks) == 0 })
	w.lengths(visits[1])
	w.shot("a3-worksheet")
	w.turn("Prior")
	w.outlined(visits[0])

	w.key("v")
	w.wait("both images in one frame", func(s desk.State) bool { return s.Pair == "side by side" && s.Aligned && s.Compared })
	w.press("outcome", "the outcomes", func(s desk.State) bool { return s.Dialog })
	w.shot("a4-outcomes")
	w.key("Down", "Down", "Down", "Return")
	w.wait("the verdict", func(s desk.State) bool { return strings.Contains(s.Undo, "outcome") })
	w.shot("a5-verdict")
	if change := w.state.Findings["lesion 37 A/area_change"]; !strings.HasPrefix(change, "−") {
		t.Errorf("the lesion, which has shrunk, changes by %q", change)
	}
	t.Logf("a whole case in %d actions; the lesion: %q", w.deeds, w.state.Findings["lesion 37 A/area_change"])
	if w.deeds >= mostDeeds {
		t.Errorf("a whole case takes %d actions", w.deeds)
	}
	w.quit()
}

// begin starts a case with the keys of the screen of cases.
func (w *window) begin(code, tooth string) {
	w.Helper()
	w.key("ctrl+n")
	w.wait("the code", func(s desk.State) bool { return s.Focus == "new code" })
	w.xdotool("type", code)
	w.key("Return")
	w.wait("the tooth", func(s desk.State) bool { return s.Focus == "new tooth" })
	w.xdotool("type", tooth)
	w.key("Return")
	w.wait("the case", func(s desk.State) bool { return !s.Home && s.Images == 0 && s.Focus == "bench" })
}

// restage presses the step of a stage under an image of the strip.
func (w *window) restage(image int, stage string) {
	w.Helper()
	step := slices.Index(casebook.Stages, stage)
	undo := w.state.Undo
	w.pressAt("stages of image "+string(rune('0'+image)), "the stage", func(s desk.State) bool {
		return s.Undo != undo && strings.HasPrefix(s.Undo, "stage")
	}, func(r [4]int) (x, y int) { return r[0] + r[2]*(2*step+1)/(2*len(casebook.Stages)), r[1] + r[3]/2 })
}

// turn puts the next image on the bench, or the one before.
func (w *window) turn(key string) {
	w.Helper()
	image := w.state.Image
	w.key(key)
	w.wait("another image", func(s desk.State) bool { return s.Ready && s.Image != image })
}

// dated types the date of the image on the bench.
func (w *window) dated(v visit) {
	w.Helper()
	w.press("date", "the focus on the date", func(s desk.State) bool { return s.Focus == "date" })
	w.xdotool("type", v.date)
	w.key("Return")
	w.wait("the date", func(s desk.State) bool { return s.Focus == "bench" && strings.Contains(s.Undo, "date") })
}

// outlined outlines the lesion of the image on the bench by one click.
func (w *window) outlined(v visit) {
	w.Helper()
	w.key("l")
	w.wait("the outline", mode("outline"))
	w.clickOn(v.truth.Lesion.Centre, "the lesion", func(s desk.State) bool { return s.Mode == "" && s.Marks["lesion 37 A"] > 5 })
}

// lengths calibrates on the file of the image on the bench, traces its canals
// and types what the apex locator said.
func (w *window) lengths(v visit) {
	w.Helper()
	w.key("c")
	w.wait("the calibration", mode("calibrate"))
	w.clickOn(v.truth.File.Tip, "the stop to be asked for", func(s desk.State) bool { return strings.Contains(s.Sentence, "stop") })
	w.clickOn(v.truth.File.Stop, "the scale", func(s desk.State) bool { return s.Mode == "" && s.Findings["image/scale"] != "" })
	for _, c := range v.truth.Canals {
		of := "canal " + c.Tooth + " " + c.Name
		w.key("t")
		w.wait("the trace", mode("trace"))
		w.clickOn(c.Orifice, "the apex to be asked for", func(s desk.State) bool { return strings.Contains(s.Sentence, "apex") })
		w.clickOn(c.Apex, "the line", func(s desk.State) bool { return strings.Contains(s.Sentence, "coronal reference point") })
		w.clickOn(c.Reference, "the canal", func(s desk.State) bool { return s.Mode == "" && s.Findings[of+"/length"] != "" })
		// The scale is as if the file were 21 mm long; the demo's is of another length.
		want := c.ReferenceLengthMM * 21 / v.truth.File.LengthMM
		if got, pm := w.value(of + "/length"); math.Abs(got-want) > pm {
			w.Errorf("%s is %g ± %g mm long, the truth is %.2f", of, got, pm, want)
		}
		if got, pm := w.value(of + "/schneider_angle"); math.Abs(got-c.SchneiderImageDeg) > pm+5 {
			w.Errorf("%s is curved by %g ± %g°, the truth is %.1f°", of, got, pm, c.SchneiderImageDeg)
		}
	}
	w.shot("a2-canals")
	for i, c := range v.truth.Canals {
		field := "EAL canal " + c.Tooth + " " + c.Name
		w.press(field, "the focus on "+field, func(s desk.State) bool { return s.Focus == field })
		w.xdotool("type", []string{"18.5", "19", "20"}[i%3])
	}
	w.key("Return")
	w.wait("the readings", func(s desk.State) bool {
		return s.Focus == "bench" && strings.HasPrefix(s.Undo, "apex locator reading")
	})
}
