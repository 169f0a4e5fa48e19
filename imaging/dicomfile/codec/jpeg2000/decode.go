package jpeg2000

import (
	"rootrule/imaging/dicomfile/codec"
)

// Coordinates of the reference grid have 32 bits and are scaled by precinct
// sizes, so that int must have 64.
const _ int = 1 << 62

// Decode returns the samples of the image in data, a codestream or a JP2 file:
// levels as the stream stores them, colour after the stream's own component
// transform. It uses up to GOMAXPROCS goroutines.
//
// Errors are [rootrule/imaging/fault.Malformed] for a stream that is damaged
// or incomplete and [rootrule/imaging/fault.Unsupported] for one that follows
// rules which this package does not implement.
func Decode(data []byte) (*codec.Raster, error) {
	data, err := codestreamOf(data)
	if err != nil {
		return nil, err
	}
	b := newBudget(len(data))
	c, err := parseCodestream(data, b)
	if err != nil {
		return nil, err
	}
	d := &decoder{codestream: c, crew: newCrew(), tile: &tile{budget: b, components: make([]component, maxComponents)}}
	if err := d.makeTargets(); err != nil {
		return nil, err
	}
	for i := range c.tiles {
		if err := d.decodeTile(i); err != nil {
			return nil, err
		}
	}
	return d.raster(), nil
}

// A decoder holds the state of one Decode.
type decoder struct {
	*codestream
	crew     *crew
	tile     *tile
	canvases [3]canvas
	jobs     []blockJob
	targets  []target
	out      *codec.Raster
}

// A blockJob is a code-block to decode.
type blockJob struct {
	block *block
	band  *band
}

// decodeTile reads, decodes and transforms one tile.
func (d *decoder) decodeTile(i int) error {
	data := &d.tiles[i]
	r := &packetReader{t: d.tile, body: join(data.bodies), head: join(data.headers), packed: data.packed}
	available := len(r.body)
	if r.packed {
		available = len(r.head)
	}
	if err := d.tile.reset(d.size, i, data.params, available); err != nil {
		return err
	}
	if err := d.tile.readPackets(d.size, r); err != nil {
		return err
	}
	*data = tileData{} // its bytes are not needed any more
	first := 0
	if d.tile.params.transform {
		if err := d.tile.checkTransform(); err != nil {
			return err
		}
		if err := d.decodeColour(r.body); err != nil {
			return err
		}
		first = 3
	}
	for j := first; j < len(d.tile.components); j++ {
		if err := d.decodeComponent(j, &d.canvases[0], r.body); err != nil {
			return err
		}
		if err := d.canvases[0].write(d.tile.components[j].rect, &d.targets[j], d.crew); err != nil {
			return err
		}
	}
	return nil
}

// join returns the pieces as one, without copying if there is one.
func join(pieces [][]byte) []byte {
	if len(pieces) == 1 {
		return pieces[0]
	}
	n := 0
	for _, p := range pieces {
		n += len(p)
	}
	all := make([]byte, 0, n)
	for _, p := range pieces {
		all = append(all, p...)
	}
	return all
}

// checkTransform makes sure that the component transform has three components
// of the same size and wavelet (T.800 G.2, G.3).
func (t *tile) checkTransform() error {
	if len(t.components) < 3 {
		return malformed("a colour transform of %d components", len(t.components))
	}
	a := &t.components[0]
	for i := 1; i < 3; i++ {
		c := &t.components[i]
		if c.rect != a.rect || c.coding.reversible != a.coding.reversible {
			return malformed("a colour transform of components that differ in size or wavelet")
		}
	}
	return nil
}

// decodeColour decodes the first three components, which are transformed
// together.
func (d *decoder) decodeColour(body []byte) error {
	for j := range 3 {
		if err := d.decodeComponent(j, &d.canvases[j], body); err != nil {
			return err
		}
	}
	area := d.tile.components[0].rect
	if err := transform(&d.canvases, area, d.crew); err != nil {
		return err
	}
	for j := range 3 {
		if err := d.canvases[j].write(area, &d.targets[j], d.crew); err != nil {
			return err
		}
	}
	return nil
}

// decodeComponent decodes the code-blocks of component j and transforms them to
// samples.
func (d *decoder) decodeComponent(j int, dst *canvas, body []byte) error {
	t := d.tile
	c := &t.components[j]
	if err := dst.reset(c, t.budget); err != nil {
		return err
	}
	d.jobs = d.jobs[:0]
	for _, g := range t.groups {
		if g.band.index != j {
			continue
		}
		for i := range g.blocks {
			if g.blocks[i].passes > 0 {
				d.jobs = append(d.jobs, blockJob{&g.blocks[i], g.band})
			}
		}
	}
	roi := t.params.roiShift[j]
	err := d.crew.run(len(d.jobs), func(worker, i int) error {
		job, dec := d.jobs[i], d.crew.decoder(worker)
		if err := dec.decode(job.block, job.band, t.chunks, body); err != nil {
			return err
		}
		dec.store(job.block, job.band, roi, dst)
		return nil
	})
	if err != nil {
		return err
	}
	return c.invert(dst, d.crew, t.budget)
}

// makeTargets allocates the raster, and a buffer for each component that has
// fewer samples.
func (d *decoder) makeTargets() error {
	s := d.size
	r, n := s.outputRect(), len(s.components)
	first := s.components[0]
	if err := d.budget.take(int64(r.width())*int64(r.height()), int64(2*n), "pixels"); err != nil {
		return err
	}
	d.out = &codec.Raster{
		Width: r.width(), Height: r.height(), Components: n, Bits: first.bits, Signed: first.signed,
		Pix: make([]uint16, r.width()*r.height()*n),
	}
	for i := range s.components {
		t := target{pix: d.out.Pix, origin: s.componentRect(i), width: r.width(), step: n, offset: i, bits: first.bits, signed: first.signed}
		if t.origin != r {
			area := t.origin.width() * t.origin.height()
			if t.origin.empty() {
				return malformed("component %d has no samples", i)
			}
			if err := d.budget.take(int64(area), 2, "samples"); err != nil {
				return err
			}
			t.pix, t.width, t.step, t.offset = make([]uint16, area), t.origin.width(), 1, 0
		}
		d.targets = append(d.targets, t)
	}
	return nil
}

// raster returns the finished picture, after enlarging the components that
// have fewer samples: each pixel takes the sample at or before its place on
// the reference grid.
func (d *decoder) raster() *codec.Raster {
	r, n := d.size.outputRect(), d.out.Components
	dx, dy := d.size.outputStep()
	for i, t := range d.targets {
		if t.step == n && t.origin == r {
			continue
		}
		cs := d.size.components[i]
		for y := range d.out.Height {
			from := min(max((r.y0+y)*dy/cs.dy-t.origin.y0, 0), t.origin.height()-1) * t.width
			for x := range d.out.Width {
				at := min(max((r.x0+x)*dx/cs.dx-t.origin.x0, 0), t.origin.width()-1)
				d.out.Pix[(y*d.out.Width+x)*n+i] = t.pix[from+at]
			}
		}
	}
	return d.out
}
