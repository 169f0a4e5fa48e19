package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
)

// Debian's packages, by what needs them.
var (
	// buildPackages: the window toolkit's C parts, for X11 and Wayland. Each
	// library is one that github.com/go-gl/glfw/v3.4 or go-gl/gl links.
	buildPackages = []string{
		"gcc", "libc6-dev", "pkg-config", "libgl1-mesa-dev",
		"libx11-dev", "libxcursor-dev", "libxrandr-dev", "libxinerama-dev", "libxi-dev", "libxxf86vm-dev",
		"libwayland-dev", "libxkbcommon-dev",
	}
	// windowPackages: OpenGL without a driver of the graphics card, and window
	// frames under Wayland desktops that leave them to the program.
	windowPackages = []string{"libgl1-mesa-dri", "libdecor-0-plugin-1-cairo"}

	// drivePackages: a display in memory, a mouse and keyboard for it, and
	// screenshots.
	drivePackages = []string{"xvfb", "xauth", "xdotool", "imagemagick"}
)

// system is what dev has to know of the operating system.
type system struct {
	goos   string   // as in runtime.GOOS
	family []string // Linux: the distribution and those it derives from
}

// thisSystem looks at the machine that dev runs on.
func thisSystem() system {
	s := system{goos: runtime.GOOS}
	if s.goos == "linux" {
		// The two places that os-release(5) names.
		text, err := os.ReadFile("/etc/os-release")
		if err != nil {
			text, _ = os.ReadFile("/usr/lib/os-release")
		}
		s.family = osFamily(string(text))
	}
	return s
}

// osFamily reads ID and ID_LIKE from the text of an os-release file.
func osFamily(text string) []string {
	values := map[string]string{}
	lines := bufio.NewScanner(strings.NewReader(text))
	for lines.Scan() {
		name, value, ok := strings.Cut(strings.TrimSpace(lines.Text()), "=")
		if ok && !strings.HasPrefix(name, "#") {
			values[name] = strings.Trim(value, `"'`)
		}
	}
	return strings.Fields(values["ID"] + " " + values["ID_LIKE"])
}

// isDebian reports whether apt-get and dpkg are the system's own tools.
func (s system) isDebian() bool { return slices.Contains(s.family, "debian") }

// advice says what to install on systems where dev doesn't install anything.
// Package names from memory, except Debian's.
func (s system) advice() string {
	switch {
	case s.goos == "darwin":
		return "needs Apple's command line tools: xcode-select --install"
	case s.goos == "windows":
		return "needs a C compiler on the PATH: gcc of MSYS2 (package mingw-w64-ucrt-x86_64-gcc)"
	case slices.Contains(s.family, "fedora"):
		return "needs: sudo dnf install gcc pkgconf-pkg-config mesa-libGL-devel libX11-devel libXcursor-devel " +
			"libXrandr-devel libXinerama-devel libXi-devel libXxf86vm-devel wayland-devel libxkbcommon-devel"
	case slices.Contains(s.family, "arch"):
		return "needs: sudo pacman -S --needed gcc pkgconf mesa libx11 libxcursor " +
			"libxrandr libxinerama libxi libxxf86vm wayland libxkbcommon"
	case slices.Contains(s.family, "suse"):
		return "needs: sudo zypper install gcc pkgconf-pkg-config Mesa-libGL-devel libX11-devel libXcursor-devel " +
			"libXrandr-devel libXinerama-devel libXi-devel libXxf86vm-devel wayland-devel libxkbcommon-devel"
	}
	return "needs a C compiler, pkg-config and the development files of OpenGL, X11 (Xcursor, Xrandr, Xinerama, Xi, Xxf86vm), " +
		"Wayland and xkbcommon. Debian calls them: " + strings.Join(buildPackages, " ")
}

// hasDisplay reports whether a window can be opened.
func (s system) hasDisplay(getenv func(string) string) bool {
	return s.goos != "linux" || getenv("DISPLAY") != "" || getenv("WAYLAND_DISPLAY") != ""
}

// install installs what is missing of the wanted packages, or says how.
func (s system) install(p *printer, wanted ...[]string) error {
	return p.step("system packages", func() (string, error) {
		if !s.isDebian() {
			return s.advice(), nil
		}
		list := slices.Concat(wanted...)
		missing := without(list, installed(list))
		if len(missing) == 0 {
			return fmt.Sprintf("all %d are there", len(list)), nil
		}
		fmt.Fprintf(p.out, "   installing %s\n", strings.Join(missing, " "))
		return fmt.Sprintf("%d installed", len(missing)), aptInstall(missing)
	})
}

// installed asks dpkg which of the packages are installed.
func installed(packages []string) []string {
	args := append([]string{"-W", "-f", "${Package} ${db:Status-Status}\n"}, packages...)
	out, _ := exec.Command("dpkg-query", args...).Output() // it fails when it doesn't know a package
	return parseInstalled(string(out))
}

// parseInstalled reads lines of a package and its status.
func parseInstalled(out string) (packages []string) {
	for line := range strings.Lines(out) {
		if f := strings.Fields(line); len(f) == 2 && f[1] == "installed" {
			packages = append(packages, f[0])
		}
	}
	return packages
}

// without returns the elements of list that are not in other.
func without(list, other []string) (rest []string) {
	for _, s := range list {
		if !slices.Contains(other, s) {
			rest = append(rest, s)
		}
	}
	return rest
}

// aptInstall installs packages as root, by sudo, or not at all.
func aptInstall(packages []string) error {
	update := []string{"apt-get", "update", "-qq"}
	install := append([]string{"apt-get", "install", "-qq", "-y", "--no-install-recommends",
		"-o", "DPkg::Lock::Timeout=300", "-o", "Dpkg::Use-Pty=0"}, packages...)
	if os.Geteuid() != 0 {
		if _, err := exec.LookPath("sudo"); err != nil {
			return fmt.Errorf("only root can install them, and there is no sudo: as root, run: apt-get update && "+
				"apt-get install --no-install-recommends %s", strings.Join(packages, " "))
		}
		prefix := []string{"sudo", "DEBIAN_FRONTEND=noninteractive"}
		update, install = append(prefix[:1:1], update...), append(prefix, install...)
	}
	// A list that can't be renewed (a repository that is away) may still do.
	updated := quietly(update)
	if err := quietly(install); err != nil {
		return errors.Join(updated, err)
	}
	return nil
}

// quietly runs apt-get and shows what it said, hundreds of lines, only if it
// failed.
func quietly(line []string) error {
	c := command([]string{"DEBIAN_FRONTEND=noninteractive"}, line[0], line[1:]...)
	var said bytes.Buffer
	c.Stdout, c.Stderr = &said, &said
	if err := c.Run(); err != nil {
		return fmt.Errorf("%s: %w:\n%s", strings.Join(line, " "), err, said.Bytes())
	}
	return nil
}
