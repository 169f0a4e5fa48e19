package jpeg2000

// store writes the block that d has decoded into its place (T.800 E.1). The
// decoder's numbers are doubled, see blockDecoder.data.
func (d *blockDecoder) store(b *block, band *band, roi int, dst *canvas) {
	if roi > 0 {
		d.unshift(uint(roi))
	}
	for y := range d.h {
		src := d.data[y/4*4*d.w+y%4:]
		if dst.reversible {
			at := (int(b.y)+y)*dst.ints.width + int(b.x)
			storeReversible(dst.ints.data[at:][:d.w], src)
		} else {
			at := (int(b.y)+y)*dst.floats.width + int(b.x)
			storeIrreversible(dst.floats.data[at:][:d.w], src, band.step/2)
		}
	}
}

// storeReversible rounds towards zero (T.800 E.1.1.2 and equation E-8): exact
// if all bit-planes were decoded.
func storeReversible(dst []int32, src []int32) {
	for x := range dst {
		dst[x] = src[4*x] / 2
	}
}

// storeIrreversible is T.800 equation E-6 with r = 0.5.
func storeIrreversible(dst []float32, src []int32, step float32) {
	for x := range dst {
		dst[x] = float32(src[4*x]) * step
	}
}

// unshift brings the coefficients of a region of interest back to their size:
// they are those of at least 2^s (T.800 H.1).
func (d *blockDecoder) unshift(s uint) {
	for i, v := range d.data[:(d.h+3)/4*4*d.w] {
		m := max(v, -v)
		if m < 2<<s {
			continue
		}
		m >>= s
		if v < 0 {
			m = -m
		}
		d.data[i] = m
	}
}
