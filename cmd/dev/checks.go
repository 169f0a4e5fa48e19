package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// startTime is how long a packed program may take to show the demo case: long,
// because the machine may be busy and it draws the case first.
const startTime = 3 * time.Minute

func (r *release) checkTarball(file string) (string, error) {
	to := r.path("check-tar")
	if err := errors.Join(os.MkdirAll(to, 0o755), command(nil, "tar", "-xJf", file, "-C", to).Run()); err != nil {
		return "", err
	}
	program, err := filepath.Glob(filepath.Join(to, "*", "rootrule"))
	if err != nil || len(program) != 1 {
		return "", fmt.Errorf("the program isn't where it should be: %v, %w", program, err)
	}
	return r.starts(nil, nil, program[0])
}

// checkDeb installs the package into a root folder of its own, so that this
// machine stays as it is, starts what was installed, and asks apt-get whether
// all that it depends on can be had.
func (r *release) checkDeb(file string) (string, error) {
	root := r.path("check-deb")
	var made error
	for _, dir := range []string{"info", "updates", "triggers"} {
		made = errors.Join(made, os.MkdirAll(filepath.Join(root, "var/lib/dpkg", dir), 0o755))
	}
	if err := errors.Join(made, os.WriteFile(filepath.Join(root, "var/lib/dpkg/status"), nil, 0o644)); err != nil {
		return "", err
	}
	install := []string{"--root=" + root, "--force-depends", "--force-not-root", "--force-script-chrootless", "--log=" + r.path("dpkg.log"), "-i", file}
	if out, err := exec.Command("dpkg", install...).CombinedOutput(); err != nil {
		return "", fmt.Errorf("dpkg -i: %w\n%s", err, out)
	}
	if out, err := exec.Command("apt-get", "install", "--simulate", "-qq", file).CombinedOutput(); err != nil {
		return "", fmt.Errorf("apt-get can't resolve what it depends on: %w\n%s", err, out)
	}
	return r.starts(nil, nil, filepath.Join(root, "usr/bin/rootrule"))
}

// checkZip starts the Windows programs where Windows' interface is there.
func (r *release) checkZip(file string) (string, error) {
	to := r.path("check-zip")
	if err := unzip(file, to); err != nil {
		return "", err
	}
	wine, err := exec.LookPath("wine")
	if err != nil {
		return "unpacked; not started: wine is not installed", nil
	}
	folder, err := filepath.Glob(filepath.Join(to, "*"))
	if err != nil || len(folder) != 1 {
		return "", fmt.Errorf("the archive has %d folders at its top: %w", len(folder), err)
	}
	if err := r.prepareWine(wine); err != nil {
		return "", err
	}
	if err := r.commandsWork(wine, folder[0]); err != nil {
		return "", err
	}
	note, err := r.starts([]string{wine}, r.wineSettings(), filepath.Join(folder[0], "rootrule.exe"))
	if err != nil && strings.Contains(err.Error(), "sqlite3_wrap.(*Memory).allocate") {
		// VirtualAlloc2 with MEM_RESERVE_PLACEHOLDER: Windows 10 1803, not wine 8.
		return "the commands work; the window can't be tried: this wine has no placeholder memory for the casebook", nil
	}
	return "the commands work; the window " + note, err
}

// commandsWork runs the demo case through the Windows commands.
func (r *release) commandsWork(wine, folder string) error {
	for args, want := range map[string]string{"--version": r.version, "demo --out Z:" + r.path("demo"): "± "} {
		c := exec.Command(wine, append([]string{filepath.Join(folder, "rootrule-commands.exe")}, strings.Fields(args)...)...)
		c.Env = append(os.Environ(), r.wineSettings()...)
		if out, err := c.Output(); err != nil || !strings.Contains(string(out), want) {
			return fmt.Errorf("the Windows command %q says %q, without %q: %v", args, out, want, err)
		}
	}
	return nil
}

func (r *release) wineSettings() []string {
	return []string{"WINEPREFIX=" + r.path("wine"), "WINEDEBUG=-all", "WINEDLLOVERRIDES=mscoree,mshtml="}
}

// prepareWine makes a drive C: with the library that Go programs take their
// random numbers from, from Windows' own folder; Windows has it, wine before 9
// lacks it.
func (r *release) prepareWine(wine string) error {
	const source = `#include <windows.h>
BOOLEAN NTAPI SystemFunction036(PVOID, ULONG);
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE data, SIZE_T size) { return SystemFunction036(data, (ULONG)size); }
`
	if err := r.write("prng.c", source, 0o644); err != nil {
		return err
	}
	boot := exec.Command(wine, "cmd", "/c", "exit")
	boot.Env = append(os.Environ(), r.wineSettings()...)
	if out, err := boot.CombinedOutput(); err != nil {
		return fmt.Errorf("setting wine up: %w\n%s", err, out)
	}
	library := r.path("wine/drive_c/windows/system32/bcryptprimitives.dll")
	if _, err := os.Stat(library); err == nil {
		return nil
	}
	return command(nil, "x86_64-w64-mingw32-gcc", "-shared", "-o", library, r.path("prng.c"), "-ladvapi32").Run()
}

// starts starts the program on a display in memory, with a home of its own,
// and waits until its window shows the demo case. runner is what runs it, nil
// for nothing.
func (r *release) starts(runner, environment []string, program string) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), startTime)
	defer cancel()
	home, err := os.MkdirTemp(r.work, "home")
	if err != nil {
		return "", err
	}
	probe := filepath.Join(home, "probe.json")
	line := append(append(append([]string{}, inMemoryDisplay...), runner...), program, "--demo", "--probe", probe)
	c := exec.CommandContext(ctx, line[0], line[1:]...)
	c.Env = append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+home+"/config", "XDG_CACHE_HOME="+home+"/cache", "LANG=C.UTF-8")
	c.Env = append(c.Env, environment...)
	var said bytes.Buffer
	c.Stdout, c.Stderr = &said, &said
	ownGroup(c)
	start := time.Now()
	if err := c.Start(); err != nil {
		return "", err
	}
	defer endGroup(c)
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	if !shows(ctx, probe, ended) {
		return "", fmt.Errorf("its window doesn't show the demo case after %s\n%s", duration(time.Since(start)), said.Bytes())
	}
	return "starts and shows the demo case after " + duration(time.Since(start)), nil
}

// shows waits until the window tells that findings are on the worksheet, or
// the program has ended.
func shows(ctx context.Context, probe string, ended chan error) bool {
	for ; ctx.Err() == nil && len(ended) == 0; time.Sleep(100 * time.Millisecond) {
		data, err := os.ReadFile(probe)
		var state struct {
			Findings map[string]any
		}
		if err == nil && json.Unmarshal(data, &state) == nil && len(state.Findings) > 0 {
			return true
		}
	}
	return false
}

// unzip unpacks an archive that this program has made.
func unzip(file, to string) error {
	r, err := zip.OpenReader(file)
	if err != nil {
		return err
	}
	defer r.Close()
	return os.CopyFS(to, r)
}
