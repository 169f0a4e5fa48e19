package jpeg2000

import (
	"math"
	"unsafe"
)

// A tile is the geometry of one tile and what its packets have brought. It is
// reused from tile to tile.
type tile struct {
	rect
	params     *params
	budget     *budget
	components []component
	precincts  []precinct
	groups     []*group // opened in this tile
	chunks     []chunk
	slabs      slabs
	placeStore []place
	newChunks  int // index of the first chunk of the current packet
}

// A component is a tile-component (T.800 B.3, equation B-12).
type component struct {
	rect
	coding      *blockCoding
	resolutions []resolution
}

// A resolution is one of a component's sizes, 0 the smallest (T.800 B.5), and
// its precincts (B.6).
type resolution struct {
	rect
	ppx, ppy   uint // exponents of the precinct's size
	firstX     int  // number of the first precinct across, counted from 0 on the component's grid
	firstY     int
	wide, high int // precincts
	first      int // index of the first in tile.precincts
	bands      []band
	store      [3]band
}

// A band is a sub-band (T.800 B.5, equation B-15).
type band struct {
	rect
	orient   int     // 0 LL, 1 HL, 2 LH, 3 HH
	cbw, cbh uint    // exponents of the code-block's size (B.7)
	planes   int     // M_b, magnitude bit-planes (E.1, equation E-2)
	step     float32 // quantisation step, 1 if reversible (E.1.1)
	ox, oy   int     // where its first sample goes in the component's plane
	comp     *component
	index    int // of the component
}

// A precinct belongs to one resolution; its groups, one a band, are made when
// a packet that is not empty arrives.
type precinct struct {
	layer int32 // the next one to come
	group int32 // index of its first group in tile.groups, -1 if not opened
}

// A group is the code-blocks of one band in one precinct.
type group struct {
	band      *band
	blocks    []block
	wide      int
	inclusion tagTree
	zeros     tagTree
}

// A block is a code-block and what packets have said of it.
type block struct {
	x, y        int32 // in the component's plane
	w, h        uint16
	first, last int32 // chunks, -1 if there are none
	passes      uint16
	zeros       uint8 // missing most significant bit-planes
	lblock      uint8 // state of the length code (T.800 B.10.7)
	included    bool
}

// A chunk is a run of bytes of one codeword segment in one packet.
type chunk struct {
	offset, length uint32 // in the tile's packets
	next           int32
	passes         uint8
	starts         bool // a new codeword segment
}

// slabs hold the many small objects of all tiles in few allocations.
type slabs struct {
	groups []group
	blocks []block
	nodes  []tagNode
}

// growth is what append allocates in all while a slice grows, in multiples of
// its final size: each step is 1.25 times the one before.
const growth = 5

// carve takes n items off a slab, which it renews when they are used up.
func carve[T any](slab *[]T, n int, b *budget, what string) ([]T, error) {
	const renew = 512
	if n > len(*slab) {
		var item T
		size := max(n, renew)
		if err := b.take(int64(size), int64(unsafe.Sizeof(item)), what); err != nil {
			return nil, err
		}
		*slab = make([]T, size)
	}
	out := (*slab)[:n:n]
	*slab = (*slab)[n:]
	return out, nil
}

// reset lays out a tile. available is the number of bytes that its packets
// have: each packet takes at least one (T.800 B.10.3), which bounds them.
func (t *tile) reset(size *imageSize, index int, p *params, available int) error {
	t.rect, t.params = size.tileRect(index), p
	t.precincts, t.groups, t.chunks = t.precincts[:0], t.groups[:0], t.chunks[:0]
	t.components = t.components[:0]
	packets := 0
	for i, cs := range size.components {
		t.components = t.components[:i+1]
		c := &t.components[i]
		c.rect = t.rect.shrink(cs.dx, cs.dy)
		c.coding = &p.coding[i]
		if err := c.layOut(i, cs, p); err != nil {
			return err
		}
		for r := range c.resolutions {
			res := &c.resolutions[r]
			n := res.wide * res.high
			if res.wide > available || res.high > available || n > available || n*p.layers > available-packets {
				return malformed("%d × %d precincts of %d layers do not fit into %d bytes: the file is cut short or damaged, copy or export it again",
					res.wide, res.high, p.layers, available)
			}
			packets += n * p.layers
			res.first = len(t.precincts)
			if err := t.addPrecincts(n); err != nil {
				return err
			}
		}
	}
	return nil
}

func (t *tile) addPrecincts(n int) error {
	if need := len(t.precincts) + n; need > cap(t.precincts) {
		if err := t.budget.take(int64(2*need), int64(unsafe.Sizeof(precinct{})), "precincts"); err != nil {
			return err
		}
		t.precincts = append(make([]precinct, 0, 2*need), t.precincts...)
	}
	for range n {
		t.precincts = append(t.precincts, precinct{group: -1})
	}
	return nil
}

// layOut computes the resolutions and bands of component number i.
func (c *component) layOut(i int, cs componentSize, p *params) error {
	levels := c.coding.levels
	if cap(c.resolutions) < levels+1 {
		c.resolutions = make([]resolution, maxLevels+1)
	}
	c.resolutions = c.resolutions[:levels+1]
	for r := range c.resolutions {
		res := &c.resolutions[r]
		res.rect = c.rect.shrink(1<<(levels-r), 1<<(levels-r)) // equation B-14
		res.ppx, res.ppy = uint(c.coding.ppx[r]), uint(c.coding.ppy[r])
		res.firstX, res.firstY, res.wide, res.high = res.x0>>res.ppx, res.y0>>res.ppy, 0, 0
		if !res.empty() { // equation B-16
			res.wide = ceilDiv(res.x1, 1<<res.ppx) - res.firstX
			res.high = ceilDiv(res.y1, 1<<res.ppy) - res.firstY
		}
		if err := c.layOutBands(res, r, i, cs, p); err != nil {
			return err
		}
	}
	return nil
}

// layOutBands computes LL for the smallest resolution, HL, LH and HH for the
// others.
func (c *component) layOutBands(res *resolution, r, i int, cs componentSize, p *params) error {
	orients := []int{1, 2, 3}
	level := c.coding.levels - r + 1 // n_b
	shrink := uint(1)                // precincts have half the size in the bands
	if r == 0 {
		orients, level, shrink = []int{0}, c.coding.levels, 0
	}
	res.bands = res.store[:len(orients)]
	for j, orient := range orients {
		b := &res.bands[j]
		*b = band{orient: orient, comp: c, index: i}
		b.cbw = min(uint(c.coding.cbw), res.ppx-shrink) // equation B-17
		b.cbh = min(uint(c.coding.cbh), res.ppy-shrink)
		if r == 0 {
			b.rect = res.rect
		} else { // equation B-15
			half := 1 << (level - 1)
			dx, dy := half*(orient&1), half*(orient>>1)
			b.rect = rect{c.x0 - dx, c.y0 - dy, c.x1 - dx, c.y1 - dy}.shrink(1<<level, 1<<level)
			low := &c.resolutions[r-1]
			b.ox, b.oy = low.width()*(orient&1), low.height()*(orient>>1)
		}
		if err := b.quantise(&p.quant[i], r, cs.bits, p.roiShift[i]); err != nil {
			return err
		}
	}
	return nil
}

// maxPlanes is what a coefficient of 32 bits holds beside its sign and half a
// step.
const maxPlanes = 30

// quantise computes a band's bit-planes and step (T.800 E.1). Planes include
// the shift of a region of interest (H.1).
func (b *band) quantise(q *quantisation, res, bits, roi int) error {
	exponent, mantissa, err := q.step(res, b.orient)
	if err != nil {
		return err
	}
	b.planes = q.guard + exponent - 1 + roi
	if b.planes > maxPlanes && !b.empty() {
		return unsupported("%d bit-planes in a sub-band, at most %d are handled; export it without a region of interest or uncompressed", b.planes, maxPlanes)
	}
	b.step = 1
	if b.comp.coding.reversible {
		if q.style != quantNone {
			return malformed("a reversible wavelet with quantisation steps")
		}
		return nil
	}
	gain := b.orient&1 + b.orient>>1 // log2 of Table E.1
	// Equation E-3, R_b = R_I + gain (E-4).
	b.step = float32(math.Ldexp(1+float64(mantissa)/2048, bits+gain-exponent))
	return nil
}

// open makes the groups of a precinct, number k of res.
func (t *tile) open(p *precinct, res *resolution, k int) error {
	p.group = int32(len(t.groups))
	groups, err := carve(&t.slabs.groups, len(res.bands), t.budget, "precincts")
	if err != nil {
		return err
	}
	if err := t.budget.take(int64(len(groups)), growth*8, "precincts"); err != nil {
		return err // of t.groups
	}
	shrink := uint(1)
	if res.bands[0].orient == 0 {
		shrink = 0
	}
	w, h := res.ppx-shrink, res.ppy-shrink
	x, y := (res.firstX+k%res.wide)<<w, (res.firstY+k/res.wide)<<h
	cell := rect{x, y, x + 1<<w, y + 1<<h}
	for i := range groups {
		b := &res.bands[i]
		groups[i] = group{band: b}
		if err := t.fill(&groups[i], b.intersect(cell)); err != nil {
			return err
		}
		t.groups = append(t.groups, &groups[i])
	}
	return nil
}

// fill makes the code-blocks of a group that covers area of its band (T.800
// B.7).
func (t *tile) fill(g *group, area rect) (err error) {
	if area.empty() {
		return nil
	}
	b := g.band
	x0, y0 := area.x0>>b.cbw, area.y0>>b.cbh
	g.wide = ceilDiv(area.x1, 1<<b.cbw) - x0
	high := ceilDiv(area.y1, 1<<b.cbh) - y0
	if g.blocks, err = carve(&t.slabs.blocks, g.wide*high, t.budget, "code-blocks"); err != nil {
		return err
	}
	if err := t.budget.take(int64(len(g.blocks)), growth*int64(unsafe.Sizeof(blockJob{})), "code-blocks"); err != nil {
		return err
	}
	nodes := tagTreeSize(g.wide, high)
	if g.inclusion, err = carve(&t.slabs.nodes, nodes, t.budget, "code-blocks"); err != nil {
		return err
	}
	if g.zeros, err = carve(&t.slabs.nodes, nodes, t.budget, "code-blocks"); err != nil {
		return err
	}
	g.inclusion.reset(g.wide, high)
	g.zeros.reset(g.wide, high)
	for i := range g.blocks {
		x, y := (x0+i%g.wide)<<b.cbw, (y0+i/g.wide)<<b.cbh
		r := area.intersect(rect{x, y, x + 1<<b.cbw, y + 1<<b.cbh})
		g.blocks[i] = block{
			x: int32(b.ox + r.x0 - b.x0), y: int32(b.oy + r.y0 - b.y0),
			w: uint16(r.width()), h: uint16(r.height()), first: -1, last: -1,
		}
	}
	return nil
}
