package main

import (
	"bytes"
	"errors"
	"fmt"
	"os/exec"
	"strings"
)

// raceTests are the tests of where goroutines meet: the casebook, reading
// images, and what runs beside the window. Of the last only the tests about
// that run here: the others compute much, and the race detector makes it ten
// times as long.
var raceTests = [][]string{
	{"./app/casebook", "./app/reading", "./imaging"},
	{"-run", "Queue|Cancel|Forgets", "./app/assist", "./app/compare"},
}

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
	if err := p.step("gofmt", func() (string, error) { return "", gofmt() }); err != nil {
		return err
	}
	if err := testHeadless(p, count); err != nil {
		return err
	}
	return testWindow(p, count)
}

// testHeadless checks all packages without cgo and without a display, then
// some with the race detector. The tag leaves out the window toolkit's C
// parts, so that the race detector doesn't compile them a second time.
func testHeadless(p *printer, count *tally) error {
	if err := analyse(p, "", noCgo, "-tags", "ci", "./..."); err != nil {
		return err
	}
	if _, err := buildHeadless(p); err != nil {
		return err
	}
	tests := suite{name: "tests", environment: []string{noCgo}, args: goTest("-tags", "ci", "./...")}
	if err := tests.run(p, count); err != nil {
		return err
	}
	for _, r := range raceTests {
		race := goTest(append([]string{"-tags", "ci", "-race"}, r...)...)
		if err := (suite{name: "race detector", environment: []string{cgo}, args: race}).run(p, count); err != nil {
			return err
		}
	}
	return nil
}

// testWindow checks what the tag left out, and drives the real window on a
// display in memory. The tests that do so skip themselves without the variable
// set here; with it none may.
func testWindow(p *printer, count *tally) error {
	if _, err := buildWindow(p); err != nil {
		return err
	}
	if err := analyse(p, " of the window", cgo, "./cmd/rootrule"); err != nil {
		return err
	}
	return suite{
		name:        "tests of the window",
		environment: []string{cgo, "ROOTRULE_WINDOW=1"},
		prefix:      inMemoryDisplay,
		args:        goTest("./cmd/rootrule"),
		noSkips:     true,
	}.run(p, count)
}

// analyse runs go vet and staticcheck.
func analyse(p *printer, of, environment string, args ...string) error {
	for _, step := range []struct {
		name string
		tool []string
	}{
		{"go vet", []string{"vet"}},
		{"staticcheck", []string{"tool", "staticcheck"}},
	} {
		do := func() (string, error) {
			return "", command([]string{environment}, "go", append(step.tool, args...)...).Run()
		}
		if err := p.step(step.name+of, do); err != nil {
			return err
		}
	}
	return nil
}

// inMemoryDisplay runs what follows it on a display of its own.
var inMemoryDisplay = []string{"xvfb-run", "-a", "-s", "-screen 0 1280x900x24"}

// goTest returns a go test command whose events a tally reads.
func goTest(args ...string) []string {
	return append([]string{"go", "test", "-buildvcs=false", "-json", "-timeout", "20m"}, args...)
}

// suite is one run of go test.
type suite struct {
	name        string
	environment []string
	prefix      []string // what runs go
	args        []string
	noSkips     bool // a skipped test is a failure
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
		if s.noSkips && own.skipped > 0 {
			return "", fmt.Errorf("%d tests skipped themselves", own.skipped)
		}
		return own.String(), nil
	})
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
