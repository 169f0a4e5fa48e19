package align

import (
	"context"
	"math"

	"rootrule/measure"
)

// refined is a map at one resolution with what the blocks say about it.
type refined struct {
	h     homography // pixels of the template → pixels of the other picture
	moves []move
	fit   *consensus
}

// refine improves a map at one resolution until it moves by less than
// tolerance px of the template, at the farthest corner.
func refine(t *template, other *picture, h homography, model string, rounds int, tolerance float64) (refined, bool) {
	w, ht := float64(t.w-1), float64(t.h-1)
	r := refined{h: h}
	misfit := 0.3 // px of the template; of a map not yet good
	for range rounds {
		r.moves = t.moves(other, &r.h)
		for i := range r.moves {
			r.moves[i].weight = 1
		}
		r.fit = newConsensus(t, model)
		r.fit.misfit = misfit
		setPriors(r.moves, t)
		if !r.fit.fit(r.moves) {
			return r, false
		}
		misfit = math.Max(r.fit.misfit, leastMisfit)
		next := r.h.after(r.fit.step().inverse()).normal()
		if !next.finite(w, ht) {
			return r, false
		}
		moved := next.farthest(&r.h, w, ht)
		r.h = next
		if moved < tolerance {
			break
		}
	}
	return r, true
}

// agreement is how well the blocks of the two pictures look alike: the mean
// over the template's blocks of the correlation, each counted by its say.
func (r *refined) agreement(t *template) float64 {
	s := 0.0
	for i := range r.moves {
		m := &r.moves[i]
		s += m.weight * m.like * m.part
	}
	return s / float64(t.nx*t.ny)
}

// blockSide is the side of a block, px of each resolution.
func blockSide(level, levels int) int {
	switch levels - 1 - level {
	case 0:
		return 10
	case 1:
		return 14
	case 2:
		return 20
	}
	return 32
}

// register finds the map from before to after through all resolutions.
func register(ctx context.Context, before, after pyramid, model string, starts []start) (refined, *template, bool) {
	levels := min(len(before), len(after))
	top := levels - 1
	t := newTemplate(before[top], blockSide(top, levels))
	best, found := refined{}, false
	bestScore := -1.0
	for _, s := range starts {
		r, ok := refine(t, after[top], s.h, measure.ModelSimilarity, 6, 0.2)
		if !ok {
			continue
		}
		if q, better := refine(t, after[top], r.h, measure.ModelAffine, 6, 0.1); better {
			r = q
		}
		if score := r.agreement(t); score > bestScore {
			best, bestScore, found = r, score, true
		}
	}
	if !found {
		return best, t, false
	}
	for l := top - 1; l >= 0; l-- {
		if ctx.Err() != nil {
			return best, t, false
		}
		pic := before[l]
		if l == 0 {
			pic = pic.toned(toneBetween(t, after[1], &best))
		}
		t = newTemplate(pic, blockSide(l, levels))
		t.toned = l == 0
		m, tolerance := model, 0.03
		if l == top-1 && l > 0 {
			m = measure.ModelAffine
		}
		if l == 0 {
			tolerance = 0.01
		}
		r, ok := refine(t, after[l], best.h.scaled(0.5), m, 8, tolerance)
		if !ok {
			return best, t, false
		}
		best = r
	}
	return best, t, true
}
