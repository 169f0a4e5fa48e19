package desk

import (
	"encoding/binary"
	"math"
	"sync"

	"rootrule/measure"
)

// curves keeps the lines through marks that were drawn lately. Working one out
// fits an ideal canal to its marks, which takes longer than to draw it, and most
// lines stay the same from frame to frame.
type curves struct {
	mu   sync.Mutex
	kept map[string][]measure.Point
	key  []byte
}

// lately are the lines of all marks that are drawn.
var lately curves

// keepCurves is how many lines are remembered; a drag makes a new one at each
// move.
const keepCurves = 200

// through returns the points of the line through marks, worked out by make
// where they are not known yet.
func (c *curves) through(marks []measure.Point, closed bool, make func() []measure.Point) []measure.Point {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.key = c.key[:0]
	if closed {
		c.key = append(c.key, 1)
	}
	for _, m := range marks {
		for _, v := range [3]float64{m.X, m.Y, m.U} {
			c.key = binary.LittleEndian.AppendUint64(c.key, math.Float64bits(v))
		}
	}
	if points, ok := c.kept[string(c.key)]; ok {
		return points
	}
	if c.kept == nil || len(c.kept) >= keepCurves {
		c.kept = map[string][]measure.Point{}
	}
	points := make()
	c.kept[string(c.key)] = points
	return points
}
