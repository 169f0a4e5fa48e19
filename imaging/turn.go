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

// TurnOf returns the turn that exchanges left and right, where mirrored, and
// then turns clockwise by a multiple of 90 degrees.
func TurnOf(mirrored bool, degrees int) Turn {
	quarters := (degrees/90%4 + 4) % 4
	if mirrored {
		return [4]Turn{TurnMirror, TurnTransverse, TurnFlip, TurnTranspose}[quarters]
	}
	return [4]Turn{TurnNone, TurnQuarter, TurnHalf, TurnThreeQuarters}[quarters]
}

// Lying reports whether rows become columns: width and height change places.
func (t Turn) Lying() bool { return t >= TurnTranspose && t <= TurnThreeQuarters }

// back is the turn that undoes t.
func (t Turn) back() Turn {
	switch t {
	case TurnQuarter:
		return TurnThreeQuarters
	case TurnThreeQuarters:
		return TurnQuarter
	}
	return t
}

// Stored returns where in a stored picture of w×h the position (x, y) of the
// turned picture lies; pixel centres are at integers on both.
func (t Turn) Stored(x, y float64, w, h int) (sx, sy float64) {
	return source(t, x, y, float64(w), float64(h))
}

// Shown returns where the position (x, y) of a stored picture of w×h lies in
// the turned picture. It is the inverse of [Turn.Stored].
func (t Turn) Shown(x, y float64, w, h int) (tx, ty float64) {
	if t.Lying() {
		w, h = h, w
	}
	return source(t.back(), x, y, float64(w), float64(h))
}

// Apply writes a stored picture of w×h, turned, into out, which has its length
// and is returned.
func (t Turn) Apply(out, pix []uint16, w, h int) []uint16 {
	tw, th := w, h
	if t.Lying() {
		tw, th = h, w
	}
	for y := range th {
		// A row of the turned picture is a line of the stored one, at equal steps.
		x0, y0 := source(t, 0, y, w, h)
		x1, y1 := source(t, 1, y, w, h)
		from, step := y0*w+x0, (y1-y0)*w+x1-x0
		row := out[y*tw : (y+1)*tw]
		for x := range row {
			row[x] = pix[from]
			from += step
		}
	}
	return out
}

// turn makes the picture upright and says so in its source.
func (m *Image) turn(t Turn) {
	if t <= TurnNone || t > TurnThreeQuarters {
		return
	}
	m.Pix = t.Apply(make([]uint16, len(m.Pix)), m.Pix, m.Width, m.Height)
	if t.Lying() {
		m.Width, m.Height = m.Height, m.Width
		m.Spacing.RowMM, m.Spacing.ColMM = m.Spacing.ColMM, m.Spacing.RowMM
	}
	m.Source.Orientation = t.String() + ", as the file's orientation tag asks"
}

// source returns the stored position of the position (x, y) of the turned
// picture, in a stored picture of w×h.
func source[T int | float64](t Turn, x, y, w, h T) (sx, sy T) {
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
