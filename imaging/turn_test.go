package imaging

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestTurnOf holds the composition of mirroring and quarter turns against the
// words of TIFF 6.0, p. 36: which sides the stored row 0 and column 0 come to
// lie on.
func TestTurnOf(t *testing.T) {
	const w, h = 3, 2
	pix := []uint16{1, 2, 3, 4, 5, 6}
	for _, c := range []struct {
		mirrored bool
		degrees  int
		want     []uint16
	}{
		{false, 0, []uint16{1, 2, 3, 4, 5, 6}},
		{false, 90, []uint16{4, 1, 5, 2, 6, 3}},
		{false, 180, []uint16{6, 5, 4, 3, 2, 1}},
		{false, 270, []uint16{3, 6, 2, 5, 1, 4}},
		{false, -90, []uint16{3, 6, 2, 5, 1, 4}},
		{true, 0, []uint16{3, 2, 1, 6, 5, 4}},
		{true, 90, []uint16{6, 3, 5, 2, 4, 1}}, // 3 2 1 / 6 5 4, clockwise
		{true, 180, []uint16{4, 5, 6, 1, 2, 3}},
		{true, 270, []uint16{1, 4, 2, 5, 3, 6}},
	} {
		turn := TurnOf(c.mirrored, c.degrees)
		if got := turn.Apply(make([]uint16, len(pix)), pix, w, h); !slices.Equal(got, c.want) {
			t.Errorf("mirrored %v, %d°: %v, want %v", c.mirrored, c.degrees, got, c.want)
		}
	}
}

// TestTurnedPositions: a position goes with its pixel, and back.
func TestTurnedPositions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 9).Draw(t, "w"), rapid.IntRange(1, 9).Draw(t, "h")
		turn := Turn(rapid.IntRange(1, 8).Draw(t, "turn"))
		pix := make([]uint16, w*h)
		for i := range pix {
			pix[i] = uint16(i)
		}
		turned := turn.Apply(make([]uint16, w*h), pix, w, h)
		x, y := rapid.IntRange(0, w-1).Draw(t, "x"), rapid.IntRange(0, h-1).Draw(t, "y")
		tx, ty := turn.Shown(float64(x), float64(y), w, h)
		tw := w
		if turn.Lying() {
			tw = h
		}
		if got := turned[int(ty)*tw+int(tx)]; got != pix[y*w+x] {
			t.Fatalf("%v of %d×%d: pixel (%d, %d) is said to be at (%g, %g), where another lies", turn, w, h, x, y, tx, ty)
		}
		if sx, sy := turn.Stored(tx+0.25, ty-0.5, w, h); turnBack(turn, sx-float64(x), sy-float64(y)) != [2]float64{0.25, -0.5} {
			t.Fatalf("%v: a step of (0.25, −0.5) as shown is (%g, %g) as stored", turn, sx-float64(x), sy-float64(y))
		}
	})
}

// turnBack turns a step on the stored picture into one as shown.
func turnBack(t Turn, dx, dy float64) [2]float64 {
	x0, y0 := t.Shown(0, 0, 1, 1)
	x1, y1 := t.Shown(dx, dy, 1, 1)
	return [2]float64{x1 - x0, y1 - y0}
}
