package jpeg2000

import "encoding/binary"

// A reader takes fixed-width fields off a marker segment. Reading past the end
// returns zeros and sets short, which the caller checks once at the end.
type reader struct {
	data  []byte
	short bool
}

func (r *reader) u8() int {
	if len(r.data) < 1 {
		r.short = true
		return 0
	}
	v := r.data[0]
	r.data = r.data[1:]
	return int(v)
}

func (r *reader) u16() int {
	if len(r.data) < 2 {
		r.short, r.data = true, nil
		return 0
	}
	v := binary.BigEndian.Uint16(r.data)
	r.data = r.data[2:]
	return int(v)
}

// component reads a component's number, one byte wide if there are fewer than
// 257 components, which maxComponents makes sure of (T.800 Table A.23).
func (r *reader) component(what string, n int) (int, error) {
	c := r.u8()
	if c >= n {
		return 0, malformed("%s of component %d, there are %d", what, c, n)
	}
	return c, nil
}

// end reports a segment that was too short for its fields.
func (r *reader) end(what string) error {
	if r.short {
		return malformed("%s is shorter than its fields", what)
	}
	return nil
}

// Code-block style bits (T.800 Table A.19; the last two T.814 Table A.4).
const (
	modeBypass      = 1 << iota // raw bits instead of arithmetic coding in the lower planes
	modeReset                   // contexts begin anew at each pass
	modeTermAll                 // each pass is a codeword segment of its own
	modeCausal                  // contexts do not look into the next stripe
	modePredictable             // termination can be checked; decoding is the same
	modeSegSymbols              // each cleanup pass ends with four known bits
	modeHT                      // high-throughput code-blocks
	modeHTMixed                 // both kinds
)

const maxLevels = 32 // T.800 Table A.15

// A blockCoding is what COD and COC say about one component (T.800 Table A.15).
type blockCoding struct {
	levels     int
	cbw, cbh   int // exponents of the code-block's size
	modes      int
	reversible bool
	ppx, ppy   [maxLevels + 1]uint8 // exponents of the precinct's size, by resolution
	own        bool                 // set by the tile's or main header's own COC
}

func (r *reader) blockCoding(precincts bool) (blockCoding, error) {
	c := blockCoding{levels: r.u8(), cbw: r.u8() + 2, cbh: r.u8() + 2, modes: r.u8()}
	transform := r.u8()
	if c.levels > maxLevels {
		return c, malformed("%d decomposition levels, at most %d are allowed", c.levels, maxLevels)
	}
	if c.cbw > 10 || c.cbh > 10 || c.cbw+c.cbh > 12 { // T.800 Table A.18
		return c, malformed("code-blocks of 2^%d × 2^%d samples", c.cbw, c.cbh)
	}
	if c.modes&modeHTMixed != 0 {
		return c, unsupported("code-block style %#02x, high-throughput and other blocks mixed; export it in another transfer syntax", c.modes)
	}
	if transform > 1 { // T.800 Table A.20
		return c, unsupported("wavelet number %d", transform)
	}
	c.reversible = transform == 1
	for i := range c.levels + 1 {
		c.ppx[i], c.ppy[i] = 15, 15 // maximum precincts
		if precincts {
			v := r.u8() // T.800 Table A.21
			c.ppx[i], c.ppy[i] = uint8(v&15), uint8(v>>4)
		}
		if i > 0 && (c.ppx[i] == 0 || c.ppy[i] == 0) && !r.short {
			return c, malformed("precincts of 2^%d × 2^%d samples at resolution %d have no room for its sub-bands", c.ppx[i], c.ppy[i], i)
		}
	}
	return c, r.end("a coding style segment")
}

// A quantisation is what QCD and QCC say about one component (T.800 A.6.4).
type quantisation struct {
	style    int // 0 none, 1 derived, 2 expounded
	guard    int
	bands    int
	exponent [3*maxLevels + 1]uint8
	mantissa [3*maxLevels + 1]uint16
	own      bool
}

// Quantisation styles (T.800 Table A.28).
const (
	quantNone = iota
	quantDerived
	quantExpounded
)

func (r *reader) quantisation() (quantisation, error) {
	s := r.u8()
	q := quantisation{style: s & 31, guard: s >> 5}
	if q.style > quantExpounded {
		return q, malformed("quantisation style %d", q.style)
	}
	for ; len(r.data) > 0 && q.bands < len(q.exponent); q.bands++ {
		if q.style == quantNone {
			q.exponent[q.bands] = uint8(r.u8() >> 3) // T.800 Table A.29
			continue
		}
		v := r.u16() // T.800 Table A.30
		q.exponent[q.bands], q.mantissa[q.bands] = uint8(v>>11), uint16(v&0x7ff)
		if q.style == quantDerived {
			q.bands++
			break
		}
	}
	if q.bands == 0 {
		r.short = true
	}
	return q, r.end("a quantisation segment")
}

// step returns the exponent and mantissa of a sub-band: of resolution res, and
// of orientation band there (0 LL, 1 HL, 2 LH, 3 HH).
func (q *quantisation) step(res, band int) (exponent, mantissa int, err error) {
	if q.style == quantDerived { // T.800 equation E-5
		e := int(q.exponent[0])
		if res > 0 {
			e -= res - 1
		}
		if e < 0 {
			return 0, 0, malformed("derived quantisation exponent %d at resolution %d", e, res)
		}
		return e, int(q.mantissa[0]), nil
	}
	i := 0
	if res > 0 {
		i = 3*(res-1) + band
	}
	if i >= q.bands {
		return 0, 0, malformed("quantisation of %d sub-bands is given, resolution %d needs more", q.bands, res)
	}
	return int(q.exponent[i]), int(q.mantissa[i]), nil
}

// An orderChange is one record of POC, or the whole range in COD's order
// (T.800 A.6.6): the packets that it lists are those of its ranges which no
// earlier record listed.
type orderChange struct {
	order            int
	resFrom, resTo   int
	compFrom, compTo int
	layerTo          int
}

// Progression orders (T.800 Table A.16).
const (
	orderLRCP = iota
	orderRLCP
	orderRPCL
	orderPCRL
	orderCPRL
)

// orderChanges reads the records of a POC segment (T.800 Table A.32).
func (r *reader) orderChanges() ([]orderChange, error) {
	var changes []orderChange
	for len(r.data) > 0 {
		c := orderChange{resFrom: r.u8(), compFrom: r.u8(), layerTo: r.u16(), resTo: r.u8(), compTo: r.u8(), order: r.u8()}
		if c.compTo == 0 {
			c.compTo = 256
		}
		if c.order > orderCPRL || c.resTo <= c.resFrom || c.compTo <= c.compFrom || c.layerTo == 0 {
			return nil, malformed("progression order change %+v", c)
		}
		changes = append(changes, c)
	}
	return changes, r.end("a progression order change segment")
}
