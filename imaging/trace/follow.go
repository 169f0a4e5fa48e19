package trace

import "math"

// centre is a line on the axis of a ridge, and what is known about it at each
// place, a pixel apart.
type centre struct {
	line       curve
	unc        []float64 // standard uncertainty across the line, px
	confidence []float64
	half       []float64 // half-width of the ridge, px
	reach      float64   // over how many pixels the line averages
	plain      float64   // mean strength of the ridge in units of its background
	stray      float64   // how far it passes the marks, over what is allowed
	cautions   []string
}

// follower moves a line onto the axis of a ridge. The line is counted as
// offsets from a much smoother reference, so that what is held down is the
// bending of the line itself, not of its last correction.
type follower struct {
	t         *Map
	ref       curve
	normal    []vec
	blocks    blocks
	offset    []float64 // of the line from ref, at each place
	seen      measured
	templates []template
	fit       smooth
}

func newFollower(t *Map, c curve) *follower {
	f := &follower{t: t}
	f.rebase(c)
	return f
}

// rebase makes a new reference for the line c.
func (f *follower) rebase(c curve) {
	f.ref = c.reference()
	f.blocks = newBlocks(len(f.ref))
	f.seen.half = stretched(f.seen.half, f.blocks.n)
	f.normal, f.offset = make([]vec, len(f.ref)), make([]float64, len(f.ref))
	hint := 0.0
	for i, p := range f.ref {
		d := f.ref.tangent(i)
		f.normal[i] = vec{-d.y, d.x, 0}
		hint = c.nearestAfter(p, hint)
		f.offset[i] = c.at(hint).sub(p).dot(f.normal[i])
	}
}

// stretched returns n values in place of those along a line.
func stretched(v []float64, n int) []float64 {
	if len(v) == 0 {
		return nil
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = v[i*len(v)/n]
	}
	return out
}

// line returns the places of the line.
func (f *follower) line() curve {
	c := make(curve, len(f.ref))
	for i, p := range f.ref {
		c[i] = p.add(f.offset[i], f.normal[i])
	}
	return c
}

// turns is how often each kind of step is taken, and whether templates are made
// anew on the way and other canals that overlap are looked for at last.
type turns struct {
	probe, seek, match int
	thorough           bool
}

// By trial: more move a line by less than a tenth of its uncertainty.
var (
	careful = turns{probe: 3, seek: 3, match: 5, thorough: true}
	quick   = turns{probe: 2, seek: 2, match: 1}
)

// refine moves a line onto the axis of the ridge it follows: first by probes
// that see it from afar, then by templates that make the most of its edges.
func (t *Map) refine(c curve, n turns) centre {
	f := newFollower(t, c)
	f.refineWith(n)
	m := f.centre()
	if n.thorough {
		f.doubts(&m)
	}
	return m
}

func (f *follower) refineWith(n turns) {
	p := probes(1.1*math.Sqrt(float64(f.t.factor)), 10*float64(f.t.factor))
	for range n.probe {
		f.settle(probed(f.strip(3*wider*roundness*p[len(p)-1].half+2), p))
	}
	f.rebase(f.line())
	for turn := range n.seek + n.match {
		fresh := turn == 0 || n.thorough && turn%2 == 0
		if !f.match(turn < n.seek, fresh) {
			break // nothing but the ridge: the probes' line is as good as any
		}
	}
}

// strip straightens the picture along the line, so far to both sides.
func (f *follower) strip(half float64) *strip {
	return f.t.straighten(f.line(), f.normal, f.blocks, int(half))
}

// match makes a step with templates, which fresh makes anew from what lies
// around the line. Seeking, the line may move far, and keeps to what long
// stretches agree on.
func (f *follower) match(seek, fresh bool) bool {
	most := 0.0
	for _, h := range f.seen.half {
		most = max(most, h)
	}
	s := f.strip(3.5*most + 8) // as far as the widest template, sought half its half-width away
	if fresh {
		f.templates = newBackground(s, min(int(2.5*most)+6, s.half)).templates(f.seen.half)
	}
	if f.templates == nil {
		return false
	}
	pick := fitting(s, f.templates, f.seen.half)
	if seek {
		f.keep(sought(s, f.templates, pick))
	} else {
		f.settle(matched(s, f.templates, pick))
	}
	return true
}

// settle moves the line to the smoothing spline through what was measured.
func (f *follower) settle(m measured) {
	f.seen = m
	f.fit = m.smoothed(f.blocks.mean(f.offset), f.blocks)
	f.offset = f.blocks.spread(f.fit.value)
}

// keep moves the line likewise, at a fixed stiffness: the offsets that sought
// returns are already averages, and say nothing about their scatter.
func (f *follower) keep(m measured) {
	f.seen = m
	y := f.blocks.mean(f.offset)
	mean := 0.0
	for i := range y {
		y[i] += m.offset[i]
		mean += m.weight[i] / float64(len(y))
	}
	if len(y) > order+2 {
		y, _, _, _ = smoothAt(y, m.weight, stiffness(2*steady, mean))
	}
	f.offset = f.blocks.spread(y)
}

// leastBright is the standard uncertainty in px across a bright line however
// plain it is: the walls of the canal around it are not alike on both sides (by
// trial on phantoms with a file in a canal: 0.2–0.4 px root mean square).
const leastBright = 0.2

func (f *follower) centre() centre {
	unc := f.blocks.spread(f.fit.variance)
	least := 0.0
	if f.t.bright {
		least = leastBright
	}
	for i, v := range unc {
		unc[i] = math.Hypot(math.Sqrt(max(v, 0)), least)
	}
	confidence := f.blocks.spread(f.seen.confidence())
	for i, v := range confidence {
		confidence[i] = min(max(v, 0), 1)
	}
	plain := 0.0
	for _, z := range f.seen.ridge {
		plain += z / float64(len(f.seen.ridge))
	}
	return centre{plain: plain, line: f.line(), unc: unc, confidence: confidence, half: f.blocks.spread(f.seen.half), reach: f.fit.reach * f.blocks.length()}
}
