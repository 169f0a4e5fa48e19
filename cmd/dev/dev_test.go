package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

func TestOSFamily(t *testing.T) {
	// Shortened from the files of the distributions named.
	for _, test := range []struct {
		name, text string
		family     []string
		debian     bool
	}{
		{"Debian 12", "PRETTY_NAME=\"Debian GNU/Linux 12 (bookworm)\"\nID=debian\nVERSION_ID=\"12\"\n", []string{"debian"}, true},
		{"Ubuntu", "ID=ubuntu\nID_LIKE=debian\n", []string{"ubuntu", "debian"}, true},
		{"Mint", "ID=linuxmint\nID_LIKE=\"ubuntu debian\"\n", []string{"linuxmint", "ubuntu", "debian"}, true},
		{"Fedora", "NAME=\"Fedora Linux\"\nID=fedora\n", []string{"fedora"}, false},
		{"Rocky", "ID=\"rocky\"\nID_LIKE=\"rhel centos fedora\"\n", []string{"rocky", "rhel", "centos", "fedora"}, false},
		{"single quotes", "ID='arch'\n", []string{"arch"}, false},
		{"comment and spaces", "# ID=debian\n  ID=void  \n\n", []string{"void"}, false},
		{"other keys", "BUILD_ID=debian\nVARIANT_ID=debian\n", nil, false},
		{"empty", "", nil, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := system{goos: "linux", family: osFamily(test.text)}
			if !slices.Equal(s.family, test.family) || s.isDebian() != test.debian {
				t.Errorf("%q, Debian %v; want %q, %v", s.family, s.isDebian(), test.family, test.debian)
			}
		})
	}
}

func TestAdvice(t *testing.T) {
	for _, test := range []struct {
		s    system
		want string
	}{
		{system{"darwin", nil}, "xcode-select"},
		{system{"windows", nil}, "MSYS2"},
		{system{"linux", []string{"rocky", "rhel", "fedora"}}, "dnf install"},
		{system{"linux", []string{"manjaro", "arch"}}, "pacman -S"},
		{system{"linux", []string{"opensuse-leap", "suse"}}, "zypper install"},
		{system{"linux", []string{"void"}}, "libxinerama-dev"},
		{system{"freebsd", nil}, "pkg-config"},
	} {
		if got := test.s.advice(); !strings.Contains(got, test.want) {
			t.Errorf("%v: %q doesn't say %q", test.s, got, test.want)
		}
	}
}

func TestHasDisplay(t *testing.T) {
	for _, test := range []struct {
		name, goos string
		env        map[string]string
		want       bool
	}{
		{"X11", "linux", map[string]string{"DISPLAY": ":0"}, true},
		{"Wayland", "linux", map[string]string{"WAYLAND_DISPLAY": "wayland-0"}, true},
		{"neither", "linux", map[string]string{"TERM": "xterm"}, false},
		{"empty", "linux", map[string]string{"DISPLAY": "", "WAYLAND_DISPLAY": ""}, false},
		{"macOS", "darwin", nil, true},
		{"Windows", "windows", nil, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			getenv := func(name string) string { return test.env[name] }
			if got := (system{goos: test.goos}).hasDisplay(getenv); got != test.want {
				t.Errorf("%v, want %v", got, test.want)
			}
		})
	}
}

func TestMissingPackages(t *testing.T) {
	wanted := []string{"gcc", "xvfb", "xdotool"}
	for _, test := range []struct {
		name, dpkg string
		missing    []string
	}{
		{"all there", "gcc installed\nxdotool installed\nxvfb installed\n", nil},
		{"unknown ones aren't listed", "gcc installed\n", []string{"xvfb", "xdotool"}},
		{"removed but configured", "gcc installed\nxvfb config-files\nxdotool installed\n", []string{"xvfb"}},
		{"known but not installed", "gcc not-installed\nxvfb installed\nxdotool half-installed\n", []string{"gcc", "xdotool"}},
		{"two architectures", "gcc installed\ngcc not-installed\nxvfb installed\nxdotool installed\n", nil},
		{"nothing", "", wanted},
		{"no newline at the end", "gcc installed\nxvfb installed\nxdotool installed", nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := without(wanted, parseInstalled(test.dpkg)); !slices.Equal(got, test.missing) {
				t.Errorf("missing %q, want %q", got, test.missing)
			}
		})
	}
}

// No package is named twice, and none is a name that Debian doesn't allow
// (Debian policy 5.6.1).
func TestPackageLists(t *testing.T) {
	all := slices.Concat(buildPackages, windowPackages, drivePackages)
	slices.Sort(all)
	if n := len(slices.Compact(slices.Clone(all))); n != len(all) {
		t.Errorf("%d packages, %d of them different", len(all), n)
	}
	for _, name := range all {
		if strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789+-.") != "" || len(name) < 2 {
			t.Errorf("%q is not a package name", name)
		}
	}
}

func TestDuration(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0:                                      "0.0 s",
		1234 * time.Millisecond:                "1.2 s",
		59 * time.Second:                       "59.0 s",
		time.Minute:                            "1 min 00 s",
		125*time.Second + 600*time.Millisecond: "2 min 06 s",
		71 * time.Minute:                       "71 min 00 s",
	} {
		if got := duration(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
}

func TestStep(t *testing.T) {
	broken := errors.New("broken")
	for _, test := range []struct {
		name, note string
		err        error
		want       string
	}{
		{"plain", "", nil, "== plain\n   2.0 s\n"},
		{"noted", "all 3 are there", nil, "== noted\n   all 3 are there, 2.0 s\n"},
		{"failing", "", broken, "== failing\n== failing: failed after 2.0 s\n"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var out strings.Builder
			p := newPrinter(&out)
			clock := p.start
			p.now = func() time.Time { clock = clock.Add(2 * time.Second); return clock }
			err := p.step(test.name, func() (string, error) { return test.note, test.err })
			if !errors.Is(err, test.err) || out.String() != test.want {
				t.Errorf("%q, %v; want %q, %v", out.String(), err, test.want, test.err)
			}
		})
	}
}

func TestFollow(t *testing.T) {
	for _, test := range []struct {
		name   string
		events []string
		count  tally
		want   string
	}{
		{"passing",
			[]string{
				`{"Action":"start","Package":"a"}`,
				`{"Action":"run","Package":"a","Test":"T"}`,
				`{"Action":"output","Package":"a","Test":"T","Output":"=== RUN   T\n"}`,
				`{"Action":"pass","Package":"a","Test":"T"}`,
				`{"Action":"output","Package":"a","Output":"PASS\n"}`,
				`{"Action":"output","Package":"a","Output":"ok  \ta\t0.1s\n"}`,
				`{"Action":"pass","Package":"a"}`,
			},
			tally{passed: 1}, "ok  \ta\t0.1s\n"},
		{"failing among passing",
			[]string{
				`{"Action":"output","Package":"a","Test":"Good","Output":"noise\n"}`,
				`{"Action":"output","Package":"a","Test":"Bad","Output":"    a_test.go:1: wrong\n"}`,
				`{"Action":"pass","Package":"a","Test":"Good"}`,
				`{"Action":"output","Package":"a","Test":"Bad","Output":"--- FAIL: Bad\n"}`,
				`{"Action":"fail","Package":"a","Test":"Bad"}`,
				`{"Action":"skip","Package":"a","Test":"Other"}`,
				`{"Action":"output","Package":"a","Output":"FAIL\ta\t0.1s\n"}`,
				`{"Action":"fail","Package":"a"}`,
			},
			tally{1, 1, 1}, "    a_test.go:1: wrong\n--- FAIL: Bad\nFAIL\ta\t0.1s\n"},
		{"crash: the test never ends, the package does",
			[]string{
				`{"Action":"output","Package":"a","Test":"Bad","Output":"panic: x\n"}`,
				`{"Action":"output","Package":"b","Test":"Good","Output":"noise\n"}`,
				`{"Action":"fail","Package":"a"}`,
				`{"Action":"pass","Package":"b"}`,
			},
			tally{}, "panic: x\n"},
		{"does not compile",
			[]string{
				`{"ImportPath":"a","Action":"build-output","Output":"a.go:1: undefined: x\n"}`,
				`{"ImportPath":"a","Action":"build-fail"}`,
				`{"Action":"output","Package":"a","Output":"FAIL\ta [build failed]\n"}`,
				`{"Action":"fail","Package":"a","FailedBuild":"a"}`,
			},
			tally{}, "a.go:1: undefined: x\nFAIL\ta [build failed]\n"},
		{"not an event", []string{"go: cannot find main module"}, tally{}, "go: cannot find main module\n"},
		{"nothing", nil, tally{}, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			var out strings.Builder
			text := strings.Join(test.events, "\n")
			if text != "" {
				text += "\n"
			}
			count, err := follow(strings.NewReader(text), &out)
			if err != nil || count != test.count || out.String() != test.want {
				t.Errorf("%v, %q, %v; want %v, %q", count, out.String(), err, test.count, test.want)
			}
		})
	}
}

// The test binary becomes a program that prints helperText and exits with
// helperCode if these variables are set.
const (
	helperText = "DEV_TEST_HELPER_TEXT"
	helperCode = "DEV_TEST_HELPER_CODE"
)

func TestMain(m *testing.M) {
	if code, err := strconv.Atoi(os.Getenv(helperCode)); err == nil {
		io.WriteString(os.Stdout, os.Getenv(helperText))
		os.Exit(code)
	}
	os.Exit(m.Run())
}

// A suite has passed if the program exits with 0 and a test ran.
func TestSuite(t *testing.T) {
	const passed = `{"Action":"pass","Package":"a","Test":"T"}` + "\n"
	const skipped = `{"Action":"skip","Package":"a","Test":"T"}` + "\n"
	for _, test := range []struct {
		name, text, code string
		noSkips          bool
		count            int
		ok               bool
	}{
		{"passing", passed + passed, "0", false, 2, true},
		{"failing program, whatever it printed", passed, "3", false, 1, false},
		{"no test", "", "0", false, 0, false},
		{"all skipped", skipped, "0", false, 0, false},
		{"one skipped", passed + skipped, "0", false, 1, true},
		{"one skipped where none may", passed + skipped, "0", true, 1, false},
		{"none skipped where none may", passed, "0", true, 1, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			var count tally
			s := suite{
				environment: []string{helperText + "=" + test.text, helperCode + "=" + test.code},
				args:        []string{os.Args[0]},
				noSkips:     test.noSkips,
			}
			err := s.run(newPrinter(io.Discard), &count)
			if (err == nil) != test.ok || count.passed != test.count {
				t.Errorf("%v, %v; want %d passed, ok %v", count, err, test.count, test.ok)
			}
		})
	}
	s := suite{args: []string{filepath.Join(t.TempDir(), "missing")}}
	if err := s.run(newPrinter(io.Discard), new(tally)); err == nil {
		t.Error("a missing program passes")
	}
}

func TestEnterRoot(t *testing.T) {
	t.Chdir(".") // puts the folder back at the end
	if err := enterRoot(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat("go.mod"); err != nil {
		t.Error(err)
	}
	if err := os.Chdir(t.TempDir()); err != nil {
		t.Fatal(err)
	}
	if err := enterRoot(); err == nil {
		t.Error("found the source in an empty folder")
	}
	if _, err := os.Stat(filepath.Join("cmd", "dev")); err == nil {
		t.Error("the working directory moved")
	}
}
