package main

import (
	"bytes"
	"errors"
	"fmt"
	"os/exec"
	"strings"
)

// racePackages are where goroutines meet: the window and the casebook, and
// reading images.
var racePackages = []string{"./app/...", "./imaging"}

// test checks and tests everything, the quick things first, and stops at the
// first step that fails.
func test(p *printer) error {
	var count tally
	err := testSteps(p, &count)
	fmt.Fprintf(p.out, "\n%s\n", count)
	fmt.Fprintf(p.out, "all after %s\n", p.total())
	return err
}

func testSteps(p *printer, count *tally) error {
	if err := thisSystem().install(p, buildPackages, windowPackages, drivePackages); err != nil {
		return err
	}
	plain := []string{noCgo}
	for _, step := range []struct {
		name string
		do   func() (string, error)
	}{
		{"gofmt", func() (string, error) { return "", gofmt() }},
		{"go vet", goStep(plain, "vet", "-tags", "ci", "./...")},
		{"staticcheck", goStep(plain, "tool", "staticcheck", "-tags", "ci", "./...")},
	} {
		if err := p.step(step.name, step.do); err != nil {
			return err
		}
	}
	if _, err := buildHeadless(p); err != nil {
		return err
	}
	for _, suite := range []suite{
		{"tests", plain, nil, append(testFlags("-tags", "ci"), "./...")},
		{"race detector", []string{cgo}, nil, append(testFlags("-tags", "ci", "-race"), racePackages...)},
		{"tests in a window (the first time takes some minutes: the window toolkit's C parts)",
			[]string{cgo, "ROOTRULE_WINDOW=1"}, inMemoryDisplay, append(testFlags(), "./cmd/rootrule")},
	} {
		if err := suite.run(p, count); err != nil {
			return err
		}
	}
	return nil
}

// inMemoryDisplay runs what follows it on a display of its own.
var inMemoryDisplay = []string{"xvfb-run", "-a", "-s", "-screen 0 1280x900x24"}

// testFlags returns the start of a go test command whose events a tally
// reads.
func testFlags(more ...string) []string {
	return append([]string{"go", "test", "-buildvcs=false", "-json", "-timeout", "20m"}, more...)
}

// suite is one run of go test.
type suite struct {
	name        string
	environment []string
	prefix      []string // what runs go
	args        []string
}

// run runs the suite and adds to the count. A suite in which no test ran has
// failed.
func (s suite) run(p *printer, count *tally) error {
	return p.step(s.name, func() (string, error) {
		args := append(append([]string{}, s.prefix...), s.args...)
		c := command(s.environment, args[0], args[1:]...)
		c.Stdout = nil
		events, err := c.StdoutPipe()
		if err != nil {
			return "", err
		}
		if err := c.Start(); err != nil {
			return "", err
		}
		own, err := follow(events, p.out)
		count.add(own)
		if err := errors.Join(err, c.Wait()); err != nil {
			return "", err
		}
		if own.passed == 0 {
			return "", errors.New("no test ran")
		}
		return own.String(), nil
	})
}

// goStep is a step that runs go.
func goStep(environment []string, args ...string) func() (string, error) {
	return func() (string, error) { return "", command(environment, "go", args...).Run() }
}

// gofmt fails on files that are not in Go's own format, and names them.
func gofmt() error {
	var out bytes.Buffer
	c := exec.Command("gofmt", "-l", ".")
	c.Stdout = &out
	if err := c.Run(); err != nil {
		return err
	}
	if files := strings.Fields(out.String()); len(files) > 0 {
		return fmt.Errorf("run gofmt -w on %s", strings.Join(files, " "))
	}
	return nil
}
