package desk

import (
	"strings"

	"rootrule/app/wording"
)

// brief are the cautions and refusals of the assists, known by what they contain, in words
// short enough for the line above the bench; the weightiest first.
var brief = []struct{ contains, says string }{
	{"no canal is seen", wording.ToSay("No canal is seen between these places: click others, or press Y and click along it by hand.")},
	{"has no edge on a part", wording.ToSay("No outline: the dark region is open on a part of its way round.")},
	{"no closed edge", wording.ToSay("No outline: no closed edge stands out around this place.")},
	{"another line than the plainest", wording.ToSay("This is the line beside the plainest: compare it with the picture.")},
	{"canals seem to overlap", wording.ToSay("Two canals seem to overlap: put a mark on the right one.")},
	{"it may be another canal's", wording.ToSay("The line may run along another canal or the root's edge: put a mark where the canal runs.")},
	{"runs beside the line", wording.ToSay("Something bright may hide part of the canal: compare the line with the picture.")},
	{"hardly seen over", wording.ToSay("Where the line is dashed the canal is hardly seen: compare it with the picture.")},
	{"beside the ridge", wording.ToSay("A mark lies beside the line that the picture shows.")},
	{"filling or file lies in the canal", wording.ToSay("The line follows the filling or the file.")},
	{"no end of the bright line", wording.ToSay("An end of the bright line is not seen: it is where it was clicked.")},
	{"at the border of the picture", wording.ToSay("The lesion may go on beyond the border of the picture.")},
	{"as dense lies", wording.ToSay("Something dense lies over or against a part of the edge: check it there.")},
	{"hidden or unclear", wording.ToSay("A part of the edge is hidden and was bridged: check it there.")},
	{"of the edge is weak", wording.ToSay("A part of the edge is weak: check it there.")},
	{"edge is faint", wording.ToSay("The edge is faint: check it by eye.")},
}

// told says the weightiest of several cautions.
func told(cautions []string) string {
	if s, ok := briefly(cautions...); ok || len(cautions) == 0 {
		return s
	}
	return wording.Sentence(wording.Tell(cautions[0]))
}

// briefly returns the short words for the weightiest of several texts that has
// some.
func briefly(texts ...string) (string, bool) {
	for _, b := range brief {
		for _, s := range texts {
			if strings.Contains(s, b.contains) {
				return wording.Say(b.says), true
			}
		}
	}
	return "", false
}

// problem says an error as sentences.
func problem(err error) string {
	if s, ok := briefly(err.Error()); ok {
		return s
	}
	line, hint := wording.Error(err)
	return join(line, hint)
}
