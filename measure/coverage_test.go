package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
)

// A trial case: marks at their true places, and the true values of the
// findings by "image/of/what".
type truthCase struct {
	name  string
	marks Marks
	truth map[string]float64
}

// pxPerMM is the scale of the synthetic images.
const pxPerMM = 20.0

// idealCanal is a straight part of length l mm, then arcs of given angles
// (degrees, positive to the right) and radii (mm).
type idealCanal struct {
	l    float64
	arcs [][2]float64
}

func (c idealCanal) pieces() arcs {
	line := piece{p: vec{300, 100, 0}, t: vec{0.1, 1, 0}.unit(), f3: vec{0, 0, 1}, length: c.l * pxPerMM}
	line.f2 = line.t.left()
	a := arcs{line}
	for _, x := range c.arcs {
		last := a[len(a)-1]
		p := last.at(last.length)
		p.k2, p.length = 1/(x[1]*pxPerMM), math.Abs(x[0])/degrees*x[1]*pxPerMM
		if x[0] < 0 {
			p.k2 = -p.k2
		}
		a = append(a, p)
	}
	return a
}

func (c idealCanal) length() float64 {
	sum := 0.0
	for _, p := range c.pieces() {
		sum += p.length
	}
	return sum
}

// marks returns n marks evenly along the canal; with a mark at the start of
// the curve when start is set, whose index is returned.
func (c idealCanal) marks(n int, start bool) ([]Point, *int) {
	total, a := c.length(), c.pieces()
	var out []Point
	at := func(s float64) {
		p, _ := a.at(s)
		out = append(out, Pt(p.x, p.y))
	}
	if !start {
		for i := range n {
			at(total * float64(i) / float64(n-1))
		}
		return out, nil
	}
	k := max(1, int(math.Round(float64(n-1)*a[0].length/total)))
	k = min(k, n-2)
	for i := range k {
		at(a[0].length * float64(i) / float64(k))
	}
	for i := range n - k {
		at(a[0].length + (total-a[0].length)*float64(i)/float64(n-1-k))
	}
	return out, &k
}

func ptr[T any](v T) *T { return &v }

// canalCase is an image with a straight file of 21 mm and one canal.
func canalCase(c idealCanal, n int, start bool, u float64) truthCase {
	marks, at := c.marks(n, start)
	th, r := math.Abs(c.arcs[0][0]), c.arcs[0][1]
	of := "pre/canal 46 ML/"
	curved := c.length()/pxPerMM - c.l
	axis := c.pieces()[0].t
	apex, _ := c.pieces().at(c.length())
	offset := 1.0
	t := truthCase{
		name: fmt.Sprintf("l%g th%g r%g n%d start %v u%g", c.l, th, r, n, start, u),
		marks: Marks{Version: 1, Images: []ImageMarks{{
			ID:          "pre",
			Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 21, UMM: ptr(u), Marks: []Point{Pt(50, 60), Pt(50, 270), Pt(50, 480)}}},
			Canals:      []Canal{{Tooth: "46", Name: "ML", Marks: marks, CurveStart: at, OffsetMM: &offset, EALMM: ptr(c.length() / pxPerMM)}},
		}}},
		truth: map[string]float64{
			"pre/image/scale": 1 / pxPerMM,
			of + "length":     c.length() / pxPerMM, of + "working_length": c.length()/pxPerMM - 1, of + "eal_difference": 0,
			of + "schneider_angle": th / 2, of + "weine_angle": th, of + "pruett_angle": th, of + "pruett_radius": r,
			of + "max_curvature": 1 / r, of + "curve_start_from_apex": curved, of + "curved_length": curved, of + "curve_start_from_orifice": c.l,
			of + "max_curvature_from_apex": curved / 2,
			of + "access_angle":            axis.angleTo(apex.sub(c.pieces()[0].p)) * degrees,
		},
	}
	if len(c.arcs) > 1 {
		t.truth[of+"second_angle"], t.truth[of+"second_radius"] = math.Abs(c.arcs[1][0]), c.arcs[1][1]
		delete(t.truth, of+"schneider_angle")
		delete(t.truth, of+"max_curvature_from_apex")
		delete(t.truth, of+"max_curvature")
	}
	return t
}

// ellipseCase is an image with an exact scale and one elliptic lesion with the
// full axes a and b mm, marked at n places evenly in the parameter, jittered.
func ellipseCase(a, b float64, n int) truthCase {
	marks := make([]Point, n)
	turn := 0.7
	for i := range marks {
		t := 2*math.Pi*float64(i)/float64(n) + 0.3*math.Sin(5*float64(i))/float64(n)*6
		x, y := a/2*pxPerMM*math.Cos(t), b/2*pxPerMM*math.Sin(t)
		marks[i] = Pt(500+x*math.Cos(turn)-y*math.Sin(turn), 400+x*math.Sin(turn)+y*math.Cos(turn))
	}
	of := "pre/lesion 46 D/"
	return truthCase{
		name: fmt.Sprintf("ellipse %gx%g n%d", a, b, n),
		marks: Marks{Version: 1, Images: []ImageMarks{{
			ID:          "pre",
			Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 21, UMM: ptr(0.0), Marks: []Point{Pt(50, 60), Pt(50, 480)}}},
			Lesions:     []Lesion{{Tooth: "46", Name: "D", Outline: marks}},
		}}},
		truth: map[string]float64{
			of + "area": math.Pi * a * b / 4, of + "longest_diameter": a, of + "perpendicular_diameter": b,
			of + "equivalent_diameter": math.Sqrt(a * b),
		},
	}
}

// spaceCanal is a straight part and an arc in space: it starts at the depth z
// and its arc bends in a plane turned by the given angle about the axis.
type spaceCanal struct{ x, z, tilt, l, angle, radius, plane float64 }

func (c spaceCanal) pieces() arcs {
	line := piece{p: vec{c.x, 5, c.z}, t: vec{math.Sin(c.tilt / degrees), math.Cos(c.tilt / degrees), 0}, length: c.l}
	line.f2 = line.t.left()
	line.f3 = vec{0, 0, 1}
	arc := line.at(c.l)
	k := 1 / c.radius
	arc.k2, arc.k3 = k*math.Cos(c.plane/degrees), k*math.Sin(c.plane/degrees)
	arc.length = c.angle / degrees * c.radius
	return arcs{line, arc}
}

// viewCase shows canals in two views, with n marks each, the click given.
func viewCase(canals []spaceCanal, alpha float64, detector string, n int, click float64, start bool) truthCase {
	t := truthCase{name: fmt.Sprintf("views %g° %s n%d click %g start %v %v", alpha, detector, n, click, start, canals), truth: map[string]float64{}}
	b, _ := newBeam(View{AngleDeg: alpha, Detector: detector})
	im := [2]ImageMarks{{ID: "a"}, {ID: "b"}}
	for k := range im {
		im[k].Calibration = []Calibration{{Kind: CalibrationDistance, LengthMM: 20, UMM: ptr(0.0), Marks: []Point{Pt(10, 10), Pt(10, 10+20*pxPerMM)}}}
	}
	for i, c := range canals {
		a := c.pieces()
		total := a[0].length + a[1].length
		name := string(rune('A' + i))
		canal := [2]Canal{{Tooth: "46", Name: name}, {Tooth: "46", Name: name}}
		for j := range n {
			s := total * float64(j) / float64(n-1)
			if k := int(math.Round(float64(n-1) * c.l / total)); start && j == k {
				s = c.l
				canal[0].CurveStart, canal[1].CurveStart = ptr(j), ptr(j)
			}
			p, _ := a.at(s)
			canal[0].Marks = append(canal[0].Marks, Point{p.x * pxPerMM, p.y * pxPerMM, click})
			if j > 0 && j < n-1 { // other places in the second view
				p, _ = a.at(s + 0.3*total/float64(n)*math.Sin(float64(j)))
			}
			canal[1].Marks = append(canal[1].Marks, Point{(b.across*p.x + b.deep*p.z) * pxPerMM, p.y * pxPerMM, click})
		}
		for k := range im {
			im[k].Canals = append(im[k].Canals, canal[k])
		}
		t.truth["a, b/canal 46 "+name+"/true_angle"] = c.angle / 2
	}
	if len(canals) == 2 && canals[0].angle == canals[1].angle {
		t.truth["a, b/canals 46 A, B/depth_separation"] = canals[0].z - canals[1].z
	}
	t.marks = Marks{Version: 1, Images: im[:], Views: []View{{Images: [2]string{"a", "b"}, AngleDeg: alpha, Detector: detector}}}
	return t
}

// noisy returns the marks of the case with click noise on every mark, and the
// known lengths and readings drawn about their true values.
func (t truthCase) noisy(r *rand.Rand) Marks {
	m := t.marks
	m.Images = append([]ImageMarks{}, m.Images...)
	shake := func(p []Point) []Point {
		out := make([]Point, len(p))
		for i, q := range p {
			out[i] = Point{q.X + q.StdUnc()*r.NormFloat64(), q.Y + q.StdUnc()*r.NormFloat64(), q.U}
		}
		return out
	}
	for i, im := range m.Images {
		im.Calibration = append([]Calibration{}, im.Calibration...)
		for k := range im.Calibration {
			c := &im.Calibration[k]
			c.Marks = shake(c.Marks)
			c.LengthMM += *c.UMM * r.NormFloat64()
		}
		im.Canals = append([]Canal{}, im.Canals...)
		for k := range im.Canals {
			c := &im.Canals[k]
			c.Marks = shake(c.Marks)
			if c.EALMM != nil {
				c.EALMM = ptr(*c.EALMM + DefaultEAL*r.NormFloat64())
			}
		}
		im.Lesions = append([]Lesion{}, im.Lesions...)
		for k := range im.Lesions {
			im.Lesions[k].Outline = shake(im.Lesions[k].Outline)
		}
		im.Fillings = append([]Filling{}, im.Fillings...)
		for k := range im.Fillings {
			p := shake([]Point{im.Fillings[k].Tip, im.Fillings[k].Apex})
			im.Fillings[k].Tip, im.Fillings[k].Apex = p[0], p[1]
			im.Fillings[k].Widths = append([][2]Point{}, im.Fillings[k].Widths...)
			for j, x := range im.Fillings[k].Widths {
				q := shake(x[:])
				im.Fillings[k].Widths[j] = [2]Point{q[0], q[1]}
			}
		}
		im.Obstructions = append([]Obstruction{}, im.Obstructions...)
		for k := range im.Obstructions {
			im.Obstructions[k].Marks = shake(im.Obstructions[k].Marks)
			im.Obstructions[k].Sides = shake(im.Obstructions[k].Sides)
		}
		im.Posts = append([]Post{}, im.Posts...)
		for k := range im.Posts {
			p := &im.Posts[k]
			p.Marks = shake(p.Marks)
			for _, m := range []**Point{&p.Top, &p.Margin, &p.Apex} {
				if *m != nil {
					*m = &shake([]Point{**m})[0]
				}
			}
		}
		m.Images[i] = im
	}
	m.Recalls = append([]Recall{}, m.Recalls...)
	for i := range m.Recalls {
		pairs := append([][2]Point{}, m.Recalls[i].Pairs...)
		for k := range pairs {
			p := shake(pairs[k][:])
			pairs[k] = [2]Point{p[0], p[1]}
		}
		m.Recalls[i].Pairs = pairs
		if r := m.Recalls[i]; r.Map != nil {
			m.Recalls[i].Map = shakenMap(*r.Map, *r.MapUPX, shake)
		}
	}
	return m
}

// shakenMap is a map that errs by u px about the lesion of recallCase: affine,
// from the corners of a square of twice its size.
func shakenMap(at Alignment, u float64, shake func([]Point) []Point) *Alignment {
	var pairs [][2]Point
	for _, c := range []Point{Pt(400, 300), Pt(600, 300), Pt(600, 500), Pt(400, 500)} {
		q := at.inverse().Map(c)
		c.U = u
		pairs = append(pairs, [2]Point{shake([]Point{c})[0], q})
	}
	out, err := Align(pairs, ModelAffine)
	if err != nil {
		panic(err)
	}
	return &out
}

// coverage is what trials of one finding gave.
type coverage struct {
	n, in, undefined int
	err, square, u   float64
}

func (t truthCase) run(trials int, seed uint64) map[string]*coverage {
	r := rand.New(rand.NewPCG(seed, 1))
	all := map[string]*coverage{}
	for range trials {
		for _, f := range Compute(t.noisy(r), Given{}) {
			key := f.Image + "/" + f.Of + "/" + f.What
			truth, ok := t.truth[key]
			if !ok {
				continue
			}
			c := all[key]
			if c == nil {
				c = &coverage{}
				all[key] = c
			}
			if !f.Defined() {
				c.undefined++
				continue
			}
			d := f.Value - truth
			c.n++
			c.err += d
			c.square += d * d
			c.u += f.StdUnc * f.StdUnc
			if math.Abs(d) <= f.Expanded() {
				c.in++
			}
		}
	}
	return all
}

func (c coverage) String() string {
	n := float64(c.n)
	return fmt.Sprintf("%5.1f %% of %d (%d undefined), bias %+.4f, rms %.4f, u %.4f", 100*float64(c.in)/n, c.n, c.undefined, c.err/n, math.Sqrt(c.square/n), math.Sqrt(c.u/n))
}

// coverageCases are the shapes of the coverage test.
func coverageCases() []truthCase {
	neighbours := []spaceCanal{{10, 0, 3, 10, 40, 8, 30}, {13, 2, 3, 10, 40, 8, 30}}
	return []truthCase{
		canalCase(idealCanal{10, [][2]float64{{40, 8}}}, 8, true, 0.25),
		canalCase(idealCanal{10, [][2]float64{{40, 8}}}, 8, false, 0.25),
		canalCase(idealCanal{10, [][2]float64{{20, 12}}}, 6, true, 0),
		canalCase(idealCanal{10, [][2]float64{{20, 12}}}, 6, false, 0),
		canalCase(idealCanal{12, [][2]float64{{60, 5}}}, 12, false, 0),
		canalCase(idealCanal{12, [][2]float64{{30, 6}}}, 5, true, 0.1),
		canalCase(idealCanal{12, [][2]float64{{30, 6}}}, 3, true, 0),
		canalCase(idealCanal{10, [][2]float64{{30, 10}}}, 40, false, 0),
		canalCase(idealCanal{10, [][2]float64{{30, 10}, {-40, 6}}}, 12, false, 0),
		ellipseCase(6, 4, 12), ellipseCase(5, 4.5, 24), ellipseCase(10, 7, 16), ellipseCase(5, 5, 20),
		recallCase(4, 0.1), recallCase(6, 0.1), recallCase(10, 0.25), mapCase(0.3), mapCase(0.05),
		neighbourCase(),
		viewCase(neighbours, 20, DetectorParallel, 8, 0.5, false),
		viewCase(neighbours, 20, DetectorTurned, 8, 0.5, true),
	}
}

// The expanded uncertainty (k = 2) must cover the truth in 93 to 98.5 % of
// trials, of each finding over all shapes; of each finding of one shape as far
// as so few trials can tell (three standard deviations of a binomial).
func TestIntervalsCoverTheTruth(t *testing.T) {
	const trials = 150
	var lock sync.Mutex
	all := map[string]*coverage{}
	t.Run("shapes", func(t *testing.T) {
		for _, c := range coverageCases() {
			t.Run(c.name, func(t *testing.T) {
				t.Parallel()
				got := c.run(trials, 7)
				lock.Lock()
				defer lock.Unlock()
				for key, g := range got {
					if slack := 3 * math.Sqrt(0.95*0.05/float64(g.n)); g.n > 50 && (g.share() < 0.93-slack || g.share() > 0.985+slack) {
						t.Errorf("%s: %v", key, g)
					}
					what := key[strings.LastIndex(key, "/")+1:]
					if all[what] == nil {
						all[what] = &coverage{}
					}
					all[what].add(g)
				}
				for key := range c.truth {
					if got[key] == nil {
						t.Errorf("no %s", key)
					}
				}
			})
		}
	})
	for what, g := range all {
		t.Logf("%-26s %v", what, g)
		if slack := math.Sqrt(0.95 * 0.05 / float64(g.n)); g.share() < 0.93-slack || g.share() > 0.985+slack {
			t.Errorf("%s: %v", what, g)
		}
	}
}

func (c coverage) share() float64 { return float64(c.in) / float64(c.n) }

func (c *coverage) add(d *coverage) {
	c.n, c.in, c.undefined = c.n+d.n, c.in+d.in, c.undefined+d.undefined
	c.err, c.square, c.u = c.err+d.err, c.square+d.square, c.u+d.u
}

func seeded(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 20251125)) }

// recallCase is a lesion before and a year later, smaller, on an image that is
// turned, scaled and shifted, with n pairs of marks.
func recallCase(n int, u float64) truthCase {
	before := ellipseCase(6, 4.5, 14).marks.Images[0]
	before.Calibration[0].UMM = ptr(u)
	before.Date = "2025-01-31"
	small := ellipseCase(5, 3.5, 12).marks.Images[0].Lesions[0]
	to := func(p Point) Point { // from the first image to the second
		s, c := math.Sincos(0.1)
		return Pt(40+1.05*(c*p.X-s*p.Y), 20+1.05*(s*p.X+c*p.Y))
	}
	for i, p := range small.Outline {
		small.Outline[i] = to(p)
	}
	after := ImageMarks{ID: "post", Date: "2026-01-31", Lesions: []Lesion{small}}
	r := Recall{Before: "pre", After: "post", Lesion: "D"}
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		p := Pt(500+250*math.Cos(a)+20*math.Sin(3*a), 400+250*math.Sin(a))
		r.Pairs = append(r.Pairs, [2]Point{p, to(p)})
	}
	of := "pre, post/lesion 46 D/"
	a0, a1 := math.Pi*6*4.5/4, math.Pi*5*3.5/4
	return truthCase{
		name:  fmt.Sprintf("recall %d pairs u%g", n, u),
		marks: Marks{Version: 1, Images: []ImageMarks{before, after}, Recalls: []Recall{r}},
		truth: map[string]float64{
			of + "area_change": a1 - a0, of + "area_change_percent": 100 * (a1/a0 - 1), of + "area_change_per_year": (a1 - a0) / (365 / 365.25),
			of + "diameter_change": -1, of + "diameter_change_percent": -100.0 / 6, of + "diameter_change_per_year": -1 / (365 / 365.25),
			"pre, post/image/alignment_residual": 2 * DefaultClick / pxPerMM * math.Sqrt(1+1/(1.05*1.05)) / math.Sqrt2,
		},
	}
}

// mapCase is recallCase with a map made from the images, which errs by u px in
// each direction, instead of pairs.
func mapCase(u float64) truthCase {
	t := recallCase(4, 0.1)
	pairs := t.marks.Recalls[0].Pairs
	at, err := Align(pairs, ModelSimilarity)
	if err != nil {
		panic(err)
	}
	t.name = fmt.Sprintf("recall by a map, u %g px", u)
	t.marks.Recalls = []Recall{{Before: "pre", After: "post", Map: &at, MapUPX: &u, Model: ModelSimilarity}}
	delete(t.truth, "pre, post/image/alignment_residual")
	return t
}

// neighbourCase is two canals that run beside each other at 2 mm and join, a
// filling and an obstruction in the first.
func neighbourCase() truthCase {
	mm := func(x, y float64) Point { return Pt(300+x*pxPerMM, 100+y*pxPerMM) }
	along := func(x0, y0, x1, y1 float64, n int) (out []Point) {
		for i := range n {
			t := float64(i) / float64(n-1)
			out = append(out, mm(x0+t*(x1-x0), y0+t*(y1-y0)))
		}
		return out
	}
	of := "pre/"
	// D comes in at a slant, bends about (30, 10) with a radius of 20 mm and is
	// one with C from there on.
	slant := 17 / degrees
	var joining []Point
	for i := range 5 {
		s := 6 - 1.5*float64(i)
		joining = append(joining, mm(30-20*math.Cos(slant)+s*math.Sin(slant), 10-20*math.Sin(slant)-s*math.Cos(slant)))
	}
	for i := range 3 {
		a := slant * float64(2-i) / 3
		joining = append(joining, mm(30-20*math.Cos(a), 10-20*math.Sin(a)))
	}
	joining = append(joining, along(10, 12, 10, 16, 3)...)
	return truthCase{
		name: "neighbours",
		marks: Marks{Version: 1, Images: []ImageMarks{{
			ID:          "pre",
			Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 21, UMM: ptr(0.1), Marks: []Point{Pt(50, 60), Pt(50, 480)}}},
			Canals: []Canal{
				{Tooth: "46", Name: "A", Orifice: 1, Marks: along(0, 0, 0, 16, 9)},
				{Tooth: "46", Name: "B", Orifice: 1, Marks: along(2, 0, 2, 16, 7)},
				{Tooth: "36", Name: "C", Marks: along(10, 0, 10, 16, 9)},
				{Tooth: "36", Name: "D", Marks: joining},
			},
			Fillings:     []Filling{{Tooth: "46", Canal: "A", Tip: mm(0, 15), Apex: mm(0, 16), Widths: [][2]Point{{mm(-0.2, 14), mm(0.2, 14)}, {mm(-0.3, 10), mm(0.3, 10)}, {mm(-0.4, 6), mm(0.4, 6)}}}, {Tooth: "46", Canal: "B", Tip: mm(2, 17.2), Apex: mm(2, 16)}},
			Obstructions: []Obstruction{{Tooth: "46", Canal: "A", Kind: ObstructionInstrument, Marks: along(0, 8, 0, 11, 3), Sides: []Point{mm(-1.5, 9)}}},
			Posts:        []Post{{Tooth: "46", Canal: "A", Marks: []Point{mm(0, 1), mm(0, 9)}, Margin: ptr(mm(0, 2)), Top: ptr(mm(0, -4)), Apex: ptr(mm(0, 16))}},
		}}},
		truth: map[string]float64{
			of + "canals 46 A, B/canal_distance":       2,
			of + "canals 36 C, D/confluence_from_apex": 6 + math.Sqrt(20.3*20.3-20*20), // where D is 0.3 mm away
			of + "filling 46 A/filling_to_apex":        1, of + "filling 46 B/filling_to_apex": -1.2,
			of + "filling 46 A/filling_ratio": 15.0 / 16, of + "filling 46 A/filling_taper": 0.05,
			of + "instrument 46 A/obstruction_length": 3, of + "instrument 46 A/obstruction_depth": 6, of + "instrument 46 A/obstruction_to_apex": 5,
			of + "instrument 46 A/obstruction_to_canal": 2, of + "instrument 46 A/dentine_1": 1.5,
			of + "post 46 A/post_length": 8, of + "post 46 A/post_to_root": 0.5, of + "post 46 A/post_to_crown": 7.0 / 6, of + "post 46 A/apical_seal": 6,
		},
	}
}
