package tone

import (
	"math"
	"runtime"
	"sync"
)

// Enhancement says what is done to a picture to help the eye. The zero value
// does nothing.
type Enhancement struct {
	Local bool // local contrast: each part of the picture gets the whole range of greys
	Sharp bool // edges are made steeper
}

// Enhanced returns a picture of the same size for the eye: p stays as it is.
// Local contrast works on the stored values inside the window and stays in it,
// so that the window's table shows the result. It takes some 30 ms for 3
// million pixels: call it beside the window.
func (p *Picture) Enhanced(w Window, e Enhancement) *Picture {
	if !e.Local && !e.Sharp {
		return p
	}
	full := p.levels[0]
	if e.Sharp {
		full = full.sharpened()
	}
	if e.Local {
		full = full.equalized(w)
	}
	return newPicture(full)
}

// The parts that local contrast divides a picture into, along each axis, and
// how much steeper than the whole range a part's greys become at the most
// (Zuiderveld 1994, Graphics Gems IV, VIII.5: 8×8 parts and a limit of a few
// times the mean). Bins are four times the greys that a screen shows.
const (
	parts    = 8
	steepest = 2.5
	bins     = 1024
)

// partMap gives the new value of each bin in one part of the picture.
type partMap [bins]uint16

// equalized is contrast-limited adaptive histogram equalisation (Zuiderveld
// 1994): a table of new values for each part, between the middles of parts the
// mean of four tables.
func (p plane) equalized(w Window) plane {
	bin := binning(w)
	var maps [parts][parts]partMap
	inPieces(parts, func(first, last int) {
		for row := first; row < last; row++ {
			for col := range parts {
				p.partMap(&maps[row][col], col, row, bin, w)
			}
		}
	})
	out := plane{p.w, p.h, make([]uint16, len(p.pix))}
	inPieces(p.h, func(first, last int) {
		for y := first; y < last; y++ {
			p.equalizeRow(out.row(y), y, bin, &maps)
		}
	})
	return out
}

// binning gives the bin of each stored value.
func binning(w Window) *[Levels]uint16 {
	bin := new([Levels]uint16)
	width := math.Max(w.High-w.Low, minWidth)
	for v := range bin {
		bin[v] = uint16(clamp((float64(v)-w.Low)/width*bins, 0, bins-1))
	}
	return bin
}

// edge returns where part i of n pixels begins.
func edge(i, n int) int { return i * n / parts }

// partMap makes the table of one part: its summed histogram, of which no bin
// counts more than the limit; what is cut off is spread over all bins.
func (p plane) partMap(m *partMap, col, row int, bin *[Levels]uint16, w Window) {
	var count [bins]int
	x0, x1 := edge(col, p.w), edge(col+1, p.w)
	for y := edge(row, p.h); y < edge(row+1, p.h); y++ {
		for _, v := range p.row(y)[x0:x1] {
			count[bin[v]]++
		}
	}
	all := (x1 - x0) * (edge(row+1, p.h) - edge(row, p.h))
	limit := max(int(steepest*float64(all)/bins), 1)
	cut := 0
	for i, n := range count {
		if n > limit {
			cut += n - limit
			count[i] = limit
		}
	}
	sum, spread := 0.0, float64(cut)/bins
	for i, n := range count {
		sum += float64(n) + spread
		m[i] = uint16(clamp(w.Low+(w.High-w.Low)*sum/math.Max(float64(all), 1), 0, Levels-1) + 0.5)
	}
}

// amid returns the two parts whose middles lie on both sides of pixel i of
// n, and how far it is from the first to the second, 0 to [unity].
func amid(i, n int) (a, b int, share uint32) {
	at := (float64(i)+0.5)*parts/float64(n) - 0.5
	first := int(math.Floor(at))
	share = uint32((at - float64(first)) * unity)
	return min(max(first, 0), parts-1), min(first+1, parts-1), share
}

// equalizeRow gives the pixels of a row their new values.
func (p plane) equalizeRow(out []uint16, y int, bin *[Levels]uint16, maps *[parts][parts]partMap) {
	up, down, low := amid(y, p.h)
	row := p.row(y)
	for x := 0; x < p.w; {
		left, right, _ := amid(x, p.w)
		end := x + 1
		for end < p.w {
			if l, r, _ := amid(end, p.w); l != left || r != right {
				break
			}
			end++
		}
		a, b, c, d := &maps[up][left], &maps[up][right], &maps[down][left], &maps[down][right]
		_, _, share := amid(x, p.w)
		step := uint32(float64(unity) * parts / float64(p.w))
		for ; x < end; x++ {
			i := bin[row[x]] & (bins - 1)
			top := uint32(a[i])*(unity-share) + uint32(b[i])*share
			bottom := uint32(c[i])*(unity-share) + uint32(d[i])*share
			out[x] = uint16((top/unity*(unity-low) + bottom/unity*low) / unity)
			share = min(share+step, unity)
		}
	}
}

// Sharpening adds to each value its difference from the mean around it, drawn
// with binomial weights of five pixels, a Gaussian of one pixel (unsharp
// masking; amount common practice, no source).
const sharpAmount = 1.5

// sharpened makes edges steeper.
func (p plane) sharpened() plane {
	out := plane{p.w, p.h, make([]uint16, len(p.pix))}
	inPieces(p.h, func(first, last int) {
		sums := make([]int32, p.w+4) // columns summed over five rows, borders repeated
		for y := first; y < last; y++ {
			p.sumColumns(sums, y)
			sharpenRow(out.row(y), p.row(y), sums)
		}
	})
	return out
}

func (p plane) sumColumns(sums []int32, y int) {
	at := func(y int) []uint16 { return p.row(min(max(y, 0), p.h-1)) }
	a, b, c, d, e := at(y-2), at(y-1), at(y), at(y+1), at(y+2)
	inner := sums[2 : 2+p.w]
	for x := range inner {
		inner[x] = int32(a[x]) + 4*(int32(b[x])+int32(d[x])) + 6*int32(c[x]) + int32(e[x])
	}
	sums[0], sums[1] = inner[0], inner[0]
	sums[p.w+2], sums[p.w+3] = inner[p.w-1], inner[p.w-1]
}

func sharpenRow(out, row []uint16, s []int32) {
	for x, v := range row {
		mean := (s[x] + 4*(s[x+1]+s[x+3]) + 6*s[x+2] + s[x+4]) / 256
		out[x] = uint16(min(max(int32(v)+int32(sharpAmount*float32(int32(v)-mean)), 0), Levels-1))
	}
}

// inPieces calls work for all of n rows in as many pieces at once as there are
// processors for.
func inPieces(n int, work func(first, last int)) {
	pieces := max(1, min(runtime.GOMAXPROCS(0), n))
	var wait sync.WaitGroup
	for i := 1; i < pieces; i++ {
		wait.Go(func() { work(i*n/pieces, (i+1)*n/pieces) })
	}
	work(0, n/pieces)
	wait.Wait()
}
