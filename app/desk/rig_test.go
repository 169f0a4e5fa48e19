package desk

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"rootrule/app/casebook"
	"rootrule/measure"
)

// TestMain makes one app for all tests: each app reads its fonts again.
func TestMain(m *testing.M) {
	test.NewApp().Settings().SetTheme(Theme{})
	os.Exit(m.Run())
}

// rig is a desk in the toolkit's test window: no display, no goroutines, time
// stands still unless a test moves it.
type rig struct {
	testing.TB
	*Desk
	win   fyne.Window
	book  *casebook.Book
	path  string // of the casebook
	files map[string][]byte
	clock time.Time
	size  fyne.Size // of the window
}

// newRig opens an empty casebook on a desk of 1280×800.
func newRig(t testing.TB) *rig {
	t.Helper()
	r := &rig{TB: t, path: filepath.Join(memory(t), "book.db"), clock: time.Unix(1_700_000_000, 0), size: fyne.NewSize(1280, 801)}
	r.files = maps.Clone(samples())
	r.open()
	return r
}

// open opens the casebook on a new desk, as a new start of the program does.
func (r *rig) open() {
	r.Helper()
	book, err := casebook.Open(r.path)
	if err != nil {
		r.Fatal(err)
	}
	r.Cleanup(func() { _ = book.Close() })
	r.book, r.win = book, test.NewTempWindow(r.TB, nil)
	r.win.Resize(r.size.AddWidthHeight(0, -1))
	r.Desk = New(Options{Window: r.win, Book: book, ReadFile: r.read, ReadFolder: r.folder, Folder: "/x"})
	r.sheet.width = 436
	r.beside = func(work func()) { work() }
	r.after = func(time.Duration, func()) *time.Timer { return time.NewTimer(time.Hour) }
	r.helping.byHand = true // tests of the assists turn it off
	r.bench.mouse.now = func() time.Time { return r.clock }
	r.win.Resize(r.size) // the test window lays out on a change only
}

// reopen ends the program and starts it again; without a farewell when killed.
func (r *rig) reopen(killed bool) {
	r.Helper()
	if !killed {
		r.Close()
	}
	if err := r.book.Close(); err != nil {
		r.Fatal(err)
	}
	r.open()
	r.OpenLast()
}

func (r *rig) read(path string) ([]byte, error) {
	if data, ok := r.files[path]; ok {
		return data, nil
	}
	return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
}

// folder lists the rig's files: one folder with all of them, and one above.
func (r *rig) folder(path string) ([]Entry, error) {
	switch path {
	case "/":
		return []Entry{{Name: "x", Folder: true}, {Name: "locked", Folder: true}}, nil
	case "/x":
		var out []Entry
		for name := range r.files {
			out = append(out, Entry{Name: filepath.Base(name), Changed: time.Unix(int64(len(name)), 0)})
		}
		return out, nil
	}
	return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrPermission}
}

// picture makes a PNG of 16 bits with a texture that depends on seed.
func picture(w, h int, seed uint16) []byte {
	return greys(w, h, func(x, y int) uint16 { return uint16(x*37+y*11)*seed + uint16(x^y)<<6 })
}

// greys makes a PNG of 16 bits.
func greys(w, h int, at func(x, y int) uint16) []byte {
	g := image.NewGray16(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			g.SetGray16(x, y, color.Gray16{Y: at(x, y)})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, g); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// memory returns a folder of its own that lives in memory where the system has
// one, so that a test doesn't wait for the disk at each of its steps.
func memory(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "desk")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

// samples are the files that tests open, made once.
var samples = sync.OnceValue(func() map[string][]byte {
	return map[string][]byte{
		"/x/one.png":     picture(1000, 800, 1),
		"/x/two.png":     picture(500, 400, 2),
		"/x/three.png":   picture(300, 450, 3),
		"/x/cut.png":     picture(300, 200, 4)[:2000],
		"/x/letter.docx": []byte("PK\x03\x04 this is no picture, and long enough to be read as something"),
	}
})

// opened is a rig with one image on the bench.
func opened(t testing.TB) *rig {
	t.Helper()
	r := newRig(t)
	r.OpenFiles([]string{"/x/one.png"})
	if r.session == nil || !r.session.ready {
		t.Fatalf("the image is not on the bench: %q", r.guide.error())
	}
	r.fitBench()
	return r
}

// fitBench sizes the window so that the bench shows the first sample at 0.7 of
// its size: positions of whole tens of pixels are then whole device pixels,
// and clicks hit them exactly whatever stands around the bench.
func (r *rig) fitBench() {
	r.Helper()
	for range 3 {
		bench, window := r.bench.Size(), r.win.Canvas().Size()
		r.size = window.AddWidthHeight(0.7*1000+2*margin-bench.Width, 0.7*800+2*margin-bench.Height)
		r.win.Resize(r.size)
	}
	if s := r.bench.view.Scale; !near2(s, 0.7, 1e-9) {
		r.Fatalf("the sample is shown at %g, want 0.7: the bench is %v", s, r.bench.Size())
	}
}

// on returns the position on the bench at which an image point is shown. The
// mouse hits it to half a device pixel.
func (r *rig) on(x, y float64) fyne.Position {
	sx, sy := r.bench.view.Snapped().ToScreen(x, y)
	return fyne.NewPos(float32(sx), float32(sy))
}

func (r *rig) down(x, y float64, b desktop.MouseButton) {
	r.clock = r.clock.Add(time.Second)
	r.downAgain(x, y, b)
}

// downAgain presses at once, as the second of a double click.
func (r *rig) downAgain(x, y float64, b desktop.MouseButton) {
	r.bench.MouseDown(&desktop.MouseEvent{Button: b, PointEvent: fyne.PointEvent{Position: r.on(x, y)}})
}

func (r *rig) up(x, y float64, b desktop.MouseButton) {
	r.bench.MouseUp(&desktop.MouseEvent{Button: b, PointEvent: fyne.PointEvent{Position: r.on(x, y)}})
}

func (r *rig) move(x, y float64) {
	r.bench.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: r.on(x, y)}})
}

// click moves there, presses and lets go.
func (r *rig) click(x, y float64) {
	r.move(x, y)
	r.down(x, y, desktop.MouseButtonPrimary)
	r.up(x, y, desktop.MouseButtonPrimary)
}

func (r *rig) clicks(points ...[2]float64) {
	for _, p := range points {
		r.click(p[0], p[1])
	}
}

// pull presses at one image point and lets go at another.
func (r *rig) pull(x0, y0, x1, y1 float64, b desktop.MouseButton) {
	from, to := r.on(x0, y0), r.on(x1, y1) // the view may move under the drag
	r.clock = r.clock.Add(time.Second)
	r.bench.MouseDown(&desktop.MouseEvent{Button: b, PointEvent: fyne.PointEvent{Position: from}})
	for i := 1; i <= 5; i++ {
		d := to.Subtract(from)
		at := from.AddXY(d.X*float32(i)/5, d.Y*float32(i)/5)
		r.bench.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: at}})
	}
	r.bench.MouseUp(&desktop.MouseEvent{Button: b, PointEvent: fyne.PointEvent{Position: to}})
	r.bench.DragEnd()
}

func (r *rig) key(names ...fyne.KeyName) {
	for _, n := range names {
		r.bench.TypedKey(&fyne.KeyEvent{Name: n})
	}
}

// typed types a text into a field and leaves it with Enter.
func (r *rig) typed(name, text string) {
	r.Helper()
	f, ok := r.parts[name].(*field)
	if !ok {
		r.Fatalf("there is no field %q", name)
	}
	r.win.Canvas().Focus(f)
	f.SetText(text)
	f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
}

// calibrated marks a file of 20 mm over 400 px: 0.05 mm/px.
func (r *rig) calibrated() {
	r.Helper()
	r.key(fyne.KeyC)
	r.typed("known length", "20")
	r.clicks([2]float64{100, 600}, [2]float64{100, 200})
	r.key(fyne.KeyReturn)
	if s, ok := r.session.scale(); !ok || !near2(s.Value, 0.05, 1e-4) {
		r.Fatalf("400 px along 20 mm give a scale of %v %s", s.Value, s.Unit)
	}
}

// traced traces a straight canal of 300 px.
func (r *rig) traced() {
	r.Helper()
	r.key(fyne.KeyT)
	r.typed("tooth", "46")
	r.typed("name", "MB")
	r.clicks([2]float64{300, 200}, [2]float64{300, 260}, [2]float64{300, 380}, [2]float64{300, 500})
	r.key(fyne.KeyReturn)
	r.expectMarks(item{canal, len(r.session.saved().Canals) - 1}, 4)
}

func (r *rig) expectMarks(it item, n int) {
	r.Helper()
	if got := len(marksOf(r.session.saved(), it)); got != n {
		r.Fatalf("%s has %d marks, want %d; sentence %q, error %q", nameOf(r.session.saved(), it), got, n, r.guide.text, r.guide.error())
	}
}

func (r *rig) value(of, what string) float64 {
	r.Helper()
	f, ok := r.session.finding(of, what)
	if !ok || !f.Defined() {
		r.Fatalf("there is no %s of %q: %q", what, of, f.Cautions)
	}
	return f.Value
}

func near2(got, want, tolerance float64) bool {
	return got >= want-tolerance && got <= want+tolerance
}

// storedMarks reads the case from the disk again, past the desk.
func (r *rig) storedMarks() measure.Marks {
	r.Helper()
	again, err := casebook.Open(r.path)
	if err != nil {
		r.Fatal(err)
	}
	c, err := again.Case(r.session.kase.ID())
	if err = errors.Join(err, again.Close()); err != nil {
		r.Fatal(err)
	}
	return c.Marks()
}
