package jpegls

// runLengths is the table J of the orders of run-length codes (T.87 A.2.1).
var runLengths = [32]uint8{
	0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3,
	4, 4, 5, 5, 6, 6, 7, 7, 8, 9, 10, 11, 12, 13, 14, 15,
}

// plainLine decodes one line of one component. Both lines hold one more sample
// before and behind: Ra of the first sample is its Rb, Rc is the Ra that the
// line above began with, Rd of the last sample is its Rb (T.87 A.2.1, figure 3).
func (s *scan) plainLine(above, line []uint16, runIndex *int) {
	w := s.width
	above[w+1], line[0] = above[w], above[1]
	ra, rb, rc := int32(line[0]), int32(above[1]), int32(above[0])
	for x := 1; x <= w; x++ {
		rd := int32(above[x+1])
		q := s.gradients.of(rd-rb)*81 + s.gradients.of(rb-rc)*9 + s.gradients.of(rc-ra)
		if q == 0 {
			n := s.runLength(w+1-x, runIndex)
			fill(line[x:x+n], uint16(ra))
			if x += n; x > w {
				return
			}
			rb, rd = int32(above[x]), int32(above[x+1])
			ra = s.endOfRun(ra, rb, runIndex)
		} else {
			ra = s.sample(q, ra, rb, rc)
		}
		line[x] = uint16(ra)
		rc, rb = rb, rd
	}
}

func fill(run []uint16, v uint16) {
	for i := range run {
		run[i] = v
	}
}

// sample decodes a sample in regular mode (T.87 A.4 to A.6). q is the context
// 81·Q1 + 9·Q2 + Q3; a negative one stands for its mirror image (A.3.4).
func (s *scan) sample(q, ra, rb, rc int32) int32 {
	sign := q >> 31
	x := &s.regular[uint32((q^sign)-sign)%512]
	k := golombParameter(x.a, x.n)
	// Code segment A.5, whose three cases are one: Ra + Rb − Rc, held between
	// Ra and Rb. Then the correction (A.4.2).
	px := min(max(ra+rb-rc, min(ra, rb)), max(ra, rb))
	px = min(max(px+(x.c^sign)-sign, 0), s.maxVal)
	coded, ok := s.golomb(k, s.longest, s.qbpp)
	err := int32(coded>>1) ^ -int32(coded&1) // A.5.2, inverse of Code segment A.11
	if k == 0 && s.near == 0 && 2*x.b <= -x.n {
		err = ^err
	}
	if !ok || uint32(err+s.span) > uint32(2*s.span) {
		s.damaged, err = true, 0
	}
	x.update(err, s.step, s.reset)
	return s.reconstruct(px, (err^sign)-sign)
}

// reconstruct adds an error to a prediction, modulo RANGE, and clamps (T.87
// A.4.4, A.4.5, Code segments A.7 to A.9).
func (s *scan) reconstruct(px, err int32) int32 {
	v := px + err*s.step
	if v < -s.near {
		v += s.span * s.step
	} else if v > s.maxVal+s.near {
		v -= s.span * s.step
	}
	return min(max(v, 0), s.maxVal)
}

// runLength decodes the length of a run in a line of which left samples remain
// (T.87 A.7.1.2). A run shorter than that is followed by the sample that ends it.
func (s *scan) runLength(left int, runIndex *int) int {
	n := 0
	for s.take(1) == 1 {
		whole := 1 << runLengths[*runIndex&31]
		if whole <= left-n {
			*runIndex = min(*runIndex+1, 31)
		}
		if n = min(n+whole, left); n == left {
			return left
		}
	}
	n += int(s.take(uint(runLengths[*runIndex&31])))
	if n >= left {
		s.damaged = true
		return left
	}
	return n
}

// endOfRun decodes the sample that ends a run (T.87 A.7.2).
func (s *scan) endOfRun(ra, rb int32, runIndex *int) int32 {
	var v int32
	if d := ra - rb; d <= s.near && -d <= s.near {
		v = s.reconstruct(ra, s.runError(&s.run[1], *runIndex))
	} else {
		v = s.endOfMixedRun(ra, rb, *runIndex)
	}
	*runIndex = max(*runIndex-1, 0)
	return v
}

// endOfMixedRun is the case of unlike Ra and Rb, which holds for all components
// of a run by sample.
func (s *scan) endOfMixedRun(ra, rb int32, runIndex int) int32 {
	err := s.runError(&s.run[0], runIndex)
	if ra > rb {
		err = -err
	}
	return s.reconstruct(rb, err)
}

// runError decodes the prediction error of a sample that ends a run.
func (s *scan) runError(x *runContext, runIndex int) int32 {
	k := x.golombParameter()
	coded, ok := s.golomb(k, s.longest-uint(runLengths[runIndex&31])-1, s.qbpp)
	err := x.unmap(int32(coded), k)
	if !ok || uint32(err+s.span) > uint32(2*s.span) {
		s.damaged = true
		return 0
	}
	x.update(err, int32(coded), s.reset)
	return err
}

// mixedLine decodes one line of three components interleaved by sample (T.87
// B.3): they share contexts, and a run goes on while all of them do.
func (s *scan) mixedLine(above, line []uint16) {
	w := s.width
	for c := range 3 {
		above[3*(w+1)+c], line[c] = above[3*w+c], above[3+c]
	}
	for x := 1; x <= w; x++ {
		q := [3]int32{s.mixedContext(above, line, 3*x), s.mixedContext(above, line, 3*x+1), s.mixedContext(above, line, 3*x+2)}
		if q[0]|q[1]|q[2] != 0 {
			for c, q := range q {
				i := 3*x + c
				line[i] = uint16(s.sample(q, int32(line[i-3]), int32(above[i]), int32(above[i-3])))
			}
			continue
		}
		n := s.runLength(w+1-x, &s.runIndex[0])
		for i := 3 * x; i < 3*(x+n); i++ {
			line[i] = line[i-3]
		}
		if x += n; x > w {
			return
		}
		for i := 3 * x; i < 3*x+3; i++ {
			line[i] = uint16(s.endOfMixedRun(int32(line[i-3]), int32(above[i]), s.runIndex[0]))
		}
		s.runIndex[0] = max(s.runIndex[0]-1, 0)
	}
}

// mixedContext returns the context of sample i of a line of three components.
func (s *scan) mixedContext(above, line []uint16, i int) int32 {
	ra, rb, rc, rd := int32(line[i-3]), int32(above[i]), int32(above[i-3]), int32(above[i+3])
	return s.gradients.of(rd-rb)*81 + s.gradients.of(rb-rc)*9 + s.gradients.of(rc-ra)
}
