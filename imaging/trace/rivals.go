package trace

import (
	"math"
	"slices"
)

// rival is another ridge that runs beside a line for a while: a second canal,
// the ligament space, the border of a filling.
type rival struct {
	first int       // block
	off   []float64 // across the line at each block from there, px
	share []float64 // how strong it is beside the line's own ridge, 0 … 1
}

// last is the last block of a rival.
func (r *rival) last() int { return r.first + len(r.off) - 1 }

// By trial on phantoms of one and of two canals.
const (
	rivalReach = 5.0  // half-widths to either side of the line in which rivals are looked for
	rivalShare = 0.35 // of the line's own ridge, which a rival is as strong as at least
	rivalLeast = 1.5  // strength of a rival at least, in units of the background of a block
	rivalDrift = 2.5  // px across the line a rival moves at most, a block
	rivalShort = 4.0  // half-widths: shorter ones are texture
)

// rivals looks for ridges beside the line with the templates that found it.
func (f *follower) rivals() []rival {
	if f.templates == nil {
		return nil
	}
	most := slices.Max(f.seen.half)
	reach := int(rivalReach*most) + 2
	s := f.strip(float64(reach) + 2.2*most + 4)
	pick := fitting(s, f.templates, f.seen.half)
	score := make([][]float64, 2*reach+1)
	inBands(len(score), 8, func(from, to int) {
		for o := from; o < to; o++ {
			score[o] = make([]float64, s.rows)
			for b, k := range pick {
				score[o][b] = s.correlation(b, o-reach, f.templates[k].even) / f.templates[k].evenNoise
			}
			score[o] = averaged(score[o], 2)
		}
	})
	return f.tracked(score, reach)
}

// tracked joins the maxima of blocks one after the other to ridges.
func (f *follower) tracked(score [][]float64, reach int) []rival {
	var open, done []rival
	for b := range f.blocks.n {
		half := f.seen.half[b]
		next := maxima(score, b, reach, half)
		var kept []rival
		for _, r := range open {
			from := r.off[len(r.off)-1]
			k := -1
			for i, m := range next {
				if d := math.Abs(m[0] - from); d <= rivalDrift && (k < 0 || d < math.Abs(next[k][0]-from)) {
					k = i
				}
			}
			if k < 0 {
				done = append(done, r)
				continue
			}
			r.off, r.share = append(r.off, next[k][0]), append(r.share, next[k][1])
			next = slices.Delete(next, k, k+1)
			kept = append(kept, r)
		}
		for _, m := range next {
			kept = append(kept, rival{first: b, off: []float64{m[0]}, share: []float64{m[1]}})
		}
		open = kept
	}
	done = append(done, open...)
	return slices.DeleteFunc(done, func(r rival) bool {
		return float64(len(r.off))*f.blocks.length() < rivalShort*f.seen.half[r.first]
	})
}

// maxima returns where across block b ridges lie beside the line's own, and
// their share of its strength.
func maxima(score [][]float64, b, reach int, half float64) [][2]float64 {
	own := 1e-9
	for o := reach - int(half/2); o <= reach+int(half/2); o++ {
		own = max(own, score[o][b])
	}
	var out [][2]float64
	for o := 1; o < len(score)-1; o++ {
		v := score[o][b]
		off := float64(o - reach)
		if math.Abs(off) > 0.8*half && v >= score[o-1][b] && v > score[o+1][b] && v > rivalLeast && v > rivalShare*own {
			out = append(out, [2]float64{off, min(v/own, 1)})
		}
	}
	return out
}
