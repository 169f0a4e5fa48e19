//go:build !ci

package main

import (
	"math"
	"strings"
	"testing"
	"time"

	"rootrule/app/desk"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// TestWindowHome goes from nothing to an image in a case by keys alone: a new
// start, a case in two fields, two images chosen in one go, one of them flipped
// and back, calibrated, traced, outlined, compared, and to the cases and back.
func TestWindowHome(t *testing.T) {
	w := newWindow(t)
	picture, truth := phantom.Periapical(phantom.NewSpec(20))
	w.save("first.png", picture)
	other, _ := phantom.Periapical(phantom.NewSpec(21))
	w.save("second.png", other)
	w.start()
	focus := func(name string) func(desk.State) bool { return func(s desk.State) bool { return s.Focus == name } }
	w.wait("the cases", func(s desk.State) bool { return s.Home && s.Cases == 0 && s.Focus == "search" })
	w.key("ctrl+n")
	w.wait("the code", focus("new code"))
	w.xdotool("type", "P-1")
	w.key("Return")
	w.wait("the tooth", focus("new tooth"))
	w.xdotool("type", "46")
	w.key("Return")
	w.wait("the case", func(s desk.State) bool { return !s.Home && s.Images == 0 && s.Focus == "bench" })

	w.key("ctrl+o")
	w.wait("the files", func(s desk.State) bool { return s.Dialog && s.Focus == "file name" })
	w.key("ctrl+a")
	w.key("Return")
	w.wait("both images", func(s desk.State) bool { return s.Ready && s.Images == 2 && !s.Dialog })
	w.key("F4")
	w.wait("the flip", func(s desk.State) bool { return strings.Contains(s.Undo, "exchange") })
	w.key("ctrl+z")
	w.wait("the flip back", func(s desk.State) bool { return strings.Contains(s.Redo, "exchange") })

	markedByKeys(w, truth)
	w.key("v")
	w.wait("both images", func(s desk.State) bool { return s.Pair == "side by side" })
	w.key("v")
	w.wait("one image", func(s desk.State) bool { return s.Pair == "" && s.Focus == "bench" })

	w.key("ctrl+k")
	w.wait("the cases", func(s desk.State) bool { return s.Home && s.Cases == 1 })
	w.xdotool("type", "nobody")
	w.wait("nothing found", func(s desk.State) bool { return s.Cases == 0 })
	w.key("Escape")
	w.wait("all cases", func(s desk.State) bool { return s.Home && s.Cases == 1 })
	w.key("Escape")
	w.wait("the case", func(s desk.State) bool { return !s.Home && s.Focus == "bench" })
	w.quit()
}

// markedByKeys calibrates, traces, outlines and types an apex locator reading
// with the keys alone.
func markedByKeys(w *window, truth phantom.Truth) {
	w.Helper()
	c := truth.Canals[0]
	w.key("c")
	w.wait("the calibration", mode("calibrate"))
	w.steer(truth.File.Tip)
	w.key("Return")
	w.wait("the stop to be asked for", func(s desk.State) bool { return strings.Contains(s.Sentence, "stop") })
	w.steer(truth.File.Stop)
	w.key("Return")
	w.wait("the scale", func(s desk.State) bool { return s.Mode == "" && s.Findings["image/scale"] != "" })

	w.key("t")
	w.wait("the trace", mode("trace"))
	w.steer(c.Orifice)
	w.key("Return")
	w.wait("the apex to be asked for", func(s desk.State) bool { return strings.Contains(s.Sentence, "apex") })
	w.steer(c.Apex)
	w.key("Return")
	w.wait("the line", func(s desk.State) bool { return strings.Contains(s.Sentence, "coronal reference point") })
	w.steer(measure.Pt(c.Orifice.X-10, c.Orifice.Y-220))
	w.key("Return")
	w.wait("the canal", func(s desk.State) bool { return s.Mode == "" && s.Findings["canal 46 MB/length"] != "" })

	w.key("l")
	w.wait("the outline", mode("outline"))
	w.steer(truth.Lesion.Centre)
	w.key("Return")
	w.wait("the lesion", func(s desk.State) bool { return s.Mode == "" && s.Marks["lesion 46 A"] > 5 })
	w.shot("c1-keys")

	w.key("F6")
	w.wait("the table to have the keys", func(s desk.State) bool { return s.Focus == "worksheet" })
	w.key("Down", "Down", "Down", "Return") // past length, working length and curvature
	w.wait("the field", func(s desk.State) bool { return s.Focus == "EAL canal 46 MB" })
	w.xdotool("type", "19.5")
	w.key("Return")
	w.wait("the reading", func(s desk.State) bool {
		return s.Focus == "bench" && strings.HasPrefix(s.Undo, "apex locator reading")
	})
}

// steer moves the cross of the keys to an image point: in steps as far as they
// go, then in single pixels of the screen.
func (w *window) steer(p measure.Point) {
	w.Helper()
	const step = 12 // logical pixels, at scale 1
	w.key("Right")
	for range 3 { // the picture may have moved to keep the cross in sight
		w.wait("the cross", func(s desk.State) bool { return s.Cross != nil })
		var keys []string
		for i, names := range [][2]string{{"Left", "Right"}, {"Up", "Down"}} {
			to := [2]float64{p.X, p.Y}[i]
			n := int(math.Round((to - w.state.Cross[i]) * w.state.View[0]))
			name := names[0]
			if n > 0 {
				name = names[1]
			}
			for n = max(n, -n); n > 0; {
				if n >= step {
					keys, n = append(keys, name), n-step
				} else {
					keys, n = append(keys, "shift+"+name), n-1
				}
			}
		}
		if len(keys) == 0 {
			return
		}
		w.key(keys...)
		w.quiet()
	}
}

// quiet waits until the state stays the same for a while.
func (w *window) quiet() {
	w.Helper()
	last, since := -1, time.Now()
	w.wait("an end of the changes", func(s desk.State) bool {
		if s.Seq != last {
			last, since = s.Seq, time.Now()
		}
		return time.Since(since) > 200*time.Millisecond
	})
}
