//go:build !ci

package main

import (
	"strings"
	"testing"

	"rootrule/app/desk"
	"rootrule/imaging/phantom"
)

// TestWindowHome goes from nothing to an image in a case by keys alone: a new
// start, a case in two fields, two images chosen in one go, one of them flipped
// and back, and to the cases and back.
func TestWindowHome(t *testing.T) {
	w := newWindow(t)
	for i, name := range []string{"first.png", "second.png"} {
		picture, _ := phantom.Periapical(phantom.NewSpec(uint64(20 + i)))
		w.save(name, picture)
	}
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
