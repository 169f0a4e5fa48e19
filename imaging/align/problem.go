package align

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"rootrule/imaging"
	"rootrule/measure"
)

// problem is a pair of pictures to be aligned.
type problem struct {
	o             Options
	before, after *imaging.Image
	a, b          pyramid
	scale         float64            // takes sizes after to sizes before, as far as the files state their pixels
	alike         float64            // the most that any attempt found alike
	pairs         [][2]measure.Point // in the mirrored picture, where that is asked for
}

// answer is a map with what speaks for it.
type answer struct {
	refined
	t         *template
	fine      likeness
	bad       []int // pairs
	pairsOnly bool
}

func newProblem(before, after *imaging.Image, o Options) *problem {
	p := &problem{o: o, before: before, after: after, pairs: o.Pairs, scale: statedScale(before, after)}
	if o.Flip {
		p.pairs = mirroredPairs(o.Pairs, after.Width)
	}
	p.a, p.b = newPyramid(before, false, o.Exclude), newPyramid(after, o.Flip, nil)
	levels := min(len(p.a), len(p.b))
	p.a, p.b = p.a[:levels], p.b[:levels]
	return p
}

// statedScale is how much larger an object is in pixels of the earlier picture
// than in those of the later one, where both files state their pixels.
func statedScale(before, after *imaging.Image) float64 {
	a, b := before.Spacing, after.Spacing
	k := b.RowMM / a.RowMM
	if !a.Stated() || !b.Stated() || !(k > 0.25 && k < 4) { // beyond: a mistaken tag
		return 1
	}
	return k
}

// solve finds the map, or says why there is none.
func (p *problem) solve(ctx context.Context) (answer, error) {
	if mirrored(p.pairs, p.after.Width) {
		return answer{}, refuse(ErrMirrored, p.mirroredText("the pairs lie the other way round"))
	}
	r, ok := p.attempt(ctx, p.b, p.starts())
	if err := ctx.Err(); err != nil {
		return answer{}, err
	}
	if ok {
		return r, p.check(&r)
	}
	if len(p.pairs) >= leastPairs {
		return p.byPairs()
	}
	flipped := newPyramid(p.after, !p.o.Flip, nil)[:len(p.b)]
	top := len(p.a) - 1
	if _, ok := p.attempt(ctx, flipped, search(p.a[top], flipped[top], p.scale)); ok {
		return answer{}, refuse(ErrMirrored, p.mirroredText("they match when it is mirrored"))
	}
	if err := ctx.Err(); err != nil {
		return answer{}, err
	}
	return answer{}, refuse(ErrUnrelated, fmt.Sprintf("the two images do not look like the same tooth (%.0f %% of their fine structure agrees, %.0f %% is needed): check that they belong together, or mark at least %d pairs",
		100*p.alike, 100*leastAlike, leastPairs))
}

func (p *problem) mirroredText(why string) string {
	if p.o.Flip {
		return "the second image is not mirrored against the first: " + why + ": take it as it is"
	}
	return "one of the images is mirrored left to right: " + why + ": check which one, and flip it"
}

// starts are the maps to begin with.
func (p *problem) starts() []start {
	top := len(p.a) - 1
	all := search(p.a[top], p.b[top], p.scale)
	if len(p.pairs) >= 2 {
		if m, err := fitPairs(p.pairs, p.o.Model); err == nil {
			all = slices.Insert(all, 0, start{h: m.h.scaled(p.a[top].step)})
		}
	}
	return all
}

// attempt registers the pictures and tests whether they are alike.
func (p *problem) attempt(ctx context.Context, b pyramid, starts []start) (answer, bool) {
	first := min(kept, len(starts))
	r, ok := p.attemptFrom(ctx, b, starts[:first])
	if !ok && first < len(starts) && ctx.Err() == nil {
		r, ok = p.attemptFrom(ctx, b, starts[first:])
	}
	return r, ok
}

func (p *problem) attemptFrom(ctx context.Context, b pyramid, starts []start) (answer, bool) {
	r, t, ok := register(ctx, p.a, b, p.o.Model, starts)
	if !ok {
		return answer{}, false
	}
	l := 0
	for l+1 < len(p.a) && min(p.a[l+1].w, p.a[l+1].h) >= fineSide {
		l++
	}
	h := r.h.scaled(p.a[l].step / t.step)
	fine := compareFine(p.a[l], b[l], &h)
	p.alike = max(p.alike, fine.part)
	return answer{refined: r, t: t, fine: fine}, fine.part >= leastAlike && fine.cover >= leastCover
}

// check refuses a map that is too oblique, and checks the pairs against it.
func (p *problem) check(r *answer) error {
	h := r.h.scaled(1 / r.t.step)
	if why := oblique(&h, float64(p.before.Width-1), float64(p.before.Height-1)); why != "" {
		return refuse(ErrOblique, why)
	}
	r.bad = badPairs(p.pairs, h.inverse())
	return nil
}

// byPairs is the map of the pairs alone.
func (p *problem) byPairs() (answer, error) {
	t := newTemplate(p.a[0], blockSide(0, len(p.a)))
	r, bad, err := fromPairs(t, p.pairs, p.o.Model)
	if err != nil {
		return answer{}, err
	}
	a := answer{refined: r, t: t, pairsOnly: true}
	err = p.check(&a)
	a.bad = bad
	return a, err
}

// result is what the caller gets.
func (p *problem) result(r answer) Result {
	h := r.h.scaled(1 / r.t.step).inverse() // after → before
	if p.o.Flip {
		h = h.after(mirror(p.after.Width)).normal()
	}
	res := Result{
		Model: p.o.Model, Matrix: h, BadPairs: r.bad, width: p.before.Width, height: p.before.Height,
		fit: r.fit, step: r.t.step, covariance: r.fit.covariance, misfit: r.fit.misfit * r.t.step,
	}
	if r.pairsOnly {
		p.pairsResult(&res, r)
		return res
	}
	res.Regions = res.regions(r.moves)
	res.Residual = res.residual()
	res.Changed = res.changed(r.t, r.moves)
	for _, i := range r.bad {
		res.Cautions = append(res.Cautions, p.badPairText(i, h))
	}
	if r.fine.cover < 0.7 { // of the earlier picture; chosen
		res.Cautions = append(res.Cautions, fmt.Sprintf("the images have only %.0f %% in common", 100*r.fine.cover))
	}
	return res
}

func (p *problem) badPairText(i int, h homography) string {
	q := p.o.Pairs[i]
	return fmt.Sprintf("pair %d misses the map by %.1f px: check it", i+1, h.point(q[1]).Dist(q[0]))
}

// pairsResult completes a map that rests on pairs alone: the residual is that
// of the pairs, and with it the map's uncertainty.
func (p *problem) pairsResult(res *Result, r answer) {
	if res.misfit = 0; r.fit.model != measure.ModelProjective {
		res.Model = measure.ModelAffine // a similarity is one
	}
	res.Residual = pairSpread(p.usedPairs(r.bad), r.fit.model)
	res.Cautions = append(res.Cautions, "the images themselves do not confirm the map: it rests on the marked pairs alone")
	for _, i := range r.bad {
		res.Cautions = append(res.Cautions, p.badPairText(i, homography(res.Matrix)))
	}
}

func (p *problem) usedPairs(bad []int) [][2]measure.Point {
	used := p.pairs
	for i := len(bad) - 1; i >= 0; i-- {
		used = without(used, bad[i])
	}
	return used
}

// IsMirrored reports whether an error of [Images] says that one picture is
// mirrored, so that [Options].Flip would help.
func IsMirrored(err error) bool { return errors.Is(err, ErrMirrored) }
