package desk

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rootrule/measure"
)

func row5() *measure.ImageMarks {
	return &measure.ImageMarks{ID: "a", Canals: []measure.Canal{{Tooth: "46", Name: "MB", Orifice: 1,
		Marks: []measure.Point{measure.Pt(0, 0), measure.Pt(0, 10), measure.Pt(0, 20), measure.Pt(0, 30), measure.Pt(0, 40)}}}}
}

func TestOrificeFollowsItsMark(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*measure.ImageMarks)
		want   int
	}{
		{"a mark before it is added", func(im *measure.ImageMarks) { addMark(im, item{canal, 0}, 1, measure.Pt(0, 5)) }, 2},
		{"a mark behind it is added", func(im *measure.ImageMarks) { addMark(im, item{canal, 0}, 3, measure.Pt(0, 25)) }, 1},
		{"the mark before it is dropped", func(im *measure.ImageMarks) { dropMark(im, grip{item{canal, 0}, 0}) }, 0},
		{"a mark behind it is dropped", func(im *measure.ImageMarks) { dropMark(im, grip{item{canal, 0}, 3}) }, 1},
		{"all between it and the apex are dropped", func(im *measure.ImageMarks) {
			dropMark(im, grip{item{canal, 0}, 3})
			dropMark(im, grip{item{canal, 0}, 2})
			dropMark(im, grip{item{canal, 0}, 2})
		}, 0},
	} {
		im := row5()
		c.change(im)
		if got := im.Canals[0].Orifice; got != c.want {
			t.Errorf("%s: the orifice is mark %d, want %d", c.name, got, c.want)
		}
	}
}

// TestChangesKeepMarksValid: whatever is added and dropped, the marks stay
// marks that measure accepts.
func TestChangesKeepMarksValid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		im := row5()
		for range rapid.IntRange(1, 12).Draw(t, "changes") {
			it := item{canal, 0}
			n := len(marksOf(im, it))
			if n == 0 {
				break
			}
			if rapid.Bool().Draw(t, "add") {
				p := measure.Pt(rapid.Float64Range(1, 99).Draw(t, "x"), rapid.Float64Range(0, 99).Draw(t, "y"))
				addMark(im, it, rapid.IntRange(0, n).Draw(t, "at"), p)
			} else {
				dropMark(im, grip{it, rapid.IntRange(0, n-1).Draw(t, "drop")})
			}
			m := measure.Marks{Version: measure.MarksVersion, Images: []measure.ImageMarks{*im}}
			if err := m.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func TestDraftLeavesTheSavedMarksAlone(t *testing.T) {
	im := row5()
	c := copyOf(*im)
	setMark(&c, grip{item{canal, 0}, 2}, measure.Pt(7, 7))
	addMark(&c, item{canal, 0}, 5, measure.Pt(9, 9))
	dropItem(&c, item{canal, 0})
	if len(im.Canals) != 1 || len(im.Canals[0].Marks) != 5 || im.Canals[0].Marks[2] != measure.Pt(0, 20) {
		t.Errorf("changing the copy changed the original: %+v", im)
	}
}

func TestMovedMarkHasTheHandsUncertainty(t *testing.T) {
	im := row5()
	im.Canals[0].Marks[4].U = 0.1
	setMark(im, grip{item{canal, 0}, 4}, measure.Pt(1, 41))
	if got := im.Canals[0].Marks[4].StdUnc(); got != measure.DefaultClick {
		t.Errorf("a mark moved by hand claims %g px", got)
	}
}

func TestNearest(t *testing.T) {
	im := row5()
	im.Lesions = []measure.Lesion{{Name: "A", Outline: []measure.Point{measure.Pt(0, 43), measure.Pt(20, 60), measure.Pt(-20, 60)}}}
	for _, c := range []struct {
		name      string
		p         measure.Point
		radius    float64
		preferred item
		want      grip
	}{
		{"the nearest", measure.Pt(2, 11), 8, item{}, grip{item{canal, 0}, 1}},
		{"none so near", measure.Pt(9, 11), 8, item{}, nowhere},
		{"two in reach: the nearer", measure.Pt(0, 42), 8, item{}, grip{item{lesion, 0}, 0}},
		{"two in reach: the selected", measure.Pt(0, 42), 8, item{canal, 0}, grip{item{canal, 0}, 4}},
	} {
		if got, _ := nearestMark(im, c.p, c.radius, c.preferred); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	if it, ok := nearestLine(im, measure.Pt(1.5, 25), 2); !ok || it != (item{canal, 0}) {
		t.Errorf("on the line: %+v %v", it, ok)
	}
	if it, ok := nearestLine(im, measure.Pt(5, 25), 2); ok {
		t.Errorf("5 px beside the line: %+v", it)
	}
}

func TestNewMarkComesBetweenItsNeighbours(t *testing.T) {
	im := row5()
	im.Lesions = []measure.Lesion{{Name: "A", Outline: []measure.Point{
		measure.Pt(100, 0), measure.Pt(200, 0), measure.Pt(200, 100), measure.Pt(100, 100)}}}
	for _, c := range []struct {
		it   item
		p    measure.Point
		want int
	}{
		{item{canal, 0}, measure.Pt(0, 4), 1},
		{item{canal, 0}, measure.Pt(1, 25), 3},
		{item{canal, 0}, measure.Pt(0, 39), 4},
		{item{lesion, 0}, measure.Pt(150, -10), 1},
		{item{lesion, 0}, measure.Pt(90, 50), 4},
	} {
		if got := slotAt(im, c.it, c.p); got != c.want {
			t.Errorf("a mark at %v becomes number %d, want %d", c.p, got, c.want)
		}
	}
}

func TestCanalNames(t *testing.T) {
	for tooth, want := range map[string][]string{
		"46": {"MB", "ML", "D"}, "16": {"MB", "DB", "P"}, "24": {"B", "P"}, "34": {"main"}, "11": {"main"},
		"55": {"MB", "DB", "P"}, "84": {"MB", "ML", "D"}, "": {"MB", "ML"},
	} {
		im := &measure.ImageMarks{}
		for _, w := range want {
			got := nextCanal(im, tooth)
			if got != w {
				t.Errorf("tooth %q: proposed %q, want %q", tooth, got, w)
			}
			im.Canals = append(im.Canals, measure.Canal{Tooth: tooth, Name: got})
		}
		for range 9 { // more canals than there are names
			n := nextCanal(im, tooth)
			if slices.ContainsFunc(im.Canals, func(c measure.Canal) bool { return c.Name == n }) {
				t.Fatalf("tooth %q: %q is proposed twice", tooth, n)
			}
			im.Canals = append(im.Canals, measure.Canal{Tooth: tooth, Name: n})
		}
	}
}

func TestTypedNumbers(t *testing.T) {
	for text, want := range map[string]float64{"21": 21, " 20,5 ": 20.5, "20.5mm": 20.5, "18.25 mm": 18.25} {
		if got, err := millimetres(text, "length", 0, 60); err != nil || got != want {
			t.Errorf("%q is read as %g, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "0", "-3", "61", "NaN", "Inf", "1e9", "two", "2,0,5"} {
		if got, err := millimetres(text, "length", 0, 60); err == nil {
			t.Errorf("%q is read as %g", text, got)
		}
	}
}
