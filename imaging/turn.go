package imaging

// Turn is how a stored picture must be turned to stand upright: the eight
// cases of the orientation tag of TIFF 6.0 (p. 36) and Exif (0x0112), with
// their numbers.
type Turn int

// The eight turns. The words say where stored row 0 and column 0 lie.
const (
	TurnNone          Turn = 1 // row 0 top, column 0 left
	TurnMirror        Turn = 2 // top, right
	TurnHalf          Turn = 3 // bottom, right
	TurnFlip          Turn = 4 // bottom, left
	TurnTranspose     Turn = 5 // left, top
	TurnQuarter       Turn = 6 // right, top: turn clockwise
	TurnTransverse    Turn = 7 // right, bottom
	TurnThreeQuarters Turn = 8 // left, bottom: turn anticlockwise
)

func (t Turn) String() string {
	words := [...]string{"", "", "mirrored", "turned by 180°", "flipped upside down", "transposed", "turned by 90° clockwise", "transposed and turned by 180°", "turned by 90° anticlockwise"}
	if t < 1 || int(t) >= len(words) {
		return ""
	}
	return words[t]
}

// turn makes the picture upright and says so in its source.
func (m *Image) turn(t Turn) {
	if t <= TurnNone || t > TurnThreeQuarters {
		return
	}
	w, h := m.Width, m.Height
	if t >= TurnTranspose {
		w, h = h, w
		m.Spacing.RowMM, m.Spacing.ColMM = m.Spacing.ColMM, m.Spacing.RowMM
	}
	out := make([]uint16, len(m.Pix))
	for y := range h {
		for x := range w {
			sx, sy := t.source(x, y, m.Width, m.Height)
			out[y*w+x] = m.Pix[sy*m.Width+sx]
		}
	}
	m.Width, m.Height, m.Pix = w, h, out
	m.Source.Orientation = t.String() + ", as the file's orientation tag asks"
}

// source returns the stored position of the upright pixel (x, y) in a stored
// picture of w×h.
func (t Turn) source(x, y, w, h int) (sx, sy int) {
	switch t {
	case TurnMirror:
		return w - 1 - x, y
	case TurnHalf:
		return w - 1 - x, h - 1 - y
	case TurnFlip:
		return x, h - 1 - y
	case TurnTranspose:
		return y, x
	case TurnQuarter:
		return y, h - 1 - x
	case TurnTransverse:
		return w - 1 - y, h - 1 - x
	case TurnThreeQuarters:
		return w - 1 - y, x
	}
	return x, y
}
