package casebook

import (
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/vfs"
)

// testDisk is the operating system's file system with two faults built in:
// writes that fail, and the power cut. It keeps what each file would have on
// a disk that has stored everything up to the last sync, and the writes since,
// of which a power cut leaves any part.
type testDisk struct {
	vfs.VFS

	mu      sync.Mutex
	files   map[string]*diskFile // by path
	writes  int                  // so far
	fail    error                // what failing writes return
	failAt  int                  // the write from which on they fail, -1 for none
	onWrite func()               // called after each write or truncation
}

type diskFile struct {
	synced  []byte
	pending []diskWrite
}

// diskWrite is a write at an offset, or with nil data a truncation to it.
type diskWrite struct {
	offset int64
	data   []byte
}

// newTestDisk registers a disk under the test's name.
func newTestDisk(t *testing.T) (d *testDisk, name string) {
	t.Helper()
	d = &testDisk{VFS: vfs.Find("os"), files: map[string]*diskFile{}, failAt: -1}
	name = "disk" + strings.ReplaceAll(t.Name(), "/", "_")
	vfs.Register(name, d)
	t.Cleanup(func() { vfs.Unregister(name) })
	return d, name
}

func (d *testDisk) OpenFilename(name *vfs.Filename, flags vfs.OpenFlag) (vfs.File, vfs.OpenFlag, error) {
	f, flags, err := d.VFS.(vfs.VFSFilename).OpenFilename(name, flags)
	if err != nil {
		return nil, flags, err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.files[name.String()] == nil {
		d.files[name.String()] = &diskFile{}
	}
	return &testFile{File: f, disk: d, path: name.String()}, flags, nil
}

func (d *testDisk) Delete(path string, syncDir bool) error {
	d.mu.Lock()
	delete(d.files, path)
	d.mu.Unlock()
	return d.VFS.Delete(path, syncDir)
}

// note takes down a write, or returns the error that it fails with.
func (d *testDisk) note(path string, w diskWrite) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.writes++
	if d.failAt >= 0 && d.writes > d.failAt {
		return d.fail
	}
	f := d.files[path]
	f.pending = append(f.pending, w)
	if d.onWrite != nil {
		d.onWrite()
	}
	return nil
}

// failFrom makes all writes after the next n fail with err; n < 0: none.
func (d *testDisk) failFrom(n int, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fail, d.failAt = err, -1
	if n >= 0 {
		d.failAt = d.writes + n
	}
}

// cutPower writes into folder what the disk might hold had the power failed
// now: of the writes since each file's last sync a random part, in sectors of
// 512 bytes. Called from onWrite.
func (d *testDisk) cutPower(r *rand.Rand, folder string) error {
	for path, f := range d.files {
		content := slices.Clone(f.synced)
		for _, w := range f.pending {
			if r.IntN(2) == 0 {
				content = w.apply(content, r)
			}
		}
		if err := os.WriteFile(filepath.Join(folder, filepath.Base(path)), content, 0o600); err != nil {
			return err
		}
	}
	return nil
}

// apply carries the write out on content: with r only some of its sectors.
func (w diskWrite) apply(content []byte, r *rand.Rand) []byte {
	end := int(w.offset) + len(w.data)
	if w.data == nil && end < len(content) {
		return content[:end]
	}
	if end > len(content) {
		content = append(content, make([]byte, end-len(content))...)
	}
	const sector = 512
	for i := 0; i < len(w.data); i += sector {
		if r == nil || r.IntN(4) > 0 {
			copy(content[int(w.offset)+i:], w.data[i:min(i+sector, len(w.data))])
		}
	}
	return content
}

type testFile struct {
	vfs.File
	disk *testDisk
	path string
}

// SharedMemory hands the WAL index through; it does not live on the disk.
func (f *testFile) SharedMemory() vfs.SharedMemory {
	return f.File.(vfs.FileSharedMemory).SharedMemory()
}

func (f *testFile) WriteAt(p []byte, offset int64) (int, error) {
	if err := f.disk.note(f.path, diskWrite{offset, slices.Clone(p)}); err != nil {
		return 0, err
	}
	return f.File.WriteAt(p, offset)
}

func (f *testFile) Truncate(size int64) error {
	if err := f.disk.note(f.path, diskWrite{size, nil}); err != nil {
		return err
	}
	return f.File.Truncate(size)
}

func (f *testFile) Sync(flags vfs.SyncFlag) error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	s := f.disk.files[f.path]
	for _, w := range s.pending {
		s.synced = w.apply(s.synced, nil)
	}
	s.pending = nil
	return f.File.Sync(flags)
}

// openOn opens a casebook at path through a test disk.
func openOn(t *testing.T, disk, path string) *Book {
	t.Helper()
	if err := prepareFile(path); err != nil {
		t.Fatal(err)
	}
	b, err := openWith(path, disk)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// integrity runs SQLite's own check of the whole file.
func integrity(t *testing.T, b *Book) {
	t.Helper()
	var verdict string
	if err := b.db.QueryRow(`PRAGMA integrity_check`).Scan(&verdict); err != nil || verdict != "ok" {
		t.Errorf("integrity_check: %q, %v", verdict, err)
	}
	if rows, err := b.db.Query(`PRAGMA foreign_key_check`); err != nil || rows.Next() {
		t.Errorf("foreign_key_check found something (%v)", err)
	} else if err := rows.Close(); err != nil {
		t.Error(err)
	}
}

// saved is how much of a case has been reported as saved.
type saved struct{ cases, images, canals int }

// cut is what a power cut left, and between which two states it must be.
type cut struct {
	folder        string
	before, after saved
}

// A power cut at any write loses nothing that was reported as saved. A
// casebook is made and worked on through a disk that, at some of its writes,
// lays down a copy of what would be left.
func TestPowerCut(t *testing.T) {
	disk, name := newTestDisk(t)
	r := rand.New(rand.NewPCG(1, 2))
	var cuts []cut
	now := cut{after: saved{cases: 1}}
	disk.onWrite = func() {
		if r.IntN(12) > 0 && now.before.cases > 0 {
			return
		}
		now.folder = t.TempDir()
		if err := disk.cutPower(r, now.folder); err != nil {
			t.Error(err)
		}
		cuts = append(cuts, now)
	}
	book := openOn(t, name, filepath.Join(t.TempDir(), "book"))
	c, err := book.New("P-1", "46")
	if err != nil {
		t.Fatal(err)
	}
	for i := range 100 {
		now.before = now.after
		if i%20 == 0 {
			now.after.images++
			addImage(t, c, strings.Repeat(string(rune('a'+i/20)), 20_000))
		} else {
			now.after.canals++
			edit(t, c, "MB")
		}
	}
	disk.failFrom(-1, nil)
	t.Logf("%d power cuts in %d writes", len(cuts), disk.writes)
	if len(cuts) < 50 {
		t.Error("too few power cuts to tell anything")
	}
	for _, at := range cuts {
		checkCut(t, at)
	}
}

// checkCut opens what a power cut left.
func checkCut(t *testing.T, at cut) {
	t.Helper()
	b, err := Open(filepath.Join(at.folder, "book"))
	if err != nil {
		t.Errorf("saved were %+v: %v", at.before, err)
		return
	}
	defer b.Close()
	integrity(t, b)
	var left saved
	if c, err := b.Last(); err == nil {
		m := c.Marks()
		left = saved{cases: 1, images: len(m.Images)}
		if left.images > 0 {
			left.canals = len(m.Images[0].Canals)
		}
		for _, im := range m.Images {
			if _, err := c.Original(im.ID); err != nil {
				t.Error(err)
			}
		}
	} else if !errors.Is(err, ErrNone) {
		t.Error(err)
	}
	if left != at.before && left != at.after {
		t.Errorf("left are %+v; saved were %+v", left, at.before)
	}
}

// steps that write, for the tests of failing disks.
var writingSteps = []struct {
	name string
	do   func(*Book, *Case) error
}{
	{"edit", func(_ *Book, c *Case) error { return c.Edit("trace canal", addCanal("DL")) }},
	{"add image", func(_ *Book, c *Case) error {
		return second(c.AddImage("Doe^Jane.png", make([]byte, 100_000), "recall", ""))
	}},
	{"undo", func(_ *Book, c *Case) error { return second(c.Undo()) }},
	{"redo", func(_ *Book, c *Case) error { return second(c.Redo()) }},
	{"new", func(b *Book, _ *Case) error { return second(b.New("P-9", "11")) }},
	{"rename", func(_ *Book, c *Case) error { return c.Rename("P-9", "11", "") }},
	{"view", func(_ *Book, c *Case) error { return c.SetView("pre-operative", View{Zoom: 3}) }},
	{"place", func(_ *Book, c *Case) error { return c.SetPlace("pre-operative") }},
}

// picture is everything that can be seen of a case, for comparing.
type picture struct {
	code, place, undo, redo string
	canals                  string
	images                  int
	view                    View
	cases                   int
}

func look(t *testing.T, b *Book, c *Case) (p picture) {
	t.Helper()
	p.code, p.place, p.canals, p.images = c.Code()+c.Tooth(), c.Place(), canals(c), len(c.Marks().Images)
	p.undo, _ = c.CanUndo()
	p.redo, _ = c.CanRedo()
	p.view, _ = c.View("pre-operative")
	list, err := b.Cases()
	if err != nil {
		t.Fatal(err)
	}
	p.cases = len(list)
	return p
}

// withHistory returns a case with two canals, of which one is undone.
func withHistory(t *testing.T, b *Book) *Case {
	t.Helper()
	c := newCase(t, b)
	edit(t, c, "MB")
	edit(t, c, "ML")
	if _, err := c.Undo(); err != nil {
		t.Fatal(err)
	}
	return c
}

// A disk that fails at any write of a step: a clear error, memory and disk as
// before, and the same step works once the disk does.
func TestDiskFails(t *testing.T) {
	for _, fault := range []struct {
		name   string
		system error
		want   error
	}{
		{"full", sqlite3.FULL, ErrFull},
		{"write-protected", sqlite3.READONLY, ErrReadOnly},
		{"broken", sqlite3.IOERR_WRITE, sqlite3.IOERR},
	} {
		for _, step := range writingSteps {
			t.Run(fault.name+"/"+step.name, func(t *testing.T) {
				disk, name := newTestDisk(t)
				path := filepath.Join(t.TempDir(), "book")
				b := openOn(t, name, path)
				c := withHistory(t, b)
				before := look(t, b, c)
				failed := 0
				for n := 0; ; n++ {
					disk.failFrom(n, fault.system)
					err := step.do(b, c)
					disk.failFrom(-1, nil)
					if err == nil {
						break
					}
					failed++
					checkFailure(t, err, fault.want)
					if got := look(t, b, c); got != before {
						t.Fatalf("failing at write %d changed the state in memory:\n%+v\nbefore\n%+v", n, got, before)
					}
					checkOnDisk(t, path, c.ID(), before)
				}
				if failed == 0 {
					t.Error("the step wrote nothing")
				}
				integrity(t, b)
			})
		}
	}
}

func checkFailure(t *testing.T, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Fatalf("error %v, want %v", err, want)
	}
	for _, secret := range []string{"P-1", "P-9", "Doe", "DL"} {
		if strings.Contains(err.Error(), secret) {
			t.Errorf("error %q names %q", err, secret)
		}
	}
}

// checkOnDisk compares what another window would see.
func checkOnDisk(t *testing.T, path string, id int64, want picture) {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	c, err := b.Case(id)
	if err != nil {
		t.Fatal(err)
	}
	if got := look(t, b, c); got != want {
		t.Fatalf("on the disk:\n%+v\nwant\n%+v", got, want)
	}
}

// A casebook that may not grow any more, by SQLite's own limit.
func TestNoRoomForAnImage(t *testing.T) {
	b := open(t, filepath.Join(t.TempDir(), "book"))
	c := withHistory(t, b)
	before := look(t, b, c)
	b.db.SetMaxOpenConns(1) // the limit holds for one connection
	var pages int
	if err := b.db.QueryRow(`PRAGMA page_count`).Scan(&pages); err != nil {
		t.Fatal(err)
	}
	limit := func(n int) {
		t.Helper()
		if err := b.db.QueryRow(`PRAGMA max_page_count = ` + strconv.Itoa(n)).Scan(new(int)); err != nil {
			t.Fatal(err)
		}
	}
	limit(pages + 2)
	big := make([]byte, 1<<20)
	_, err := c.AddImage("Doe^Jane.png", big, "recall", "")
	checkFailure(t, err, ErrFull)
	if got := look(t, b, c); got != before {
		t.Errorf("state changed to %+v", got)
	}
	limit(1 << 30)
	if _, err := c.AddImage("x.png", big, "recall", ""); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

// A file or folder that can't be written.
func TestOpenReadOnly(t *testing.T) {
	for _, err := range []error{
		&fs.PathError{Op: "open", Path: "/home/Doe^Jane/book", Err: fs.ErrPermission},
		sqlite3.CANTOPEN, sqlite3.READONLY,
	} {
		if got := plain(err); got != ErrReadOnly {
			t.Errorf("%v is explained as %v", err, got)
		}
	}
	folder := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(folder, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Open(filepath.Join(folder, "Doe^Jane"))
	if err == nil || strings.Contains(err.Error(), "Doe") {
		t.Errorf("a casebook inside a file: %v", err)
	}
	path := filepath.Join(t.TempDir(), "book")
	newCase(t, open(t, path))
	if err := os.Chmod(path, 0o400); err != nil {
		t.Fatal(err)
	}
	if b, err := Open(path); err == nil { // the superuser may write everywhere
		if os.Geteuid() != 0 {
			t.Error("opened for writing without the right to")
		}
		b.Close()
	} else if !errors.Is(err, ErrReadOnly) {
		t.Errorf("error %v, want ErrReadOnly", err)
	}
}
