//go:build !ci

package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"rootrule/app/casebook"
	"rootrule/app/democase"
	"rootrule/app/desk"
	"rootrule/assets"
	"rootrule/imaging"
)

// openWindow opens the window and returns when it is closed.
func openWindow(o windowOptions) error {
	path, err := casebookPath(o.casebook)
	if err != nil {
		return err
	}
	book, err := casebook.Open(path)
	if err != nil {
		return err
	}
	d, run := build(o, book)
	begin(d, o)
	run()
	return book.Close()
}

// build makes the window.
func build(o windowOptions, book *casebook.Book) (*desk.Desk, func()) {
	app.SetMetadata(fyne.AppMetadata{Name: "Rootrule", Version: version, Migrations: map[string]bool{"fyneDo": true}})
	if dir, err := os.UserCacheDir(); err == nil {
		_ = os.MkdirAll(dir, 0o700) // the toolkit makes its own folder in it, but not the way there
	}
	a := discreet{app.NewWithID("rootrule"), map[string]string{}}
	fyne.SetCurrentApp(a)
	a.Settings().SetTheme(desk.Theme{})
	icon := fyne.NewStaticResource("rootrule.svg", assets.Icon)
	a.SetIcon(icon)
	w := a.NewWindow("Rootrule")
	w.SetIcon(icon)
	w.SetMaster()
	w.SetPadded(false)
	w.Resize(fyne.NewSize(1280, 800))
	home, others := places()
	options := desk.Options{Window: w, Book: book, ReadFile: imaging.ReadFile, ReadFolder: readFolder, Folder: home, Places: others,
		Demo: func() (*casebook.Case, error) { return democase.Open(book) }}
	if o.probe != "" {
		options.Probe = func(s desk.State) { writeProbe(o.probe, s) }
	}
	d := desk.New(options)
	a.Lifecycle().SetOnEnteredForeground(d.CameBack)
	return d, w.ShowAndRun
}

// discreet is the app with preferences that never reach the disk where they
// are about files: the toolkit's dialog keeps the folder that a file was last
// chosen from, and a folder may bear a patient's name.
type discreet struct {
	fyne.App
	kept map[string]string
}

// Preferences returns the preferences that the toolkit's widgets write to.
func (d discreet) Preferences() fyne.Preferences { return forgetful{d.App.Preferences(), d.kept} }

// forgetful keeps texts in memory, for this run of the program alone.
type forgetful struct {
	fyne.Preferences
	kept map[string]string
}

func (f forgetful) SetString(key, value string) { f.kept[key] = value }
func (f forgetful) String(key string) string    { return f.kept[key] }

func (f forgetful) StringWithFallback(key, fallback string) string {
	if v, ok := f.kept[key]; ok {
		return v
	}
	return fallback
}

// begin puts on the desk what was asked for: files, the demo case, or the
// case that was open last.
func begin(d *desk.Desk, o windowOptions) {
	switch {
	case len(o.images) > 0:
		d.OpenFiles(absolute(o.images))
	case o.demo:
		d.OpenDemo()
	default:
		d.OpenLast()
	}
}

func absolute(paths []string) []string {
	out := make([]string, len(paths))
	for i, p := range paths {
		out[i] = p
		if abs, err := filepath.Abs(p); err == nil {
			out[i] = abs
		}
	}
	return out
}

// casebookPath returns where the casebook is: where the user said, or in the
// user's own folder for such things.
func casebookPath(chosen string) (string, error) {
	if chosen != "" {
		return chosen, nil
	}
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("find a place for the casebook: %w: name one with --casebook", err)
	}
	return filepath.Join(dir, "rootrule", "casebook.db"), nil
}

// writeProbe replaces the file in one go, so that a reader never sees half a
// state.
func writeProbe(path string, s desk.State) {
	data, err := json.Marshal(s)
	if err == nil {
		err = errors.Join(os.WriteFile(path+".new", data, 0o600), os.Rename(path+".new", path))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "rootrule: write the probe:", err)
	}
}
