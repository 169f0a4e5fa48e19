package jpeg2000

// A Header says what an image is before it is decoded.
type Header struct {
	Width, Height int // pixels
	Components    int // 1 grey, 3 colour
	Bits          int // of a sample, 1–16
	Signed        bool
	// ColourTransform says that the stream transforms its first three
	// components itself (T.800 Annex G): decoded samples are RGB then.
	ColourTransform bool
	// Reversible says that all components use the reversible wavelet; a stream
	// can still have been cut by its encoder.
	Reversible bool
	// HighThroughput says that code-blocks are those of T.814.
	HighThroughput bool
	Tiles          int
	Layers         int
	Levels         int // decompositions of the first component
}

// ReadHeader returns the header of an image, a codestream or a JP2 file,
// without looking at its tiles. Errors are as of [Decode].
func ReadHeader(data []byte) (Header, error) {
	data, err := codestreamOf(data)
	if err != nil {
		return Header{}, err
	}
	c, _, err := parseMainHeader(data, newBudget(len(data)))
	if err != nil {
		return Header{}, err
	}
	r, first := c.size.outputRect(), c.size.components[0]
	h := Header{
		Width: r.width(), Height: r.height(), Components: len(c.size.components),
		Bits: first.bits, Signed: first.signed,
		ColourTransform: c.main.transform, Reversible: true,
		Tiles: c.size.tilesX * c.size.tilesY, Layers: c.main.layers, Levels: c.main.coding[0].levels,
	}
	for _, coding := range c.main.coding[:h.Components] {
		h.Reversible = h.Reversible && coding.reversible
		h.HighThroughput = h.HighThroughput || coding.modes&modeHT != 0
	}
	return h, nil
}
