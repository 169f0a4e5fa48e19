package jpeg2000

const (
	// columns is how many columns of a tile are lifted together, two cache
	// lines of 64 bytes.
	columns = 32
	// rowsPerJob is how many rows make a job for a worker.
	rowsPerJob = 64
)

// A kernel is a wavelet: the lifting steps of the inverse transform, in order.
type kernel[T number] []step[T]

// A step changes the samples with even or odd coordinates by their two
// neighbours. A sample beyond an end is the one as far on the other side of the
// end sample (T.800 F.3.7, periodic symmetric extension).
type step[T number] struct {
	odd bool
	// row changes every second sample of a, beginning with number first.
	row func(a []T, first int)
	// column changes the vector dst by its neighbours.
	column func(dst, before, after []T)
}

// invert transforms the plane of a component from its sub-bands to samples
// (T.800 F.3.1, IDWT).
func (c *component) invert(dst *canvas, w *crew, b *budget) error {
	if c.coding.reversible {
		return invert(c, &dst.ints, kernel53, w, b)
	}
	return invert(c, &dst.floats, kernel97, w, b)
}

// invert goes level by level: each has its four bands side by side, LL in the
// top left corner, and becomes the LL of the next (T.800 F.3.2, 2D_SR).
func invert[T number](c *component, p *plane[T], k kernel[T], w *crew, b *budget) error {
	if len(c.resolutions) == 1 || c.empty() {
		return nil
	}
	batches := ceilDiv(c.width(), columns)
	size := max(c.width(), c.height()*min(columns, c.width()))
	if err := p.reserve(min(w.size, max(batches, 1)), size, b); err != nil {
		return err
	}
	level := &waveletLevel[T]{plane: p, kernel: k}
	for r := 1; r < len(c.resolutions); r++ {
		level.low, level.full = c.resolutions[r-1].rect, c.resolutions[r].rect
		if err := level.invert(w); err != nil {
			return err
		}
	}
	return nil
}

// A waveletLevel is one level of the transform: low is LL, full what it and
// the other bands make.
type waveletLevel[T number] struct {
	*plane[T]
	kernel[T]
	low, full rect
}

func (l *waveletLevel[T]) invert(w *crew) error {
	if l.full.empty() {
		return nil
	}
	rows, columns := ceilDiv(l.full.height(), rowsPerJob), ceilDiv(l.full.width(), columns)
	if rows == 1 && columns == 1 { // too small to share
		_ = l.rows(0, 0)
		return l.columns(0, 0)
	}
	if err := w.runOn(len(l.scratch), rows, l.rows); err != nil {
		return err
	}
	return w.runOn(len(l.scratch), columns, l.columns)
}

// rows transforms a batch of rows (T.800 F.3.4, HOR_SR).
func (l *waveletLevel[T]) rows(worker, i int) error {
	n, split := l.full.width(), l.low.width()
	odd := l.full.x0 & 1
	tmp := l.scratch[worker][:n]
	for y := i * rowsPerJob; y < min((i+1)*rowsPerJob, l.full.height()); y++ {
		row := l.data[y*l.width:][:n]
		if n == 1 { // T.800 F.3.6: a single sample with an odd coordinate is halved
			if odd == 1 {
				row[0] /= 2
			}
			continue
		}
		spread(tmp[odd:], row[:split])
		spread(tmp[1-odd:], row[split:])
		for _, s := range l.kernel {
			s.row(tmp, s.first(odd))
		}
		copy(row, tmp)
	}
	return nil
}

// first returns the number of the first sample that the step changes, if
// sample 0 has an odd coordinate or not.
func (s *step[T]) first(odd int) int {
	if s.odd {
		return 1 - odd
	}
	return odd
}

// spread writes src to every second element of dst (T.800 F.3.3, 2D_INTERLEAVE).
func spread[T number](dst, src []T) {
	for i, v := range src {
		dst[2*i] = v
	}
}

// columns transforms a batch of columns (T.800 F.3.5, VER_SR).
func (l *waveletLevel[T]) columns(worker, i int) error {
	n, split := l.full.height(), l.low.height()
	odd := l.full.y0 & 1
	x := i * columns
	wide := min(columns, l.full.width()-x)
	line := func(y int) []T { return l.data[y*l.width+x:][:wide] }
	if n == 1 {
		if odd == 1 {
			for i := range line(0) {
				line(0)[i] /= 2
			}
		}
		return nil
	}
	tmp := l.scratch[worker][:n*wide]
	for y := range n {
		// Row y comes from the low half if its coordinate is even.
		src := y / 2
		switch {
		case (y+odd)&1 == 1:
			src = split + (y-(1-odd))/2
		case odd == 1:
			src = (y - 1) / 2
		}
		copy(tmp[y*wide:][:wide], line(src))
	}
	for _, s := range l.kernel {
		for y := s.first(odd); y < n; y += 2 {
			before, after := y-1, y+1
			if before < 0 {
				before = 1
			}
			if after == n {
				after = n - 2
			}
			s.column(tmp[y*wide:][:wide], tmp[before*wide:][:wide], tmp[after*wide:][:wide])
		}
	}
	for y := range n {
		copy(line(y), tmp[y*wide:])
	}
	return nil
}
