//go:build !ci

package main

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"rootrule/app/desk"
	"rootrule/imaging"
	"rootrule/measure"
)

// window is the real program in a real window, driven with mouse and keys
// alone. Tests wait for what its probe tells, never for a time.
type window struct {
	*testing.T
	dir   string // home of the program and of the test's files
	cmd   *exec.Cmd
	log   *lockedBuffer
	done  chan error
	state desk.State
	env   []string // more of the program's environment
	deeds int      // what the user has done so far: clicks, drags, keys, texts typed
}

// patience is how long a test waits for something that should happen: long,
// because the machine may be busy with other things.
const patience = 60 * time.Second

// program builds the program once.
var program = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "rootrule-window")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "rootrule")
	if out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return path, nil
})

// newWindow prepares a test that drives the window. It needs a display, such as
// xvfb-run gives, and xdotool; cmd/dev sets both up.
func newWindow(t *testing.T) *window {
	t.Helper()
	if os.Getenv("ROOTRULE_WINDOW") == "" {
		t.Skip("drives a real window: set ROOTRULE_WINDOW=1 and run under xvfb-run, or use go run ./cmd/dev test")
	}
	if _, err := exec.LookPath("xdotool"); err != nil || os.Getenv("DISPLAY") == "" {
		t.Fatalf("a display and xdotool are needed: DISPLAY %q, %v", os.Getenv("DISPLAY"), err)
	}
	return &window{T: t, dir: t.TempDir()}
}

// start starts the program and waits until its window shows something.
func (w *window) start(args ...string) {
	w.Helper()
	path, err := program()
	if err != nil {
		w.Fatal(err)
	}
	_ = os.Remove(w.probe())
	w.log, w.done = new(lockedBuffer), make(chan error, 1)
	w.cmd = exec.Command(path, append([]string{"--probe", w.probe()}, args...)...)
	w.cmd.Env = append(os.Environ(), "HOME="+w.dir, "XDG_CONFIG_HOME="+w.dir+"/config", "XDG_CACHE_HOME="+w.dir+"/cache", "LANG=C.UTF-8")
	w.cmd.Env = append(w.cmd.Env, w.env...)
	w.cmd.Stdout, w.cmd.Stderr = w.log, w.log
	if err := w.cmd.Start(); err != nil {
		w.Fatal(err)
	}
	go func(cmd *exec.Cmd, done chan error) { done <- cmd.Wait() }(w.cmd, w.done)
	w.Cleanup(func() { _ = w.cmd.Process.Kill() })
	w.wait("the window", func(s desk.State) bool { return s.Bench[2] > 0 || s.Home })
	w.xdotool("search", "--sync", "--onlyvisible", "--name", "^Rootrule$", "windowmove", "%@", "0", "0", "windowfocus", "%@")
}

func (w *window) probe() string { return filepath.Join(w.dir, "probe.json") }

// wait waits until the state is as wanted and returns it.
func (w *window) wait(what string, ok func(desk.State) bool) desk.State {
	w.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		select {
		case err := <-w.done:
			w.done <- err
			w.Fatalf("waiting for %s: the program has ended: %v\n%s", what, err, w.log)
		default:
		}
		data, err := os.ReadFile(w.probe())
		var s desk.State
		if err != nil || json.Unmarshal(data, &s) != nil {
			continue
		}
		if w.state = s; ok(s) {
			return s
		}
	}
	w.shot("missing")
	w.Fatalf("%s has not come; the window says %q, error %q, mode %q, marks %v, focus %q\n%s",
		what, w.state.Sentence, w.state.Error, w.state.Mode, w.state.Marks, w.state.Focus, w.log)
	return w.state
}

func (w *window) xdotool(args ...string) {
	w.Helper()
	w.deeds += deedsIn(args)
	if out, err := exec.Command("xdotool", args...).CombinedOutput(); err != nil {
		w.Fatalf("xdotool %s: %v: %s", strings.Join(args, " "), err, out)
	}
}

// deedsIn counts what a user would do for a call of xdotool.
func deedsIn(args []string) (n int) {
	switch args[0] {
	case "key":
		return len(args) - 1
	case "type":
		return 1
	}
	for _, a := range args {
		if a == "click" || a == "mousedown" {
			n++
		}
	}
	return n
}

// shot keeps a picture of the display for a person to look at, in the folder
// that ROOTRULE_SHOTS names; without one it does nothing.
func (w *window) shot(name string) {
	w.Helper()
	dir := os.Getenv("ROOTRULE_SHOTS")
	if dir == "" {
		return
	}
	if out, err := exec.Command("import", "-window", "root", filepath.Join(dir, name+".png")).CombinedOutput(); err != nil {
		w.Errorf("a picture of the display: %v: %s", err, out)
	}
}

// key presses keys, in xdotool's names.
func (w *window) key(names ...string) { w.Helper(); w.xdotool(append([]string{"key"}, names...)...) }

// press clicks the middle of a control and waits for what that should do.
func (w *window) press(control, what string, ok func(desk.State) bool) desk.State {
	w.Helper()
	return w.pressAt(control, what, ok, func(r [4]int) (x, y int) { return r[0] + r[2]/2, r[1] + r[3]/2 })
}

// pressName clicks the name at the top of a row of the worksheet.
func (w *window) pressName(control, what string, ok func(desk.State) bool) desk.State {
	w.Helper()
	return w.pressAt(control, what, ok, func(r [4]int) (x, y int) { return r[0] + 16, r[1] + 14 })
}

func (w *window) pressAt(control, what string, ok func(desk.State) bool, at func(r [4]int) (x, y int)) desk.State {
	w.Helper()
	w.wait("the control "+control, func(s desk.State) bool { return s.Controls[control][2] > 0 })
	x, y := at(w.state.Controls[control])
	w.xdotool("mousemove", strconv.Itoa(x), strconv.Itoa(y), "click", "1")
	return w.wait(what, ok)
}

// enter types a text into a field, in place of what is there, and Enter.
func (w *window) enter(field, text string) {
	w.Helper()
	w.press(field, "the focus on "+field, func(s desk.State) bool { return s.Focus == field })
	w.key("ctrl+a")
	w.xdotool("type", text)
	w.key("Return")
	w.wait("the bench to have the focus", func(s desk.State) bool { return s.Focus == "bench" })
}

// at returns where an image point is on the screen.
func (w *window) at(p measure.Point) (x, y string) {
	s := w.state
	return strconv.Itoa(s.Bench[0] + int(math.Round(s.View[1]+s.View[0]*p.X))),
		strconv.Itoa(s.Bench[1] + int(math.Round(s.View[2]+s.View[0]*p.Y)))
}

// click clicks image points one by one and waits until each has become a mark
// of the item.
func (w *window) click(of string, least int, points []measure.Point) {
	w.Helper()
	for i, p := range points {
		x, y := w.at(p)
		seq := w.state.Seq
		w.xdotool("mousemove", x, y, "click", "1")
		w.wait(fmt.Sprintf("mark %d of %s", i+1, of), func(s desk.State) bool {
			return s.Marks[of] == i+1 || i+1 < least && s.Seq > seq
		})
	}
}

// pull drags from one image point to another.
func (w *window) pull(from, to measure.Point) {
	w.Helper()
	x0, y0 := w.at(from)
	x1, y1 := w.at(to)
	xm, ym := w.at(measure.Pt((from.X+to.X)/2, (from.Y+to.Y)/2))
	w.xdotool("mousemove", x0, y0, "mousedown", "1", "mousemove", xm, ym, "mousemove", x1, y1, "mouseup", "1")
}

// quit ends the program as a user does and checks what it leaves.
func (w *window) quit() {
	w.Helper()
	w.key("ctrl+q")
	select {
	case err := <-w.done:
		if err != nil {
			w.Fatalf("the program ended with %v\n%s", err, w.log)
		}
	case <-time.After(patience):
		w.Fatalf("the program doesn't end\n%s", w.log)
	}
	w.checkLog()
}

// kill ends it as a power cut does.
func (w *window) kill() {
	w.Helper()
	if err := w.cmd.Process.Kill(); err != nil {
		w.Fatal(err)
	}
	<-w.done
	w.checkLog()
}

// checkLog fails on what only a real window finds: widgets touched from the
// wrong goroutine, and crashes.
func (w *window) checkLog() {
	w.Helper()
	for _, bad := range []string{"Error in Fyne call thread", "panic", "fatal error"} {
		if strings.Contains(w.log.String(), bad) {
			w.Fatalf("the program's log has %q:\n%s", bad, w.log)
		}
	}
}

// value reads the number and the ± of a finding as shown.
func (w *window) value(finding string) (value, plusMinus float64) {
	w.Helper()
	shown := w.state.Findings[finding]
	if _, err := fmt.Sscanf(strings.NewReplacer("°", " ", "±", " ").Replace(shown), "%g %g", &value, &plusMinus); err != nil {
		w.Fatalf("%s is shown as %q", finding, shown)
	}
	return value, plusMinus
}

// save writes an image as a 16-bit PNG and returns its path.
func (w *window) save(name string, m *imaging.Image) string {
	w.Helper()
	g := image.NewGray16(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range m.Pix {
		binary.BigEndian.PutUint16(g.Pix[2*i:], v)
	}
	path := filepath.Join(w.dir, name)
	f, err := os.Create(path)
	if err != nil {
		w.Fatal(err)
	}
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(f, g); err != nil {
		w.Fatal(err)
	}
	if err := f.Close(); err != nil {
		w.Fatal(err)
	}
	return path
}

// lockedBuffer is a log that one goroutine writes and another reads.
type lockedBuffer struct {
	mu sync.Mutex
	b  strings.Builder
}

var _ io.Writer = (*lockedBuffer)(nil)

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}
