// Dev does what a developer needs done, one command each:
//
//	go run ./cmd/dev run [ARGUMENT…]   set up, build, and open the demo case
//	go run ./cmd/dev test              set up, check and test everything
//	go run ./cmd/dev bench [PATTERN]   compare speed with general-purpose libraries
//	go run ./cmd/dev package           make packages for Linux and Windows, and try them
//
// Run installs the system packages that building and running lack (Debian and
// its relatives; elsewhere it says what to install), builds the program and
// starts it on the demo case, with the arguments after its own. Where there is
// no display it runs the demo case without a window: findings as a table, and
// the marked image in ./out. That needs neither C compiler nor packages.
//
// Test stops at the first step that fails and ends with a count of tests.
//
// Bench runs the benchmarks whose task has a counterpart in a general-purpose
// library, and that library on the same data where Debian's packages of it are
// installed, and prints the ratios. It installs nothing.
//
// Package makes a .tar.xz, a .deb and a .zip for Windows in ./out, each with
// icon, version and the licences of what is built in, and starts each; the
// Windows one where wine is installed.
//
// Each step is printed with the time it took. What one run did the next one
// doesn't do again: installed packages are left alone, programs come from
// Go's build cache. Programs are put into the user's cache folder.
//
// The code uses the standard library only, and no cgo, so that it builds in
// seconds on a machine with nothing but Go. It changes nothing outside the
// caches and ./out but the system packages, which it names before it installs
// them.
//
// Exit: 0; 1 when a step failed; 2 when it was called wrongly.
package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
)

const usage = `usage:
  go run ./cmd/dev run [ARGUMENT…]   set up, build, and open the demo case
  go run ./cmd/dev test              set up, check and test everything
  go run ./cmd/dev bench [PATTERN]   compare speed with general-purpose libraries
  go run ./cmd/dev package           make packages for Linux and Windows, and try them
`

func main() {
	if len(os.Args) < 2 {
		fmt.Fprint(os.Stderr, usage)
		os.Exit(2)
	}
	if err := enterRoot(); err != nil {
		fmt.Fprintln(os.Stderr, "dev:", err)
		os.Exit(1)
	}
	var err error
	p := newPrinter(os.Stdout)
	switch command, args := os.Args[1], os.Args[2:]; {
	case command == "run":
		err = run(p, args)
	case command == "test" && len(args) == 0:
		err = test(p)
	case command == "bench":
		err = bench(p, args)
	case command == "package" && len(args) == 0:
		err = pack(p)
	default:
		fmt.Fprint(os.Stderr, usage)
		os.Exit(2)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "dev:", err)
		os.Exit(1)
	}
}

// enterRoot makes the folder of the module's go.mod the working directory.
func enterRoot() error {
	folder, err := os.Getwd()
	if err != nil {
		return err
	}
	for {
		if _, err := os.Stat(filepath.Join(folder, "cmd", "dev", "main.go")); err == nil {
			return os.Chdir(folder)
		}
		up := filepath.Dir(folder)
		if up == folder {
			return errors.New("looking for the source: not in this folder or above it: run dev inside the checkout")
		}
		folder = up
	}
}

// cgo and noCgo say how Go is to be run. Both are set explicitly: left to
// itself Go decides by whether a C compiler is there, and the first run
// installs one.
const (
	cgo   = "CGO_ENABLED=1"
	noCgo = "CGO_ENABLED=0"
)

// command is a program to run with variables added to the environment, its
// output shown as it comes.
func command(environment []string, name string, args ...string) *exec.Cmd {
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), environment...)
	c.Stdin, c.Stdout, c.Stderr = os.Stdin, os.Stdout, os.Stderr
	return c
}

// programPath returns where to build a program to, in the user's cache.
func programPath(name string) (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("looking for a place to build in: %w", err)
	}
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	return filepath.Join(cache, "rootrule-dev", name), nil
}
