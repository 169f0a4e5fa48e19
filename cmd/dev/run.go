package main

import (
	"fmt"
	"os"
)

// run opens the window on the demo case, or without a display prints the demo
// case's findings.
func run(p *printer, args []string) error {
	s := thisSystem()
	if !s.hasDisplay(os.Getenv) {
		return runHeadless(p, args)
	}
	if err := s.install(p, buildPackages, windowPackages); err != nil {
		return err
	}
	program, err := buildWindow(p)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.out, "== ready after %s\n", p.total())
	return command(nil, program, append([]string{"--demo"}, args...)...).Run()
}

// runHeadless runs the demo case without a window.
func runHeadless(p *printer, args []string) error {
	fmt.Fprintln(p.out, "no display (neither DISPLAY nor WAYLAND_DISPLAY is set): the demo case without a window, marked image in ./out")
	if len(args) > 0 {
		return fmt.Errorf("the arguments %q are for the window: leave them out, or run where there is a display", args)
	}
	program, err := buildHeadless(p)
	if err != nil {
		return err
	}
	return command(nil, program, "demo", "--out", "./out").Run()
}

// buildWindow builds the program with its window. Every build with cgo uses
// these flags and no others: another set would compile the C parts again,
// which takes minutes.
func buildWindow(p *printer) (program string, err error) {
	return build(p, "program (the first time takes some minutes: the window toolkit's C parts)", cgo, "rootrule")
}

// buildHeadless builds the program without a window: no cgo, and the toolkit's
// own tag for machines without a display.
func buildHeadless(p *printer) (program string, err error) {
	return build(p, "program without a window", noCgo, "rootrule-headless", "-tags", "ci")
}

// build builds the program into the cache. buildvcs is off since it fails
// where git doesn't trust the checkout's owner, and links anew at each commit.
func build(p *printer, title, environment, name string, flags ...string) (program string, err error) {
	err = p.step(title, func() (string, error) {
		if program, err = programPath(name); err != nil {
			return "", err
		}
		args := append([]string{"build", "-buildvcs=false", "-o", program}, flags...)
		return "", command([]string{environment}, "go", append(args, "./cmd/rootrule")...).Run()
	})
	return program, err
}
