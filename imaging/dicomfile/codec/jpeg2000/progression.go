package jpeg2000

import (
	"cmp"
	"slices"
	"unsafe"
)

// A place is a precinct and where it stands in the packet order, layers left
// out: places are ordered by major, position, minor.
type place struct {
	major     uint32
	k         int32 // number in its resolution, row by row
	position  uint64
	minor     uint16
	comp, res uint8
}

func (p place) compare(q place) int {
	if p.major != q.major {
		return cmp.Compare(p.major, q.major)
	}
	if p.position != q.position {
		return cmp.Compare(p.position, q.position)
	}
	return cmp.Compare(p.minor, q.minor)
}

// rank sets the keys by which the five progressions order a place (T.800
// B.12.1). x and y are the point of the reference grid at which the position
// orders reach it.
func (p *place) rank(order int, x, y int) {
	position := uint64(y)<<32 | uint64(x)
	switch order {
	case orderRPCL:
		p.major, p.position, p.minor = uint32(p.res), position, uint16(p.comp)
	case orderPCRL:
		p.major, p.position, p.minor = 0, position, uint16(p.comp)<<8|uint16(p.res)
	case orderCPRL:
		p.major, p.position, p.minor = uint32(p.comp), position, uint16(p.res)
	default: // LRCP, RLCP
		p.major, p.position, p.minor = uint32(p.res)<<8|uint32(p.comp), uint64(p.k), 0
	}
}

// eachPacket calls visit for the packets of one progression volume that have
// not come yet, in order. Sorted places are cut into runs within which the
// layer is the outer loop: LRCP is a single run, RLCP has one a resolution, the
// position orders have one a precinct.
func (t *tile) eachPacket(size *imageSize, c orderChange, visit func(place) error) error {
	places, err := t.places(size, c)
	if err != nil {
		return err
	}
	layers := min(c.layerTo, t.params.layers)
	for len(places) > 0 {
		n := 1
		switch c.order {
		case orderLRCP:
			n = len(places)
		case orderRLCP:
			for n < len(places) && places[n].res == places[0].res {
				n++
			}
		}
		for layer := range layers {
			for _, p := range places[:n] {
				if int(t.precinctAt(p).layer) != layer {
					continue // came in an earlier volume
				}
				if err := visit(p); err != nil {
					return err
				}
			}
		}
		places = places[n:]
	}
	return nil
}

func (t *tile) precinctAt(p place) *precinct {
	return &t.precincts[t.components[p.comp].resolutions[p.res].first+int(p.k)]
}

// places lists the precincts of a progression volume in its order.
func (t *tile) places(size *imageSize, c orderChange) ([]place, error) {
	if n := len(t.precincts); n > cap(t.placeStore) {
		if err := t.budget.take(int64(n), int64(unsafe.Sizeof(place{})), "precincts"); err != nil {
			return nil, err
		}
		t.placeStore = make([]place, 0, n)
	}
	t.placeStore = t.placeStore[:0]
	for i := c.compFrom; i < min(c.compTo, len(t.components)); i++ {
		comp := &t.components[i]
		for r := c.resFrom; r < min(c.resTo, len(comp.resolutions)); r++ {
			t.addPlaces(size.components[i], i, r, c.order)
		}
	}
	// Several volumes may each look at all places and layers.
	if err := t.budget.visit(len(t.placeStore) * min(c.layerTo, t.params.layers)); err != nil {
		return nil, err
	}
	slices.SortFunc(t.placeStore, place.compare)
	return t.placeStore, nil
}

// addPlaces computes the grid points of the precincts of one resolution: a
// precinct's corner, or the tile's edge where the corner lies outside (T.800
// B.12.1.3, the condition in the loops).
func (t *tile) addPlaces(cs componentSize, i, r, order int) {
	comp := &t.components[i]
	res := &comp.resolutions[r]
	down := uint(comp.coding.levels - r)
	for k := range res.wide * res.high {
		col, row := k%res.wide, k/res.wide
		x, y := t.x0, t.y0
		if col > 0 || res.x0&(1<<res.ppx-1) == 0 {
			x = (res.firstX + col) << (res.ppx + down) * cs.dx
		}
		if row > 0 || res.y0&(1<<res.ppy-1) == 0 {
			y = (res.firstY + row) << (res.ppy + down) * cs.dy
		}
		p := place{comp: uint8(i), res: uint8(r), k: int32(k)}
		p.rank(order, x, y)
		t.placeStore = append(t.placeStore, p)
	}
}
