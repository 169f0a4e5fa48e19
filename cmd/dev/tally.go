package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// tally counts tests, subtests included.
type tally struct{ passed, failed, skipped int }

func (t tally) String() string {
	return fmt.Sprintf("%d passed, %d failed, %d skipped", t.passed, t.failed, t.skipped)
}

func (t *tally) add(o tally) {
	t.passed += o.passed
	t.failed += o.failed
	t.skipped += o.skipped
}

// event is a line of go test -json (go doc test2json).
type event struct {
	Action  string
	Package string
	Test    string
	Output  string
}

// follow reads the events of go test -json, counts the tests, and shows what
// go test shows by itself: a line for each package, and the whole output of
// what failed.
func follow(events io.Reader, out io.Writer) (tally, error) {
	f := follower{out: out, held: map[string]*strings.Builder{}}
	lines := bufio.NewReader(events)
	for {
		line, err := lines.ReadString('\n')
		f.line(line)
		if err == io.EOF {
			return f.tally, nil
		}
		if err != nil {
			return f.tally, fmt.Errorf("reading what go test says: %w", err)
		}
	}
}

type follower struct {
	tally
	out  io.Writer
	held map[string]*strings.Builder // output by package and test, until it has passed
}

func (f *follower) line(line string) {
	if line == "" {
		return
	}
	var e event
	if json.Unmarshal([]byte(line), &e) != nil { // not an event: a message of go itself
		fmt.Fprint(f.out, line)
		return
	}
	key := e.Package + " " + e.Test
	switch e.Action {
	case "output", "build-output":
		f.output(key, e)
	case "pass", "skip", "fail":
		f.end(key, e)
	}
}

// output shows the closing line of a package and what the compiler says, and
// holds back the rest.
func (f *follower) output(key string, e event) {
	if e.Action == "build-output" || e.Test == "" && isPackageLine(e.Output) {
		fmt.Fprint(f.out, e.Output)
		return
	}
	if f.held[key] == nil {
		f.held[key] = &strings.Builder{}
	}
	f.held[key].WriteString(e.Output)
}

// end counts a test and shows what was held back if it failed.
func (f *follower) end(key string, e event) {
	if e.Action == "fail" {
		f.show(key)
	}
	delete(f.held, key)
	if e.Test == "" {
		f.endPackage(e)
		return
	}
	switch e.Action {
	case "pass":
		f.passed++
	case "skip":
		f.skipped++
	case "fail":
		f.failed++
	}
}

// endPackage shows the tests that were still running when a package failed: a
// crash or the time limit ended them.
func (f *follower) endPackage(e event) {
	for _, key := range slices.Sorted(maps.Keys(f.held)) {
		if !strings.HasPrefix(key, e.Package+" ") {
			continue
		}
		if e.Action == "fail" {
			f.show(key)
		}
		delete(f.held, key)
	}
}

// show writes what was held back for a test or package.
func (f *follower) show(key string) {
	if held := f.held[key]; held != nil {
		fmt.Fprint(f.out, held)
	}
}

// isPackageLine reports whether a line is the one that go test ends a package
// with.
func isPackageLine(s string) bool {
	for _, start := range []string{"ok  \t", "FAIL\t", "?   \t"} {
		if strings.HasPrefix(s, start) {
			return true
		}
	}
	return strings.Contains(s, "[no test files]")
}
