package jpegls

import (
	"encoding/binary"
	mathbits "math/bits"

	"rootrule/imaging/fault"
)

// preset holds the preset coding parameters of an LSE segment (T.87 C.2.4.1.1);
// zero stands for the default.
type preset struct {
	maxVal, t1, t2, t3, reset int
}

// readPreset reads LSE (T.87 C.2.4.1).
func (d *decoder) readPreset(segment []byte) error {
	if len(segment) < 1 {
		return fault.Malformed("jpeg-ls stream: an empty segment of preset parameters")
	}
	switch segment[0] {
	case 1:
	case 2, 3:
		return fault.Unsupported("jpeg-ls stream: mapping tables are not handled")
	case 4:
		return fault.Unsupported("jpeg-ls stream: sizes beyond 65535 pixels are not handled")
	default:
		return fault.Unsupported("jpeg-ls stream: preset parameters of kind %d are not handled", segment[0])
	}
	if len(segment) != 11 {
		return fault.Malformed("jpeg-ls stream: the preset parameters have %d bytes instead of 11", len(segment))
	}
	number := func(i int) int { return int(binary.BigEndian.Uint16(segment[1+2*i:])) }
	d.preset = preset{number(0), number(1), number(2), number(3), number(4)}
	return nil
}

// params are the coding parameters of a scan and what follows from them
// (T.87 A.2.1, C.2.4.1.1).
type params struct {
	maxVal, near int32
	t1, t2, t3   int32
	reset        int32
	step         int32 // 2·NEAR + 1, between reconstructed values
	span         int32 // RANGE: how many different errors there are
	qbpp         uint  // bits of one of them
	limit        uint  // LIMIT: longest Golomb code
	longest      uint  // most zeros that begin one in regular mode: LIMIT − qbpp − 1
}

const (
	defaultReset = 64 // T.87 C.2.4.1.1.1, Table C.3
	// Basic thresholds, T.87 C.2.4.1.1.1, Table C.3.
	basicT1, basicT2, basicT3 = 3, 7, 21
)

// newParams completes the preset parameters by the defaults and checks them. A
// preset MAXVAL governs RANGE and LIMIT, as A.2.1 says; CharLS 2.4, which some
// DICOM toolkits use, heeds it for the thresholds alone, so streams that it
// wrote with a MAXVAL below 2^precision − 1 come out as damaged here.
func newParams(precision, near int, p preset) (params, error) {
	top := 1<<precision - 1
	q := params{maxVal: int32(p.maxVal), near: int32(near)}
	if q.maxVal == 0 {
		q.maxVal = int32(top)
	}
	if p.maxVal > top {
		return q, fault.Malformed("jpeg-ls stream: the largest sample is %d, beyond the %d that %d bits hold", p.maxVal, top, precision)
	}
	if near > min(255, int(q.maxVal)/2) { // T.87 C.2.3
		return q, fault.Malformed("jpeg-ls stream: an allowed error of %d is too large for samples up to %d", near, q.maxVal)
	}
	q.setThresholds(p)
	if !(q.near < q.t1 && q.t1 <= q.t2 && q.t2 <= q.t3 && q.t3 <= q.maxVal) {
		return q, fault.Malformed("jpeg-ls stream: thresholds %d, %d, %d do not rise from %d to %d", q.t1, q.t2, q.t3, q.near+1, q.maxVal)
	}
	q.reset = int32(p.reset)
	if p.reset == 0 {
		q.reset = defaultReset
	}
	if q.reset < 3 || q.reset > max(255, q.maxVal) { // T.87 Table C.2
		return q, fault.Malformed("jpeg-ls stream: %d is no possible reset interval", q.reset)
	}
	q.derive()
	return q, nil
}

// derive works out RANGE, qbpp and LIMIT (T.87 A.2.1).
func (q *params) derive() {
	q.step = 2*q.near + 1
	q.span = (q.maxVal+2*q.near)/q.step + 1
	q.qbpp = uint(mathbits.Len32(uint32(q.span - 1)))
	bpp := max(2, uint(mathbits.Len32(uint32(q.maxVal))))
	q.limit = 2 * (bpp + max(8, bpp))
	q.longest = q.limit - q.qbpp - 1
}

// setThresholds takes the preset thresholds or their defaults (T.87
// C.2.4.1.1.1, figures C.3 and the code beside them).
func (q *params) setThresholds(p preset) {
	var t1, t2, t3 int32
	if q.maxVal >= 128 {
		factor := (min(q.maxVal, 4095) + 128) / 256
		t1 = factor*(basicT1-2) + 2 + 3*q.near
		t2 = factor*(basicT2-3) + 3 + 5*q.near
		t3 = factor*(basicT3-4) + 4 + 7*q.near
	} else {
		factor := 256 / (q.maxVal + 1)
		t1 = max(2, basicT1/factor+3*q.near)
		t2 = max(3, basicT2/factor+5*q.near)
		t3 = max(4, basicT3/factor+7*q.near)
	}
	q.t1 = q.threshold(p.t1, t1, q.near+1)
	q.t2 = q.threshold(p.t2, t2, q.t1)
	q.t3 = q.threshold(p.t3, t3, q.t2)
}

// threshold prefers a preset value; a default outside least … MAXVAL becomes
// least (the CLAMP functions of T.87 C.2.4.1.1.1).
func (q *params) threshold(preset int, standard, least int32) int32 {
	if preset != 0 {
		return int32(preset)
	}
	if standard < least || standard > q.maxVal {
		return least
	}
	return standard
}

// gradientBits is enough for any difference of two 16-bit samples.
const gradientBits = 17

// gradients maps the low 17 bits of a local gradient to its region −4 … 4
// (T.87 A.3.3, Code segment A.4).
type gradients [1 << gradientBits]int8

func (q *params) gradients() *gradients {
	g := new(gradients)
	// Each region covers gradients from its bound up; the negative ones mirror it.
	// Samples up to MAXVAL have no larger ones.
	bounds := [5]int32{q.near + 1, q.t1, q.t2, q.t3, q.maxVal + 1}
	for region := range int8(4) {
		from, to := bounds[region], bounds[region+1]
		for d := from; d < to; d++ {
			g[d] = region + 1
			g[len(g)-int(d)] = -region - 1
		}
	}
	return g
}

func (g *gradients) of(d int32) int32 { return int32(g[uint32(d)%(1<<gradientBits)]) }
