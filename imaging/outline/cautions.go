package outline

import (
	"fmt"
	"math"
)

// Parts of the edge from which on a caution is due. Chosen: a twentieth of the
// way round is about what the eye overlooks.
const (
	weakFrom   = 0.08 // of the edge less than half as high as the rest
	denseFrom  = 0.05 // of the edge where the picture is brighter than around by half the edge's height, or the edge much higher
	bridgeFrom = 0.2  // of the edge that counted for little
)

// cautions says in words what to look at by eye.
func (t *traced) cautions(confidence float64) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if t.missing > 0 {
		add("%.0f %% of the edge, %s, lies at the border of the picture and may go on beyond it", 100*float64(t.missing)/rays, t.where(func(k int) bool { return t.lost[k] }))
	}
	even := t.steadily(&t.middle)
	dense := func(k int) bool {
		return !t.lost[k] && (t.middle[k]-even[k] > 0.5*t.steady[k] || t.contrast[k] > 1.8*t.steady[k])
	}
	if part := share(dense); part > denseFrom {
		add("a root or something as dense lies over or against %.0f %% of the edge, %s", 100*part, t.where(dense))
	}
	weak := func(k int) bool { return !t.lost[k] && t.contrast[k] < 0.5*t.steady[k] }
	if part := share(weak); part > weakFrom {
		add("%.0f %% of the edge is weak, %s", 100*part, t.where(weak))
	}
	if hidden := share(func(k int) bool { return t.weight[k] < 0.25 }); hidden > bridgeFrom {
		add("%.0f %% of the edge is hidden or unclear and was bridged", 100*hidden)
	}
	if confidence < 0.95 { // chosen
		add("the edge is faint against the bone's texture: check it by eye")
	}
	return out
}

// share is the part of the rays for which something holds.
func share(holds func(k int) bool) float64 {
	n := 0
	for k := range rays {
		if holds(k) {
			n++
		}
	}
	return float64(n) / rays
}

// where names the side of the lesion, as the picture shows it, on which most
// of the rays lie for which something holds.
func (t *traced) where(holds func(k int) bool) string {
	var sum vec
	for k := range rays {
		if holds(k) {
			sum = sum.add(t.ray(k).unit())
		}
	}
	sides := [8]string{"on the right", "at the lower right", "at the bottom", "at the lower left", "on the left", "at the upper left", "at the top", "at the upper right"}
	octant := math.Round(math.Atan2(sum.y, sum.x) / (math.Pi / 4))
	return sides[(int(octant)+8)%8]
}
