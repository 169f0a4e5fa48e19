package measure

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// A check computes a reference value by this package. tolerance is in the
// unit of the value; 0 stands for half of its last digit.
type check struct {
	pattern   string // of the id in testdata/reference_values.tsv
	tolerance float64
	value     func(t *testing.T, id []int, want float64) float64
}

// findingOf returns the value of a finding of noise-free marks.
func findingOf(t *testing.T, m Marks, g Given, of, what string) float64 {
	t.Helper()
	for _, f := range Compute(m, g) {
		if strings.HasPrefix(f.Of, of) && f.What == what {
			if !f.Defined() {
				t.Fatalf("%s of %s is undefined: %v", what, of, f.Cautions)
			}
			return f.Value
		}
	}
	t.Fatalf("there is no %s of %s", what, of)
	return 0
}

// sharp is the click in px of exact marks: with the usual one, the shortest
// arcs of the table (1 mm) would rightly count as no curve.
const sharp = 0.05

func sharpened(c truthCase) Marks {
	marks := c.marks.Images[0].Canals[0].Marks
	for i := range marks {
		marks[i].U = sharp
	}
	return c.marks
}

// arcCheck reads a finding of a canal of 10 mm straight and an arc of id[0]
// degrees and id[1] mm radius, once with the start of the curve marked and once
// found; both must agree.
func arcCheck(what string) func(t *testing.T, id []int, want float64) float64 {
	return func(t *testing.T, id []int, want float64) float64 {
		t.Helper()
		// Long enough in front for radii of any size: the canal of 27° and 40 mm
		// has 19 mm of arc.
		c := idealCanal{10, [][2]float64{{float64(id[0]), float64(id[1])}}}
		marked := findingOf(t, sharpened(canalCase(c, 9, true, 0)), Given{}, "canal", what)
		found := findingOf(t, sharpened(canalCase(c, 24, false, 0)), Given{}, "canal", what)
		if math.Abs(marked-found) > 1e-6 {
			t.Errorf("marked %.9f, found %.9f", marked, found)
		}
		return marked
	}
}

// tailCheck reads Schneider's angle of an arc of 40° and 8 mm with a straight
// apical part.
func tailCheck(t *testing.T, id []int, want float64) float64 {
	c := idealCanal{10, [][2]float64{{40, 8}}}
	a := c.pieces()
	tail := a[1].at(a[1].length)
	tail.k2, tail.k3, tail.length = 0, 0, float64(id[0])*pxPerMM
	a = append(a, tail)
	var marks []Point
	total := a[0].length + a[1].length + tail.length
	n := 21
	for i := range n {
		p, _ := a.at(total * float64(i) / float64(n-1))
		marks = append(marks, Point{p.x, p.y, sharp})
	}
	m := Marks{Version: 1, Images: []ImageMarks{{ID: "a", Canals: []Canal{{Tooth: "46", Marks: marks}}}}}
	if got := findingOf(t, m, Given{}, "canal", WhatPruettAngle); math.Abs(got-40) > 1e-6 {
		t.Errorf("Pruett angle %.9f, want 40", got)
	}
	return findingOf(t, m, Given{}, "canal", WhatSchneiderAngle)
}

// sCanal is the S-shaped canal of the reference values.
var sCanal = idealCanal{10, [][2]float64{{30, 10}, {-40, 6}}}

func sCheck(value func(m Marks, t *testing.T) float64) func(t *testing.T, id []int, want float64) float64 {
	return func(t *testing.T, id []int, want float64) float64 {
		return value(canalCase(sCanal, 16, false, 0).marks, t)
	}
}

// proportion is the true length of a tooth by the file on its film.
func proportion(file, fileOnFilm, toothOnFilm float64) func(t *testing.T, id []int, want float64) float64 {
	return func(t *testing.T, id []int, want float64) float64 {
		m := Marks{Version: 1, Images: []ImageMarks{{ID: "film",
			Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: file, Marks: []Point{Pt(0, 0), Pt(0, fileOnFilm*20)}}},
			Canals:      []Canal{{Tooth: "11", Marks: []Point{Pt(50, 0), Pt(50, toothOnFilm*20)}}},
		}}}
		return findingOf(t, m, Given{}, "canal", WhatLength)
	}
}

// elongated is the factor by which an image is longer than a file of 20 mm, by
// the stated spacing of 0.05 mm.
func elongated(t *testing.T, factor float64) float64 {
	m := Marks{Version: 1, Images: []ImageMarks{{ID: "a", Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 20, Marks: []Point{Pt(0, 0), Pt(0, 400*factor)}}}}}}
	g := Given{Spacing: map[string]Spacing{"a": {RowMM: 0.05, ColMM: 0.05, Kind: SpacingDetector}}}
	return 1 + findingOf(t, m, g, "calibration", WhatElongation)/100
}

// depthFromShift is the depth that a shift between two views gives.
func depthFromShift(t *testing.T, shift, angle float64) float64 {
	straight := func(name string, x float64) Canal {
		return Canal{Tooth: "16", Name: name, Marks: []Point{Pt(x*20, 0), Pt(x*20, 150), Pt(x*20, 300)}}
	}
	im := func(id string, second float64) ImageMarks {
		return ImageMarks{ID: id, Calibration: []Calibration{{Kind: CalibrationDistance, LengthMM: 10, UMM: ptr(0.0), Marks: []Point{Pt(0, 0), Pt(0, 200)}}},
			Canals: []Canal{straight("MB1", second), straight("MB2", 10)}}
	}
	m := Marks{Version: 1, Images: []ImageMarks{im("a", 12), im("b", 12+shift)}, Views: []View{{Images: [2]string{"a", "b"}, AngleDeg: angle}}}
	return findingOf(t, m, Given{}, "canals", WhatDepthSeparation)
}

// twenty are 20 differences with the sum 10 and the sum of squares 230, those
// of the worked set: all of its results follow from these two.
var twenty = []float64{7, -6, 5, -5, 4, -3, 3, -3, 3, -3, 3, -1, 4, -1, 0, 2, 1, -1, 0, 1}

func agreement(value func(a Agreement) float64) func(t *testing.T, id []int, want float64) float64 {
	return func(t *testing.T, id []int, want float64) float64 {
		a, err := Agree(make([]float64, len(twenty)), twenty)
		if err != nil {
			t.Fatal(err)
		}
		return value(a)
	}
}

func fixed(v float64) func(t *testing.T, id []int, want float64) float64 {
	return func(*testing.T, []int, float64) float64 { return v }
}

func usual(part func(u Usual) float64) func(t *testing.T, id []int, want float64) float64 {
	return func(t *testing.T, id []int, want float64) float64 {
		u, ok := Tooth(id[0]).Usual()
		if !ok {
			t.Fatalf("no usual lengths of tooth %d", id[0])
		}
		return part(u)
	}
}

// limit checks that a grade changes just above the value and returns it.
func limit(grade func(x float64) string, below, above string) func(t *testing.T, id []int, want float64) float64 {
	return func(t *testing.T, id []int, want float64) float64 {
		if got := [2]string{grade(want - 1e-6), grade(want + 1e-6)}; got != [2]string{below, above} {
			t.Errorf("grades about %g are %q, want %q and %q", want, got, below, above)
		}
		return want
	}
}

func score(mm float64) string { s, _ := CBCTPAI(mm, nil, nil); return s }
func form(deg float64) string { return DifficultyGrade(deg, false) }

func circumradius(a, b, c vec) func(t *testing.T, id []int, want float64) float64 {
	return fixed(1 / turning(a, b, c).norm())
}

var checks = []check{
	{`arclen_(\d+)_(\d+)`, 0, arcCheck(WhatCurvedLength)},
	{`schn_(\d+)_(\d+)`, 0, arcCheck(WhatSchneiderAngle)},
	{`pruett_(\d+)_(\d+)`, 0, arcCheck(WhatPruettAngle)},
	{`caa_(\d+)_(\d+)_L10`, 0, arcCheck(WhatAccessAngle)}, // construction from memory
	{`schn_tail_(\d+)`, 0, tailCheck},
	{`s_total_abs`, 1e-6, sCheck(func(m Marks, t *testing.T) float64 {
		return findingOf(t, m, Given{}, "canal", WhatPruettAngle) + findingOf(t, m, Given{}, "canal", WhatSecondAngle)
	})},
	{`s_net`, 1e-6, sCheck(func(m Marks, t *testing.T) float64 {
		return findingOf(t, m, Given{}, "canal", WhatPruettAngle) - findingOf(t, m, Given{}, "canal", WhatSecondAngle)
	})},
	{`s_len`, 0, sCheck(func(m Marks, t *testing.T) float64 { return findingOf(t, m, Given{}, "canal", WhatLength) })},
	{`s_schn_single`, 0, sCheck(func(m Marks, t *testing.T) float64 { return findingOf(t, m, Given{}, "canal", WhatSchneiderAngle) })},
	{`s_foramen_[xy]`, 0, sForamen},
	{`circum_1`, 0, circumradius(vec{0, 0, 0}, vec{4, 0, 0}, vec{0, 3, 0})},
	{`circum_2`, 0, circumradius(vec{0, 0, 0}, vec{1, 5, 0}, vec{4, 9, 0})},
	{`circum_3`, 0, circumradius(vec{0, 0, 0}, vec{0.5, 3, 0}, vec{2, 6, 0})},
	{`schneider_low`, 0, limit(SchneiderClass, "straight", "between straight and moderate")},
	{`schneider_mod_lo`, 0, limit(SchneiderClass, "between straight and moderate", "moderate")},
	{`schneider_mod_hi`, 0, limit(SchneiderClass, "moderate", "between moderate and severe")},
	{`schneider_sev_lo`, 0, limit(SchneiderClass, "between moderate and severe", "severe")},
	{`schneider_sev_hi`, 0, limit(SchneiderClass, "severe", "beyond severe")},
	{`aae_low_curv`, 0, limit(form, "low", "moderate")},
	{`aae_high_curv`, 0, limit(form, "moderate", "high")}, // limit from memory
	{`aae_mod_count`, 0, moderateItems},
	{`wl_prop_1`, 0, proportion(20, 21, 23.1)},
	{`wl_prop_2`, 0, proportion(18, 19.5, 21.0)},
	{`wl_prop_3`, 0, proportion(21, 22.05, 23.1)},
	{`wl_prop_4`, 0, proportion(15, 14.4, 19.2)},
	{`weine_none`, 0, fixed(OffsetNoResorption)},
	{`weine_bone`, 0, fixed(OffsetBoneResorption)},
	{`weine_root`, 0, fixed(OffsetBoneAndRoot)},
	{`eal_tol`, 0, fixed(CoverageFactor * DefaultEAL)},
	{`mag_(\d+)_(\d+)`, 0, func(t *testing.T, id []int, want float64) float64 {
		return elongated(t, float64(id[0])/float64(id[0]-id[1]))
	}},
	{`fore_(\d+)`, 0, func(t *testing.T, id []int, want float64) float64 {
		return elongated(t, math.Cos(float64(id[0])/degrees))
	}},
	{`pai_cut`, 0, fixed(PAIHealthy)},           // from memory
	{`cbctpai_0`, 0, limit(score, "0", "1")},    // limits from memory
	{`cbctpai_1`, 0, limit(score, "1", "2")},    //
	{`cbctpai_2`, 0, limit(score, "2", "3")},    //
	{`cbctpai_3`, 0, limit(score, "3", "4")},    //
	{`cbctpai_[45]`, 0, limit(score, "4", "5")}, //
	{`ell_(\d+)_(\d+)`, 0.001, func(t *testing.T, id []int, want float64) float64 { // 40 marks: 5 parts in 10⁵
		return findingOf(t, ellipseCase(float64(id[0]), float64(id[1]), 40).marks, Given{}, "lesion", WhatArea)
	}},
	{`ba_bias`, 0, agreement(func(a Agreement) float64 { return a.Bias })},
	{`ba_sd`, 0, agreement(func(a Agreement) float64 { return a.SD })},
	{`ba_lo`, 0, agreement(func(a Agreement) float64 { return a.Lower })},
	{`ba_hi`, 0, agreement(func(a Agreement) float64 { return a.Upper })},
	{`ba_dahl`, 0, agreement(func(a Agreement) float64 { return a.Dahlberg })},
	{`ba_sdc`, 0, agreement(func(a Agreement) float64 { return a.Detectable })},
	{`ba_2_77`, 0, fixed(DetectableChange(1))},
	{`shift_([\d.]+)_(\d+)`, 0, nil}, // see TestShiftGivesDepth: the value is the input there
	{`rot_[s12d]+`, 0, nil},          // see TestTurnedDetectorGivesDepth
	{`num_(\d+)`, 0, func(t *testing.T, id []int, want float64) float64 {
		n, err := strconv.Atoi(Tooth(id[0]).In(Universal))
		if err != nil {
			t.Fatal(err)
		}
		return float64(n)
	}},
	{`file_len_(\d+)`, 0, func(t *testing.T, id []int, want float64) float64 { // from memory
		l, ok := NearestFile(float64(id[0]) - 0.5)
		if !ok {
			t.Fatalf("no file for %d mm", id[0])
		}
		return l
	}},
	{`ash_(\d+)_crown`, 0, usual(func(u Usual) float64 { return u.Crown })}, // from memory
	{`ash_(\d+)_root`, 0, usual(func(u Usual) float64 { return u.Root })},
	{`ash_(\d+)_overall`, 0, usual(func(u Usual) float64 { return u.Overall })},
	{`ng_ext`, 0, fixed(AdequateShort)},
	{`post_seal_min`, 0, fixed(LeastApicalSeal)},
	{`post_seal_adv`, 0, fixed(AdvisedApicalSeal)},
}

func sForamen(t *testing.T, id []int, want float64) float64 {
	m := canalCase(sCanal, 16, false, 0).marks.Images[0].Canals[0].Marks
	apex := NewLine(m).At(1e9)
	axis := sCanal.pieces()[0]
	d := vec{apex.X, apex.Y, 0}.sub(axis.p).mul(1 / pxPerMM)
	if want < 10 {
		return math.Abs(d.dot(axis.f2))
	}
	return d.dot(axis.t)
}

func moderateItems(t *testing.T, id []int, want float64) float64 {
	items := make([]string, int(want)+1)
	for i := range items {
		items[i] = "moderate"
	}
	if got := DifficultyOfCase(items[:int(want)]...); got != "moderate" {
		t.Errorf("%g moderate items make the case %s", want, got)
	}
	if got := DifficultyOfCase(items...); got != "high" {
		t.Errorf("%g moderate items make the case %s", want+1, got)
	}
	return want
}

// reference is a row of testdata/reference_values.tsv.
type referenceRow struct {
	id, source, status string
	value, half        float64
}

func references(t *testing.T) []referenceRow {
	t.Helper()
	f, err := os.Open("testdata/reference_values.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var rows []referenceRow
	lines := bufio.NewScanner(f)
	lines.Scan() // the header
	for lines.Scan() {
		c := strings.Split(lines.Text(), "\t")
		v, err := strconv.ParseFloat(c[2], 64)
		if err != nil || len(c) != 7 || c[5] == "" || c[6] == "" {
			t.Fatalf("row %q: %v", lines.Text(), err)
		}
		_, decimals, _ := strings.Cut(c[2], ".")
		rows = append(rows, referenceRow{c[0], c[5], c[6], v, 0.5001 * math.Pow10(-len(decimals))})
	}
	return rows
}

func TestReferenceValues(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.id, func(t *testing.T) {
			for _, c := range checks {
				m := regexp.MustCompile(`^` + c.pattern + `$`).FindStringSubmatch(r.id)
				if m == nil {
					continue
				}
				if c.value == nil {
					return
				}
				id := make([]int, len(m)-1)
				for i := range id {
					id[i], _ = strconv.Atoi(m[i+1])
				}
				tolerance := c.tolerance
				if tolerance == 0 {
					tolerance = r.half
				}
				if got := c.value(t, id, r.value); !(math.Abs(got-r.value) <= tolerance) {
					t.Errorf("%.6f, want %g within %.1g (%s; %s)", got, r.value, tolerance, r.source, r.status)
				}
				return
			}
			t.Error("no check uses this value")
		})
	}
}

// The shifts of the reference values, d·tan φ with the detector fixed, are put
// in as marks; what comes out must be the depth d.
func TestShiftGivesDepth(t *testing.T) {
	n := 0
	for _, r := range references(t) {
		var depth, angle float64
		if _, err := fmt.Sscanf(strings.ReplaceAll(r.id, "_", " "), "shift %g %g", &depth, &angle); err != nil {
			continue
		}
		n++
		if got := depthFromShift(t, r.value, angle); math.Abs(got-depth) > 3*r.half/math.Tan(angle/degrees) {
			t.Errorf("%s: a shift of %g mm at %g° gives %.4f mm, want %g", r.id, r.value, angle, got, depth)
		}
	}
	if n != 5 {
		t.Errorf("%d shifts in the table, want 5", n)
	}
}

// With the detector turned with the beam, a point at X = 1.2, d = 3 is seen at
// rot_s1 under −10° and at rot_s2 under 15°. Seen from the first beam the
// second is turned by 25°; depth and place there, turned back by 10°, give d.
func TestTurnedDetectorGivesDepth(t *testing.T) {
	value := map[string]referenceRow{}
	for _, r := range references(t) {
		value[r.id] = r
	}
	b, problem := newBeam(View{AngleDeg: 25, Detector: DetectorTurned})
	if problem != "" {
		t.Fatal(problem)
	}
	x, p := value["rot_s1"].value, -10/degrees
	depth := b.depth(x, value["rot_s2"].value)
	if got, want := x*math.Sin(p)+depth*math.Cos(p), value["rot_d"].value; math.Abs(got-want) > 3e-4 {
		t.Errorf("depth %.5f, want %g", got, want)
	}
}
