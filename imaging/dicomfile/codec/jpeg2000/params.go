package jpeg2000

import "unsafe"

// Params are the coding parameters in force: of the main header, or of one
// tile whose header overrides them.
type params struct {
	sop, eph  bool
	order     int
	layers    int
	transform bool // multiple component transform on the first three components
	coding    [maxComponents]blockCoding
	quant     [maxComponents]quantisation
	roiShift  [maxComponents]int
	changes   []orderChange
	inherited bool // changes are the main header's
	haveCOD   bool
	haveQCD   bool
}

// override returns a copy for a tile's header. The copy forgets which segments
// were a component's own, because the tile's COD outranks the main header's
// COC (T.800 A.6.1).
func (p *params) override(b *budget) (*params, error) {
	if err := b.take(1, int64(unsafe.Sizeof(params{})), "tile headers"); err != nil {
		return nil, err
	}
	t := *p
	for i := range t.coding {
		t.coding[i].own, t.quant[i].own = false, false
	}
	t.inherited = true
	return &t, nil
}

// codingDefault applies COD (T.800 A.6.1).
func (p *params) codingDefault(seg []byte) error {
	r := &reader{data: seg}
	style := r.u8()
	p.order, p.layers = r.u8(), r.u16()
	transform := r.u8()
	if r.short || p.order > orderCPRL || p.layers == 0 || transform > 1 {
		return malformed("coding style: order %d, %d layers, component transform %d", p.order, p.layers, transform)
	}
	p.sop, p.eph, p.transform = style&2 != 0, style&4 != 0, transform == 1
	c, err := r.blockCoding(style&1 != 0)
	if err != nil {
		return err
	}
	for i := range p.coding {
		if !p.coding[i].own {
			p.coding[i] = c
		}
	}
	p.haveCOD = true
	return nil
}

// codingComponent applies COC (T.800 A.6.2).
func (p *params) codingComponent(seg []byte, components int) error {
	r := &reader{data: seg}
	i, err := r.component("coding style", components)
	if err != nil {
		return err
	}
	style := r.u8()
	c, err := r.blockCoding(style&1 != 0)
	if err != nil {
		return err
	}
	c.own = true
	p.coding[i] = c
	return nil
}

// quantDefault applies QCD (T.800 A.6.4).
func (p *params) quantDefault(seg []byte) error {
	r := &reader{data: seg}
	q, err := r.quantisation()
	if err != nil {
		return err
	}
	for i := range p.quant {
		if !p.quant[i].own {
			p.quant[i] = q
		}
	}
	p.haveQCD = true
	return nil
}

// quantComponent applies QCC (T.800 A.6.5).
func (p *params) quantComponent(seg []byte, components int) error {
	r := &reader{data: seg}
	i, err := r.component("quantisation", components)
	if err != nil {
		return err
	}
	q, err := r.quantisation()
	if err != nil {
		return err
	}
	q.own = true
	p.quant[i] = q
	return nil
}

// region applies RGN (T.800 A.6.3).
func (p *params) region(seg []byte, components int) error {
	r := &reader{data: seg}
	i, err := r.component("region of interest", components)
	if err != nil {
		return err
	}
	style := r.u8()
	p.roiShift[i] = r.u8()
	if style != 0 {
		return unsupported("region of interest of style %d; export it without", style)
	}
	return r.end("a region of interest segment")
}

// orderChange applies POC: the main header's is replaced by the tile's, whose
// tile-parts may add more (T.800 A.6.6).
func (p *params) orderChange(seg []byte) error {
	changes, err := (&reader{data: seg}).orderChanges()
	if err != nil {
		return err
	}
	if p.inherited {
		p.changes, p.inherited = nil, false
	}
	p.changes = append(p.changes, changes...)
	return nil
}

// sequence returns the progression volumes in order.
func (p *params) sequence(components int) []orderChange {
	if len(p.changes) > 0 {
		return p.changes
	}
	return []orderChange{{order: p.order, resTo: maxLevels + 1, compTo: components, layerTo: p.layers}}
}
