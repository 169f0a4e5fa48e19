package main

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// desktopEntry follows the Desktop Entry Specification 1.5 of freedesktop.org.
const desktopEntry = `[Desktop Entry]
Type=Application
Version=1.5
Name=Rootrule
GenericName=Root canal measurement
Comment=Measure root canals and lesions on radiographs
Exec=%s %%F
Icon=%s
Terminal=false
Categories=Science;MedicalSoftware;
MimeType=image/png;image/jpeg;image/tiff;application/dicom;
`

// runtimePackages are Debian's packages that the program loads at run time;
// the toolkit opens most of them by name (github.com/go-gl/glfw/v3.4).
var runtimePackages = []string{"libc6", "libgl1", "libx11-6", "libxcursor1", "libxrandr2", "libxinerama1", "libxi6", "libxxf86vm1", "libxkbcommon0", "libwayland-client0"}

// usefulPackages are not needed everywhere.
var usefulPackages = []string{"libgl1-mesa-dri", "libwayland-cursor0", "libwayland-egl1", "libdecor-0-plugin-1-cairo"}

// layOut puts the program and what belongs to it into a folder tree.
func (r *release) layOut(root, program, docs string) error {
	return errors.Join(
		r.copyTo(root+"/"+program, r.path("linux/rootrule"), 0o755),
		r.copyTo(root+"/"+docs+"/README.md", "README.md", 0o644),
		r.copyTo(root+"/"+docs+"/window.png", "assets/window.png", 0o644),
		r.copyTo(root+"/"+docs+"/licences.txt", r.path("licences.txt"), 0o644),
	)
}

// tarball packs a folder that can be put anywhere.
func (r *release) tarball() (string, error) {
	name := "rootrule-" + r.version + "-linux-amd64"
	err := errors.Join(
		r.layOut(name, "rootrule", "doc"),
		r.copyTo(name+"/rootrule.svg", "assets/rootrule.svg", 0o644),
		r.write(name+"/rootrule.desktop", fmt.Sprintf(desktopEntry, "rootrule", "rootrule"), 0o644),
	)
	if err != nil {
		return "", err
	}
	file := filepath.Join(r.out, name+".tar.xz")
	return file, command([]string{"XZ_OPT=-9e"}, "tar", "-cJf", file, "-C", r.work, "--sort=name", "--owner=0", "--group=0", "--numeric-owner",
		fmt.Sprintf("--mtime=@%d", r.when.Unix()), name).Run()
}

// deb packs for Debian (Debian Policy Manual, chapter 5; file layout by FHS
// 3.0).
func (r *release) deb() (string, error) {
	err := errors.Join(
		r.layOut("deb", "usr/bin/rootrule", "usr/share/doc/rootrule"),
		r.copyTo("deb/usr/share/icons/hicolor/scalable/apps/rootrule.svg", "assets/rootrule.svg", 0o644),
		r.copyTo("deb/usr/share/icons/hicolor/128x128/apps/rootrule.png", r.path("icon-128.png"), 0o644),
		r.write("deb/usr/share/applications/rootrule.desktop", fmt.Sprintf(desktopEntry, "rootrule", "rootrule"), 0o644),
		r.copyTo("deb/usr/share/doc/rootrule/copyright", r.path("licences.txt"), 0o644),
		os.Remove(r.path("deb/usr/share/doc/rootrule/licences.txt")),
		r.write("deb/DEBIAN/control", r.control(), 0o644),
	)
	if err != nil {
		return "", err
	}
	file := filepath.Join(r.out, "rootrule_"+r.version+"_amd64.deb")
	return file, command([]string{fmt.Sprintf("SOURCE_DATE_EPOCH=%d", r.when.Unix())}, "dpkg-deb", "--root-owner-group", "-Zxz", "--build", r.path("deb"), file).Run()
}

func (r *release) control() string {
	info, err := os.Stat(r.path("linux/rootrule"))
	kilobytes := int64(1)
	if err == nil {
		kilobytes = info.Size()>>10 + 1
	}
	return fmt.Sprintf(`Package: rootrule
Version: %s
Architecture: amd64
Maintainer: Rootrule developers <rootrule@localhost>
Section: science
Priority: optional
Installed-Size: %d
Depends: %s
Recommends: %s
Description: measures root canals and lesions on radiographs
 For clinicians who do root canal treatment: lengths, curvatures, obstructions,
 fillings and lesions from radiographs and cone-beam slices, each number with
 its uncertainty. Not a certified medical device.
`, r.version, kilobytes, strings.Join(runtimePackages, ", "), strings.Join(usefulPackages, ", "))
}

// zip packs for Windows.
func (r *release) zip() (string, error) {
	name := "rootrule-" + r.version + "-windows-amd64"
	err := errors.Join(
		r.copyTo(name+"/rootrule.exe", r.path("windows/rootrule.exe"), 0o755),
		r.copyTo(name+"/rootrule-commands.exe", r.path("windows/rootrule-commands.exe"), 0o755),
		r.copyTo(name+"/README.md", "README.md", 0o644),
		r.copyTo(name+"/assets/window.png", "assets/window.png", 0o644),
		r.copyTo(name+"/licences.txt", r.path("licences.txt"), 0o644),
	)
	if err != nil {
		return "", err
	}
	file := filepath.Join(r.out, name+".zip")
	f, err := os.Create(file)
	if err != nil {
		return "", err
	}
	w := zip.NewWriter(f)
	err = fs.WalkDir(os.DirFS(r.work), name, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		return r.addTo(w, path)
	})
	return file, errors.Join(err, w.Close(), f.Close())
}

// addTo adds a file of the scratch folder to an archive.
func (r *release) addTo(w *zip.Writer, path string) error {
	in, err := os.Open(r.path(path))
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := w.CreateHeader(&zip.FileHeader{Name: path, Method: zip.Deflate, Modified: r.when})
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return err
}
