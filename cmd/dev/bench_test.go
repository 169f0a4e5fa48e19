package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func TestParseBenchmark(t *testing.T) {
	const out = "goos: linux\nBenchmarkAffine1500x1000-2   \t      12\t  93012345 ns/op\t         0.06120 px-rms\t  1024 B/op\t 3 allocs/op\nPASS\n"
	got, err := parseBenchmark(out, "BenchmarkAffine1500x1000")
	if err != nil || got.seconds != 0.093012345 || got.note != "0.06120 px-rms" {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := parseBenchmark("goos: linux\nPASS\n", "BenchmarkAbsent"); err != nil || got.seconds != 0 || got.note == "" {
		t.Errorf("a benchmark that was skipped: %+v, %v", got, err)
	}
	if _, err := parseBenchmark("BenchmarkHalf", "BenchmarkHalf"); err == nil {
		t.Error("a line without a result is taken")
	}
}

func TestCells(t *testing.T) {
	r := row{"a task", timing{0.02, 40.4, ""}, timing{0.08, 0, "a library"}}
	if got := strings.Join(r.cells(), "|"); got != "a task|20 ms|80 ms|0.25|40|–||a library" {
		t.Error(got)
	}
}

// TestComparisonsExist: each row of the table names a benchmark and a task of
// the script that are there.
func TestComparisonsExist(t *testing.T) {
	for _, c := range append(append([]comparison{}, comparisons...), alone...) {
		t.Run(c.task, func(t *testing.T) {
			if !isDefined(t, filepath.Join("..", "..", c.pkg, "*_test.go"), `(?m)^func `+c.benchmark+`\(b \*testing\.B\)`) {
				t.Errorf("%s has no %s", c.pkg, c.benchmark)
			}
			if c.peer != "" && !regexp.MustCompile(`(?m)^def `+c.peer+`\(\):`).Match(peersScript) {
				t.Errorf("peers.py has no task %s", c.peer)
			}
		})
	}
}

func isDefined(t *testing.T, pattern, declaration string) bool {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if regexp.MustCompile(declaration).Match(text) {
			return true
		}
	}
	return false
}
