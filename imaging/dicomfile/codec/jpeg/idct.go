package jpeg

// The inverse DCT (T.81 A.3.3) by the algorithm of C. Loeffler, A. Ligtenberg
// and G. S. Moschytz, "Practical fast 1-D DCT algorithms with 11
// multiplications", Proc. ICASSP 1989, 988–991, in the fixed-point form of the
// Independent JPEG Group's accurate integer method: each pass leaves its result
// larger by √8, the first pass keeps a few fraction bits. Rounding is to the
// nearest, halves up, at the end of each pass, so that the samples equal those
// of decoders built on that library bit for bit.

const scaleBits = 13 // fraction bits of the constants below

// Constants of the flow graph, times 2^13.
const (
	c0298 = 2446  // 0.298631336
	c0390 = 3196  // 0.390180644
	c0541 = 4433  // 0.541196100
	c0765 = 6270  // 0.765366865
	c0899 = 7373  // 0.899976223
	c1175 = 9633  // 1.175875602
	c1501 = 12299 // 1.501321110
	c1847 = 15137 // 1.847759065
	c1961 = 16069 // 1.961570560
	c2053 = 16819 // 2.053119869
	c2562 = 20995 // 2.562915447
	c3072 = 25172 // 3.072711026
)

// transform holds what the inverse DCT needs to know of the precision.
type transform struct {
	fraction uint  // bits that the first pass keeps: 2 at 8 bits, 1 at 12
	centre   int32 // level shift (T.81 A.3.1)
	most     int32 // largest sample
}

func newTransform(bits int) transform {
	t := transform{fraction: 2, centre: 1 << (bits - 1), most: 1<<bits - 1}
	if bits > 8 {
		t.fraction = 1
	}
	return t
}

// inverse dequantises a block and returns its samples, row by row.
func (t transform) inverse(block *[64]int16, quant *[64]int32, out *[64]uint16) {
	if t.flat(block, quant, out) {
		return
	}
	var mid [64]int32
	for x := range 8 {
		t.column(block, quant, &mid, x)
	}
	shift := (scaleBits + t.fraction + 3) & 31
	half := int32(1) << (shift - 1)
	for y := 0; y < 64; y += 8 {
		m := (*[8]int32)(mid[y : y+8])
		o := (*[8]uint16)(out[y : y+8])
		a0, a1, a2, a3, a4, a5, a6, a7 := inverse8(m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7])
		o[0] = t.sample((a0 + half) >> shift)
		o[1] = t.sample((a1 + half) >> shift)
		o[2] = t.sample((a2 + half) >> shift)
		o[3] = t.sample((a3 + half) >> shift)
		o[4] = t.sample((a4 + half) >> shift)
		o[5] = t.sample((a5 + half) >> shift)
		o[6] = t.sample((a6 + half) >> shift)
		o[7] = t.sample((a7 + half) >> shift)
	}
}

// flat handles a block that is all one value; the full computation gives the
// same.
func (t transform) flat(block *[64]int16, quant *[64]int32, out *[64]uint16) bool {
	for _, v := range block[1:] {
		if v != 0 {
			return false
		}
	}
	v := t.sample((int32(block[0])*quant[0] + 4) >> 3)
	for i := range out {
		out[i] = v
	}
	return true
}

// column is the first pass over column x.
func (t transform) column(block *[64]int16, quant *[64]int32, mid *[64]int32, x int) {
	b := (*[57]int16)(block[x : x+57])
	q := (*[57]int32)(quant[x : x+57])
	m := (*[57]int32)(mid[x : x+57])
	if b[8]|b[16]|b[24]|b[32]|b[40]|b[48]|b[56] == 0 {
		v := int32(b[0]) * q[0] << (t.fraction & 31)
		m[0], m[8], m[16], m[24], m[32], m[40], m[48], m[56] = v, v, v, v, v, v, v, v
		return
	}
	a0, a1, a2, a3, a4, a5, a6, a7 := inverse8(
		int32(b[0])*q[0], int32(b[8])*q[8], int32(b[16])*q[16], int32(b[24])*q[24],
		int32(b[32])*q[32], int32(b[40])*q[40], int32(b[48])*q[48], int32(b[56])*q[56])
	shift := (scaleBits - t.fraction) & 31
	half := int32(1) << (shift - 1)
	m[0], m[8], m[16], m[24] = (a0+half)>>shift, (a1+half)>>shift, (a2+half)>>shift, (a3+half)>>shift
	m[32], m[40], m[48], m[56] = (a4+half)>>shift, (a5+half)>>shift, (a6+half)>>shift, (a7+half)>>shift
}

func (t transform) sample(v int32) uint16 {
	return uint16(min(max(v+t.centre, 0), t.most))
}

// inverse8 is the one-dimensional inverse DCT of eight values, times 2^13·√8.
func inverse8(s0, s1, s2, s3, s4, s5, s6, s7 int32) (o0, o1, o2, o3, o4, o5, o6, o7 int32) {
	// Even part: rotation of s2 and s6, butterflies with s0 and s4.
	z := (s2 + s6) * c0541
	e2, e3 := z-s6*c1847, z+s2*c0765
	e0, e1 := (s0+s4)<<scaleBits, (s0-s4)<<scaleBits
	e0, e3 = e0+e3, e0-e3
	e1, e2 = e1+e2, e1-e2
	// Odd part.
	z1, z2 := (s7+s1)*-c0899, (s5+s3)*-c2562
	z3, z4 := s7+s3, s5+s1
	z5 := (z3 + z4) * c1175
	z3, z4 = z5-z3*c1961, z5-z4*c0390
	d0, d1 := s7*c0298+z1+z3, s5*c2053+z2+z4
	d2, d3 := s3*c3072+z2+z3, s1*c1501+z1+z4
	return e0 + d3, e1 + d2, e2 + d1, e3 + d0, e3 - d0, e2 - d1, e1 - d2, e0 - d3
}
