package desk

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

// TestEveryCautionIsBrief: each caution that the sources of the assists word
// has short words for the line above the bench.
func TestEveryCautionIsBrief(t *testing.T) {
	text := regexp.MustCompile(`(?:Sprintf|add|append)\((?:[^"]*, )?"([a-z%][^"]{25,})"`)
	seen := 0
	for _, file := range []string{"trace/canal.go", "trace/doubt.go", "trace/filled.go", "trace/alternative.go", "outline/cautions.go"} {
		source, err := os.ReadFile("../../imaging/" + file)
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range text.FindAllStringSubmatch(string(source), -1) {
			seen++
			if _, ok := briefly(found[1]); !ok {
				t.Errorf("%s: %q has no short words", file, found[1])
			}
		}
	}
	if seen < 10 {
		t.Errorf("only %d cautions found: is the test looking at the right files?", seen)
	}
}

func TestWeightiestCautionIsTold(t *testing.T) {
	got := told([]string{"hardly seen over 12 % of its length: compare", "two canals seem to overlap between (1, 2) and (3, 4)"})
	if !strings.HasPrefix(got, "Two canals") {
		t.Errorf("told %q", got)
	}
	if got := told([]string{"something new: look at it"}); !strings.Contains(got, "omething new") {
		t.Errorf("told %q of a caution without short words", got)
	}
	if got := told(nil); got != "" {
		t.Errorf("told %q of nothing", got)
	}
}
