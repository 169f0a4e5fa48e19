package measure

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// changeCase is a lesion of the full axes a and b mm and a canal with its
// filling, seen again a year later on an image turned, scaled and shifted, with
// the lesion grown by the factor grown in each direction and the root shorter
// by lost mm. It is aligned by n pairs of marks.
func changeCase(a, b float64, marks [2]int, n int, grown, lost float64) truthCase {
	before := ellipseCase(a, b, marks[0]).marks.Images[0]
	before.Calibration[0].UMM = ptr(0.1)
	before.Date = "2025-01-31"
	canal := idealCanal{10, [][2]float64{{25, 12}}}
	trace := func(c idealCanal, n int) []Point { p, _ := c.marks(n, false); return p }
	tip, _ := canal.pieces().at((canal.length()/pxPerMM - 1.5) * pxPerMM)
	shorter := idealCanal{10, [][2]float64{{25 - lost/12*degrees, 12}}}
	filling := func(apex Point) []Filling {
		return []Filling{{Tooth: "46", Canal: "ML", Tip: Pt(tip.x, tip.y), Apex: apex}}
	}
	m0, m1 := trace(canal, 8), trace(shorter, 9)
	before.Canals = []Canal{{Tooth: "46", Name: "ML", Marks: m0}}
	before.Fillings = filling(m0[7])
	after := ImageMarks{ID: "post", Date: "2026-01-31", Lesions: ellipseCase(a*grown, b*grown, marks[1]).marks.Images[0].Lesions,
		Canals: []Canal{{Tooth: "46", Name: "ML", Marks: m1}}, Fillings: filling(m1[8])}
	to := func(p Point) Point {
		s, c := math.Sincos(0.08)
		return Pt(40+0.96*(c*p.X-s*p.Y), 20+0.96*(s*p.X+c*p.Y))
	}
	for _, list := range [][]Point{after.Lesions[0].Outline, after.Canals[0].Marks} {
		for i, p := range list {
			list[i] = to(p)
		}
	}
	after.Fillings[0].Tip, after.Fillings[0].Apex = to(after.Fillings[0].Tip), to(after.Fillings[0].Apex)
	r := Recall{Before: "pre", After: "post", Lesion: "D"}
	for i := range n {
		t := 2 * math.Pi * float64(i) / float64(n)
		p := Pt(450+250*math.Cos(t)+20*math.Sin(3*t), 350+250*math.Sin(t))
		r.Pairs = append(r.Pairs, [2]Point{p, to(p)})
	}
	lesion, root, fill := "pre, post/lesion 46 D/", "pre, post/canal 46 ML/", "pre, post/filling 46 ML/"
	area := math.Pi * a * b / 4
	chord := func(p []vec) float64 { return p[0].dist(p[1]) / pxPerMM }
	x, y := before.Fillings[0], filling(trace(shorter, 9)[8])[0]
	return truthCase{
		name:  fmt.Sprintf("%gx%g grown %g, root −%g, %d pairs", a, b, grown, lost, n),
		marks: Marks{Version: 1, Images: []ImageMarks{before, after}, Recalls: []Recall{r}},
		truth: map[string]float64{
			lesion + WhatAreaChange: area * (grown*grown - 1), lesion + WhatDiameterChange: a * (grown - 1), lesion + WhatEquivalentChange: math.Sqrt(a*b) * (grown - 1),
			lesion + WhatAreaChangePercent: 100 * (grown*grown - 1), lesion + WhatEquivalentChangePerYear: math.Sqrt(a*b) * (grown - 1) / (365 / 365.25),
			root + WhatLengthChange: -lost, root + WhatLengthChangePercent: -100 * lost / (canal.length() / pxPerMM),
			fill + WhatFillingChange: chord(vecs([]Point{y.Tip, y.Apex})) - chord(vecs([]Point{x.Tip, x.Apex})),
		},
	}
}

// share returns how often a finding of noisy marks gets each verdict.
func (t truthCase) share(what string, trials int, seed uint64) map[string]float64 {
	r, out := seeded(seed), map[string]float64{}
	for i := range t.marks.Images { // what takes long and is not asked for
		if what != WhatLengthChange && what != WhatFillingChange {
			t.marks.Images[i].Canals, t.marks.Images[i].Fillings = nil, nil
		} else {
			t.marks.Images[i].Lesions = nil
			t.marks.Recalls[0].Lesion = ""
		}
	}
	for range trials {
		for _, f := range Compute(t.noisy(r), Given{}) {
			if f.What == what {
				out[f.Verdict] += 1 / float64(trials)
			}
		}
	}
	return out
}

var judgedChanges = []string{WhatAreaChange, WhatDiameterChange, WhatEquivalentChange, WhatLengthChange, WhatFillingChange}

// What did not change is called unchanged in 94 to 98 % of trials, as far as so
// many can tell (two standard deviations of a binomial).
func TestNothingIsCalledNoChange(t *testing.T) {
	const trials = 110
	all := map[string]float64{}
	cases := []truthCase{changeCase(6, 4.5, [2]int{14, 12}, 6, 1, 0), changeCase(4, 3.8, [2]int{10, 16}, 4, 1, 0), changeCase(9, 5, [2]int{20, 20}, 10, 1, 0)}
	for k, c := range cases {
		r := seeded(uint64(k))
		for range trials {
			for _, f := range Compute(c.noisy(r), Given{}) {
				if f.Verdict == VerdictNoChange {
					all[f.What] += 1 / float64(trials*len(cases))
				}
			}
		}
	}
	slack := 2 * math.Sqrt(0.95*0.05/float64(trials*len(cases)))
	for _, what := range judgedChanges {
		t.Logf("%-28s %.1f %%", what, 100*all[what])
		if got := all[what]; got < 0.94-slack || got > 0.98+slack {
			t.Errorf("%s: no change called so in %.1f %%", what, 100*got)
		}
	}
}

// What is stated as seen with a power of 90 % is the size that is: 0.8 of it is
// seen less often, 1.2 of it more often.
func TestDetectableChangeIsDetected(t *testing.T) {
	const trials = 80
	none := changeCase(6, 4.5, [2]int{14, 12}, 6, 1, 0)
	stated := map[string]float64{}
	for _, f := range Compute(none.marks, Given{}) {
		if strings.HasSuffix(f.What, detectableSuffix) {
			stated[strings.TrimSuffix(f.What, detectableSuffix)] = f.Value
		}
	}
	area := math.Pi * 6 * 4.5 / 4
	for _, c := range []struct {
		what string
		of   func(change float64) truthCase
	}{
		{WhatAreaChange, func(d float64) truthCase {
			return changeCase(6, 4.5, [2]int{14, 12}, 6, math.Sqrt(1-d/area), 0)
		}},
		{WhatDiameterChange, func(d float64) truthCase { return changeCase(6, 4.5, [2]int{14, 12}, 6, 1-d/6, 0) }},
		{WhatLengthChange, func(d float64) truthCase { return changeCase(6, 4.5, [2]int{14, 12}, 6, 1, d) }},
		{WhatFillingChange, func(d float64) truthCase { return changeCase(6, 4.5, [2]int{14, 12}, 6, 1, d) }},
	} {
		less := c.of(0.8*stated[c.what]).share(c.what, trials, 3)[VerdictSmaller]
		more := c.of(1.2*stated[c.what]).share(c.what, trials, 4)[VerdictSmaller]
		t.Logf("%-20s stated %.3f: 0.8 of it seen in %.1f %%, 1.2 of it in %.1f %%", c.what, stated[c.what], 100*less, 100*more)
		if !(less < 0.9 && more > 0.9) {
			t.Errorf("%s: %.3f is not what is seen with a power of 90 %%: 0.8 of it in %.1f %%, 1.2 of it in %.1f %%", c.what, stated[c.what], 100*less, 100*more)
		}
	}
}

// Without a sound alignment the figures stand, the verdicts do not.
func TestNoVerdictWithoutASoundAlignment(t *testing.T) {
	mirror := func(p Point) Point { return Pt(900-p.X, p.Y) }
	cases := []struct {
		name string
		make func(m *Marks)
		want string
	}{
		{"no pairs", func(m *Marks) { m.Recalls[0].Pairs = nil; m.Images[1].Calibration = m.Images[0].Calibration }, notAligned},
		{"three pairs", func(m *Marks) { m.Recalls[0].Pairs = m.Recalls[0].Pairs[:3] }, fewPairs},
		{"marks on other structures", func(m *Marks) {
			for i := range m.Recalls[0].Pairs {
				m.Recalls[0].Pairs[i][1].X += 15 * math.Sin(float64(4*i))
			}
		}, oneMapNot},
		{"mirrored", func(m *Marks) {
			for i, p := range m.Recalls[0].Pairs {
				m.Recalls[0].Pairs[i][1] = mirror(p[1])
			}
			for i, p := range m.Images[1].Lesions[0].Outline {
				m.Images[1].Lesions[0].Outline[i] = mirror(p)
			}
		}, mirrorsMap},
		{"oblique", func(m *Marks) {
			for i := range m.Recalls[0].Pairs {
				m.Recalls[0].Pairs[i][1].Y *= 0.7
			}
		}, "too oblique to compare"},
		{"a map that the pairs contradict", func(m *Marks) {
			m.Recalls[0].Map = &Alignment{{1, 0, 30}, {0, 1, 0}, {0, 0, 1}}
		}, oneMapNot},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m := changeCase(6, 4.5, [2]int{14, 12}, 8, 0.7, 0.5).noisy(seeded(1))
			c.make(&m)
			said := false
			for _, f := range Compute(m, Given{}) {
				if f.Verdict != "" {
					t.Errorf("%s: %s", f.What, f.Verdict)
				}
				said = said || f.What == WhatAreaChange && f.Defined() && strings.Contains(strings.Join(f.Cautions, "; "), c.want)
			}
			if !said {
				t.Errorf("the area change has no value, or no caution %q", c.want)
			}
		})
	}
}

// One pair on another structure is left out and named, and the verdict stands.
func TestOneBadPairIsLeftOut(t *testing.T) {
	for bad := range 6 {
		m := changeCase(6, 4.5, [2]int{14, 12}, 6, 0.7, 0).noisy(seeded(uint64(bad)))
		m.Recalls[0].Pairs[bad][1].X += 25
		named := false
		for _, f := range Compute(m, Given{}) {
			switch f.What {
			case WhatAlignmentResidual:
				named = strings.Contains(strings.Join(f.Cautions, "; "), fmt.Sprintf("pair %d misses", bad+1))
			case WhatAreaChange:
				if want := math.Pi * 6 * 4.5 / 4 * (0.49 - 1); math.Abs(f.Value-want) > 1.5*f.Expanded() || f.Verdict != VerdictSmaller {
					t.Errorf("pair %d bad: %.2f ± %.2f, %s; want %.2f", bad+1, f.Value, f.Expanded(), f.Verdict, want)
				}
			}
		}
		if !named {
			t.Errorf("pair %d is not named", bad+1)
		}
	}
}

// The line through several recalls has the slope of the truth, its uncertainty
// covers, and what the points share (the scale) counts once.
func TestTrendCoversTheTruth(t *testing.T) {
	const trials = 80
	r := seeded(5)
	in := 0
	area := math.Pi * 6 * 4.5 / 4
	for range trials {
		m := changeCase(6, 4.5, [2]int{14, 12}, 6, math.Sqrt(0.9), 0).noisy(r)
		second := changeCase(6, 4.5, [2]int{14, 12}, 6, math.Sqrt(0.8), 0).noisy(r)
		after := second.Images[1]
		after.ID, after.Date = "later", "2027-01-31"
		m.Images = append(m.Images, after)
		later := second.Recalls[0]
		later.After = "later"
		m.Recalls = append([]Recall{later}, m.Recalls...) // in any order
		for _, tr := range Trends(m, Given{}) {
			if tr.What != WhatArea {
				continue
			}
			if len(tr.Points) != 3 || tr.Points[1].Image != "post" || tr.Points[2].Image != "later" || !tr.Points[2].Aligned || tr.Of != "lesion 46 D" {
				t.Fatalf("points %+v", tr.Points)
			}
			if want := -0.1 * area * 365.25 / 365; math.Abs(tr.PerYear.Value-want) <= tr.PerYear.Expanded() {
				in++
			}
		}
	}
	if got := float64(in) / trials; got < 0.9 || got > 1 {
		t.Errorf("the slope covers the truth in %.1f %%", 100*got)
	}
}
