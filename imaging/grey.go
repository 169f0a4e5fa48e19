package imaging

import (
	"image"
	"image/color"
)

// Luma weights of ITU-R BT.601-7, 2.5.1, in 1/65536; they sum to one, so that
// a pixel with equal channels keeps its value exactly.
const (
	lumaR = 19595 // 0.299
	lumaG = 38470 // 0.587
	lumaB = 7471  // 0.114
)

// Luma returns the grey value of a colour, in the range of its channels.
func Luma(r, g, b uint32) uint32 {
	return (lumaR*r + lumaG*g + lumaB*b + 1<<15) >> 16
}

// fromGo turns a decoded picture into an Image, 8 or 16 bit as it was.
func fromGo(src image.Image) *Image {
	b := src.Bounds()
	m := &Image{Width: b.Dx(), Height: b.Dy(), Pix: make([]uint16, b.Dx()*b.Dy()), Bits: 8}
	m.Source.Photometric = "grey"
	switch s := src.(type) {
	case *image.Gray:
		m.eachRow(func(y int, row []uint16) { copyGray(row, s.Pix[y*s.Stride:]) })
	case *image.Gray16:
		m.Bits = 16
		m.eachRow(func(y int, row []uint16) { copyGray16(row, s.Pix[y*s.Stride:]) })
	case *image.YCbCr:
		m.fromYCbCr(s)
	default:
		m.fromColour(src)
	}
	return m
}

// eachRow calls fill for each row of m.
func (m *Image) eachRow(fill func(y int, row []uint16)) {
	for y := range m.Height {
		fill(y, m.Pix[y*m.Width:(y+1)*m.Width])
	}
}

func copyGray(dst []uint16, src []byte) {
	for i := range dst {
		dst[i] = uint16(src[i])
	}
}

func copyGray16(dst []uint16, src []byte) {
	for i := range dst {
		dst[i] = uint16(src[2*i])<<8 | uint16(src[2*i+1])
	}
}

// fromYCbCr takes the luma channel of a JPEG, which is its grey picture.
func (m *Image) fromYCbCr(s *image.YCbCr) {
	m.eachRow(func(y int, row []uint16) { copyGray(row, s.Y[y*s.YStride:]) })
	m.Source.Photometric = "YCbCr"
	for i := range s.Cb {
		if d := int(s.Cb[i]) - 128; d > 2 || d < -2 {
			m.sayColour()
			return
		}
	}
}

// fromColour converts any other picture pixel by pixel, leaving transparency
// out.
func (m *Image) fromColour(src image.Image) {
	b := src.Bounds()
	wide := is16(src.ColorModel())
	if wide {
		m.Bits = 16
	}
	m.Source.Photometric = "RGB"
	if _, ok := src.(image.PalettedImage); ok {
		m.Source.Photometric = "palette"
	}
	coloured, transparent := false, false
	m.eachRow(func(y int, row []uint16) {
		for x := range row {
			c := color.NRGBA64Model.Convert(src.At(b.Min.X+x, b.Min.Y+y)).(color.NRGBA64)
			coloured = coloured || c.R != c.G || c.G != c.B
			transparent = transparent || c.A != 0xffff
			v := Luma(uint32(c.R), uint32(c.G), uint32(c.B))
			if !wide {
				v >>= 8
			}
			row[x] = uint16(v)
		}
	})
	if coloured {
		m.sayColour()
	}
	if transparent {
		m.Cautions = append(m.Cautions, "transparency left out")
	}
}

func (m *Image) sayColour() {
	m.Cautions = append(m.Cautions, "colour picture turned to grey (BT.601 luma)")
}

func is16(c color.Model) bool {
	return c == color.RGBA64Model || c == color.NRGBA64Model || c == color.Gray16Model || c == color.Alpha16Model
}

// restoreStored undoes the inversion that the TIFF decoder applies to
// white-is-zero files, so that Pix has what the file stores.
func (m *Image) restoreStored() {
	top := uint16(0xff)
	if m.Bits == 16 {
		top = 0xffff
	}
	for i, v := range m.Pix {
		m.Pix[i] = top - v
	}
}
