package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// packageTools are what making packages needs besides what building does: the
// cross compiler for Windows, the picture of the icon, and a display to check
// that what was packed starts.
var packageTools = []string{"gcc-mingw-w64-x86-64", "librsvg2-bin", "xz-utils", "xvfb", "xauth"}

// release is what the packages are made of.
type release struct {
	p       *printer
	version string
	when    time.Time // of the commit, for repeatable archives
	work    string    // scratch folder
	out     string    // where the packages go
}

// pack makes the packages into ./out and checks that each installs and starts.
func pack(p *printer) error {
	s := thisSystem()
	if s.goos != "linux" || runtime.GOARCH != "amd64" || !s.isDebian() {
		return errors.New("making packages: works on Debian and its relatives on amd64 only: run it there")
	}
	if err := s.install(p, buildPackages, windowPackages, packageTools); err != nil {
		return err
	}
	r, err := newRelease(p)
	if err != nil {
		return err
	}
	defer os.RemoveAll(r.work)
	made, err := r.make()
	if err != nil {
		return err
	}
	if err := r.check(made); err != nil {
		return err
	}
	for _, m := range made {
		fmt.Fprintln(p.out, m.file)
	}
	fmt.Fprintf(p.out, "all after %s\n", p.total())
	return nil
}

// newRelease names the version after the day and the hash of the commit.
func newRelease(p *printer) (*release, error) {
	said, err := exec.Command("git", "log", "-1", "--format=%ct %h").Output()
	var seconds int64
	var hash string
	if err == nil {
		_, err = fmt.Sscan(string(said), &seconds, &hash)
	}
	if err != nil {
		return nil, fmt.Errorf("naming the version: git tells no commit: make packages in a git checkout: %w", err)
	}
	when := time.Unix(seconds, 0).UTC()
	version := when.Format("2006.1.2") + "+" + hash
	if changed, err := exec.Command("git", "status", "--porcelain", "--untracked-files=no").Output(); err == nil && len(changed) > 0 {
		version += ".changed"
	}
	work, err := os.MkdirTemp("", "rootrule-package")
	if err != nil {
		return nil, err
	}
	out, err := filepath.Abs("out")
	return &release{p: p, version: version, when: when, work: work, out: out}, errors.Join(err, os.MkdirAll(out, 0o755))
}

// packed is one package that was made.
type packed struct {
	file  string
	check func(r *release, file string) (note string, err error)
}

// make builds the programs and packs them.
func (r *release) make() ([]packed, error) {
	steps := []struct {
		name string
		do   func() error
	}{
		{"licences of what is built in", r.licences},
		{"icons", r.icons},
		{"Linux program", r.buildLinux},
		{"Windows programs (the first time takes some minutes)", r.buildWindows},
	}
	for _, s := range steps {
		if err := r.p.step(s.name, func() (string, error) { return "", s.do() }); err != nil {
			return nil, err
		}
	}
	var made []packed
	for _, s := range []struct {
		name  string
		do    func() (string, error)
		check func(*release, string) (string, error)
	}{
		{"tar.xz", r.tarball, (*release).checkTarball},
		{".deb", r.deb, (*release).checkDeb},
		{".zip for Windows", r.zip, (*release).checkZip},
	} {
		err := r.p.step(s.name, func() (string, error) {
			file, err := s.do()
			made = append(made, packed{file, s.check})
			return size(file), err
		})
		if err != nil {
			return nil, err
		}
	}
	return made, nil
}

func size(file string) string {
	info, err := os.Stat(file)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("%.1f MB", float64(info.Size())/1e6)
}

// check tries each package.
func (r *release) check(made []packed) error {
	for _, m := range made {
		err := r.p.step("check "+filepath.Base(m.file), func() (string, error) { return m.check(r, m.file) })
		if err != nil {
			return err
		}
	}
	return nil
}

// buildFlags leave no path of this machine in the program, and tell it its
// version.
func (r *release) buildFlags(linker string) []string {
	return []string{"build", "-buildvcs=false", "-trimpath", "-ldflags", strings.TrimSpace("-s -w -X main.version=" + r.version + " " + linker)}
}

func (r *release) buildLinux() error {
	args := append(r.buildFlags(""), "-o", r.path("linux/rootrule"), "./cmd/rootrule")
	return command([]string{cgo}, "go", args...).Run()
}

// buildWindows builds the window, with its icon and version as resources, and
// the commands: a program with a window has no console to print to.
func (r *release) buildWindows() error {
	resources, err := r.resources()
	if err != nil {
		return err
	}
	windows := []string{"GOOS=windows", "GOARCH=amd64"}
	window := append(r.buildFlags("-H windowsgui -extldflags "+resources), "-o", r.path("windows/rootrule.exe"), "./cmd/rootrule")
	if err := command(append(windows, cgo, "CC=x86_64-w64-mingw32-gcc"), "go", window...).Run(); err != nil {
		return err
	}
	commands := append(r.buildFlags(""), "-tags", "ci", "-o", r.path("windows/rootrule-commands.exe"), "./cmd/rootrule")
	return command(append(windows, noCgo), "go", commands...).Run()
}

// path is a place in the scratch folder.
func (r *release) path(name string) string { return filepath.Join(r.work, filepath.FromSlash(name)) }

// write puts a file into the scratch folder.
func (r *release) write(name, text string, mode os.FileMode) error {
	if err := os.MkdirAll(filepath.Dir(r.path(name)), 0o755); err != nil {
		return err
	}
	return os.WriteFile(r.path(name), []byte(text), mode)
}

// copyTo copies a file into the scratch folder.
func (r *release) copyTo(name, from string, mode os.FileMode) error {
	data, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	return r.write(name, string(data), mode)
}
