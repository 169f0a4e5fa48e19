package jpeg2000

// number is what a coefficient is: an integer in the reversible path, a
// floating-point number in the irreversible one.
type number interface{ int32 | float32 }

// A plane holds the coefficients or samples of one component of a tile, row by
// row.
type plane[T number] struct {
	data    []T
	width   int
	scratch [][]T // one a worker
}

// reset makes a plane of w × h zeros, in the memory it has if that is enough.
func (p *plane[T]) reset(w, h int, b *budget) error {
	p.width = w
	if w*h <= cap(p.data) {
		p.data = p.data[:w*h]
		clear(p.data)
		return nil
	}
	if err := b.take(int64(w)*int64(h), 4, "samples"); err != nil {
		return err
	}
	p.data = make([]T, w*h)
	return nil
}

// reserve gives each of n workers at least size numbers of scratch memory.
func (p *plane[T]) reserve(n, size int, b *budget) error {
	for len(p.scratch) < n {
		p.scratch = append(p.scratch, nil)
	}
	for i := range n {
		if len(p.scratch[i]) >= size {
			continue
		}
		if err := b.take(int64(size), 4, "samples of scratch memory"); err != nil {
			return err
		}
		p.scratch[i] = make([]T, size)
	}
	return nil
}

// A canvas is the plane of one component, of the kind that its wavelet needs.
type canvas struct {
	reversible bool
	ints       plane[int32]
	floats     plane[float32]
}

func (c *canvas) reset(comp *component, b *budget) error {
	c.reversible = comp.coding.reversible
	if c.reversible {
		return c.ints.reset(comp.width(), comp.height(), b)
	}
	return c.floats.reset(comp.width(), comp.height(), b)
}
