package outline

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"rootrule/measure"
)

// tally sums up trials of a kind.
type tally struct {
	n, refused, good, fair, covered int
	dice, bias                      float64
	worst                           float64
}

func (t *tally) String() string {
	k := t.found()
	return fmt.Sprintf("%4d clicks, %5.1f %% refused; mean Dice %.4f, worst %.3f, ≥ 0.97 in %5.1f %%, ≥ 0.95 in %5.1f %%; area %+.2f %%, covered %.1f %%",
		t.n, 100*float64(t.refused)/float64(max(t.n, 1)), t.dice/k, t.worst, 100*float64(t.good)/k, 100*float64(t.fair)/k, 100*t.bias/k, 100*float64(t.covered)/k)
}

// found is the number of outlines.
func (t *tally) found() float64 { return float64(max(t.n-t.refused, 1)) }

func (t *tally) part(n int) float64 { return float64(n) / t.found() }

func (t *tally) add(o Outline, err error, d, area float64) {
	if t.n == 0 {
		t.worst = 1
	}
	t.n++
	if err != nil {
		t.refused++
		return
	}
	t.dice += d
	t.bias += o.AreaPx2/area - 1
	t.worst = math.Min(t.worst, d)
	if d >= 0.97 {
		t.good++
	}
	if d >= 0.95 {
		t.fair++
	}
	if math.Abs(o.AreaPx2-area) <= measure.CoverageFactor*o.AreaStdUnc {
		t.covered++
	}
}

// trials is how many to run: few, or as many as ROOTRULE_TRIALS says.
func trials(few int) int {
	if n, err := strconv.Atoi(os.Getenv("ROOTRULE_TRIALS")); err == nil {
		return n
	}
	return few
}

// TestForms clicks into lesions of all forms. Of 200 clicks into 100 of them 4
// were refused, the mean Dice was 0.985, the area off by −0.3 % on average and
// covered in 93 %; 0.97 was missed in 11 %, mostly where the bone's texture is a
// fifth of the contrast or more.
func TestForms(t *testing.T) {
	n := trials(6)
	all := map[string]*tally{}
	var mu sync.Mutex
	count := func(key string, o Outline, err error, d, area float64) {
		if all[key] == nil {
			all[key] = new(tally)
		}
		all[key].add(o, err, d, area)
	}
	inTurn(n, func(i int) {
		s := newSurvey(uint64(i), true)
		m := s.paint(uint64(i))
		r := rand.New(rand.NewPCG(uint64(i), 33))
		truth, area := s.form.line(720), s.form.area()
		for range 2 {
			seed := s.seed(r)
			o, err := Lesion(m, seed, Options{})
			d := 0.0
			if err == nil {
				d = dice(drawn(o), truth)
			}
			mu.Lock()
			for _, key := range []string{"all", s.kind, band("texture", s.depth/s.texture, 3, 5, 10), band("overlap", s.overlap, 0.1, 0.25, 0.4),
				band("radius", math.Sqrt(area/math.Pi), 35, 60, 120), band("noise", 0.44*s.depth/s.noise, 2.5, 5, 15)} {
				count(key, o, err, d, area)
			}
			if s.floor {
				count("floor", o, err, d, area)
			}
			if err != nil {
				t.Logf("%4d %s seed (%.0f, %.0f): %v", i, s.note(), seed.X, seed.Y, err)
			} else if d < 0.97 {
				t.Logf("%4d %s seed (%.0f, %.0f): Dice %.3f, area %+.1f %%, confidence %.2f %v", i, s.note(), seed.X, seed.Y, d, 100*(o.AreaPx2/area-1), o.Confidence, o.Cautions)
			}
			mu.Unlock()
		}
	})
	var keys []string
	for k := range all {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		t.Logf("%-22s %v", k, all[k])
	}
	// Bone whose texture is a third of the lesion's contrast leaves no more.
	if a := all["all"]; a.part(a.good) < 0.8 || a.part(a.fair) < 0.93 || a.dice/a.found() < 0.975 || a.refused > a.n/12 {
		t.Errorf("all: %v; want at most 8 %% refused, a mean Dice of 0.975, 0.97 in 80 %% and 0.95 in 93 %%", a)
	}
}

func (s *survey) note() string {
	return fmt.Sprintf("%-9s r %3.0f edge %4.1f depth %.2f texture/ %4.1f noise/ %4.1f overlap %.2f floor %v", s.kind, math.Sqrt(s.form.area()/math.Pi), s.edge, s.depth, s.depth/s.texture, 0.44*s.depth/s.noise, s.overlap, s.floor)
}

func band(name string, v float64, at ...float64) string {
	parts := []string{name}
	for i, a := range at {
		if v < a {
			return fmt.Sprintf("%s %d < %.2g", strings.Join(parts, " "), i, a)
		}
	}
	return fmt.Sprintf("%s %d more", name, len(at))
}

// inTurn calls do for 0 to n−1, on all processors.
func inTurn(n int, do func(i int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wait.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}

// TestHealthyForms clicks where there is no lesion.
func TestHealthyForms(t *testing.T) {
	n, clicks := trials(3), 5
	accepted := 0
	var mu sync.Mutex
	inTurn(n, func(i int) {
		s := newSurvey(uint64(i), false)
		m := s.paint(uint64(i))
		r := rand.New(rand.NewPCG(uint64(i), 34))
		for range clicks {
			seed := measure.Pt(r.Float64()*float64(s.w-1), r.Float64()*float64(s.h-1))
			if o, err := Lesion(m, seed, Options{}); err == nil {
				mu.Lock()
				t.Logf("%d %s seed (%.0f, %.0f): radius %.0f px, confidence %.2f", i, s.note(), seed.X, seed.Y, math.Sqrt(o.AreaPx2/math.Pi), o.Confidence)
				accepted++
				mu.Unlock()
			}
		}
	})
	t.Logf("%d of %d accepted", accepted, n*clicks)
	if accepted > 1+n*clicks/50 {
		t.Errorf("%d of %d clicks outside lesions accepted, want at most 2 %%", accepted, n*clicks)
	}
}
