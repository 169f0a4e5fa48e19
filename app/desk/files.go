package desk

import (
	"errors"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"

	"rootrule/app/casebook"
	"rootrule/app/wording"
	"rootrule/imaging"
	"rootrule/imaging/tone"
)

// OpenFiles opens image files that were named when the program was started:
// the case that has the first of them already, else a new case. They are never
// added to the case that happened to be open last.
func (d *Desk) OpenFiles(paths []string) {
	if len(paths) == 0 {
		return
	}
	if data, err := d.o.ReadFile(paths[0]); err == nil {
		if c, id, err := d.o.Book.Holding(casebook.Digest(data)); err == nil {
			d.OpenCase(c)
			d.choose(id)
			d.bring(paths[1:])
			return
		}
	}
	if c := d.newCase("", ""); c != nil {
		d.OpenCase(c)
		d.bring(paths)
	}
}

// Dropped takes in files dropped on the window, several at once.
func (d *Desk) Dropped(dropped []fyne.URI) {
	var paths []string
	for _, u := range dropped {
		if u.Scheme() == "file" {
			paths = append(paths, u.Path())
		}
	}
	d.takeIn(paths)
}

// takeIn adds image files to the case on the desk, or to a new one where there
// is none or the cases are shown: never to a case that is out of sight.
func (d *Desk) takeIn(paths []string) {
	if d.session == nil || d.atHome() {
		c := d.newCase(d.home.begin.typed())
		if c == nil {
			return
		}
		d.OpenCase(c)
	}
	d.bring(paths)
}

// bring reads and adds files one after another beside the main goroutine. The
// first that works comes onto the bench; the errors of the others are shown
// together.
func (d *Desk) bring(paths []string) {
	if len(paths) == 0 {
		return
	}
	d.endTask()
	d.say(beingRead(len(paths)))
	d.refresh()
	s := d.session
	d.beside(func() {
		var first string
		var failed []error
		for _, path := range paths {
			id, err := d.add(s, path)
			if id != "" && first == "" {
				first = id
			}
			if err != nil && !errors.Is(err, casebook.ErrAlreadyThere) {
				failed = append(failed, err)
			}
		}
		fyne.Do(func() { d.brought(s, first, failed) })
	})
}

// add reads one file, makes sure that it is a picture, and adds it to a case.
// It may run beside the main goroutine.
func (d *Desk) add(s *session, path string) (id string, err error) {
	data, err := d.o.ReadFile(path)
	if err != nil {
		return "", err
	}
	name := filepath.Base(path)
	m, err := imaging.Decode(name, data)
	if err != nil {
		return "", err
	}
	if id, err = s.kase.AddImage(name, data, guessStage(s.kase.Marks().Images, m.Source.Date), m.Source.Date); err == nil {
		keep(d.o.Book, casebook.Digest(data), thumbnail(tone.NewPicture(m), tone.Start(m).Table()))
	}
	return id, err
}

// brought shows what bring has done.
func (d *Desk) brought(s *session, first string, failed []error) {
	if d.session != s {
		return
	}
	d.say("")
	s.reload()
	if first != "" {
		d.keepView()
		d.openImage(first)
	}
	if len(failed) > 0 {
		d.fail(failed[0])
	}
	if len(failed) > 1 {
		d.guide.more(alsoFailed(len(failed) - 1))
	}
	d.refresh()
}

// beingRead says how many files are being read.
func beingRead(files int) string {
	if files == 1 {
		return wording.Say("1 file is being read.")
	}
	return wording.Say("%d files are being read.", files)
}

// alsoFailed says how many files could not be opened beside the one told of.
func alsoFailed(files int) string {
	if files == 1 {
		return wording.Say("1 more file could not be opened.")
	}
	return wording.Say("%d more files could not be opened.", files)
}

// pictureFile reports whether a file may be a radiograph by its name: the usual
// endings, and names without one, which DICOM files often have.
func pictureFile(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".dcm", ".dicom", ".ima":
		return true
	}
	dot := strings.LastIndexByte(name, '.')
	return dot < 0 || strings.Trim(name[dot+1:], "0123456789") == ""
}
